package page

import (
	"context"
	"math"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
)

// A contourSet is the contours of the ground, level by level.
type contourSet struct {
	StepM  float64        `json:"step_m"`
	Levels []contourLevel `json:"levels"`
}

// A contourLevel is the lines of one height.
type contourLevel struct {
	M     float64 `json:"m"`
	Index bool    `json:"index"` // drawn thicker, and labelled
	Lines int     `json:"lines"` // of the stream
}

// Contours are as close as the ground bears.
var contourSteps = []float64{5, 10, 20, 50, 100, 200, 500}

const (
	mostLevels   = 90
	indexEvery   = 5
	leastCorners = 4   // a contour of fewer corners is a cell's noise
	straightM    = 2.0 // by what a contour is straightened [m]
)

// contours adds the contours of the ground to the stream.
func (p *plane) contours(ctx context.Context, h *grid.Heights, s *stream) (*contourSet, error) {
	low, high, ok := heightRange(h)
	if !ok {
		return nil, nil
	}
	set := &contourSet{StepM: contourSteps[len(contourSteps)-1], Levels: []contourLevel{}}
	for _, step := range contourSteps {
		if (high-low)/step <= mostLevels {
			set.StepM = step
			break
		}
	}
	for k := math.Ceil(low / set.StepM); k*set.StepM <= high; k++ {
		lines, err := grid.Contour(ctx, h.Frame, h.Z, k*set.StepM)
		if err != nil {
			return nil, err
		}
		level := contourLevel{M: k * set.StepM, Index: math.Mod(k, indexEvery) == 0}
		for _, line := range lines {
			if len(line) < leastCorners {
				continue
			}
			flat := make(orb.LineString, len(line))
			for i, at := range line {
				flat[i] = p.flat(at)
			}
			var row flatRow
			for _, at := range straighten(flat, straightM) {
				row = p.appendFlat(row, at)
			}
			s.add(row)
			level.Lines++
		}
		set.Levels = append(set.Levels, level)
	}
	return set, nil
}

// straighten leaves out corners that lie within a distance of the line without them
// (Ramer 1972; Douglas and Peucker 1973). Ends stay, and of a closed line also the corner
// farthest from them.
func straighten(line orb.LineString, offM float64) orb.LineString {
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	spans := [][2]int{{0, len(line) - 1}}
	for len(spans) > 0 {
		a, b := spans[len(spans)-1][0], spans[len(spans)-1][1]
		spans = spans[:len(spans)-1]
		far, at := offM, -1
		for i := a + 1; i < b; i++ {
			if d := aside(line[i], line[a], line[b]); d > far {
				far, at = d, i
			}
		}
		if at > 0 {
			keep[at] = true
			spans = append(spans, [2]int{a, at}, [2]int{at, b})
		}
	}
	out := make(orb.LineString, 0, len(line))
	for i, k := range keep {
		if k {
			out = append(out, line[i])
		}
	}
	return out
}

// aside returns the distance of a place from a stretch.
func aside(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l))
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}
