package sighting

import (
	"runtime"
	"sort"

	"farhail/signal/observer"

	"golang.org/x/sync/errgroup"
)

// faintChance is the chance of a look below which none is counted, nor any farther
// off. Own choice.
const faintChance = 0.001

// Looks returns the chance that one look of the search, Search.LookS long, finds
// the signal along a line that ground leaves clear, in [0, 1]: by distance over the
// ground, which rise [m], and by joint draw of the inputs. The draws are those of
// [Query.Bands]: all queries with that seed see the same ones, and each has the same
// share, so that chances of several looks are multiplied draw by draw and then
// averaged. The threshold of person and day is among them.
//
// Somebody who is told where to look has the chance of one glimpse at it. A law
// without lobe has no chance: it is 1 up to where the signal is noticed.
func (q Query) Looks(s Spread, seed uint64, distM []float64) ([][]float32, error) {
	if err := q.Check(); err != nil {
		return nil, err
	}
	out := make([][]float32, len(distM))
	for i := range out {
		out[i] = make([]float32, Draws)
	}
	workers := errgroup.Group{}
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for n, d := range q.draws(s, seed) {
		workers.Go(func() error {
			finds, err := d.finds()
			if err != nil {
				return err
			}
			sure := d.sure(finds, distM)
			for i := range sure {
				out[i][n] = 1
			}
			for i := sure; i < len(distM); i++ {
				p := finds(distM[i])
				if p < faintChance && !d.Aloft {
					return nil
				}
				out[i][n] = float32(p)
			}
			return nil
		})
	}
	return out, workers.Wait()
}

// sureChance is a chance that is 1 in single precision, but for more than rounding.
const sureChance = 1 - 1e-9

// sure returns how many of the distances, which rise, are so near that a look is sure to
// find the signal: nearer the chance is no less, so that they need not be worked out one by
// one. From the air it is not so, where a beam passes below the eye.
func (q Query) sure(finds func(distM float64) float64, distM []float64) int {
	if q.Aloft {
		return 0
	}
	return sort.Search(len(distM), func(i int) bool { return finds(distM[i]) < sureChance })
}

// finds returns the chance of a look by distance over the ground [m].
func (q Query) finds() (func(distM float64) float64, error) {
	if !q.Told && !q.Observer.Law.HasLobe() {
		r, err := Solve(q)
		return func(distM float64) float64 {
			if distM <= r.Noticed.DistanceM {
				return 1
			}
			return 0
		}, err
	}
	geographicM := q.geographicM()
	look := q.Source.Toward(q.View)
	w := q.watch(look)
	return func(distM float64) float64 {
		along := q.AlongM(distM)
		if q.looksDown() {
			down := q
			down.View.ElevationDeg = q.elevationDeg(along)
			look = q.Source.Toward(down.View)
			w = down.watch(look)
		}
		if q.hidden(look, distM) != "" || q.Ground == RoundEarth && distM > geographicM {
			return 0
		}
		clear := q.Plants.Clear(distM)
		if q.Told {
			return clear * q.foundAt(w, along)
		}
		return clear * w.lookChance(along)
	}, nil
}

// foundAt returns the chance of one glimpse at a known place, 0 for a point of light
// that gives less than perceptible ever counts on.
func (q Query) foundAt(w Watch, alongM float64) float64 {
	if w.look.Point() && q.ownLaw(true) && pointLx(w.look, alongM, alongM, w.extinction) < q.throughGlasses(faintestLx) {
		return 0
	}
	return observer.Seen(w.V(alongM))
}
