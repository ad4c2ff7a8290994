package observer

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"farhail/geo/geotest"
)

func TestKoopman(t *testing.T) {
	geotest.Check(t, "observer-koopman", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{100 * KoopmanContrast(x[0], x[1])}, nil
	})
	// His central law is another formula: 1.57 + 15.2/d^2.
	for d := 0.5; d < 100; d *= 1.3 {
		assert.InEpsilon(t, (1.57+15.2/(d*d))/100, KoopmanContrast(d, 0), 0.004, "%g arcmin", d)
	}
}

func TestBlackwellTable(t *testing.T) {
	geotest.Check(t, "observer-blackwell-table", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		return []any{BlackwellContrast(x[0], x[1])}, nil
	})
	assert.True(t, math.IsNaN(BlackwellContrast(10, 1)), "not by day")
	assert.True(t, math.IsNaN(BlackwellContrast(2e4, 1)))
	assert.Equal(t, BlackwellContrast(2713, 200), BlackwellContrast(2713, 121))
	assert.InEpsilon(t, 4*BlackwellContrast(2713, 0.4), BlackwellContrast(2713, 0.2), 1e-12, "Ricco's law")
	for b := 68.0; b < 1e4; b *= 1.02 {
		last := math.Inf(1)
		for d := 0.1; d < 200; d *= 1.1 {
			c := BlackwellContrast(b, d)
			assert.LessOrEqual(t, c, last)
			last = c
		}
	}
}

func TestWMO(t *testing.T) {
	geotest.Check(t, "observer-wmo", func(in []string) ([]any, error) {
		return []any{WMOPointLx(geotest.Numbers(t, in)[0])}, nil
	})
}

// The four laboratory laws agree on small objects by day within a factor 3,
// and no practical law asks for less than any of them.
func TestDaylightRivals(t *testing.T) {
	for _, b := range []float64{300, 1000, 3000, 1e4} {
		least, most := math.Inf(1), 0.0
		for _, law := range []Law{Crumey2014, Adrian1989, Blackwell1946, Koopman1946} {
			assert.NoError(t, law.Check(b, true))
			assert.False(t, law.Practical())
			e := Observer{Law: law, Factor: 1}.PointLx(b)
			least, most = min(least, e), max(most, e)
		}
		assert.Less(t, most/least, 3.0, "%g cd/m2", b)
		for _, law := range []Law{ICAO2005, IALA2008} {
			assert.Greater(t, Observer{Law: law}.PointLx(b)*VisibilityRatio(0.9), most, "%s at %g cd/m2", law, b)
		}
	}
}

func TestLawCheck(t *testing.T) {
	assert.NoError(t, Law("").Check(1, true))
	assert.Equal(t, "crumey-2014", Law("").Name())
	assert.ErrorContains(t, Law("nobody-1900").Check(1, false), "crumey-2014, adrian-1989")
	assert.ErrorContains(t, IALA2008.Check(1, true), "lights")
	assert.NoError(t, IALA2008.Check(1, false))
	assert.ErrorContains(t, Koopman1946.Check(0.001, false), "300")
	assert.ErrorContains(t, WMO2018.Check(3000, false), "background")
	for _, law := range Laws {
		assert.NotEmpty(t, law.Source())
		assert.Len(t, laws, len(Laws))
	}
}

// Fixed thresholds and practical laws stand for nine looks in ten, and neither
// age nor factor moves them; the laboratory laws take each once.
func TestFactorsOnce(t *testing.T) {
	r := VisibilityRatio(0.9)
	old := Observer{Factor: 1.5, AgeYears: 60}
	assert.InEpsilon(t, 1.5*AdrianAge(60)*CrumeyPointLx(1), old.PointLx(1), 1e-12)
	assert.InEpsilon(t, 1.5*AdrianAge(60)*CrumeyContrast(1, 1e-6), old.Contrast(1, 1e-6), 1e-12)
	iala := old
	iala.Law = IALA2008
	assert.InEpsilon(t, IALAPointLx(1), r*iala.PointLx(1), 1e-12)
	fixed := old
	fixed.FixedLx, fixed.FixedContrast = 1e-6, 0.05
	assert.InEpsilon(t, 1e-6, r*fixed.PointLx(1), 1e-12)
	assert.InEpsilon(t, 0.05, r*fixed.Contrast(1, 1e-9), 1e-12)
	assert.InEpsilon(t, 0.05*4, r*fixed.Before(1).Contrast(1e-9, 1.8), 1e-12, "grows like that of a small object")
	assert.ErrorContains(t, Observer{AgeYears: 80}.Check(), "age")
}
