package job

import (
	"math"
	"testing"
	"time"

	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// aFlag is a request for an orange cloth of a quarter of a square metre by day.
func aFlag() SightRequest {
	r := aLight()
	r.Signal = plan.Signal{Kind: plan.Flag, HeightM: 1.5, FlagWidthM: 0.5, FlagHeightM: 0.5, Reflectance: 0.4, BackgroundReflectance: 0.05}
	return r
}

func listed(s *SightResult, name string) (found []float64) {
	for _, f := range s.Inputs.Factors {
		if f.Name == name {
			found = append(found, float64(f.Value))
		}
	}
	return found
}

// Where the ground behind is known, haze takes on the brighter horizon and
// clutter is that of open ground; nothing is said, and both are left out.
func TestSightBeforeGround(t *testing.T) {
	bare := sightOf(t, aFlag())
	assert.Equal(t, "even", bare.Inputs.Looking.Clutter)
	assert.Empty(t, listed(bare, "horizon over what is behind"))
	assert.InDelta(t, 0.75, float64(bare.NoticedM)/float64(bare.PerceptibleM), 0.03, "before an even background noticed is three quarters of perceptible")

	stated := aFlag()
	stated.Behind, stated.BehindStated = "ground", true
	s := sightOf(t, stated)
	assert.Equal(t, "open", s.Inputs.Looking.Clutter)
	assert.Equal(t, "ground of luminance factor 0.05 in full sun", s.Inputs.BackgroundFrom)
	assert.InDelta(t, 0.05*1e5/math.Pi, float64(s.Inputs.BackgroundCDM2), 1e-6, "the ground that the contrast is with")
	ratio := listed(s, "horizon over what is behind")
	require.Len(t, ratio, 2, "once for each distance")
	assert.InDelta(t, 1e4/(0.05*1e5/math.Pi), ratio[0], 1e-9)
	assert.Less(t, float64(s.PerceptibleM), 0.8*float64(bare.PerceptibleM))
	assert.Less(t, float64(s.NoticedM), 0.5*float64(s.PerceptibleM))

	place := orb.Point{1.5, 42.5}
	dated := aFlag()
	dated.Place, dated.Behind, dated.Cloud = &place, "ground", "overcast"
	dated.At = time.Date(2026, 6, 21, 11, 55, 0, 0, time.UTC)
	d := sightOf(t, dated)
	assert.InDelta(t, 3.0/7/0.05, listed(d, "horizon over what is behind")[0], 1e-6)
	assert.Equal(t, "open", d.Inputs.Looking.Clutter)
	dated.Behind = "sky"
	d = sightOf(t, dated)
	assert.Empty(t, listed(d, "horizon over what is behind"))
	assert.Equal(t, "even", d.Inputs.Looking.Clutter)
}

// The land table of air search: a person from 150 to 300 m has some 0.7 to 0.9 km
// of width (IAMSAR volume II, N-9, from memory), and stays within a factor 2.
func TestSightAircraftPass(t *testing.T) {
	r := aFlag()
	r.Signal.FlagWidthM, r.Signal.FlagHeightM, r.Signal.Reflectance, r.Signal.BackgroundReflectance = 1, 0.5, 0.2, 0.1
	r.Observer, r.Task = ObserverAircraft, TaskPass
	for _, c := range []struct{ altitude, visibility, published float64 }{{150, 6e3, 700}, {150, 20e3, 900}, {300, 6e3, 700}, {300, 20e3, 900}} {
		r.AltitudeM, r.VisibilityM = c.altitude, c.visibility
		s := sightOf(t, r)
		w := float64(s.SweepWidthM)
		assert.InDelta(t, 0, math.Log2(w/c.published), 1, "%v: %g", c, w)
		assert.InEpsilon(t, w/2.9513, float64(s.NoticedM), 1e-4, "half of all passes, by the inverse cube law of that width")
		assert.Empty(t, listed(s, "chance on the path itself"), "the curve from the air is not given")
		assert.Equal(t, 45.0, float64(s.Inputs.Looking.SpeedMS))
		assert.InDelta(t, 1.6*w, float64(s.High.SweepWidthM), 1e-6)
		assert.NotEmpty(t, listed(s, "scan limit to a side"))
	}
	usual := sightOf(t, r)
	r.Fatigued = true
	tired := sightOf(t, r)
	assert.InEpsilon(t, 0.9*float64(usual.SweepWidthM), float64(tired.SweepWidthM), 1e-12)
	assert.Equal(t, []float64{0.9}, listed(tired, "fatigue"))
	assert.Equal(t, usual.PerceptibleM, tired.PerceptibleM, "fatigue moves the width alone")

	r.SpeedMS = 90
	assert.Less(t, float64(sightOf(t, r).SweepWidthM), float64(tired.SweepWidthM))
	lamp := aLight()
	lamp.Observer, lamp.AltitudeM, lamp.Task = ObserverAircraft, 300, TaskPass
	assert.Positive(t, float64(sightOf(t, lamp).SweepWidthM))
	lamp.Signal.BeamDeg = 40
	_, err := Sight(lamp)
	assert.ErrorContains(t, err, "narrow beam")
	lamp.Task = ""
	assert.Positive(t, float64(sightOf(t, lamp).NoticedM))
}

func TestSightObserverErrors(t *testing.T) {
	r := aLight()
	r.Observer = ObserverAircraft
	_, err := Sight(r)
	assert.ErrorContains(t, err, "altitude")
	r.Observer = ObserverIntensifier
	_, err = Sight(r)
	assert.ErrorContains(t, err, "threshold of your own")
	r.ThresholdLx = 1e-9
	assert.InDelta(t, 1e-9, float64(sightOf(t, r).ThresholdLx), 1e-20)
	r.Observer = ObserverGlasses
	_, err = Sight(r)
	assert.ErrorContains(t, err, "field glasses")
	r = aLight()
	r.Law, r.Task = "taylor-1964", TaskPass
	_, err = Sight(r)
	assert.ErrorContains(t, err, "no visual lobe")
}

// An aircraft looks down on dark ground, not on the sky; too high, it sees
// nothing, and says so.
func TestSightAircraft(t *testing.T) {
	r := aLight()
	r.Observer, r.AltitudeM = ObserverAircraft, 300
	s := sightOf(t, r)
	assert.Contains(t, s.Inputs.BackgroundFrom, "ground below")
	assert.InDelta(t, 2e-3*0.1/math.Pi, float64(s.Inputs.BackgroundCDM2), 1e-9)
	assert.InDelta(t, 71.0e3, float64(s.GeographicM), 100)
	assert.Equal(t, 1200.0, float64(s.Inputs.Who.HazeHeightM))
	assert.Less(t, float64(s.NoticedM), float64(s.LuminousNoticedM))
	assert.Zero(t, float64(s.MarginLog10))

	f := aFlag()
	f.Observer, f.AltitudeM, f.Signal.FlagWidthM, f.Signal.FlagHeightM = ObserverAircraft, 3000, 0.2, 0.2
	high := sightOf(t, f)
	assert.Zero(t, float64(high.NoticedM))
	assert.Contains(t, high.Why, "the aircraft is too high")
	r.CloudBaseM = 200
	assert.Contains(t, sightOf(t, r).Why, "a cloud cover lies between")
}
