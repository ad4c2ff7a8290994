package overlay

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func hazardous() *job.Result {
	r := crowd(1)
	party := r.Looking.Parties[0].Name
	gully := orb.LineString{{-20, 46}, {-20, 46.01}}
	r.Hazards = []job.Hazard{
		{
			Name: "far away", RadiusM: 50, Parts: []job.HazardPart{{Name: "far away", Point: orb.Point{-21, 46}, Shape: orb.Polygon{{{-21, 46}, {-20.9, 46}, {-21, 46.1}, {-21, 46}}}}},
		}, {
			Name: "loose ground", Note: "stones fall after noon", Gear: "helmets", Source: "the warden", RadiusM: cli.Len(math.NaN()),
			Parts: []job.HazardPart{{Name: "loose ground 1", Point: orb.Point{-20.1, 46}, Shape: gully}, {Name: "loose ground 2", Point: orb.Point{-20, 46.005}, Shape: gully}},
			Passes: []job.HazardPass{
				{Who: party, By: job.PassParty, Part: "loose ground 2", DistanceM: 0},
				{By: job.PassTrip, Part: "loose ground 1", DistanceM: 40},
			},
		},
	}
	r.Sweep.Next[0].Hazards, r.Sweep.Then = []string{"far away"}, &job.SweepThen{}
	return r
}

func TestHazardLayers(t *testing.T) {
	r := hazardous()
	for _, l := range Layers(r) {
		switch l.ID {
		case Hazards, Dangers:
			require.Len(t, l.Features, 3)
			f := l.Features[1]
			assert.Equal(t, "loose ground 1", f.Name)
			var keys []string
			for _, p := range f.Properties {
				keys = append(keys, p.Key)
			}
			assert.Equal(t, []string{"note", "gear", "source"}, keys, "nothing that is not known")
			_, point := f.Geometry.(orb.Point)
			assert.Equal(t, l.ID == Dangers, point)
		}
	}
	ids := map[string]int{}
	for _, l := range HandheldLayers(r) {
		ids[l.ID] += len(l.Features)
	}
	assert.Equal(t, []int{3, 3}, []int{ids[Dangers], ids[Hazards]}, "waypoints with the note, and the lines")
}

func TestHazardsAreToldToWhomTheyConcern(t *testing.T) {
	r := hazardous()
	var b bytes.Buffer
	require.NoError(t, Brief(&b, r))
	_, aloud := aloudOf(t, r) // what somebody comes near is said first
	aloud = strings.Join(strings.Fields(aloud), " ")
	assert.Contains(t, aloud, "Loose ground: 27T WL 6968 9444. That is the first of 2 places. Stones fall after noon. Needed there: helmets. Far away: ")
	text := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{
		"! far away (50.0 m around): the plan says no more.", "! loose ground: stones fall after noon; needed: helmets; said by the warden.",
		"goes through it.", "The way that is meant passes within 40.0 m.", "HAZARDS in it: far away.",
	} {
		assert.Contains(t, text, want)
	}

	page := PartyPapers(r)[0]
	var told []string
	for _, s := range page.Sections {
		for _, i := range s.Items {
			if strings.HasPrefix(i.Label, "HAZARD") {
				told = append(told, i.Label+": "+i.Text)
			}
		}
	}
	require.Len(t, told, 2)
	assert.Contains(t, told[0], "HAZARD in it: far away, at ")
	assert.Contains(t, told[1], "HAZARD: loose ground 2, at ")
	assert.NotContains(t, told[1], "way that is meant", "that is for the trip sheet")

	var s Section
	hazardsOf(r, &s, "")
	require.Len(t, s.Items, 1)
	assert.Contains(t, s.Items[0].Text, "loose ground 1, at ")
	assert.Contains(t, s.Items[0].Text, "The way that is meant passes within 40.0 m.")
}

// However many hazards there are, what is read out stays within two minutes.
func TestHazardsReadOutInTwoMinutes(t *testing.T) {
	for _, parties := range []int{1, 20} {
		r := crowd(parties)
		for i := range 12 {
			at := orb.Point{-20, 46}
			r.Hazards = append(r.Hazards, job.Hazard{
				Name: fmt.Sprintf("%d of the old shafts below the upper terrace", i), Note: strings.Repeat("keep well away from its edges ", 5), Gear: strings.Repeat("ropes and lamps ", 5),
				Parts: []job.HazardPart{{Point: at}, {Point: at}},
			})
		}
		_, text := aloudOf(t, r)
		require.LessOrEqual(t, len(strings.Fields(text)), wordsAloud, text)
		require.Contains(t, strings.Join(strings.Fields(text), " "), "9 more in the tables.")
	}
}

func TestTheWayThatIsMeant(t *testing.T) {
	r := &job.Result{}
	assert.Empty(t, meantWay(r).Features)
	way := orb.MultiLineString{{{-20, 46}, {-20, 46.01}}}
	r.Trip = &job.Trip{LengthM: 1112, Path: way}
	l := meantWay(r)
	require.Len(t, l.Features, 1)
	assert.Equal(t, orb.Geometry(way), l.Features[0].Geometry)
	assert.Contains(t, RouteLayers, l.ID)
	for _, h := range HandheldLayers(r) {
		if h.ID == Meant {
			assert.Len(t, h.Features, 1)
		}
	}
}
