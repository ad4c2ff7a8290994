package plan

import (
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

func TestReadsPlacements(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	require.Equal(t, Placement{
		Line: lineOf(t, "count: 2"), Question: PlacePassive, Count: 2, Signal: "lamp", SpacingM: DefaultSpacingM, WithinM: DefaultWithinM, FireAllowed: true,
		Candidates: []Candidate{{lineOf(t, "name: knoll"), "knoll", orb.Point{1.601, 42.551}}, {lineOf(t, "name: shoulder"), "shoulder", orb.Point{1.602, 42.552}}},
	}, p.Placements[0])
	require.Equal(t, Placement{
		Line: lineOf(t, "question: route"), Question: PlaceRoute, Count: DefaultCount, Route: "trip/t.gpx", Among: []string{AmongRoute}, SpacingM: 200, WithinM: 2000,
		MaxSlopeDeg: 20, ReachS: 3600, ReachFrom: "hut",
	}, p.Placements[1])
	attract := p.Placements[2]
	require.Equal(t, []any{"beacon", 5000.0, []string{AmongRidges, AmongKnolls}, "KB", true}, []any{attract.Shown.Name, attract.Shown.IntensityCD, attract.Among, attract.GroundSeenBy, attract.Forced})
	require.Equal(t, []any{"here", "there"}, []any{p.Placements[3].Base, p.Placements[3].To})
	require.Len(t, p.Candidates(), 4)
	for text, want := range map[string]string{
		"traveller: {signals: [{name: a, light: 1 cd}]}\nplacement: {question: attract, signal: a, shows: {name: b, light: 5 cd}}": `both "signal" and "shows"`,
		"starts: [{name: a, kind: planning, position: '1, 2', error: 9 m, time: 2026-11-24T08:00Z}]\nplacement: {reach_from: a}":   "without its reach",
		"placement: [{count: 1}, {question: where}]":                               "not one of the choices",
		"placement: {among: [ridges, woods]}":                                      "not one of the choices",
		"placement: {question: passive, shows: {name: b, light: 5 cd}}":            "belongs to the question attract or relay",
		"placement: {among: grid, candidates: [{name: a, position: '42.5, 1.5'}]}": "no meaning where candidates are given",
		"placement: {question: attract, ground_seen_by: yes}":                      "not initials",
		"placement: {question: attract, ground_seen_by: the warden}":               "not initials",
	} {
		_, err := read(head + text + "\n")
		require.ErrorContains(t, err, want, text)
	}
}
