package prob

import (
	"fmt"
	"math"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// finest bounds the points a side that a cell is sampled at.
const finest = 16

// overCells returns the mean density over each cell of a function of the metres
// east and north of a centre, by the plain transverse Mercator there. needs says
// how many points a side a cell wants at that distance [m]; its size is given
// too. Cells more than 300 km off are an error that is [earth.ErrTooFar].
func overCells(f grid.Frame, centre orb.Point, needs func(distM, cellM float64) int, density func(eastM, northM float64) float64) ([]float64, error) {
	out := make([]float64, f.Cols*f.Rows)
	local := earth.NewLocal(centre)
	for row := range f.Rows {
		eastM, northM := f.Metres(row)
		cellM := max(eastM, northM)
		for col := range f.Cols {
			e, n, err := local.Forward(f.Point(float64(col), float64(row)))
			if err != nil {
				return nil, fmt.Errorf("the map reaches too far from the position: %w", err)
			}
			points := min(max(needs(math.Hypot(e, n), cellM), 1), finest)
			total := 0.0
			for j := range points {
				for i := range points {
					total += density(e+eastM*part(i, points), n+northM*part(j, points))
				}
			}
			out[row*f.Cols+col] = total / float64(points*points)
		}
	}
	return out, nil
}

// part returns where the i-th of n points lies across a cell, from its middle.
func part(i, n int) float64 { return (float64(i)+0.5)/float64(n) - 0.5 }

// beyond returns what is left of a probability of 1 when the map's cells are
// taken from it.
func beyond(f grid.Frame, density []float64) float64 {
	return max(0, 1-sum(Weights{Density: density}.Mass(f)))
}

// Normal returns where a position is likely to be that is known with a normal
// error: the end of a leg log, a start with its error. Densities are per m2 and
// Beyond is the share past the map. Cells are sampled so finely that a standard
// deviation of a tenth of a cell still sums to 1 within 1 %; a smaller one is
// taken as that.
func Normal(f grid.Frame, centre orb.Point, c earth.Covariance) (Weights, error) {
	w := Weights{Name: "normal error"}
	s := c.SigmaEllipse()
	if !(s.MajorM >= 0) || math.IsInf(s.MajorM, 1) {
		return w, fmt.Errorf("prob: a covariance of %g, %g, %g m2 is not of an error", c.NN, c.NE, c.EE)
	}
	east, north := f.Metres(f.Rows / 2)
	least := max(east, north) / 10
	// A floor on both axes: no error is added where they are longer.
	sin, cos := math.Sincos(s.AzimuthDeg * math.Pi / 180)
	a2, b2 := sq(max(s.MajorM, least)), sq(max(s.MinorM, least))
	scale := 1 / (2 * math.Pi * math.Sqrt(a2*b2))
	var err error
	w.Density, err = overCells(f, centre,
		func(distM, cellM float64) int {
			if distM > 6*math.Sqrt(a2)+2*cellM {
				return 1
			}
			return int(math.Ceil(2 * cellM / math.Sqrt(b2)))
		},
		func(e, n float64) float64 {
			along, across := n*cos+e*sin, e*cos-n*sin
			return scale * math.Exp(-(along*along/a2+across*across/b2)/2)
		})
	if err != nil {
		return w, err
	}
	w.Beyond = beyond(f, w.Density)
	return w, nil
}

// A Carry is how somebody went on from the place where a log ends.
type Carry struct {
	Bearing   earth.True // of the course
	DistM     float64    // covered on it [m]
	SDDistM   float64    // its standard deviation [m]
	SDBearDeg float64    // standard deviation of the course [deg], up to 30: larger ones are no ellipse
}

// Carried returns where a position has gone and how unsure it is then: the old
// covariance, and that of a leg with independent errors along and across it
// (variance of the length, and of the course times the length squared; the first
// order of the error, which is within 4 % for courses known to 15 degrees and 14 %
// for 30).
func Carried(from orb.Point, c earth.Covariance, by Carry) (orb.Point, earth.Covariance, error) {
	switch {
	case !(by.DistM >= 0) || math.IsInf(by.DistM, 1) || math.IsNaN(float64(by.Bearing)):
		return from, c, fmt.Errorf("prob: a course of %g degrees over %g m is none", float64(by.Bearing), by.DistM)
	case !(by.SDDistM >= 0) || math.IsInf(by.SDDistM, 1):
		return from, c, fmt.Errorf("prob: deviation %g m of the distance is not a number from 0 up", by.SDDistM)
	case !(by.SDBearDeg >= 0 && by.SDBearDeg <= maxCourseSD):
		return from, c, fmt.Errorf("prob: deviation %g degrees of the course is outside 0 to %d: let it wander instead", by.SDBearDeg, maxCourseSD)
	}
	to, _ := earth.Direct(from, by.Bearing, by.DistM)
	along, across := sq(by.SDDistM), sq(by.DistM*by.SDBearDeg*math.Pi/180)
	sin, cos := math.Sincos(float64(by.Bearing) * math.Pi / 180)
	return to, c.Plus(earth.Covariance{
		NN: along*cos*cos + across*sin*sin,
		EE: along*sin*sin + across*cos*cos,
		NE: (along - across) * sin * cos,
	}), nil
}

const maxCourseSD = 30

func sq(x float64) float64 { return x * x }
