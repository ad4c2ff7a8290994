package earth

import (
	"errors"
	"math"
)

// Bearings carry their north in the type, so that a compass reading cannot be
// drawn on a map without its declination. Each is in degrees clockwise from its
// north, [0, 360) when made by the functions here; NaN is no bearing.
type (
	// True is a bearing from the geographic meridian [degrees].
	True float64
	// Magnetic is a bearing from the compass needle [degrees].
	Magnetic float64
	// Grid is a bearing from the north lines of a map grid [degrees].
	Grid float64
)

// NewTrue returns the true bearing of deg [degrees, any turn].
func NewTrue(deg float64) True { return True(Wrap360(deg)) }

// NewMagnetic returns the magnetic bearing of deg [degrees, any turn].
func NewMagnetic(deg float64) Magnetic { return Magnetic(Wrap360(deg)) }

// NewGrid returns the grid bearing of deg [degrees, any turn].
func NewGrid(deg float64) Grid { return Grid(Wrap360(deg)) }

// Back returns the opposite bearing.
func (b True) Back() True { return NewTrue(float64(b) + 180) }

// Magnetic returns what a compass shows for b where the declination is declDeg
// [degrees, positive when the needle points east of true north].
func (b True) Magnetic(declDeg float64) Magnetic { return NewMagnetic(float64(b) - declDeg) }

// Grid returns b measured from grid north where the grid convergence is convDeg
// [degrees, positive when grid north lies east of true north].
func (b True) Grid(convDeg float64) Grid { return NewGrid(float64(b) - convDeg) }

// True returns b measured from true north; declDeg as in True.Magnetic.
func (b Magnetic) True(declDeg float64) True { return NewTrue(float64(b) + declDeg) }

// True returns b measured from true north; convDeg as in True.Grid.
func (b Grid) True(convDeg float64) True { return NewTrue(float64(b) + convDeg) }

// Wrap360 returns deg [degrees] turned into [0, 360); never -0 and never 360,
// even for the smallest negative angle. NaN and infinities give NaN.
func Wrap360(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 || deg == 0 {
		return 0
	}
	return deg
}

// Wrap180 returns deg [degrees] turned into [-180, 180), never -0. NaN and
// infinities give NaN. A longitude difference or a turn is wrapped so.
func Wrap180(deg float64) float64 {
	if -180 <= deg && deg < 180 {
		return deg + 0 // exact for what is inside already; turns -0 into 0
	}
	deg = Wrap360(deg)
	if deg >= 180 {
		deg -= 360
	}
	return deg
}

// ErrOpposed tells that bearings point so far apart that they have no mean.
var ErrOpposed = errors.New("earth: bearings are opposed and have no mean")

// ErrNoBearing tells that there is no bearing to take a mean of.
var ErrNoBearing = errors.New("earth: no bearing to take a mean of")

// minResultant is the least length of the mean unit vector for which a mean is
// given [1]. Own choice: two readings within 11.5 degrees of opposite are
// refused, because reading errors of a few degrees then decide between two
// means that are themselves opposite.
const minResultant = 0.1

// MeanBearing returns the circular mean [degrees, 0 to 360) of bearings of one
// north [degrees, any turn]: 350 and 10 give 0. It returns ErrOpposed where the
// bearings cancel out, as 10 and 190 do, and ErrNoBearing for none at all or one
// that is not finite; the mean is then NaN.
//
// Source: Mardia, K. V., and Jupp, P. E. (2000), Directional Statistics, Wiley,
// section 2.2.1, from memory.
func MeanBearing(degs []float64) (meanDeg float64, err error) {
	var sumSin, sumCos float64
	for _, d := range degs {
		if !finite(d) {
			return math.NaN(), ErrNoBearing
		}
		s, c := math.Sincos(Wrap360(d) * degree)
		sumSin += s
		sumCos += c
	}
	if len(degs) == 0 {
		return math.NaN(), ErrNoBearing
	}
	if math.Hypot(sumSin, sumCos) < minResultant*float64(len(degs)) {
		return math.NaN(), ErrOpposed
	}
	return Wrap360(math.Atan2(sumSin, sumCos) / degree), nil
}
