package sighting

import "math"

// amongPlants cuts a distance by the plants in the way, and says so where they
// end it. The chance of a clear line is applied once: where the observer is
// told where to look, the distance goes no farther than half of all lines are
// clear; where not, the chance of finding times that of a clear line is one
// half. A light that shines through between the leaves shines undimmed.
func (q Query) amongPlants(w Watch, p purpose, r *Reach) {
	if q.Plants.Open() || !(r.DistanceM > 0) {
		return
	}
	r.Factors = r.Factors[:len(r.Factors):len(r.Factors)]
	const by = "stems 1/(N D) (Poisson shadows, Lang et al. 2021), leaves 2 x canopy / leaf area index (Beer-Lambert, G = 0.5)"
	if clearM := q.Plants.ClearM(); !math.IsInf(clearM, 1) {
		r.Factors = append(r.Factors, factor("mean clear line among plants", clearM, "m", by))
	}
	if q.Plants.OnLine > 0 {
		r.Factors = append(r.Factors, factor("stems and leaves on the line", q.Plants.OnLine, "", "the line's lengths below each canopy over its mean clear line; "+by))
	}
	half := q.Plants.HalfClearM()
	if p.lobeSR == 0 {
		if half < r.DistanceM {
			r.DistanceM, r.Limit = half, Vegetation
		}
		return
	}
	bound := min(r.DistanceM, half)
	r.DistanceM = farthest(bound, func(distM float64) bool { return w.lookChance(distM)*q.Plants.Clear(distM) >= noticedChance })
	if r.DistanceM == 0 {
		r.Limit = Vegetation
		return
	}
	// As with air and eye: which of them takes more of the next part in a thousand.
	const step = 1.001
	byPlants := q.Plants.Clear(r.DistanceM*step) / q.Plants.Clear(r.DistanceM)
	byEye := w.lookChance(r.DistanceM*step) / w.lookChance(r.DistanceM)
	r.Limit = w.Limit(r.DistanceM)
	if byPlants < byEye {
		r.Limit = Vegetation
	}
}
