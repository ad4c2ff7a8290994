package sweep

import (
	"fmt"
	"math"
)

// How thresholds differ between people, targets and days.
const (
	// OffsetSD is the standard deviation of the offset of the threshold in a pass
	// [log10]: a factor 2 either way (own choice, from the factor 3 by which
	// published thresholds spread).
	OffsetSD = 0.29
	// sharedSD is the part of target and day, which all parties of a search
	// share, ownSD that of the watcher: equal parts of the variance, own choice.
	sharedSD = OffsetSD / math.Sqrt2
	ownSD    = OffsetSD / math.Sqrt2
	// keptSD is the part of sharedSD that is the target's, and so the same when a
	// method is repeated on another day; as much again is the day's. Own choice.
	keptSD = sharedSD / math.Sqrt2
)

// Offsets are taken at equal steps. The trapezoid rule on a normal curve is
// exact to 1e-8 with them, and sums of two offsets are offsets again.
const (
	offsetStep = OffsetSD / 2
	offsetEach = 8 // steps to either side: four standard deviations
	offsets    = 2*offsetEach + 1
)

// normal returns the weights of the offsets for a standard deviation [log10].
func normal(sd float64) [offsets]float64 {
	var w [offsets]float64
	sum := 0.0
	for i := range w {
		z := float64(i-offsetEach) * offsetStep / sd
		w[i] = math.Exp(-z * z / 2)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

var (
	totalWeights  = normal(OffsetSD)
	sharedWeights = normal(sharedSD)
	ownWeights    = normal(ownSD)
	keptWeights   = normal(keptSD)
)

// mean returns the mean of a chance that is given for each offset.
func mean(chance [offsets]float64) float64 { return averaged(chance[:], totalWeights) }

// averaged returns the mean by weight of what is given for each offset.
func averaged[T float32 | float64](given []T, weights [offsets]float64) float64 {
	sum := 0.0
	for i, w := range weights {
		sum += w * float64(given[i])
	}
	return sum
}

// several returns the chance that at least one of so many watchers sees it,
// each passing alike: the offset of target and day is common to them, that of
// the watcher is their own.
func several(chance [offsets]float64, watchers int) float64 {
	sum := 0.0
	for s, weight := range sharedWeights {
		sum += weight * (1 - math.Pow(1-shifted(chance, s), float64(watchers)))
	}
	return sum
}

// shifted returns the mean over the watcher's own offset of what is given for each
// offset, where target and day have an offset of their own, by its index.
func shifted(given [offsets]float64, shared int) float64 {
	return shiftedBy(given[:], shared, ownWeights)
}

// shiftedBy returns the mean over an offset of what is given for each sum of it
// and another, whose index is given. Beyond four standard deviations it is that of
// the last offset.
func shiftedBy[T float32 | float64](given []T, other int, weights [offsets]float64) float64 {
	sum := 0.0
	for o, w := range weights {
		sum += w * float64(given[min(max(other+o-offsetEach, 0), offsets-1)])
	}
	return sum
}

// Offsets returns the offsets of the logarithm of the threshold for which chances
// are handed to [AtLeastOne], in equal steps, with the middle one 0 [log10].
func Offsets() []float64 {
	list := make([]float64, offsets)
	for i := range list {
		list[i] = float64(i-offsetEach) * offsetStep
	}
	return list
}

// AtLeastOne returns the chance that at least one of several watchers of one
// operation notices something. Each gives the chance for each of [Offsets] of
// their threshold, in [0, 1]; the offset of target and day is common to them, that
// of the watcher their own.
func AtLeastOne(watchers [][]float64) (float64, error) {
	missed, err := missedBy(watchers)
	if err != nil {
		return math.NaN(), err
	}
	return 1 - averaged(missed[:], sharedWeights), nil
}

// With returns the chance that those who went or at least one of several watchers of
// the same day, as for [AtLeastOne], detects a target in a cell.
func (s *Searched) With(cell int, watchers [][]float64) (float64, error) {
	missed, err := missedBy(watchers)
	if err != nil {
		return math.NaN(), err
	}
	if m := s.missed[cell]; m != nil {
		for i := range missed {
			went := float64(m[0])
			if !s.single {
				went = float64(m[i])
			}
			missed[i] *= went
		}
	}
	return 1 - averaged(missed[:], sharedWeights), nil
}

// missedBy returns the chance that all watchers miss something, by the offset that they
// have in common.
func missedBy(watchers [][]float64) (missed [offsets]float64, err error) {
	for i := range missed {
		missed[i] = 1
	}
	for n, chance := range watchers {
		if len(chance) != offsets {
			return missed, fmt.Errorf("sweep: watcher %d gives %d chances for %d offsets", n, len(chance), offsets)
		}
		for _, p := range chance {
			if !(p >= 0 && p <= 1) {
				return missed, fmt.Errorf("sweep: chance %g of watcher %d is not from 0 to 1", p, n)
			}
		}
		for s := range missed {
			missed[s] *= 1 - shiftedBy(chance, s, ownWeights)
		}
	}
	return missed, nil
}
