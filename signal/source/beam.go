package source

import (
	"fmt"
	"math"

	"farhail/geo/earth"
)

// Beam is where a light shines and how its intensity falls away from the axis.
// The zero value shines all round.
type Beam struct {
	Shape Shape
	// WidthDeg is the full angle [deg]: of an even cone all of it, up to 360; of a
	// smooth beam that between the directions of half the intensity, up to 180.
	// 0: all round.
	WidthDeg float64
	// Spill is what a smooth beam sends into the rest of the half space before
	// it, as a share of the intensity on its axis, up to a half.
	Spill float64
	// Table replaces shape and width: the share of the greatest intensity by the
	// angle off the axis, straight in between and dark beyond the last.
	Table []BeamPoint

	Aimed   bool       // false: turned to the eye, and Azimuth is not used
	Azimuth earth.True // of the axis
	TiltDeg float64    // of the axis above the horizontal [deg]
}

// A BeamPoint is one row of a measured beam. Two rows of one angle are a step.
type BeamPoint struct {
	OffDeg float64 // angle off the axis [deg], 0 to 180
	Share  float64 // of the greatest intensity, 0 to 1
}

// Shape is how the intensity of a beam falls away from its axis.
type Shape string

// The shapes of beams without a table.
const (
	// Even is a cone of one intensity, dark beside it: "" too.
	Even Shape = "even"
	// Smooth is 2^-(2 a / width)^2 at an angle a off the axis, which is a half at
	// half the width, but never less than the spill, and dark behind the lamp. Own
	// choice: the hot spot of a reflector or a lens, blurred. Without spill it
	// ends at 1 % of the axis.
	Smooth Shape = "smooth"
)

// Shapes lists the shapes of beams, the usual first.
var Shapes = []Shape{Even, Smooth}

const (
	// skirtShare is where a smooth beam without spill is taken to end.
	skirtShare = 0.01
	// frontDeg is how far off its axis a lamp with spill shines [deg].
	frontDeg = 90
	// edgeRad is what rounding may cost an eye on the very edge of a beam [rad].
	edgeRad = 1e-9
)

// TableBeam returns the beam of a table of intensities [cd] by angle off the
// axis [deg], in rising order from 0, and its greatest intensity.
func TableBeam(offDegCD [][2]float64) (Beam, float64) {
	greatest := 0.0
	for _, row := range offDegCD {
		greatest = max(greatest, row[1])
	}
	var b Beam
	for _, row := range offDegCD {
		b.Table = append(b.Table, BeamPoint{OffDeg: row[0], Share: row[1] / greatest})
	}
	return b, greatest
}

// Narrow reports whether the beam leaves some direction dark or dim.
func (b Beam) Narrow() bool {
	return len(b.Table) > 0 || b.WidthDeg > 0 && b.WidthDeg < 360
}

// Share returns the intensity in the given direction as a share of the
// greatest, 0 outside the beam. An azimuth of NaN means that the beam is turned
// to the eye in azimuth; its tilt still counts.
func (b Beam) Share(azimuth earth.True, elevationDeg float64) float64 {
	if !b.Narrow() {
		return 1
	}
	return b.at(b.offRad(azimuth, elevationDeg))
}

// offRad returns the angle between the axis and a direction [rad].
func (b Beam) offRad(azimuth earth.True, elevationDeg float64) float64 {
	turn := 0.0
	if b.Aimed && !math.IsNaN(float64(azimuth)) {
		turn = radians(float64(azimuth) - float64(b.Azimuth))
	}
	// The haversine of the angle between axis and eye keeps narrow beams exact.
	hav := sq(math.Sin(radians(elevationDeg-b.TiltDeg)/2)) +
		math.Cos(radians(b.TiltDeg))*math.Cos(radians(elevationDeg))*sq(math.Sin(turn/2))
	return 2 * math.Asin(math.Sqrt(min(hav, 1)))
}

// at returns the share at an angle off the axis [rad].
func (b Beam) at(offRad float64) float64 {
	switch {
	case len(b.Table) > 0:
		return b.between(offRad)
	case b.Shape != Smooth:
		if offRad <= radians(b.WidthDeg)/2+edgeRad {
			return 1
		}
		return 0
	case offRad > radians(frontDeg)+edgeRad:
		return 0
	}
	share := max(math.Exp2(-sq(2*offRad/radians(b.WidthDeg))), b.Spill)
	if b.Spill == 0 && share < skirtShare {
		return 0
	}
	return share
}

// between reads the table.
func (b Beam) between(offRad float64) float64 {
	for i, p := range b.Table {
		here := radians(p.OffDeg)
		if offRad > here+edgeRad {
			continue
		}
		if i == 0 {
			return p.Share
		}
		before := b.Table[i-1]
		from := radians(before.OffDeg)
		if here == from {
			return p.Share
		}
		along := min((offRad-from)/(here-from), 1)
		return before.Share + (p.Share-before.Share)*along
	}
	return 0
}

