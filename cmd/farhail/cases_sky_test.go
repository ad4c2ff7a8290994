package main

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// day asks for the sky on the vector's day and wants its state.
func day(t *testing.T, v vector, state string) answer {
	in := v.part("input")
	a := get(t, "sky", pair(in.number("lat"), in.number("lon")), "--at", in.text("date")+"T12:00:00Z", "--zone", "UTC")
	require.Equal(t, state, a.at("day.state"), a.text)
	return a
}

// clock wants an event within 2 minutes of a time of the day, UTC.
func clock(t *testing.T, a answer, event, want string) {
	text, _ := a.at("day." + event).(string)
	got, err := time.Parse(time.RFC3339, text)
	require.NoError(t, err, "%s: %s", event, a.text)
	at, err := time.Parse("2006-01-02 15:04", got.UTC().Format("2006-01-02 ")+want)
	require.NoError(t, err)
	require.LessOrEqual(t, math.Abs(got.Sub(at).Minutes()), 2.0, "%s at %s", event, text)
}

const neverRises, neverSets = "sun-never-rises", "sun-never-sets"

var skyCases = map[string][]caseRun{
	"S01": {
		{has: "-3.09", run: func(t *testing.T, v vector) {
			a := day(t, v, neverRises)
			require.Nil(t, a.at("day.sunrise"))
			require.Nil(t, a.at("day.sunset"))
			require.InDelta(t, -3.09, a.number("day.highest_deg"), 0.05)
			clock(t, a, "noon", "10:42")
			clock(t, a, "civil_dawn", "08:31")
			clock(t, a, "civil_dusk", "12:53")
		}},
		{has: "no civil twilight", run: func(t *testing.T, v vector) {
			a := day(t, v, neverRises)
			require.Nil(t, a.at("day.civil_dawn"))
			clock(t, a, "nautical_dawn", "09:58")
			clock(t, a, "nautical_dusk", "11:53")
			require.InDelta(t, -11.66, a.number("day.highest_deg"), 0.05)
		}},
		{has: "no nautical twilight either", run: func(t *testing.T, v vector) {
			a := day(t, v, neverRises)
			require.Nil(t, a.at("day.nautical_dawn"))
			clock(t, a, "astronomical_dawn", "06:43")
			clock(t, a, "astronomical_dusk", "14:33")
		}},
		{has: "lowest 11.66", run: func(t *testing.T, v vector) {
			require.InDelta(t, 11.66, day(t, v, neverSets).number("day.lowest_deg"), 0.05)
		}},
		{has: "-0.56", run: func(t *testing.T, v vector) {
			a := day(t, v, neverSets)
			require.Nil(t, a.at("day.sunset"))
			require.InDelta(t, -0.56, a.number("day.lowest_deg"), 0.05)
		}},
		{has: "no crash", run: func(t *testing.T, v vector) { day(t, v, neverRises) }},
	},
}
