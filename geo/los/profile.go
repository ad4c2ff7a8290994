package los

import (
	"cmp"
	"math"
	"slices"
)

// Place is what lies under one place of a sight line.
type Place struct {
	DistanceM float64 // from the eye [m]
	GroundM   float64 // height of the ground [m], NaN for no data
	OverM     float64 // of what light does not pass below [m]: the ground, or the screen
	LineM     float64 // of the sight line by the same datum [m]
}

// Profile returns what a sight line passes over, in the order of distance: the eye,
// each of the crossings that decide whether it is seen, and the target. Heights
// are above the terrain's datum, not lowered, so that the line, which is straight
// but for refraction, sags by the earth's curve: by d (D - d) (1 - k) / 2R at d of D.
// Ends without ground have NaN.
func (e *Eye) Profile(target Station) []Place {
	legs := e.legs(nil, clamp(target.Col, e.h.Cols), clamp(target.Row, e.h.Rows))
	total := legs[len(legs)-1].to
	ground := e.stands.SampleCell(target.Col, target.Row)
	slope, _ := e.slope(legs, ground+target.HeightM)
	slope -= tieM / total
	line := func(d float64) float64 { return e.z + d*(slope+e.q*d) }
	eye := Place{GroundM: e.stands.SampleCell(e.col, e.row), OverM: e.h.SampleCell(e.col, e.row), LineM: e.z}
	if total == 0 {
		return []Place{eye}
	}
	var list []Place
	for i := range legs {
		e.crossingsIn(e.h.Z, &legs[i], func(d, z float64) {
			list = append(list, Place{DistanceM: d, OverM: z, LineM: line(d)})
		})
	}
	n := 0
	for i := range legs {
		e.crossingsIn(e.stands.Z, &legs[i], func(_, z float64) { list[n].GroundM, n = z, n+1 })
	}
	slices.SortStableFunc(list, func(a, b Place) int { return cmp.Compare(a.DistanceM, b.DistanceM) })
	end := Place{DistanceM: total, GroundM: ground, OverM: e.h.SampleCell(target.Col, target.Row), LineM: ground + target.HeightM}
	if math.IsNaN(target.HeightM) {
		end.LineM = math.NaN()
	}
	return append(append([]Place{eye}, list...), end)
}
