package los

import (
	"errors"
	"fmt"
	"math"

	"farhail/geo/earth"
	"farhail/geo/grid"
)

// State says whether a target is seen.
type State uint8

// The states of a target or a cell. The zero value is a cell that was not
// looked at.
const (
	Beyond  State = iota // outside the radius
	Seen                 // nothing known stands in the way, and all is known
	Hidden               // known ground stands in the way
	Unknown              // no-data under the line or the target
)

// String returns the state in lower case.
func (s State) String() string {
	return [...]string{"beyond", "seen", "hidden", "unknown"}[s]
}

// tieM is how much [m] a target may fall short of the height it needs and
// still be seen: rounding must not decide a tie.
const tieM = 1e-4

// ErrOptions says that the refraction or the earth's radius is impossible.
var ErrOptions = errors.New("los: impossible options")

// Options say how light runs and how long lines are.
type Options struct {
	// Refraction is the coefficient k [1]: the curvature of a light ray over
	// that of the Earth. The zero value means straight rays.
	Refraction float64
	// EarthRadiusM is the radius of the Earth [m]; 0 stands for
	// earth.MeanRadiusM.
	EarthRadiusM float64
	// GridLengths takes lengths on a projected grid as they are, not divided
	// by the point scale. Grids in longitude and latitude ignore it.
	GridLengths bool
	// Screen holds heights [m] that light does not pass below, one for each cell
	// of the grid and by its datum: the top of a wood's canopy, the ground where
	// there is none. Sight lines run over it instead of over the grid's heights,
	// while eyes and targets stand on these all the same, so that nobody under
	// trees sees farther than the cells around. NaN is unknown. nil: the ground
	// alone is in the way.
	Screen []float32
}

// DefaultOptions returns earth.DefaultRefraction and the mean radius.
func DefaultOptions() Options {
	return Options{Refraction: earth.DefaultRefraction, EarthRadiusM: earth.MeanRadiusM}
}

// Station is a place above the ground of a grid.
type Station struct {
	Col, Row float64 // cell coordinates, whole numbers at cell centres
	HeightM  float64 // above the ground [m], negative allowed
}

// Sight is what a sight line meets.
type Sight struct {
	State     State
	DistanceM float64 // horizontal length of the line [m]
	// ClearanceM is the least vertical gap [m] between the straight line from
	// eye to target and the ground at the crossings between them: negative
	// where it is blocked, NaN where there is no crossing and where it is unknown.
	ClearanceM float64
	// BlockedAtM is the distance [m] from the eye to the first crossing that
	// hides the target, NaN where none does.
	BlockedAtM float64
	// NeedM is the height above its ground [m] from which the target is seen,
	// 0 where the ground itself is, NaN where it is unknown.
	NeedM float64
	// Voids is the number of crossings without a height. They are left out of
	// the three figures above: where it is not 0 and known ground hides the target
	// all the same, NeedM is the least that may be needed and ClearanceM the most
	// that may be left.
	Voids int
}

// Line returns what the sight line between two stations meets. Where a station
// is off the grid or has no ground under it, or the options are impossible, the
// state is Unknown and the heights are NaN. The figures are exact by the
// package's definition; rounding is below 1e-6 m.
func Line(h *grid.Heights, eye, target Station, o Options) Sight {
	e, err := NewEye(h, eye, o)
	if err != nil {
		nan := math.NaN()
		return Sight{State: Unknown, DistanceM: nan, ClearanceM: nan, BlockedAtM: nan, NeedM: nan}
	}
	return e.Sight(target)
}

// drop returns the coefficient q of the lowering q d² [1/m].
func (o Options) drop() (float64, error) {
	radius := o.EarthRadiusM
	if radius == 0 {
		radius = earth.MeanRadiusM
	}
	if !(radius > 0) || math.IsNaN(o.Refraction) || math.IsInf(o.Refraction, 0) {
		return 0, fmt.Errorf("%w: refraction %g, earth radius %g m", ErrOptions, o.Refraction, o.EarthRadiusM)
	}
	return earth.DropM(1, o.Refraction, radius), nil
}
