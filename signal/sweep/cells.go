package sweep

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"
)

// A Way is what one watcher walked, rode or flew.
type Way struct {
	Passing *Passing
	Points  []Point
	// HeightsM is the height of the ground at each point [m]; nil, or NaN: not known,
	// and level. On slopes things are farther off than on the map, which matters most
	// among plants.
	HeightsM []float64
	// Watcher tells who it was: ways of one watcher share the watcher's offset of
	// the threshold, so that walking the same ground twice shows less than two
	// people do.
	Watcher int
}

// An Operation is all that was searched under one day's conditions.
type Operation struct {
	Ways []Way
	// HeightsM is the height of the ground at each place that is searched [m], by the
	// datum of the ways'; nil, or NaN: not known, and level.
	HeightsM []float64
	// Clear returns the chance that the line from a leg of a way to a cell is clear,
	// by terrain and whatever the passing does not count already; nil: all are.
	// Several goroutines call it at a time.
	Clear func(way, leg, cell int) float64
}

// Searched is what an operation has done to each cell.
type Searched struct {
	// missed is the chance that everybody misses a target in the cell, by the offset
	// that target and day have in common; nil where nobody came near.
	missed [][]float32
	single bool // without offsets
}

// A leg is a straight piece of a way. Length and direction are in space.
type leg struct {
	way, index int
	from, dir  Point
	fromM, up  float64 // height of from [m], and the upward part of the direction
	lengthM    float64
}

// past returns the run of the leg past a place.
func (l leg) past(at Point, heightM float64) run {
	e, n, h := at.EastM-l.from.EastM, at.NorthM-l.from.NorthM, heightM-l.fromM
	if math.IsNaN(h) {
		h = 0
	}
	r := run{
		beforeM: e*l.dir.EastM + n*l.dir.NorthM + h*l.up,
		xM:      math.Abs(e*l.dir.NorthM - n*l.dir.EastM),
	}
	r.sideM = r.xM
	if h != 0 || l.up != 0 {
		r.xM = math.Hypot(r.xM, math.Hypot(n*l.up-h*l.dir.NorthM, h*l.dir.EastM-e*l.up))
		onMap := math.Hypot(l.dir.EastM, l.dir.NorthM)
		r.sideM /= onMap
		// Where the leg is abeam on the map, by its length in space.
		r.turnM = r.beforeM - (e*l.dir.EastM+n*l.dir.NorthM)/(onMap*onMap)
	}
	r.downToM = r.beforeM - l.lengthM
	return r
}

// Search works out what was seen of each cell, by its centre. A cell's chance of
// being missed is
//
//	E over the day's offset of the product over watchers of
//	E over the watcher's offset of the product over legs of (1 - P(leg)),
//
// with the rates of a watcher's legs added up, which is that product.
func (o Operation) Search(ctx context.Context, centres []Point) (*Searched, error) {
	s := &Searched{missed: make([][]float32, len(centres))}
	if o.HeightsM != nil && len(o.HeightsM) != len(centres) {
		return nil, fmt.Errorf("sweep: %d heights for %d places", len(o.HeightsM), len(centres))
	}
	legs, endM, err := o.legs()
	if err != nil || len(centres) == 0 || len(legs) == 0 || endM == 0 {
		return s, err
	}
	s.single = o.Ways[0].Passing.used == 1
	blocks := newBlocks(centres, max(endM/2, 100))
	for i := range legs {
		blocks.meet(i, legs[i], endM)
	}
	workers, ctx := errgroup.WithContext(ctx)
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for b := range blocks.cells {
		if len(blocks.legs[b]) == 0 {
			continue
		}
		workers.Go(func() error {
			for _, cell := range blocks.cells[b] {
				if err := ctx.Err(); err != nil {
					return err
				}
				s.missed[cell] = o.cell(int(cell), centres[cell], legs, blocks.legs[b])
			}
			return nil
		})
	}
	return s, workers.Wait()
}

// legs returns all legs in the order of watchers, and the farthest that any sees.
func (o Operation) legs() (legs []leg, endM float64, err error) {
	for w, way := range o.Ways {
		if way.Passing == nil {
			return nil, 0, fmt.Errorf("sweep: way %d has no passing", w)
		}
		if way.Passing.used != o.Ways[0].Passing.used {
			return nil, 0, fmt.Errorf("sweep: way %d counts offsets otherwise than way 0", w)
		}
		if way.HeightsM != nil && len(way.HeightsM) != len(way.Points) {
			return nil, 0, fmt.Errorf("sweep: way %d has %d heights for %d points", w, len(way.HeightsM), len(way.Points))
		}
		endM = max(endM, way.Passing.endM)
		for i := 1; i < len(way.Points); i++ {
			l := o.leg(way, i)
			if math.IsNaN(l.lengthM) || math.IsInf(l.lengthM, 0) {
				return nil, 0, fmt.Errorf("sweep: leg %d of way %d has no length", i, w)
			}
			if l.lengthM > 0 {
				l.way = w
				legs = append(legs, l)
			}
		}
	}
	slices.SortStableFunc(legs, func(a, b leg) int { return o.Ways[a.way].Watcher - o.Ways[b.way].Watcher })
	return legs, endM, nil
}

