package drill

import (
	"errors"
	"fmt"
	"math"

	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/geo/terrain"
)

// ErrWaterNotKnown says that nobody has told where water is.
var ErrWaterNotKnown = errors.New("drill: it is not known where water is")

// Limits of the ground on which somebody may be hidden, all own choice. Distances
// are at least the side of a cell.
const (
	MostSlopeDeg = 25 // anywhere within NearM
	NearM        = 50
	WaterM       = 30 // least distance from water
	CliffDeg     = 40 // ground that counts as a cliff
	CliffM       = 50 // least distance from it
	// On cells larger than CliffCellM cliffs cannot be told: ground over 40 degrees
	// shrinks from 1.2 to 0.07 % of the Pyrenees between cells of 30 and 90 m. There
	// CoarseCliffDeg counts as a cliff.
	CliffCellM     = 35
	CoarseCliffDeg = 30
)

// Ground says where somebody may be hidden.
type Ground struct {
	grid.Frame
	Allowed []bool // by cell
	// Checkable tells that cells are small enough to show cliffs. Where they are not,
	// somebody who has seen the ground must say so.
	Checkable bool
	// How many cells were refused for what, the first reason that holds.
	Voids, Water, Cliffs, Steep, OutOfReach int
}

// Allow applies the limits to a terrain. water marks cells with water; nil is
// ErrWaterNotKnown, since a drill is not set on a guess: a mask without a mark is
// the word of somebody who knows that there is none. seconds is by cell how long it
// takes to get there on foot [s], NaN or +Inf where nobody gets, and withinS the
// time that daylight leaves [s].
func Allow(h *grid.Heights, water []bool, seconds []float32, withinS float64) (*Ground, error) {
	if water == nil {
		return nil, ErrWaterNotKnown
	}
	n := h.Cols * h.Rows
	if len(water) != n || len(seconds) != n || !(withinS >= 0) {
		return nil, fmt.Errorf("drill: %d cells, %d marks of water, %d times, %g s of daylight", n, len(water), len(seconds), withinS)
	}
	east, north := h.MetresAt(float64(h.Cols-1)/2, float64(h.Rows-1)/2)
	cellM := max(east, north)
	g := &Ground{Frame: h.Frame, Allowed: make([]bool, n), Checkable: cellM <= CliffCellM}
	cliffDeg := float64(CliffDeg)
	if !g.Checkable {
		cliffDeg = CoarseCliffDeg
	}
	steep, cliff := make([]bool, n), make([]bool, n)
	for i := range steep {
		slope := terrain.SlopeDeg(h, i%h.Cols, i/h.Cols)
		steep[i] = !(slope <= MostSlopeDeg) // also where it is not known
		cliff[i] = slope > cliffDeg
	}
	toSteep, toCliff, toWater := prob.DistanceTo(h.Frame, steep), prob.DistanceTo(h.Frame, cliff), prob.DistanceTo(h.Frame, water)
	beyond := func(distM float32, leastM float64) bool { return float64(distM) > max(leastM, cellM) }
	for i := range g.Allowed {
		switch {
		case math.IsNaN(float64(h.Z[i])):
			g.Voids++
		case !beyond(toWater[i], WaterM):
			g.Water++
		case !beyond(toCliff[i], CliffM):
			g.Cliffs++
		case !beyond(toSteep[i], NearM):
			g.Steep++
		case !(float64(seconds[i]) <= withinS):
			g.OutOfReach++
		default:
			g.Allowed[i] = true
		}
	}
	return g, nil
}
