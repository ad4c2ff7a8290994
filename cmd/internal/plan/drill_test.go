package plan

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestReadsADrill(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	d := p.Drill
	require.Equal(t, lineOf(t, "objective:"), d.Line)
	require.Equal(t, "find them before dark", d.Objective)
	require.Equal(t, "A walker is overdue. She was last seen at the ford.", d.Briefing)
	require.Equal(t, 5*time.Hour, d.Ends.Sub(d.Begins))
	require.Equal(t, []any{"granite", "KB", "KB", "TR"}, []any{d.EmergencyWord, d.SafetyOfficer, d.WaterKnown, d.GroundSeen})
	require.Equal(t, []string{"police", "warden"}, d.Tell)
	require.Equal(t, []string{"turn back at the snow"}, d.Safety)
	require.Equal(t, []string{"trip/t.gpx"}, d.NotIn)
	require.Equal(t, []Hidden{
		{Line: lineOf(t, "{name: walker, shows"), Name: "walker", Shows: []string{"lamp", "cloth"}},
		{Line: lineOf(t, "{name: jacket"), Name: "jacket", Shows: []string{"cloth"}, Alone: true},
	}, d.Hide)
	require.Equal(t, "the hidden person", p.UsualHidden()[0].Name)
	require.Len(t, p.UsualHidden()[0].Shows, len(p.Traveller.Signals))
}

func TestRefusesDrills(t *testing.T) {
	const head = "version: 1\nas_of: 2026-11-24T08:00:00Z\ndrill: {begins: 2026-11-28T09:00:00Z, ends: "
	for text, want := range map[string]string{
		"2026-11-28T08:00:00Z}":                                 "ends before it begins",
		"2026-11-28T12:00:00Z, water_known: true}":              "not initials",
		"2026-11-28T12:00:00Z, water_known: K}":                 "not initials",
		"2026-11-28T12:00:00Z, ground_seen: Kim B123}":          "not initials",
		"2026-11-28T12:00:00Z, hide: [{name: a, shows: lamp}]}": "no signal is named",
		"2026-11-28T12:00:00Z, hide: [{name: a, alone: true}]}": "nobody, and no signal",
		"2026-11-28T12:00:00Z, not_in: none.geojson}":           "no such file",
		"2026-11-28T12:00:00Z, hide: [{name: a}, {name: a}]}":   "name",
	} {
		_, err := read(head + text + "\n")
		require.ErrorContains(t, err, want, text)
	}
}
