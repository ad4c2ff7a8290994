package sweep

import "math"

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
)

// mean returns the mean of a chance that is given for each offset.
func mean(chance [offsets]float64) float64 {
	sum := 0.0
	for i, p := range chance {
		sum += totalWeights[i] * p
	}
	return sum
}

// several returns the chance that at least one of so many watchers sees it,
// each passing alike: the offset of target and day is common to them, that of
// the watcher is their own.
func several(chance [offsets]float64, watchers int) float64 {
	sum := 0.0
	for s, weight := range sharedWeights {
		missed := 0.0
		for o, w := range ownWeights {
			// Beyond four standard deviations the chance is that of the last offset.
			i := min(max(s+o-offsetEach, 0), offsets-1)
			missed += w * (1 - chance[i])
		}
		sum += weight * (1 - math.Pow(missed, float64(watchers)))
	}
	return sum
}
