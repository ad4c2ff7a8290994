package sighting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"farhail/geo/geotest"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/source"
)

// fixedLight is a light judged by a published table: one threshold, no earth.
func fixedLight(t *testing.T, cd, lx, morM float64) Result {
	t.Helper()
	a := air.Default(air.NightBackgroundCDM2)
	a.VisibilityM = morM
	r, err := Solve(Query{
		Source:   source.Light{IntensityCD: cd},
		Air:      a,
		Observer: observer.Observer{FixedLx: lx},
		Ground:   NoCurvature,
	})
	require.NoError(t, err)
	return r
}

func TestWMOTable(t *testing.T) {
	geotest.Check(t, "sighting-wmo", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{fixedLight(t, 100, x[1], x[0]).Perceptible.DistanceM}, nil
	})
}

func TestNominalRange(t *testing.T) {
	geotest.Check(t, "sighting-nominal", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{fixedLight(t, x[0], x[1], 18520).Perceptible.DistanceM / 1852}, nil
	})
}

func TestHandFlare(t *testing.T) {
	geotest.Check(t, "sighting-flare", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{fixedLight(t, x[0], x[1], x[2]).Perceptible.DistanceM / 1852}, nil
	})
}

// COLREG asks for the intensity that gives 2e-7 lx at the range, with 0.8 of
// the light left by each nautical mile.
func TestCOLREG(t *testing.T) {
	extinction := -math.Log(0.8) / 1852
	geotest.Check(t, "sighting-colreg", func(in []string) ([]any, error) {
		return []any{2e-7 / IlluminanceLx(1, geotest.Numbers(t, in)[0]*1852, extinction)}, nil
	})
}

func TestVisualRange(t *testing.T) {
	geotest.Check(t, "sighting-visual-range", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		q := area(1e6, x[0], x[2]*1000)
		q.Observer.FixedContrast = x[1]
		return []any{solve(t, q).Perceptible.DistanceM / 1000}, nil
	})
}

// area returns a query for an area [m2] of a contrast, seen through air of a
// visibility [m], on a flat earth.
func area(m2, contrast, visibilityM float64) Query {
	const behind = 0.1
	q := Query{
		Source: source.Flag{WidthM: m2, HeightM: 1, Reflectance: behind * (1 + contrast), Behind: behind},
		Air:    air.Default(air.DayBackgroundCDM2), Ground: NoCurvature,
	}
	q.Air.VisibilityM = visibilityM
	return q
}

func TestAreaByBlackwell(t *testing.T) {
	geotest.Check(t, "sighting-area", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		q := area(x[0], x[1], x[3])
		q.Observer.Law, q.Observer.Factor = observer.Blackwell1946, x[2]/observer.VisibilityRatio(0.9)
		return []any{solve(t, q).Perceptible.DistanceM}, nil
	})
}

// I = 20 E V^2 is seen just as far as the MOR, since 5 % is left there.
func TestLuminousIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := math.Pow(10, rapid.Float64Range(1, 6).Draw(t, "log MOR"))
		e := math.Pow(10, rapid.Float64Range(-9, 0).Draw(t, "log lx"))
		got := LuminousM(20*e*v*v, e, math.Log(20)/v)
		if math.Abs(got/v-1) > 1e-12 {
			t.Fatalf("got %g, want %g", got, v)
		}
	})
}

// The closed form against Allard's law itself, over the whole of its range.
func TestLuminousInvertsAllard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cd := math.Pow(10, rapid.Float64Range(-3, 8).Draw(t, "log cd"))
		e := math.Pow(10, rapid.Float64Range(-9, 0).Draw(t, "log lx"))
		v := math.Pow(10, rapid.Float64Range(1, 6).Draw(t, "log MOR"))
		σ := math.Log(20) / v
		d := LuminousM(cd, e, σ)
		// One part in 1e15 of distance is worth 2 + s d as much light.
		if got := IlluminanceLx(cd, d, σ); math.Abs(got/e-1) > 1e-14*(2+σ*d) {
			t.Fatalf("at %g m the light is %g lx, want %g", d, got, e)
		}
	})
	assert.Equal(t, 10.0, LuminousM(100, 1, 0), "no air")
	assert.Equal(t, 0.0, LuminousM(0, 1, 1e-3))
}

