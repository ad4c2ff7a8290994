package observer

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestGlare(t *testing.T) {
	geotest.Check(t, "observer-glare", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{VeilCDM2(x[0], x[1], x[2])}, nil
	})
	assert.True(t, math.IsNaN(VeilCDM2(1, 0.05, 25)))
	assert.True(t, math.IsNaN(VeilCDM2(1, 101, 25)))
	assert.Equal(t, VeilCDM2(1, 5, 25), VeilCDM2(1, 5, 0), "the young observer of the standard")
	last := math.Inf(1)
	for a := 0.1; a <= 100; a *= 1.1 {
		l := VeilCDM2(1, a, 40)
		assert.Less(t, l, last)
		last = l
		// The standard's simpler equation, 10 (1 + (A/70)^4) / a^2, for 1 to 30 deg.
		if a > 2 && a < 30 {
			r := l / (10 * (1 + math.Pow(40.0/70, 4)) / (a * a))
			assert.True(t, r > 0.6 && r < 1.1, "%g at %g deg", r, a)
		}
	}
}

func TestOwnLamp(t *testing.T) {
	lx, deg := OwnLamp(200)
	assert.InDelta(t, 34.5, deg, 0.1, "1.7 m below, 3 m away")
	// 200 lm on ground that sends back a tenth, all over pi, 9 m2 away, slanted.
	assert.InEpsilon(t, 0.1*200/math.Pi*(1.7/3)/9, lx, 1e-12)
	assert.Greater(t, VeilCDM2(lx, deg, 0), 0.001, "brighter than a moonless night")
}

func TestHecht(t *testing.T) {
	geotest.Check(t, "observer-hecht", func(in []string) ([]any, error) {
		b := 10.8e4 * math.Pow(10, -0.4*geotest.Numbers(t, in)[0])
		return []any{-13.99 - 2.5*math.Log10(HechtPointLx(b))}, nil
	})
	// The cones' floor of 10^-8.35 footcandles, five times of which is IALA's
	// practical curve: the same K, another C.
	assert.InEpsilon(t, 4.81e-8, HechtConePointLx(0), 1e-3)
	for _, b := range []float64{0, 0.01, 1, 100, 1e4} {
		assert.InEpsilon(t, 5.03, IALAPointLx(b)/HechtConePointLx(b), 0.015, "%g cd/m2; its K is 0.4 for 0.3955", b)
	}
	// Crumey's law for real observers (F 1.4 to 2.4) is Hecht's within a factor 2
	// where rods serve.
	for b := 1e-5; b < 1e-3; b *= 1.3 {
		r := 2 * CrumeyPointLx(b) / HechtPointLx(b)
		assert.True(t, r > 0.7 && r < 2, "%g at %g cd/m2", r, b)
	}
}

func TestUnadapted(t *testing.T) {
	// A moonless night: some 3.3, which with F = 2 and V = 4 is about the 2e-7 lx
	// of practice for an eye that is not quite used to the dark.
	assert.InDelta(t, 3.3, UnadaptedFactor(1e-3), 0.1)
	assert.InEpsilon(t, NauticalNightLx, 4.01*Observer{Unadapted: true}.PointLx(1e-3), 0.1)
	last := math.Inf(1)
	for b := 1e-7; b < 1e4; b *= 1.2 {
		f := UnadaptedFactor(b)
		assert.LessOrEqual(t, f, last+1e-12)
		assert.GreaterOrEqual(t, f, 1.0)
		last = f
	}
	assert.Equal(t, 1.0, UnadaptedFactor(0.01))
	assert.Equal(t, 1.0, Observer{}.AdaptationFactor(1e-5))
	assert.Equal(t, Observer{Law: IALA2008}.PointLx(1e-4), Observer{Law: IALA2008, Unadapted: true}.PointLx(1e-4), "practice holds its own margin")
}

