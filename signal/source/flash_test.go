package source_test

import (
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/signal/source"

	"github.com/stretchr/testify/require"
)

func TestFlashLaws(t *testing.T) {
	geotest.Check(t, "source-flash", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in[2:])
		f := source.Flash{Law: source.FlashLaw(in[0]), Pulse: source.PulseShape(in[1]), EveryS: 5, OnS: v[0], Pulses: int(v[1]), GapS: v[2]}
		return []any{f.Share()}, nil
	})
}

// Of a symmetric triangle Douglas gives the least and the form factor the most;
// all of them grow with the length, and a very short pulse is worth its light
// over the constant.
func TestFlashLawsAgreeInOrder(t *testing.T) {
	last := map[source.FlashLaw]float64{}
	for on := 0.01; on < 3; on *= 1.3 {
		share := func(l source.FlashLaw) float64 {
			return source.Flash{OnS: on, EveryS: 10, Pulse: source.Triangular, Law: l}.Share()
		}
		require.LessOrEqual(t, share(source.Douglas1957), share(source.Allard2008)*(1+1e-9), "%g s", on)
		require.LessOrEqual(t, share(source.Allard2008), share(source.Schmidt1971)*(1+1e-9), "%g s", on)
		for _, l := range source.FlashLaws {
			require.Greater(t, share(l), last[l], "%s at %g s", l, on)
			last[l] = share(l)
		}
	}
	short := source.Flash{OnS: 1e-4, EveryS: 1}
	require.InEpsilon(t, 50*1e-4/10, short.Share(), 1e-3) // 10 cd s are worth 50 cd
	require.Equal(t, 1.0, source.Flash{}.Share())
}

// A rated time ends at a tenth of the first light; the cold shortens it, a table
// is read between its rows, and a lamp that is out shows nothing.
func TestBatteryRunsDown(t *testing.T) {
	l := source.Light{IntensityCD: 100, RatedS: 36000}
	require.Equal(t, 1.0, l.Output(36000))
	require.Zero(t, l.Output(36001))
	l.Battery.Fade = source.Falling
	require.InDelta(t, math.Sqrt(0.1), l.Output(18000), 1e-12)
	require.InDelta(t, 0.1, l.Output(36000), 1e-12)
	l.Battery.Fade = source.Drop
	require.Equal(t, 1.0, l.Output(28800))
	require.InDelta(t, 0.55, l.Output(32400), 1e-12)
	l.Battery.Cold = 0.6
	require.InDelta(t, 21600, l.LastsS(), 1e-9)
	require.Equal(t, source.BurntOut, l.Toward(source.View{LitForS: 22000}).Absent)
	table := source.Light{IntensityCD: 100, Battery: source.Battery{Output: []source.OutputPoint{{0, 1}, {3600, 0.5}, {7200, 0.3}}}}
	require.NoError(t, table.Check())
	require.InDelta(t, 0.75, table.Output(1800), 1e-12)
	require.InDelta(t, 40, table.Toward(source.View{LitForS: 5400}).IntensityCD, 1e-9)
	last := math.Inf(1)
	for s := 0.0; s < 8000; s += 100 {
		require.LessOrEqual(t, table.Output(s), last)
		last = table.Output(s)
	}
}

// A smooth beam has half its light at half its width; the flux of a beam is its
// intensity over the solid angle that it is worth; a table is read between rows.
func TestBeamsFallAway(t *testing.T) {
	b := source.Beam{Shape: source.Smooth, WidthDeg: 20, Aimed: true, Azimuth: earth.NewTrue(90)}
	require.InDelta(t, 1, b.Share(earth.NewTrue(90), 0), 1e-12)
	require.InDelta(t, 0.5, b.Share(earth.NewTrue(100), 0), 1e-9)
	require.InDelta(t, 0.5, b.Share(earth.NewTrue(90), 10), 1e-9)
	require.Zero(t, b.Share(earth.NewTrue(270), 0))
	b.Spill = 0.05
	require.InDelta(t, 0.05, b.Share(earth.NewTrue(150), 0), 1e-9)
	require.Zero(t, b.Share(earth.NewTrue(270), 0))
	even := source.Beam{WidthDeg: 40}
	require.InEpsilon(t, 2*math.Pi*(1-math.Cos(20*math.Pi/180)), even.SolidAngleSR(), 1e-9)
	// A smooth beam by a sum over rings.
	smooth := source.Beam{Shape: source.Smooth, WidthDeg: 20}
	sum := 0.0
	for a := 0.005; a < 90; a += 0.01 {
		sum += smooth.Share(earth.True(math.NaN()), a) * 2 * math.Pi * math.Sin(a*math.Pi/180) * 0.01 * math.Pi / 180
	}
	require.InEpsilon(t, sum, smooth.SolidAngleSR(), 1e-3)
	measured, most := source.TableBeam([][2]float64{{0, 800}, {10, 400}, {30, 0}})
	require.Equal(t, 800.0, most)
	require.InDelta(t, 0.75, measured.Share(earth.True(math.NaN()), 5), 1e-9)
	require.InDelta(t, 0.25, measured.Share(earth.True(math.NaN()), 20), 1e-9)
}

// Every standard of the catalogue can be asked for by name, says where it is
// from, and is a light that can be.
func TestStandards(t *testing.T) {
	for _, s := range source.Standards {
		found, ok := source.FindStandard(s.Name)
		require.True(t, ok)
		require.Equal(t, s.Title, found.Title)
		require.NotEmpty(t, s.Source, s.Name)
		require.NotEmpty(t, s.Read, s.Name)
		require.NotEmpty(t, s.Figure, s.Name)
		if s.NotSighted == "" {
			require.NoError(t, s.Light.Check(), s.Name)
		}
	}
	// LSA Code minima.
	for name, want := range map[string][2]float64{
		"lsa-lifejacket-light": {0.75, 8 * 3600}, "lsa-lifebuoy-light": {2, 2 * 3600}, "lsa-hand-flare": {15000, 60}, "lsa-parachute-flare": {30000, 40},
	} {
		s, ok := source.FindStandard(name)
		require.True(t, ok, name)
		require.Equal(t, want, [2]float64{s.Light.IntensityCD, s.Light.RatedS}, name)
	}
	_, ok := source.FindStandard("none")
	require.False(t, ok)
	for _, c := range source.Colours() {
		require.Positive(t, c.ScotopicRatio(), "%s", c)
		require.NotEmpty(t, c.Source(), "%s", c)
	}
}