// lambertW against w e^w = x, and the omega constant W(1) = 0.567143290409784
// (OEIS A030178).
func TestLambertW(t *testing.T) {
	assert.InEpsilon(t, 0.567143290409784, lambertW(1), 1e-15)
	for l := -300.0; l < 300; l += 0.7 {
		x := math.Pow(10, l)
		w := lambertW(x)
		assert.InEpsilon(t, math.Log(x), math.Log(w)+w, 1e-13, "x = %g", x)
	}
}

func base() Query {
	return Query{
		Source: source.Light{IntensityCD: 100},
		Air:    air.Default(air.NightBackgroundCDM2),
		EyeM:   1.7, SignalM: 1.5,
	}
}

func flag() source.Flag {
	return source.Flag{WidthM: 0.5, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05}
}

func solve(t require.TestingT, q Query) Result {
	r, err := Solve(q)
	require.NoError(t, err)
	return r
}

// The chain by hand: perceptible 2 x 1.61643 x 7.726e-9 lx (Crumey at 0.001
// cd/m2); noticed at 1 cd/m2 is 2 x 4.01 x 6.1185e-8 lx, and by night the 2e-7 lx of
// practice, which is more than 2 x 4.01 x 7.726e-9.
func TestThresholdChain(t *testing.T) {
	r := solve(t, base())
	assert.InEpsilon(t, 2*1.61643*7.7263e-9, r.Perceptible.ThresholdLx, 1e-4)
	assert.Equal(t, 2e-7, r.Noticed.ThresholdLx)
	assert.InEpsilon(t, r.Perceptible.ThresholdLx, product(t, r.Perceptible.Factors, "laboratory threshold", "field factor F", "visibility ratio V"), 1e-12, "the factors tell the whole chain")
	assert.InEpsilon(t, 2*4.01*7.7263e-9, product(t, r.Noticed.Factors, "laboratory threshold", "field factor F", "visibility ratio V"), 5e-3, "listed beside the floor")
	assert.Equal(t, 2e-7, product(t, r.Noticed.Factors, "least illuminance to be noticed by night"))

	dusk := base()
	dusk.Air.BackgroundCDM2 = 1
	dusk.Observer.AgeYears = 60
	r = solve(t, dusk)
	assert.InEpsilon(t, 2*1.7682*4.01*6.1185e-8, r.Noticed.ThresholdLx, 5e-3)
	assert.InEpsilon(t, r.Noticed.ThresholdLx, product(t, r.Noticed.Factors, "laboratory threshold", "field factor F", "age 60", "visibility ratio V"), 1e-12)

	dark := base()
	dark.Air.BackgroundCDM2 = 0
	assert.Equal(t, 1e-8, solve(t, dark).Perceptible.ThresholdLx, "never below 1e-8 lx")

	day := base()
	day.Source, day.Air.BackgroundCDM2 = flag(), air.DayBackgroundCDM2
	r = solve(t, day)
	w := SolidAngleSR(0.25, r.Perceptible.LuminousM)
	assert.InEpsilon(t, 2*1.61643*observer.CrumeyContrast(3000, w), r.Perceptible.ThresholdContrast, 1e-4)
	assert.InEpsilon(t, r.Perceptible.ThresholdContrast, 7*math.Exp(-r.Perceptible.LuminousM*day.Air.Extinction()), 1e-9)
}

// The two distances by definition: V = 1.616 and, for a small signal by day,
// V = 4.0 within 1 %. Larger ones are noticed at less, since they lose less to
// the side.
func TestTwoRatios(t *testing.T) {
	for _, side := range []float64{0.05, 0.1, 0.2} {
		q := base()
		q.Source, q.Air.BackgroundCDM2 = source.Flag{WidthM: side, HeightM: side, Reflectance: 0.4, Behind: 0.05}, air.DayBackgroundCDM2
		q.Ground = NoCurvature
		r := solve(t, q)
		assert.InEpsilon(t, 1.616, r.Perceptible.V, 1e-3)
		assert.InEpsilon(t, 4.0, r.Noticed.V, 0.01, "%g m", side)
		s, err := At(q, r.Noticed.DistanceM)
		require.NoError(t, err)
		// Half of all searches: 1 - (1 - g)^90.9.
		assert.InEpsilon(t, 0.5, 1-math.Pow(1-s.ChancePerGlimpse, 60/0.33*0.5), 1e-6)
	}
	q := base()
	q.Ground, q.Air.BackgroundCDM2 = NoCurvature, 100
	r := solve(t, q)
	assert.InEpsilon(t, 1.616, r.Perceptible.V, 1e-3)
	assert.InEpsilon(t, 4.0, r.Noticed.V, 0.01)
}

