package prob

import (
	"fmt"
	"math"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat/distuv"
)

// Even returns the view of somebody who knows nothing: the same density
// everywhere, but 0 where the mask excludes (nil: nowhere).
func Even(f grid.Frame, excluded []bool) Weights {
	w := Weights{Name: "even", Density: make([]float64, f.Cols*f.Rows), Beyond: math.NaN()}
	for i := range w.Density {
		if excluded == nil || !excluded[i] {
			w.Density[i] = 1
		}
	}
	return w
}

// DefaultPaceSpread is the standard deviation of the natural logarithm of a
// walker's pace about the rule's: own choice, so that the slow and fast walkers of
// the travel rings (factors 0.6 and 1.4) are about two of them away.
const DefaultPaceSpread = 0.2

// Soft returns what can have been reached by then, with a soft edge: the chance
// that the walker is fast enough to be at the cell, Phi(ln(available / needed) / spread).
// seconds are the usual walker's times to each cell [s], NaN where none leads;
// availableS is the time since the start [s].
//
// It is a limit and not a density: ground well within reach is all the same to
// it.
func Soft(f grid.Frame, seconds []float32, availableS, spread float64) (Weights, error) {
	w := Weights{Name: "reach", Evidence: "walking time", Density: make([]float64, f.Cols*f.Rows), Beyond: math.NaN()}
	switch {
	case len(seconds) != len(w.Density):
		return w, fmt.Errorf("prob: %d times for %d cells", len(seconds), len(w.Density))
	case !(availableS >= 0) || math.IsInf(availableS, 1):
		return w, fmt.Errorf("prob: time available %g s is not a number from 0 up", availableS)
	case !(spread > 0) || math.IsInf(spread, 1):
		return w, fmt.Errorf("prob: spread of the pace %g is not above 0", spread)
	}
	for i, t := range seconds {
		switch s := float64(t); {
		case math.IsNaN(s):
		case s <= 0:
			w.Density[i] = 1
		default:
			w.Density[i] = distuv.UnitNormal.CDF(math.Log(availableS/s) / spread)
		}
	}
	return w, nil
}

// Toward returns the pull of a direction: a normal law of the bearing from a
// point, wrapped around the circle, relative to all bearings alike. sdDeg is
// its standard deviation [deg]; the cell of the point itself has 1.
func Toward(f grid.Frame, from orb.Point, bearing earth.True, sdDeg float64) (Weights, error) {
	w := Weights{Name: "direction", Beyond: math.NaN()}
	if !(sdDeg > 0 && sdDeg <= 180) {
		return w, fmt.Errorf("prob: deviation %g degrees of the direction is outside 0 to 180", sdDeg)
	}
	if math.IsNaN(float64(bearing)) {
		return w, fmt.Errorf("prob: the direction is not a number")
	}
	var err error
	w.Density, err = overCells(f, from,
		func(distM, cellM float64) int {
			return int(math.Ceil(nearDetail * cellM / max(distM, cellM/finest) / 2))
		},
		func(e, n float64) float64 {
			if e == 0 && n == 0 {
				return 1
			}
			turn := earth.Wrap180(math.Atan2(e, n)*180/math.Pi - float64(bearing))
			d := 0.0
			for round := -turnsAround; round <= turnsAround; round++ {
				d += math.Exp(-sq((turn+360*float64(round))/sdDeg) / 2)
			}
			return d * 360 / (sdDeg * math.Sqrt(2*math.Pi))
		})
	return w, err
}

// turnsAround is how many turns to either side a wrapped law sums: six standard
// deviations at the widest, 180 degrees.
const turnsAround = 3

// Near returns the pull of trails, water or ridges: ground next to them is so
// many times as likely as ground far off, falling off with the distance [m]
// like a normal curve of the given width [m]. A factor below 1 pushes away.
// distM is by cell, from [DistanceTo].
func Near(f grid.Frame, distM []float32, times, widthM float64) (Weights, error) {
	w := Weights{Name: "pull", Density: make([]float64, f.Cols*f.Rows), Beyond: math.NaN()}
	switch {
	case len(distM) != len(w.Density):
		return w, fmt.Errorf("prob: %d distances for %d cells", len(distM), len(w.Density))
	case !(times >= 0) || math.IsInf(times, 1):
		return w, fmt.Errorf("prob: a pull of %g times is not a number from 0 up", times)
	case !(widthM > 0) || math.IsInf(widthM, 1):
		return w, fmt.Errorf("prob: width of a pull %g m is not above 0", widthM)
	}
	for i, d := range distM {
		w.Density[i] = 1 + (times-1)*math.Exp(-sq(float64(d)/widthM)/2)
	}
	return w, nil
}

// An Area is a part of the map, as somebody drew it, with the share they give
// it.
type Area struct {
	Name   string
	Inside []bool // by cell
	Share  float64
}

// Areas returns people's own polygons: each share spread evenly over its area,
// where two overlap the sum of both, and the rest of 1 evenly over the ground
// that none covers. Densities are per m2.
func Areas(f grid.Frame, areas []Area) (Weights, error) {
	w := Weights{Name: "areas with shares", Density: make([]float64, f.Cols*f.Rows), Beyond: math.NaN()}
	covered := make([]bool, len(w.Density))
	rest := 1.0
	for _, a := range areas {
		if !(a.Share >= 0 && a.Share <= 1) {
			return w, fmt.Errorf("prob: share %g of area %s is outside 0 to 1", a.Share, a.Name)
		}
		areaM2 := maskM2(f, a.Inside, true)
		if areaM2 == 0 {
			return w, fmt.Errorf("prob: area %s holds no cell of the map", a.Name)
		}
		for i, in := range a.Inside {
			if in {
				w.Density[i] += a.Share / areaM2
				covered[i] = true
			}
		}
		rest -= a.Share
	}
	if rest < -1e-9 {
		return w, fmt.Errorf("prob: the shares of the areas sum to %g, more than 1", 1-rest)
	}
	rest = max(rest, 0)
	left := maskM2(f, covered, false)
	switch {
	case left == 0 && rest > 1e-9:
		return w, fmt.Errorf("prob: the areas cover the whole map but hold only %g of it", 1-rest)
	case left > 0:
		for i := range w.Density {
			if !covered[i] {
				w.Density[i] = rest / left
			}
		}
	}
	return w, nil
}

// maskM2 returns the ground area of the cells with a value [m2].
func maskM2(f grid.Frame, mask []bool, value bool) float64 {
	total := 0.0
	for row := range f.Rows {
		n := 0
		for _, in := range mask[row*f.Cols : (row+1)*f.Cols] {
			if in == value {
				n++
			}
		}
		total += float64(n) * f.AreaM2(row)
	}
	return total
}

// CoarsenMean returns the plain mean of k by k cells for each cell of the frame
// of [Coarse]; where the last column or row reaches beyond the grid, of those
// there are.
func CoarsenMean(f grid.Frame, v []float64, k int) []float64 {
	cols, rows := (f.Cols+k-1)/k, (f.Rows+k-1)/k
	out := make([]float64, cols*rows)
	for row := range rows {
		for col := range cols {
			total, n := 0.0, 0
			for r := row * k; r < min((row+1)*k, f.Rows); r++ {
				for c := col * k; c < min((col+1)*k, f.Cols); c++ {
					total += v[r*f.Cols+c]
					n++
				}
			}
			out[row*cols+col] = total / float64(n)
		}
	}
	return out
}
