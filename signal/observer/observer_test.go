package observer

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

// Sky brightness and stars in magnitudes: B = 10^((12.58 - mu)/2.5) cd/m2 and
// m = -13.99 - 2.5 log E (Crumey 2014, section 1.4).
func TestCrumeyStars(t *testing.T) {
	geotest.Check(t, "observer-crumey", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		o := Observer{Factor: x[1]}
		e := o.PointLx(math.Pow(10, (12.58-x[0])/2.5))
		return []any{-13.99 - 2.5*math.Log10(e)}, nil
	})
}

func TestCrumeyDark(t *testing.T) {
	geotest.Check(t, "observer-crumey-dark", func(in []string) ([]any, error) {
		b := geotest.Numbers(t, in)[0]
		return []any{CrumeyLargeContrast(b), CrumeyPointLx(b)}, nil
	})
}

func TestCrumeyLaw(t *testing.T) {
	geotest.Check(t, "observer-crumey-law", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		b := x[0]
		return []any{CrumeyRiccoSR(b), CrumeyPointLx(b), CrumeyLargeContrast(b), CrumeyContrast(b, discSR(x[1]))}, nil
	})
}

// The law fits the data it was made from to about 30 % (0.13 in the logarithm).
func TestCrumeyAgainstBlackwell(t *testing.T) {
	geotest.Check(t, "observer-blackwell", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{math.Log10(CrumeyContrast(x[0], discSR(x[1])))}, nil
	})
}

// decades calls f at 200 backgrounds a decade from 1e-5 to 1e4 cd/m2.
func decades(f func(b float64)) {
	for i := -1000; i <= 800; i++ {
		f(math.Pow(10, float64(i)/200))
	}
}

func TestCrumeyIsSmoothAndMonotone(t *testing.T) {
	lastPoint, lastContrast := 0.0, math.Inf(1)
	raw := 0 // where the printed fit itself falls
	lastRaw := 0.0
	decades(func(b float64) {
		e := CrumeyPointLx(b)
		assert.GreaterOrEqual(t, e, lastPoint, "threshold of a point at %g cd/m2", b)
		if lastPoint > 0 {
			assert.Less(t, e, 1.05*lastPoint, "no step at %g cd/m2", b)
		}
		lastPoint = e
		if CrumeyRiccoSR(b)*b < lastRaw {
			raw++
		}
		lastRaw = CrumeyRiccoSR(b) * b
		c := CrumeyContrast(b, discSR(10))
		assert.Less(t, c, lastContrast*1.001, "contrast threshold at %g cd/m2", b)
		lastContrast = c
	})
	assert.Positive(t, raw, "the printed fit dips; without it the running maximum would not be needed")

	for _, b := range []float64{1e-5, 0.01, 0.193, 1, 3.4, 3000} {
		last := math.Inf(1)
		for d := 0.1; d < 1000; d *= 1.1 {
			c := CrumeyContrast(b, discSR(d))
			assert.Less(t, c, last, "larger discs need less contrast, %g cd/m2, %g arcmin", b, d)
			last = c
		}
		assert.InEpsilon(t, CrumeyLargeContrast(b), CrumeyContrast(b, 1e6), 1e-3)
		assert.InEpsilon(t, CrumeyRiccoSR(b), CrumeyContrast(b, 1e-14)*1e-14, 0.01, "Ricco's law")
	}
}

func TestAdrian(t *testing.T) {
	geotest.Check(t, "observer-adrian", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		c := AdrianContrast(x[0], x[1], x[2])
		if x[3] > 0 {
			c *= AdrianAge(x[3])
		}
		return []any{c}, nil
	})
}

func TestAdrianAge(t *testing.T) {
	geotest.Check(t, "observer-adrian-age", func(in []string) ([]any, error) {
		return []any{AdrianAge(geotest.Numbers(t, in)[0])}, nil
	})
	assert.True(t, math.IsNaN(AdrianAge(76)))
	assert.InDelta(t, 1, AdrianAge(15), 0.005)
}

// Two fits to different data agree within a factor 0.8 to 2.3 over nine
// decades, and the pilot's curve is about three times the laboratory's from
// twilight to day (scanned independently: 0.82 to 2.23, and 2.90 to 4.04).
func TestRivalsAgree(t *testing.T) {
	decades(func(b float64) {
		r := CrumeyPointLx(b) / AdrianPointLx(b)
		assert.True(t, r > 0.8 && r < 2.3, "Crumey over Adrian is %.3f at %g cd/m2", r, b)
		if b >= 0.1 {
			assert.Greater(t, IALAPointLx(b), 5*CrumeyPointLx(b), "%g cd/m2", b)
		}
		if b >= 1 {
			r := ICAOPointLx(b) / CrumeyPointLx(b)
			assert.True(t, r > 2.9 && r < 4.1, "ICAO over Crumey is %.3f at %g cd/m2", r, b)
		}
	})
	assert.InEpsilon(t, 4.157e-8, AdrianPointLx(1), 1e-3, "k = 1 at 1 cd/m2, computed from the formula outside this program")
}

func practice(law string, b float64) (float64, error) {
	switch law {
	case "icao":
		return ICAOPointLx(b), nil
	case "iala":
		return IALAPointLx(b), nil
	}
	return 0, fmt.Errorf("no law %q", law)
}

func TestPractice(t *testing.T) {
	for _, name := range []string{"observer-practice", "observer-curves"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			e, err := practice(in[0], geotest.Numbers(t, in[1:])[0])
			return []any{e}, err
		})
	}
	last := 0.0
	decades(func(b float64) {
		e := ICAOPointLx(b)
		assert.GreaterOrEqual(t, e, last, "%g cd/m2", b)
		assert.GreaterOrEqual(t, e, NauticalNightLx)
		last = e
	})
}

// Sea-mile candela: 0.2 microlux is the light of 0.686 cd at a nautical mile
// (IES, nominal range of a light signal).
func TestNauticalNight(t *testing.T) {
	assert.InDelta(t, 0.686, NauticalNightLx*1852*1852, 5e-4)
}

// Blackwell's normal ogive of standard deviation 0.48 has its 90 % point at
// 1 + 1.2816 x 0.48 = 1.615, where the curve used here has it too.
func TestSeen(t *testing.T) {
	assert.Equal(t, 0.0, Seen(0))
	assert.Equal(t, 0.0, Seen(-1))
	assert.InDelta(t, 0.5, Seen(1), 1e-15)
	assert.InDelta(t, 1.616, VisibilityRatio(0.9), 5e-4)
	assert.InDelta(t, 1+1.2816*0.48, VisibilityRatio(0.9), 2e-3)
	for p := 0.01; p < 1; p += 0.01 {
		assert.InDelta(t, p, Seen(VisibilityRatio(p)), 1e-12)
	}
	assert.True(t, math.IsNaN(VisibilityRatio(1.5)))
}

func TestObserver(t *testing.T) {
	var o Observer
	assert.NoError(t, o.Check())
	assert.Equal(t, 2.0, o.F())
	assert.Equal(t, 2*CrumeyPointLx(1), o.PointLx(1))
	assert.Equal(t, 2*CrumeyContrast(1, 1e-6), o.Contrast(1, 1e-6))
	assert.ErrorContains(t, Observer{Factor: math.NaN()}.Check(), "factor")
	assert.ErrorContains(t, Observer{FixedLx: -1}.Check(), "threshold")
	assert.ErrorContains(t, Observer{FixedContrast: math.Inf(1)}.Check(), "contrast")
}