// What is noticed at which distance moves as it must with the way of looking.
func TestWaysOfLooking(t *testing.T) {
	q := base()
	q.Source, q.Air.BackgroundCDM2, q.Ground = flag(), air.DayBackgroundCDM2, NoCurvature
	usual := solve(t, q)
	change := func(f func(*Query)) float64 {
		c := q
		c.Search = observer.DefaultSearch()
		f(&c)
		r := solve(t, c)
		assert.LessOrEqual(t, r.Noticed.DistanceM, r.Perceptible.DistanceM)
		return r.Noticed.DistanceM
	}
	assert.Equal(t, usual.Noticed.DistanceM, change(func(*Query) {}))
	assert.Greater(t, change(func(c *Query) { c.Search.LookS = 600 }), usual.Noticed.DistanceM)
	assert.Greater(t, change(func(c *Query) { c.Search.WidthDeg = 30 }), usual.Noticed.DistanceM)
	assert.Less(t, change(func(c *Query) { c.Search.Attention = 0.1 }), usual.Noticed.DistanceM)
	assert.Less(t, change(func(c *Query) { c.Clutter = observer.ClutterScrub }), usual.Noticed.DistanceM/2)
	assert.Less(t, change(func(c *Query) { c.OffsetLog10 = 0.3 }), usual.Noticed.DistanceM)
	assert.Equal(t, usual.Perceptible.DistanceM, change(func(c *Query) { c.Told = true }))
	assert.Equal(t, usual.Perceptible.DistanceM, change(func(c *Query) { c.Search.LookS = 1e5; c.Search.WidthDeg = 5 }), "never larger than perceptible")
	assert.Equal(t, 0.0, change(func(c *Query) { c.Search.LookS = 0.5; c.Search.WidthDeg = 360; c.Search.HeightDeg = 180 }), "one glimpse at the whole sphere")
}

// A rival law, run alone, is perceptible where it says; noticed is farther
// only by attention, and the floor of the default chain does not meddle.
func TestRivals(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	for law, lx := range map[observer.Law]float64{
		observer.ICAO2005: observer.ICAOPointLx(0.001), observer.IALA2008: observer.IALAPointLx(0.001), observer.WMO2018: math.Pow(10, -7.5),
		observer.Adrian1989: perceptibleV * 2 * observer.AdrianPointLx(0.001),
	} {
		q.Observer.Law = law
		r := solve(t, q)
		assert.InEpsilon(t, lx, r.Perceptible.ThresholdLx, 1e-12, law)
		assert.InEpsilon(t, 4.01/1.616, r.Noticed.ThresholdLx/r.Perceptible.ThresholdLx, 5e-3, law)
	}
	q.Observer.Law = observer.Koopman1946
	_, err := Solve(q)
	assert.ErrorContains(t, err, "background")
	q.Observer.Law = observer.IALA2008
	q.Source, q.Air.BackgroundCDM2 = flag(), 3000
	_, err = Solve(q)
	assert.ErrorContains(t, err, "not for areas")
	var last float64
	for _, law := range []observer.Law{observer.Koopman1946, observer.Blackwell1946, observer.Adrian1989, observer.Crumey2014} {
		q.Observer.Law = law
		r := solve(t, q)
		if last > 0 {
			assert.InEpsilon(t, last, r.Perceptible.DistanceM, 0.6, "four laws within a factor 1.6: %s", law)
		}
		last = r.Perceptible.DistanceM
	}
}

// product multiplies the factors of the given names, each of which must be
// listed once.
func product(t *testing.T, factors []source.Factor, names ...string) float64 {
	t.Helper()
	p := 1.0
	for _, name := range names {
		count := 0
		for _, f := range factors {
			if f.Name == name {
				p *= f.Value
				count++
			}
		}
		require.Equal(t, 1, count, "%s in %v", name, factors)
	}
	return p
}

