package sweep

import (
	"math"

	"farhail/signal/sighting"
)

// rates holds the rate of finding of one offset of the threshold.
type rates struct {
	// ln is the logarithm of the rate [1/s] at equal steps of the logarithm of the
	// distance. Between them it is taken as straight, exact for power laws.
	ln   []float64
	endM float64 // beyond, it is 0
}

const (
	ratesNearestM = 0.5  // distances below count as this [m]
	ratesStep     = 0.04 // in ln of distance
	rateFaintest  = 1e-9 // below, a rate is 0 [1/s]
)

// newRates tabulates the rate from a distance that no watcher is nearer than, up
// to another [m] or where the watch ends. Below, the table holds the rate of its step
// there.
func newRates(w sighting.Watch, nearestM, farthestM float64) rates {
	r := rates{endM: min(w.FarthestM(), farthestM)}
	first, _ := place(math.Log(nearestM))
	for i := 0; ; i++ {
		distM := ratesNearestM * math.Exp(float64(max(i, first))*ratesStep)
		over := distM >= r.endM
		rate := w.Rate(min(distM, r.endM))
		if rate < rateFaintest {
			r.endM = r.lastM() // it only falls from here
			return r
		}
		if ln := math.Log(rate); !over {
			r.ln = append(r.ln, ln)
		} else {
			return r.ending(ln)
		}
	}
}

// ending adds the step in which the table ends, so that it leads to the logarithm of
// the rate at the end.
func (r rates) ending(ln float64) rates {
	n := len(r.ln)
	if n == 0 {
		r.ln = []float64{ln, ln}
		return r
	}
	last := r.ln[n-1]
	step, part := place(math.Log(r.endM))
	if step < n-1 || part < 1e-6 {
		part = 1 // the end is a step
	}
	r.ln = append(r.ln, last+(ln-last)/part)
	return r
}

// place returns where a distance whose logarithm is given lies in the tables:
// the step before it, and the part of the step beyond.
func place(logM float64) (step int, part float64) {
	x := max(0, (logM-math.Log(ratesNearestM))/ratesStep)
	step = int(x)
	return step, x - float64(step)
}

// at returns the rate at such a place, 0 beyond the table. The caller has looked at the
// end.
func (r rates) at(step int, part float64) float64 {
	if step+1 >= len(r.ln) {
		return 0
	}
	return math.Exp(r.ln[step] + (r.ln[step+1]-r.ln[step])*part)
}

// lastM returns where the table ends [m], 0 for an empty one.
func (r rates) lastM() float64 {
	if len(r.ln) == 0 {
		return 0
	}
	return ratesNearestM * math.Exp(ratesStep*float64(len(r.ln)-1))
}
