package observer

import (
	"fmt"
	"math"
	"strings"
)

// A Law names a published threshold law by author and year. The zero value is
// [Crumey2014].
type Law string

// The laws. Taylor's is the default's laboratory law with his own factors, to
// the place as well, and without a lobe. Of the others the first four give what half of all looks show to somebody who
// knows the place, and are multiplied by the observer's factors. ICAO, IALA
// and WMO state what practice needs, for lights alone: they replace laboratory
// law and factors, and what they ask for is "perceptible".
const (
	Crumey2014    Law = "crumey-2014"
	Adrian1989    Law = "adrian-1989"
	Blackwell1946 Law = "blackwell-1946" // by day only
	Koopman1946   Law = "koopman-1946"   // by day only, with its own law to the side
	ICAO2005      Law = "icao-2005"
	IALA2008      Law = "iala-2008"
	WMO2018       Law = "wmo-2018" // by night only
	Taylor1964    Law = "taylor-1964"
)

// Laws lists the laws, the default first.
var Laws = []Law{Crumey2014, Adrian1989, Blackwell1946, Koopman1946, ICAO2005, IALA2008, WMO2018, Taylor1964}

// adrianLookS is a look long enough to count as unlimited in Adrian's law.
const adrianLookS = 2

// lawInfo is one row of the table of laws.
type lawInfo struct {
	source         string
	practice       bool    // holds its trade's margin: no other factor
	darkest, light float64 // backgrounds it is stated for [cd/m2]
	pointLx        func(b float64) float64
	contrast       func(b float64) func(w float64) float64 // nil: for lights alone
}

var laws = map[Law]lawInfo{
	Crumey2014: {"Crumey 2014, equations 34 and 41", false, 0, math.Inf(1), CrumeyPointLx, crumeyAt},
	Adrian1989: {"Adrian 1989, k = 1", false, 1e-6, math.Inf(1), AdrianPointLx, func(b float64) func(float64) float64 {
		return func(w float64) float64 { return AdrianContrast(b, diameterArcmin(w), adrianLookS) }
	}},
	Blackwell1946: {"Blackwell 1946, table VIII", false, blackwellDarkest, blackwellBrightest,
		func(b float64) float64 {
			d := blackwellDiameters[0]
			return BlackwellContrast(b, d) * discSR(d) * b
		},
		func(b float64) func(float64) float64 {
			return func(w float64) float64 { return BlackwellContrast(b, diameterArcmin(w)) }
		}},
	Koopman1946: {"Koopman 1946, chapter 4", false, 300, 3e4, koopmanPointLx, func(float64) func(float64) float64 {
		return func(w float64) float64 { return KoopmanContrast(diameterArcmin(w), 0) }
	}},
	ICAO2005:   {"ICAO Doc 9328, 2005: a pilot who knows where to look", true, 0, math.Inf(1), ICAOPointLx, nil},
	IALA2008:   {"IALA E-200-2, 2008: a mariner's reliable sight", true, 0, math.Inf(1), IALAPointLx, nil},
	WMO2018:    {"WMO-No. 8, 2018, visibility at night", true, 0, 10, WMOPointLx, nil},
	Taylor1964: {"Crumey 2014, equations 34 and 41, with the factors of Taylor 1964", false, 0, math.Inf(1), CrumeyPointLx, crumeyAt},
}

// info returns the row of the law.
func (l Law) info() lawInfo {
	if l == "" {
		l = Crumey2014
	}
	return laws[l]
}

// Name returns the law's name, the default's for the zero value.
func (l Law) Name() string {
	if l == "" {
		return string(Crumey2014)
	}
	return string(l)
}

// Source returns where the law is from.
func (l Law) Source() string { return l.info().source }

// Practical reports whether the law holds its trade's margin, so that no other
// factor applies.
func (l Law) Practical() bool { return l.info().practice }

// HasLobe reports whether the law goes with a visual lobe, so that a sector, a
// look and a pass can be judged by it.
func (l Law) HasLobe() bool { return l != Taylor1964 }

// Check returns an error if the law is not known, or not stated for a
// background [cd/m2], or not for areas.
func (l Law) Check(backgroundCDM2 float64, area bool) error {
	if _, ok := laws[Law(l.Name())]; !ok {
		names := make([]string, len(Laws))
		for i, n := range Laws {
			names[i] = string(n)
		}
		return fmt.Errorf("observer: no law %q; there are %s", string(l), strings.Join(names, ", "))
	}
	i := l.info()
	switch {
	case area && i.contrast == nil:
		return fmt.Errorf("observer: %s is a law for lights, not for areas", l)
	case !(backgroundCDM2 >= i.darkest && backgroundCDM2 <= i.light):
		return fmt.Errorf("observer: %s is not stated for a background of %g cd/m2, only for %g to %g", l, backgroundCDM2, i.darkest, i.light)
	}
	return nil
}

// diameterArcmin returns the diameter of the disc that fills a solid angle.
func diameterArcmin(solidAngleSR float64) float64 {
	return 2 * math.Sqrt(solidAngleSR/math.Pi) / arcmin
}

// discSR returns the solid angle of a disc of the given diameter.
func discSR(diameterArcmin float64) float64 {
	r := diameterArcmin / 2 * arcmin
	return math.Pi * r * r
}