func TestLimits(t *testing.T) {
	light := source.Light{IntensityCD: 1e5}
	beam := source.Light{IntensityCD: 100, Beam: source.Beam{WidthDeg: 20, Aimed: true, Azimuth: 90}}
	nan := math.NaN()
	tests := []struct {
		name        string
		change      func(*Query)
		perceptible float64 // [m]; -1: not checked
		limit       Limit
	}{
		{"bright light, low eyes", func(q *Query) { q.Source = light; q.Air.VisibilityM = 50e3 }, 9676.9, Horizon},
		{"faint light in clear air", func(q *Query) { q.Source = source.Light{IntensityCD: 0.01}; q.Air.VisibilityM = 50e3 }, -1, Eye},
		{"bright light in fog", func(q *Query) { q.Source = light; q.Air.VisibilityM = 500 }, -1, Air},
		{"same without the earth", func(q *Query) { q.Source = light; q.Ground = NoCurvature; q.Air.VisibilityM = 50e3 }, -1, Air},
		{"beam turned away", func(q *Query) { q.Source = beam; q.View.Azimuth = 270 }, 0, Beam},
		{"beam on the eye", func(q *Query) { q.Source = beam; q.View.Azimuth = 95 }, -1, Horizon},
		{"burnt out", func(q *Query) { q.Source = source.Light{IntensityCD: 1e5, RatedS: 60}; q.View.LitForS = 61 }, 0, Battery},
		{"no light", func(q *Query) { q.Source = source.Light{} }, 0, Eye},
		{"hidden by a ridge", func(q *Query) { q.Ground = LineBlocked }, 0, Terrain},
		{"over the edge of the terrain", func(q *Query) { q.Ground = LineUnknown }, nan, Edge},
		{"from a summit, line clear", func(q *Query) { q.Ground = LineClear }, -1, Air},
		{"small flag", func(q *Query) { q.Source = flag(); q.Air.BackgroundCDM2 = 3000 }, -1, Eye},
		{"large panel in haze", func(q *Query) {
			q.Source = source.Flag{WidthM: 20, HeightM: 20, Reflectance: 0.7, Behind: 0.05}
			q.Air.BackgroundCDM2, q.Air.VisibilityM = 3000, 1000
		}, -1, Air},
		{"flag as bright as the ground", func(q *Query) {
			q.Source = source.Flag{WidthM: 1, HeightM: 1, Reflectance: 0.4, Behind: 0.4}
			q.Air.BackgroundCDM2 = 3000
		}, 0, Eye},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			q := base()
			tt.change(&q)
			r := solve(t, q)
			assert.Equal(t, tt.limit, r.Perceptible.Limit)
			switch {
			case math.IsNaN(tt.perceptible):
				assert.True(t, math.IsNaN(r.Perceptible.DistanceM))
			case tt.perceptible >= 0:
				assert.InDelta(t, tt.perceptible, r.Perceptible.DistanceM, 0.1)
			default:
				assert.Positive(t, r.Perceptible.DistanceM)
			}
			if tt.perceptible == 0 {
				assert.Equal(t, 0.0, r.Noticed.DistanceM)
			}
		})
	}
}

// A fixed threshold is where the stimulus equals it, whatever the background,
// the observer's factor or the size.
func TestFixedThreshold(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	q.Observer = observer.Observer{Factor: 2.4, FixedLx: 1e-6}
	q.Air.BackgroundCDM2 = 100
	r := solve(t, q)
	assert.InEpsilon(t, 1e-6, IlluminanceLx(100, r.Perceptible.DistanceM, q.Air.Extinction()), 1e-12)
	assert.Equal(t, 1e-6, r.Perceptible.ThresholdLx)
	assert.True(t, math.IsNaN(r.GeographicM))

	q.Source = flag()
	q.Observer = observer.Observer{FixedContrast: 0.05}
	r = solve(t, q)
	assert.InEpsilon(t, math.Log(7/0.05)/q.Air.Extinction(), r.Perceptible.DistanceM, 1e-12)
	assert.Equal(t, Air, r.Perceptible.Limit)

	q.Source = source.Light{IntensityCD: 100}
	q.Observer = observer.Observer{FixedLx: 1e-3}
	r = solve(t, q)
	// Attention asks for 4.01/1.616 of what the threshold does: 2.48 times.
	assert.InEpsilon(t, 2.48e-3, r.Noticed.ThresholdLx, 5e-3)
	assert.Less(t, r.Noticed.DistanceM, r.Perceptible.DistanceM)
}

