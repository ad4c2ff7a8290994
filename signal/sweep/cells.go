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
	// Watcher tells who it was: ways of one watcher share the watcher's offset of
	// the threshold, so that walking the same ground twice shows less than two
	// people do.
	Watcher int
}

// An Operation is all that was searched under one day's conditions.
type Operation struct {
	Ways []Way
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

// A leg is a straight piece of a way.
type leg struct {
	way, index int
	from, dir  Point
	lengthM    float64
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
	legs, endM, err := o.legs()
	if err != nil || len(legs) == 0 || endM == 0 {
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
		endM = max(endM, way.Passing.endM)
		for i := 1; i < len(way.Points); i++ {
			dir, l := way.Points[i-1].toward(way.Points[i])
			if math.IsNaN(l) || math.IsInf(l, 0) {
				return nil, 0, fmt.Errorf("sweep: leg %d of way %d has no length", i, w)
			}
			if l > 0 {
				legs = append(legs, leg{w, i - 1, way.Points[i-1], dir, l})
			}
		}
	}
	slices.SortStableFunc(legs, func(a, b leg) int { return o.Ways[a.way].Watcher - o.Ways[b.way].Watcher })
	return legs, endM, nil
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
		before := (at.EastM-l.from.EastM)*l.dir.EastM + (at.NorthM-l.from.NorthM)*l.dir.NorthM
		x := math.Abs((at.EastM-l.from.EastM)*l.dir.NorthM - (at.NorthM-l.from.NorthM)*l.dir.EastM)
		short := math.Hypot(x, max(0, -before, before-l.lengthM))
		if short < way.Passing.endM {
			clear := 1.0
			if o.Clear != nil {
				clear = o.Clear(l.way, l.index, cell)
			}
			if clear > 0 {
				way.Passing.add(&hazards, x, before, before-l.lengthM, clear)
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
		switch {
		case len(operations) == 1:
			pod[cell] = 1 - operations[0].missedIn(cell, sharedWeights)
		default:
			pod[cell] = 1 - missedByAll(operations, cell)
		}
	}
	return pod
}

// missedIn returns the mean chance that a cell's target is missed.
func (s *Searched) missedIn(cell int, weights [offsets]float64) float64 {
	m := s.missed[cell]
	switch {
	case m == nil:
		return 1
	case s.single:
		return float64(m[0])
	}
	sum := 0.0
	for i, w := range weights {
		sum += w * float64(m[i])
	}
	return sum
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
