package air

import (
	"fmt"
	"math"
)

// Plants are what stands between an eye and a target, spread at random. The
// zero value is open ground. Whether a line is clear is a matter of chance: a
// line that is clear shows the target whole, so that chance is applied to
// finding and never to the strength of a signal too.
type Plants struct {
	StemsPerM2, StemWidthM float64 // trunks, and their mean width at the height of the eye [m]
	LeafAreaIndex          float64 // leaf area over ground area
	CanopyM                float64 // height over which the leaves are spread [m]
	// MeanClearM is the mean clear line [m] where it was measured; it replaces
	// stems and leaves. 0: not measured.
	MeanClearM float64
	// OnLine is the mean number of stems and leaves on the line between two known
	// places, beside those above, which stand everywhere [1].
	OnLine float64
}

// leafShare is the shadow of a unit of leaf area whose leaves are turned every
// way (Ross 1981: G = 0.5). Clumped leaves shade less: 0.5 to 0.9 of it.
const leafShare = 0.5

// Check returns an error that names the first impossible value.
func (p Plants) Check() error {
	for _, v := range []struct {
		name  string
		value float64
	}{
		{"stems", p.StemsPerM2}, {"stem width", p.StemWidthM}, {"leaf area index", p.LeafAreaIndex},
		{"canopy height", p.CanopyM}, {"mean clear line", p.MeanClearM}, {"plants on the line", p.OnLine},
	} {
		if !(v.value >= 0) || math.IsInf(v.value, 1) {
			return fmt.Errorf("plants: %s %g is not a number from 0 up", v.name, v.value)
		}
	}
	switch {
	case (p.StemsPerM2 > 0) != (p.StemWidthM > 0):
		return fmt.Errorf("plants: stems need both their number and their width")
	case p.LeafAreaIndex > 0 && p.CanopyM == 0:
		return fmt.Errorf("plants: a leaf area index needs the height of the canopy")
	}
	return nil
}

// ClearM returns the mean free length of a level line of sight [m], +Inf in
// the open. Stems leave e^(-N D r) of the lines clear (Poisson shadows;
// confirmed in mature stands by Lang et al., Remote Sensing 13 (2021) 4455),
// leaves e^(-G a r) with a their area per volume (Beer and Lambert); the two
// multiply.
func (p Plants) ClearM() float64 {
	if p.MeanClearM > 0 {
		return p.MeanClearM
	}
	perM := p.StemsPerM2 * p.StemWidthM
	if p.LeafAreaIndex > 0 {
		perM += leafShare * p.LeafAreaIndex / p.CanopyM
	}
	return 1 / perM
}

// Clear returns the chance that a level line of the given length [m] is clear.
func (p Plants) Clear(distM float64) float64 { return math.Exp(-distM/p.ClearM() - p.OnLine) }

// HalfClearM returns the distance [m] at which half of all level lines are
// clear, ln 2 times the mean free length; +Inf in the open, 0 where what stands
// on the line is clear more seldom.
func (p Plants) HalfClearM() float64 {
	if p.OnLine > math.Ln2 {
		return 0
	}
	return (math.Ln2 - p.OnLine) * p.ClearM()
}

// Open reports whether nothing stands in the way.
func (p Plants) Open() bool { return math.IsInf(p.ClearM(), 1) && p.OnLine == 0 }