func TestOptics(t *testing.T) {
	geotest.Check(t, "observer-exit-pupil", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{Optics{Magnification: x[0], ObjectiveMM: x[1]}.ExitPupilMM()}, nil
	})
	geotest.Check(t, "observer-pupil", func(in []string) ([]any, error) {
		return []any{PupilMM(geotest.Numbers(t, in)[0])}, nil
	})
	geotest.Check(t, "observer-glasses", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		g := Optics{Magnification: x[0], ObjectiveMM: x[1]}
		hand := g.PointGain(x[2])
		g.OnStand = true
		return []any{hand, g.PointGain(x[2])}, nil
	})
	g := Optics{Magnification: 7, ObjectiveMM: 50}
	assert.InDelta(t, 7.14, g.FieldDeg(), 0.01)
	assert.Equal(t, 1.0, Optics{}.PointGain(1))
	assert.True(t, math.IsInf(Optics{}.ExitPupilMM(), 1))
	assert.Equal(t, 360.0, Optics{}.FieldDeg())
	assert.Equal(t, "7x50", g.String())
	for word, bad := range map[string]Optics{"magnification": {0, 50, false}, "front lens": {7, 0, false}} {
		assert.ErrorContains(t, bad.Check(), word)
	}
	assert.NoError(t, Optics{}.Check())
	assert.ErrorContains(t, Observer{Optics: g, FixedLx: 1e-6}.Check(), "glasses")
}

// Through glasses small lights and areas gain alike, and large areas nothing:
// their contrast only falls by stray light.
func TestEyeThroughGlasses(t *testing.T) {
	const b = 3000
	g := Observer{Optics: Optics{Magnification: 7, ObjectiveMM: 50}}
	naked, armed := Observer{}.Before(b), g.Before(b)
	assert.InEpsilon(t, 22.05*CrumeyPointLx(b)/CrumeyPointLx(0.9*b), naked.PointLx()/armed.PointLx(), 1e-9, "M^2 0.9/2, before a background that is dimmer by a tenth")
	w := 1e-11
	assert.InEpsilon(t, 24.5*glassContrast, naked.Contrast(w, 0)/armed.Contrast(w, 0), 0.06)
	assert.Greater(t, armed.LargeContrast(), naked.LargeContrast())
	assert.Less(t, armed.LargeContrast(), 1.1*naked.LargeContrast())
	// The lobe covers a 49th of the scene, and at most the field.
	assert.InEpsilon(t, naked.PointLobeSR(4)/49, armed.PointLobeSR(4), 1e-12)
	assert.InEpsilon(t, coneSR(25.0/7), armed.PointLobeSR(1e6), 1e-12)
	for v := 0.1; v < 50; v *= 1.3 {
		assert.InEpsilon(t, v, armed.PointRatio(armed.PointLobeSR(v)), 1e-9)
	}
	assert.True(t, math.IsInf(armed.PointRatio(coneSR(25.0/7)), 1))
}

// Glare adds to the background of every law, and washes areas out.
func TestEyeInGlare(t *testing.T) {
	dazzled := Observer{VeilCDM2: 0.01}
	assert.Equal(t, Observer{}.PointLx(0.011), dazzled.PointLx(0.001))
	assert.InEpsilon(t, 11*Observer{}.Contrast(0.011, 1e-4), dazzled.Contrast(0.001, 1e-4), 1e-12)
	assert.Equal(t, Observer{Law: IALA2008}.PointLx(0.011), Observer{Law: IALA2008, VeilCDM2: 0.01}.PointLx(0.001))
	assert.Equal(t, 1e-6/reliable, Observer{FixedLx: 1e-6, VeilCDM2: 1}.PointLx(0.001), "a fixed threshold is fixed")
	assert.ErrorContains(t, Observer{VeilCDM2: math.NaN()}.Check(), "veil")
}

func TestTaylor(t *testing.T) {
	geotest.Check(t, "observer-taylor", func(in []string) ([]any, error) {
		return []any{TaylorLikelihood(geotest.Numbers(t, in)[0])}, nil
	})
	assert.True(t, math.IsNaN(TaylorLikelihood(0.7)))
	o := Observer{Law: Taylor1964}
	// 1.64 x 1.31 x 1.19 x 1.9 = 4.86 on the laboratory's threshold.
	assert.InDelta(t, 4.86, TaylorNoticed*o.PointLx(1)/CrumeyPointLx(1), 0.005)
	assert.False(t, Taylor1964.HasLobe())
	assert.True(t, Law("").HasLobe())
	assert.Equal(t, 1.0, Observer{Law: Taylor1964, Factor: 1}.F(), "a factor that is given wins")
}
