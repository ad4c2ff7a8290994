package overlay

import (
	"math"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/stretchr/testify/require"
)

func sampleCard() *job.Card {
	noon := time.Date(2026, 12, 21, 12, 51, 0, 0, time.FixedZone("", 3600))
	dusk := noon.Add(5 * time.Hour)
	nan := cli.Len(math.NaN())
	c := &job.Card{
		Program: "farhail test", Date: "2026-12-21", EyeHeightM: 1.7, Plan: job.PlanInfo{Title: "A walk", Hash: "0a2eef6a", Zone: "Europe/Andorra"},
		Lights:  []job.CardLight{{Name: "day", At: &noon, SunElevationDeg: 24, Occurs: true}, {Name: "dusk", At: &dusk, SunElevationDeg: -6, Occurs: true}, {Name: "night"}},
		Airs:    []job.CardAir{{Name: "clear", VisibilityM: 20000}, {Name: "fog", VisibilityM: 500}},
		Symbols: []job.CardSymbol{{Letter: "V", Meaning: "require assistance", LeastM: 2.5, StrokeM: 2.5 / 6}},
		Mirror:  job.CardMirror{LeastElDeg: 5, AllRoundElDeg: 20, Spans: []job.CardSpan{{From: &noon, Until: &dusk}}},
	}
	var sights []job.CardSight
	for _, d := range []cli.Len{9700, 1609.344, 15_000, 404, 0, nan} {
		sights = append(sights, job.CardSight{NoticedM: d, PerceptibleM: 2 * d})
	}
	c.Signals = []job.CardSignal{{Signal: "a lamp whose name is longer than its column", Sights: sights}, {Signal: "whistle", Sound: true, Sights: []job.CardSight{{NoticedM: 560, PerceptibleM: 960}}}}
	return c
}

func cardText(t *testing.T, c *job.Card, w cli.Words) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, CardText(&b, CardOf(c, w)))
	for _, line := range strings.Split(b.String(), "\n") {
		require.LessOrEqual(t, len(line), columns, line)
		for _, r := range line {
			require.Less(t, r, rune(128), line)
		}
	}
	return b.String()
}

func TestCardText(t *testing.T) {
	text := cardText(t, sampleCard(), cli.Words{})
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{
		"Your emergency number: ______ (112 in Europe, 911 in North America, 999 in the UK)",
		"NOTICED, km", "a lamp whose name 9.7 1.6 15 0.40 0 -", "at best 19 3.2 30 0.81 0 -",
		"whistle: heard to 560 m, by somebody who listens to 960 m; against the wind or on a sunny day perhaps only to 100 m.",
		"Day at 12:51, the sun 24 deg high; dusk at 17:51, the sun 6 deg down; no night on that date. Visibility: clear 20 km, fog 0.5 km.",
		"SIX (Alps, Britain): six flashes", "Answer: three in a minute.", "THREE (North America): three flashes", "WHICH OF THEM: find out",
		"V require assistance", "At least 2.5 m long (larger is better), lines 0.4 m wide",
		"A mirror works 12:51 to 17:51 (sun over 5 deg), never on a side away from the sun.",
		"on 21 DEC 2026. Times in Europe/Andorra. Plan 0a2eef6a",
	} {
		require.Contains(t, flat, want)
	}
	for _, caution := range cardCautions {
		require.Contains(t, flat, caution)
	}
}

func TestCardInOtherWords(t *testing.T) {
	c := sampleCard()
	c.DistressSignal, c.Plan.Emergency, c.Plan.Example = "six", "112", true
	c.Mirror.Spans = nil
	flat := strings.Join(strings.Fields(cardText(t, c, cli.Words{Units: cli.Imperial, Notation: "utm"})), " ")
	for _, want := range []string{
		exampleLine, "Your emergency number: 112", "NOTICED, mi", "a lamp whose name 6.0 1.0 9.3 0.25 0 -", "heard to 0.348 mi", "clear 12.4 mi",
		"5.6 ft above", "8.2 ft long", "the sun stays under 5 deg", "For 31 north 166021 0",
	} {
		require.Contains(t, flat, want)
	}
	require.NotContains(t, flat, "North America")
	require.NotContains(t, flat, " km")
}

// What design asks of every output that somebody acts on has its word on the card.
func TestCardCautionsAreWhole(t *testing.T) {
	all := strings.ToLower(strings.Join(cardCautions, " "))
	for _, want := range []string{"stay put", "lightning", "only in distress", "police, fire and air services", "obey bans", "under trees", "carbon monoxide", "rubber", "plastic", "wildfires",
		"laser", "strobe", "acknowledged", "sun", "3 flashes a second", "flares", "not a safe path", "cliff, river or lake", "incident controller", "do not deploy themselves", "not promises", "no field trial", "local rules"} {
		require.Contains(t, all, want)
	}
}
