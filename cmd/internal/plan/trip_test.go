package plan

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestReadsATrip(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return v.In(p.Zone)
	}
	require.Equal(t, Trip{
		Line: lineOf(t, "start: 2026-11-24 09:00\n  route"), Start: at("2026-11-24T09:00:00+01:00"), Route: "trip/t.gpx", RestsS: 5400,
		AlarmMarginS: 10800, TurnRound: at("2026-11-24T13:00:00+01:00"), Asks: []string{"look for the car at the chapel"},
	}, p.Trip)
	require.Equal(t, Papers{Radio: []string{"channel 5", "base: Askel one"}, Medical: []string{"first aid at the hut"}, ReportEveryS: 1800}, p.Papers)

	p, err = read(head + "trip: {rests: 10 min}\n")
	require.NoError(t, err)
	require.Zero(t, p.Trip.AlarmMarginS, "the margin has no default")
	for text, want := range map[string]string{
		"trip: {alarm_margin: 0 h}": "above 0",
		"trip: {alarm_margin: 3}":   "unit",
		"trip: {rests: -1 h}":       "at least 0s",
		"trip: {route: none.gpx}":   "no such file",
		"trip: {start: 2026-11-24T09:00:00Z, turn_round: 2026-11-24T08:00:00Z}": "turn back before they set out",
		"trip: {contact: Ada}": `unknown key "contact"`,
		"report_every: 25 h":   "at most 86400s",
		"trip: {start: 2026-11-24T09:00:00Z, turn_round: 2026-11-24T10:00:00Z, a: 1}": "unknown key",
	} {
		_, err := read(head + text + "\n")
		require.ErrorContains(t, err, want, text)
	}
}