// leg returns the leg of a way that ends at a point. Heights count where both those of
// the way and of the places are known.
func (o Operation) leg(way Way, i int) leg {
	l := leg{index: i - 1, from: way.Points[i-1]}
	l.dir, l.lengthM = way.Points[i-1].toward(way.Points[i])
	if o.HeightsM == nil || way.HeightsM == nil || l.lengthM == 0 {
		return l
	}
	l.fromM = way.HeightsM[i-1]
	rise := way.HeightsM[i] - l.fromM
	if math.IsNaN(rise) {
		return l
	}
	inSpace := math.Hypot(l.lengthM, rise)
	l.up = rise / inSpace
	l.dir = Point{}.plus(l.lengthM/inSpace, l.dir)
	l.lengthM = inSpace
	return l
}

// cell returns the chances of missing at one place, nil where nobody came near.
func (o Operation) cell(cell int, at Point, legs []leg, near []int32) []float32 {
	var missed, hazards [offsets]float64
	touched := false
	for i := range missed {
		missed[i] = 1
	}
	for n, id := range near {
		l := legs[id]
		way := o.Ways[l.way]
		height := l.fromM
		if o.HeightsM != nil && way.HeightsM != nil {
			height = o.HeightsM[cell]
		}
		r := l.past(at, height)
		short := math.Hypot(r.xM, max(0, -r.beforeM, r.downToM))
		if short < way.Passing.endM {
			clear := 1.0
			if o.Clear != nil {
				clear = o.Clear(l.way, l.index, cell)
			}
			if clear > 0 {
				way.Passing.add(&hazards, r, clear)
				touched = true
			}
		}
		if n+1 == len(near) || o.Ways[legs[near[n+1]].way].Watcher != way.Watcher {
			fold(&missed, &hazards, way.Passing.used == 1)
			hazards = [offsets]float64{}
		}
	}
	if !touched {
		return nil
	}
	out := make([]float32, offsets)
	for i, m := range missed {
		out[i] = float32(m)
	}
	return out
}

// fold multiplies the chances that all miss by the chance that one more watcher
// does, whose own offset is averaged over.
func fold(missed, hazards *[offsets]float64, single bool) {
	if single {
		missed[0] *= math.Exp(-hazards[0])
		return
	}
	var by [offsets]float64
	for i, h := range hazards {
		by[i] = math.Exp(-h)
	}
	for s := range missed {
		missed[s] *= shifted(by, s)
	}
}

// POD returns for each cell the chance that the operation detects a target there,
// in [0, 1].
func (s *Searched) POD() []float64 { return Together(s) }

// Together returns for each cell the chance that at least one of several
// operations by the same method detects a target there. Half of the variance of
// the offset of target and day is the target's and is kept from one to the next
// (own choice), so that searching again adds less than independent chances would.
func Together(operations ...*Searched) []float64 {
	if len(operations) == 0 {
		return nil
	}
	pod := make([]float64, len(operations[0].missed))
	for cell := range pod {
		if len(operations) == 1 {
			pod[cell] = 1 - operations[0].missedIn(cell)
		} else {
			pod[cell] = 1 - missedByAll(operations, cell)
		}
	}
	return pod
}

// missedIn returns the mean chance that a cell's target is missed.
func (s *Searched) missedIn(cell int) float64 {
	m := s.missed[cell]
	switch {
	case m == nil:
		return 1
	case s.single:
		return float64(m[0])
	}
	return averaged(m, sharedWeights)
}

func missedByAll(operations []*Searched, cell int) float64 {
	sum := 0.0
	for k, w := range keptWeights {
		missed := 1.0
		for _, o := range operations {
			switch m := o.missed[cell]; {
			case m == nil:
			case o.single:
				missed *= float64(m[0])
			default:
				missed *= shiftedBy(m, k, keptWeights)
			}
		}
		sum += w * missed
	}
	return sum
}

// MaxPOD is the largest chance of detection that is printed, unless a width was
// measured on the spot: the model is not that sure of itself. Own choice.
const MaxPOD = 0.95

// PrintedPOD returns the chance of detection as it is printed.
func PrintedPOD(pod float64, measured bool) float64 {
	if measured {
		return pod
	}
	return min(pod, MaxPOD)
}