// SolidAngleSR returns the solid angle [sr] over which the greatest intensity
// would give the whole flux of the beam: the integral of [Beam.Share] over all
// directions, 2 pi (1 - cos(width/2)) for an even cone, 4 pi all round. A
// smooth beam and a table are summed by Simpson's rule, to better than 1e-4.
func (b Beam) SolidAngleSR() float64 {
	switch {
	case !b.Narrow():
		return 4 * math.Pi
	case len(b.Table) > 0:
		sum := 0.0
		for i := 1; i < len(b.Table); i++ {
			from, to := b.Table[i-1], b.Table[i]
			a, c := radians(from.OffDeg), radians(to.OffDeg)
			sum += simpson(a, c, func(x float64) float64 {
				return (from.Share + (to.Share-from.Share)*(x-a)/(c-a)) * math.Sin(x)
			})
		}
		return 2 * math.Pi * sum
	case b.Shape != Smooth:
		return 2 * math.Pi * (1 - math.Cos(radians(b.WidthDeg)/2))
	}
	// The curve down to the spill, or to its end, and the spill from there.
	lowest := b.Spill
	if lowest == 0 {
		lowest = skirtShare
	}
	end := min(radians(b.WidthDeg)/2*math.Sqrt(-math.Log2(lowest)), radians(frontDeg))
	curve := simpson(0, end, func(x float64) float64 { return math.Exp2(-sq(2*x/radians(b.WidthDeg))) * math.Sin(x) })
	return 2 * math.Pi * (curve + b.Spill*(math.Cos(end)-math.Cos(radians(frontDeg))))
}

// simpson integrates f from a to b; nothing where they are the same.
func simpson(a, b float64, f func(float64) float64) float64 {
	const steps = 64
	h := (b - a) / steps
	if h == 0 {
		return 0
	}
	sum := f(a) + f(b)
	for i := 1; i < steps; i++ {
		sum += float64(2+2*(i%2)) * f(a+float64(i)*h)
	}
	return sum * h / 3
}

// FromLumens returns the greatest intensity [cd] of a beam that holds the given
// flux [lm]: over its [Beam.SolidAngleSR], for an even cone flux / (2 pi (1 -
// cos(width/2))) and all round flux / (4 pi). Real beams are 2 to 4 times brighter
// on their axis than an even cone, so that a stated intensity or beam distance is
// better.
func (b Beam) FromLumens(fluxLM float64) float64 { return fluxLM / b.SolidAngleSR() }

// String describes the beam, "" all round.
func (b Beam) String() string {
	switch {
	case len(b.Table) > 0:
		return fmt.Sprintf("beam by a table of %d angles", len(b.Table))
	case b.WidthDeg == 0:
		return ""
	case b.Shape == Smooth && b.Spill > 0:
		return fmt.Sprintf("smooth beam %g deg wide at half intensity, %.3g %% spill", b.WidthDeg, 100*b.Spill)
	case b.Shape == Smooth:
		return fmt.Sprintf("smooth beam %g deg wide at half intensity", b.WidthDeg)
	}
	return fmt.Sprintf("beam %g deg wide", b.WidthDeg)
}

// factor returns what the beam leaves of its greatest intensity, where that is
// not all of it.
func (b Beam) factor(azimuth earth.True, elevationDeg float64) (Factor, bool) {
	share := b.Share(azimuth, elevationDeg)
	from := "the table given"
	if len(b.Table) == 0 {
		from = "own choice: 2^-(2 a / width)^2, no less than the spill"
	}
	name := fmt.Sprintf("beam, %.3g deg off its axis", b.offRad(azimuth, elevationDeg)*180/math.Pi)
	return Factor{Name: name, Value: share, Source: from}, share > 0 && share < 1
}

func (b Beam) check() error {
	switch {
	case b.Shape != "" && b.Shape != Even && b.Shape != Smooth:
		return fmt.Errorf("light: no beam shape %q; there are even and smooth", string(b.Shape))
	case !(b.WidthDeg >= 0 && b.WidthDeg <= 360):
		return fmt.Errorf("light: beam width %g deg is outside 0 to 360", b.WidthDeg)
	case b.Shape == Smooth && !(b.WidthDeg > 0 && b.WidthDeg <= 180):
		return fmt.Errorf("light: width %g deg of a smooth beam is outside 0 to 180", b.WidthDeg)
	case !(b.Spill >= 0 && b.Spill < 0.5):
		return fmt.Errorf("light: spill of %g is outside 0 to a half", b.Spill)
	case b.Spill > 0 && b.Shape != Smooth:
		return fmt.Errorf("light: spill belongs to a smooth beam")
	case !(b.TiltDeg >= -90 && b.TiltDeg <= 90):
		return fmt.Errorf("light: beam tilt %g deg is outside -90 to 90", b.TiltDeg)
	case b.Aimed && math.IsNaN(float64(b.Azimuth)):
		return fmt.Errorf("light: beam azimuth is not a number")
	case len(b.Table) > 0 && (b.WidthDeg > 0 || b.Shape != ""):
		return fmt.Errorf("light: a table of the beam beside its width or shape")
	case len(b.Table) > 0 && b.Table[0].OffDeg != 0:
		return fmt.Errorf("light: the table of the beam begins at %g deg, not on the axis", b.Table[0].OffDeg)
	}
	for i, p := range b.Table {
		switch {
		case !(p.OffDeg >= 0 && p.OffDeg <= 180):
			return fmt.Errorf("light: angle %g deg of the beam is outside 0 to 180", p.OffDeg)
		case !(p.Share >= 0 && p.Share <= 1):
			return fmt.Errorf("light: share %g of the beam is outside 0 to 1", p.Share)
		case i > 0 && p.OffDeg < b.Table[i-1].OffDeg:
			return fmt.Errorf("light: the angle %g deg of the beam stands after %g deg", p.OffDeg, b.Table[i-1].OffDeg)
		}
	}
	return nil
}