// anything draws a query of any kind of signal.
func anything(t *rapid.T) Query {
	q := base()
	q.Air.VisibilityM = math.Pow(10, rapid.Float64Range(2, 5).Draw(t, "log MOR"))
	q.Air.BackgroundCDM2 = math.Pow(10, rapid.Float64Range(-6, 4).Draw(t, "log cd/m2"))
	q.EyeM = rapid.Float64Range(0, 300).Draw(t, "eye")
	q.Clutter = rapid.SampledFrom([]float64{0, 0, 0.025, 0.35}).Draw(t, "clutter")
	q.Observer.Factor = rapid.Float64Range(1.4, 2.4).Draw(t, "F")
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 0:
		q.Source = source.Light{
			IntensityCD: math.Pow(10, rapid.Float64Range(-2, 6).Draw(t, "log cd")),
			Flash:       source.Flash{OnS: rapid.Float64Range(0, 1).Draw(t, "flash")},
		}
	case 1:
		side := math.Pow(10, rapid.Float64Range(-2, 1.5).Draw(t, "log side"))
		q.Source = source.Flag{
			WidthM: side, HeightM: side,
			Reflectance: rapid.Float64Range(0, 1).Draw(t, "cloth"), Behind: rapid.Float64Range(0.02, 1).Draw(t, "behind"),
		}
	case 2:
		q.Source = source.Fire{
			HeatW: math.Pow(10, rapid.Float64Range(4, 6).Draw(t, "log W")), BedM: rapid.Float64Range(0.1, 0.5).Draw(t, "bed"),
		}
	}
	return q
}

func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		was := solve(t, q)
		if was.Noticed.DistanceM > was.Perceptible.DistanceM {
			t.Fatalf("noticed %g m beyond perceptible %g m", was.Noticed.DistanceM, was.Perceptible.DistanceM)
		}
		if was.Perceptible.DistanceM > was.GeographicM*(1+1e-15) {
			t.Fatalf("perceptible %g m beyond the horizon at %g m", was.Perceptible.DistanceM, was.GeographicM)
		}
		up := rapid.Float64Range(1, 3).Draw(t, "more")
		more := map[string]Query{}
		clearer := q
		clearer.Air.VisibilityM *= up
		more["visibility"] = clearer
		higher := q
		higher.EyeM *= up
		more["eye height"] = higher
		keener := q
		keener.Observer.Factor /= up
		more["keener eye"] = keener
		stronger := q
		switch s := q.Source.(type) {
		case source.Light:
			s.IntensityCD *= up
			stronger.Source = s
		case source.Flag:
			s.WidthM *= up
			stronger.Source = s
		case source.Fire:
			s.HeatW *= up
			stronger.Source = s
		}
		more["source"] = stronger
		for what, m := range more {
			now := solve(t, m)
			if now.Perceptible.DistanceM < was.Perceptible.DistanceM*(1-1e-12) || now.Noticed.DistanceM < was.Noticed.DistanceM*(1-1e-12) {
				t.Fatalf("more %s, less distance: %+v, then %+v", what, was, now)
			}
		}
		if _, area := q.Source.(source.Flag); area {
			return
		}
		darker := q
		darker.Air.BackgroundCDM2 /= up
		if now := solve(t, darker); now.Perceptible.DistanceM < was.Perceptible.DistanceM*(1-1e-12) {
			t.Fatalf("darker background, less distance")
		}
	})
}

// At the perceptible distance the margin is 0 unless something else ended it;
// nearer it is positive and it falls with distance.
func TestMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		q.Ground = NoCurvature
		r := solve(t, q)
		d := r.Perceptible.DistanceM
		if d == 0 {
			return
		}
		s, err := At(q, d)
		require.NoError(t, err)
		if math.Abs(s.MarginLog10) > 1e-9 {
			t.Fatalf("margin %g at %g m", s.MarginLog10, d)
		}
		last := math.Inf(1)
		for _, share := range []float64{0.1, 0.5, 0.9, 1, 1.1, 2} {
			s, err := At(q, d*share)
			require.NoError(t, err)
			if math.IsNaN(s.MarginLog10) {
				return // so far that no light is left in float64
			}
			if s.MarginLog10 >= last {
				t.Fatalf("margin %g at %g m, not below %g", s.MarginLog10, d*share, last)
			}
			last = s.MarginLog10
		}
	})
}

