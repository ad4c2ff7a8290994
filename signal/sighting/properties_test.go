package sighting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// The slow way: halving the distances at which a condition holds that holds
// nearer and not farther.
func slowly(boundM float64, holds func(distM float64) bool) float64 {
	return farthest(boundM, holds)
}

// What the solver finds by a guess and a few steps is what halving finds.
func TestSolveAgainstTheSlowWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		q.Ground = NoCurvature
		r := solve(t, q)
		w, err := q.Watch()
		require.NoError(t, err)
		// Far beyond any perceptible distance in the air of the queries.
		const boundM = 1e7
		want := slowly(boundM, func(d float64) bool { return w.V(d) > perceptibleV })
		if w.look.Point() {
			want = slowly(boundM, func(d float64) bool {
				return IlluminanceLx(w.look.IntensityCD, d, w.extinction) > r.Perceptible.ThresholdLx
			})
		}
		if want < nearestM {
			want = 0
		}
		if math.Abs(r.Perceptible.DistanceM-want) > 1e-9*want && want > nearestM*1.01 {
			t.Fatalf("perceptible %g m, the slow way %g m", r.Perceptible.DistanceM, want)
		}
		lobe := w.search.LobeFor(noticedChance)
		found := slowly(want, func(d float64) bool { return d <= w.FarthestM() && w.LobeSR(d) > lobe })
		// The floor and the law meet within what the lobe's inverse is exact to.
		if math.Abs(r.Noticed.DistanceM-found) > 1e-8*found && found > nearestM*1.01 {
			t.Fatalf("noticed %g m, the slow way %g m", r.Noticed.DistanceM, found)
		}
	})
}

// A result lies between its own low and high, and no draw is noticed farther
// than it is perceptible.
func TestBandsHoldTheResult(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		q.Ground = rapid.SampledFrom([]Ground{RoundEarth, NoCurvature}).Draw(t, "ground")
		r := solve(t, q)
		b, err := q.Bands(UsualSpread(q.Source.Kind()), rapid.Uint64().Draw(t, "seed"))
		require.NoError(t, err)
		for _, x := range []struct {
			name string
			mid  float64
			band Band
		}{{"noticed", r.Noticed.DistanceM, b.Noticed}, {"perceptible", r.Perceptible.DistanceM, b.Perceptible}} {
			if !(x.band.Low <= x.mid*(1+1e-9) && x.mid <= x.band.High*(1+1e-9)) {
				t.Fatalf("%s: %g m is not within %+v", x.name, x.mid, x.band)
			}
		}
		if b.Noticed.Low > b.Perceptible.Low || b.Noticed.High > b.Perceptible.High {
			t.Fatalf("noticed %+v beyond perceptible %+v", b.Noticed, b.Perceptible)
		}
	})
}

// A target of twice the area is seen at least as far, whatever its contrast's
// sign, and one of twice the contrast too.
func TestMonotoneInContrast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		side := math.Pow(10, rapid.Float64Range(-2, 1).Draw(t, "log side"))
		f := source.Flag{WidthM: side, HeightM: side, Reflectance: 0.3, Behind: rapid.Float64Range(0.3, 1).Draw(t, "behind")}
		q.Source = f
		was := solve(t, q)
		f.Reflectance *= rapid.Float64Range(0, 1).Draw(t, "darker")
		q.Source = f
		now := solve(t, q)
		if now.Perceptible.DistanceM < was.Perceptible.DistanceM*(1-1e-9) || now.Noticed.DistanceM < was.Noticed.DistanceM*(1-1e-9) {
			t.Fatalf("more contrast, less distance: %+v, then %+v", was, now)
		}
	})
}

// Where one law's branch ends and the next begins (Crumey's exponent at 0.193
// and 3.4 cd/m2, his dip from 0.02 to 0.07, the floor of lights at night, Adrian's
// three ranges), a background brighter by 0.4 % changes no distance by more
// than its share.
func TestContinuousInBackground(t *testing.T) {
	light := func() source.Source { return source.Light{IntensityCD: 100} }
	cloth := func() source.Source {
		return source.Flag{WidthM: 0.5, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05}
	}
	const step = 1.004
	for _, law := range []observer.Law{observer.Crumey2014, observer.Adrian1989, observer.ICAO2005, observer.IALA2008} {
		for name, s := range map[string]func() source.Source{"light": light, "flag": cloth} {
			if law.Practical() && name == "flag" {
				continue
			}
			q := base()
			q.Ground, q.Source, q.Observer.Law = NoCurvature, s(), law
			last := [2]float64{}
			for b := 2e-6; b < 2e4; b *= step {
				q.Air.BackgroundCDM2 = b
				r := solve(t, q)
				now := [2]float64{r.Noticed.DistanceM, r.Perceptible.DistanceM}
				for i, what := range []string{"noticed", "perceptible"} {
					if last[i] > 0 && math.Abs(now[i]/last[i]-1) > joins(law) {
						t.Errorf("%s, %s, %s: from %g to %g m at %g cd/m2", law, name, what, last[i], now[i], b)
					}
				}
				last = now
			}
		}
	}
}

// joins is by how much a distance may change over 0.4 % of background: where
// light spreads by the square it goes as the root of the threshold, which goes
// at most as the background. What a printed law itself jumps at a join is added.
func joins(law observer.Law) float64 {
	if law == observer.Adrian1989 {
		return 0.011 // 0.9 % of a flag's distance at 0.6 cd/m2, by the rounding of the printed constants
	}
	return 0.003
}

// In fog no signal is seen much farther than a few times the visibility: a
// lamp of any intensity within 20 of them, a flag within 3.
func TestFogLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		q.Ground = NoCurvature
		q.Air.VisibilityM = rapid.Float64Range(50, 1000).Draw(t, "fog")
		times := 20.0
		if q.Source.Kind() == source.KindFlag {
			times = 3
		}
		if r := solve(t, q); r.Perceptible.DistanceM > times*q.Air.VisibilityM {
			t.Fatalf("%g m in a visibility of %g m", r.Perceptible.DistanceM, q.Air.VisibilityM)
		}
	})
}

// The margin of perceptible and that of a distance agree, and the chance per
// glimpse falls with distance.
func TestChanceFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anything(t)
		q.Ground = NoCurvature
		last := 1.0
		for d := 1.0; d < 1e5; d *= 3 {
			s, err := At(q, d)
			require.NoError(t, err)
			if s.ChancePerGlimpse > last*(1+1e-12) {
				t.Fatalf("chance %g at %g m, %g nearer", s.ChancePerGlimpse, d, last)
			}
			last = s.ChancePerGlimpse
		}
	})
	s, err := At(base(), 1)
	require.NoError(t, err)
	assert.Positive(t, s.ChancePerGlimpse)
}
