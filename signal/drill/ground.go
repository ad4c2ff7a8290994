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

// How far from what somebody may be hidden, all own choice. Distances hold for every
// point of a cell: to steep ground, which is the centre of a cell with such a slope and
// the line between two neighbouring centres with such a fall (a wall between them is a
// cliff, however much a slope over three cells smooths it), and to every point of
// cells with water or a mapped cliff.
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
	Voids, Closed, Water, Cliffs, Steep, OutOfReach int
}

// Limits are what is known of the ground beside its heights, by cell of the terrain.
type Limits struct {
	// Water marks cells with water. It is required, since a drill is not set on a
	// guess: a mask without a mark is the word of somebody who has looked.
	Water []bool
	// Cliffs marks cells with mapped cliffs, Closed those where nobody may be hidden
	// for other reasons; nil: none.
	Cliffs, Closed []bool
	// Seconds is how long it takes to get there on foot [s], NaN or +Inf where nobody
	// gets, and WithinS the time that daylight leaves for it [s].
	Seconds []float32
	WithinS float64
}

func (l Limits) check(cells int) error {
	switch {
	case l.Water == nil:
		return ErrWaterNotKnown
	case !(l.WithinS >= 0):
		return fmt.Errorf("drill: %g s of daylight", l.WithinS)
	case len(l.Water) != cells || len(l.Seconds) != cells || l.Cliffs != nil && len(l.Cliffs) != cells || l.Closed != nil && len(l.Closed) != cells:
		return fmt.Errorf("drill: %d cells, but %d marks of water, %d of cliffs, %d closed, %d times", cells, len(l.Water), len(l.Cliffs), len(l.Closed), len(l.Seconds))
	}
	return nil
}

// Allow applies the limits to a terrain. Without marks of water it is
// ErrWaterNotKnown.
func Allow(h *grid.Heights, l Limits) (*Ground, error) {
	n := h.Cols * h.Rows
	if err := l.check(n); err != nil {
		return nil, err
	}
	east, north := h.MetresAt(float64(h.Cols-1)/2, float64(h.Rows-1)/2)
	halfM := math.Hypot(east, north) / 2 // from a cell's centre to its corner
	g := &Ground{Frame: h.Frame, Allowed: make([]bool, n), Checkable: max(east, north) <= CliffCellM}
	cliffDeg := float64(CliffDeg)
	if !g.Checkable {
		cliffDeg = CoarseCliffDeg
	}
	steep, cliff := make([]bool, n), make([]bool, n)
	for i := range steep {
		col, row := i%h.Cols, i/h.Cols
		steepest := terrain.SteepestDeg(h, col, row)
		// Ground with something unknown beside it counts as steep.
		steep[i] = !(steepest <= MostSlopeDeg) || math.IsNaN(terrain.SlopeDeg(h, col, row))
		cliff[i] = steepest > cliffDeg
	}
	// Between two marked centres a line comes nearer than they are, by half a diagonal at
	// the most.
	fromSteep := func(m float64) float64 { return math.Hypot(m+halfM, halfM) }
	toSteep, toCliff, toWater := prob.DistanceTo(h.Frame, steep), prob.DistanceTo(h.Frame, cliff), prob.DistanceTo(h.Frame, l.Water)
	toMapped := noCliffs
	if l.Cliffs != nil {
		mapped := prob.DistanceTo(h.Frame, l.Cliffs)
		toMapped = func(i int) float64 { return float64(mapped[i]) }
	}
	for i := range g.Allowed {
		switch {
		case math.IsNaN(float64(h.Z[i])):
			g.Voids++
		case l.Closed != nil && l.Closed[i]:
			g.Closed++
		case !(float64(toWater[i]) > WaterM+2*halfM):
			g.Water++
		case !(float64(toCliff[i]) > fromSteep(CliffM)) || !(toMapped(i) > CliffM+2*halfM):
			g.Cliffs++
		case !(float64(toSteep[i]) > fromSteep(NearM)):
			g.Steep++
		case !(float64(l.Seconds[i]) <= l.WithinS):
			g.OutOfReach++
		default:
			g.Allowed[i] = true
		}
	}
	return g, nil
}

func noCliffs(int) float64 { return math.Inf(1) }
