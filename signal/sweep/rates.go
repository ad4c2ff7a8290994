package sweep

import (
	"math"

	"farhail/signal/sighting"
)

// rates holds the logarithm of the rate of finding [1/s] of one offset of the
// threshold, at equal steps of the logarithm of the distance. Between them it
// is taken as straight, exact for power laws.
type rates []float64

const (
	ratesNearestM = 0.5  // distances below count as this [m]
	ratesStep     = 0.04 // in ln of distance
	rateFaintest  = 1e-9 // below, a rate is 0 [1/s]
)

// newRates tabulates the rate from a distance that no watcher is nearer than, up
// to another [m]. Below, the table holds the rate of its step there.
func newRates(w sighting.Watch, nearestM, farthestM float64) rates {
	n := int(math.Ceil(math.Log(farthestM/ratesNearestM)/ratesStep)) + 1
	first, _ := place(math.Log(nearestM))
	var r rates
	for i := range max(n, first+2) {
		if i > 0 && i <= first {
			r = append(r, r[0])
			continue
		}
		rate := w.Rate(ratesNearestM * math.Exp(float64(max(i, first))*ratesStep))
		if rate < rateFaintest {
			break // it only falls from here
		}
		r = append(r, math.Log(rate))
	}
	return r
}

// place returns where a distance whose logarithm is given lies in the tables:
// the step before it, and the part of the step beyond.
func place(logM float64) (step int, part float64) {
	x := max(0, (logM-math.Log(ratesNearestM))/ratesStep)
	step = int(x)
	return step, x - float64(step)
}

// at returns the rate at such a place, 0 beyond the table.
func (r rates) at(step int, part float64) float64 {
	if step+1 >= len(r) {
		return 0
	}
	return math.Exp(r[step] + (r[step+1]-r[step])*part)
}

// farthestM returns where the table ends [m], 0 for an empty one.
func (r rates) farthestM() float64 {
	if len(r) == 0 {
		return 0
	}
	return ratesNearestM * math.Exp(ratesStep*float64(len(r)-1))
}