func TestAt(t *testing.T) {
	q := base()
	s, err := At(q, 5000)
	require.NoError(t, err)
	// 100 cd at 5 km in 10 km visibility: 4e-6 x 0.223607 (transmission by the
	// definition of MOR, CIE e-ILV 17-21-027).
	assert.InEpsilon(t, 4e-6*0.223607, s.IlluminanceLx, 1e-5)
	assert.True(t, math.IsNaN(s.ApparentContrast))
	assert.Empty(t, s.Hidden)

	s, err = At(q, 20000)
	require.NoError(t, err)
	assert.Equal(t, Horizon, s.Hidden)
	assert.True(t, math.IsNaN(s.MarginLog10), "nothing is seen beyond the horizon")
	assert.Positive(t, s.IlluminanceLx, "what a clear line would bring")

	q.Source, q.Air.BackgroundCDM2 = flag(), 3000
	s, err = At(q, 1000)
	require.NoError(t, err)
	assert.InEpsilon(t, 7*math.Pow(0.05, 0.1), s.ApparentContrast, 1e-12)
	assert.True(t, math.IsNaN(s.IlluminanceLx))

	q.Ground = LineBlocked
	s, err = At(q, 1000)
	require.NoError(t, err)
	assert.Equal(t, Terrain, s.Hidden)

	for _, d := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err = At(q, d)
		assert.ErrorContains(t, err, "distance")
	}
}

func TestNotes(t *testing.T) {
	notes := func(s source.Source) string {
		q := base()
		q.Source = s
		q.View.LitForS = 60
		all := ""
		for _, n := range solve(t, q).Notes {
			all += n + "\n"
		}
		return all
	}
	assert.Contains(t, notes(source.Light{IntensityCD: 1}), "least supported")
	assert.NotContains(t, notes(source.Light{IntensityCD: 1}), "provisional")
	assert.Contains(t, notes(flag()), "taken as even")
	assert.Contains(t, notes(source.Light{IntensityCD: 1, Flash: source.Flash{OnS: 0.1, EveryS: 0.2}}), "stay under 3")
	assert.Contains(t, notes(source.Light{IntensityCD: 1, Beam: source.Beam{WidthDeg: 10}}), "taken to point at the eye")
	assert.Contains(t, notes(source.Light{IntensityCD: 1, RatedS: 3600}), "dimmer")
	assert.Contains(t, notes(source.Flag{WidthM: 1, HeightM: 1, Reflectance: 0.4, Behind: 0.4}), "only its colour")
	assert.Contains(t, notes(source.Fire{HeatW: 1e5, BedM: 0.5}), "factor 5")
}

func TestCheck(t *testing.T) {
	tests := []struct {
		word   string
		change func(*Query)
	}{
		{"intensity", func(q *Query) { q.Source = source.Light{IntensityCD: -1} }},
		{"visibility", func(q *Query) { q.Air.VisibilityM = 0 }},
		{"factor", func(q *Query) { q.Observer.Factor = -1 }},
		{"eye height", func(q *Query) { q.EyeM = -1 }},
		{"clutter", func(q *Query) { q.Clutter = math.NaN() }},
		{"offset", func(q *Query) { q.OffsetLog10 = 6 }},
		{"attention", func(q *Query) { q.Search = observer.DefaultSearch(); q.Search.Attention = 2 }},
		{"no law", func(q *Query) { q.Observer.Law = "x" }},
		{"signal height", func(q *Query) { q.SignalM = math.NaN() }},
	}
	for _, tt := range tests {
		q := base()
		tt.change(&q)
		_, err := Solve(q)
		assert.ErrorContains(t, err, tt.word)
		_, err = At(q, 1)
		assert.ErrorContains(t, err, tt.word)
	}
}

func BenchmarkMarginLight(b *testing.B) { benchmarkMargin(b, source.Light{IntensityCD: 100}, 0.001) }
func BenchmarkMarginFlag(b *testing.B)  { benchmarkMargin(b, flag(), 3000) }

func benchmarkMargin(b *testing.B, s source.Source, background float64) {
	q := base()
	q.Source, q.Air.BackgroundCDM2 = s, background
	w, err := q.Watch()
	require.NoError(b, err)
	for d := 1.0; b.Loop(); d++ {
		w.V(d)
	}
}

func BenchmarkSolveLight(b *testing.B) { benchmarkSolve(b, source.Light{IntensityCD: 100}, 0.001) }
func BenchmarkSolveFlag(b *testing.B)  { benchmarkSolve(b, flag(), 3000) }

func benchmarkSolve(b *testing.B, s source.Source, background float64) {
	q := base()
	q.Source, q.Air.BackgroundCDM2 = s, background
	for b.Loop() {
		if _, err := Solve(q); err != nil {
			b.Fatal(err)
		}
	}
}
