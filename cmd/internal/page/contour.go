package page

import (
	"context"
	"math"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
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
	low, high := h.Range()
	if math.IsNaN(low) {
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
			for _, at := range simplify.DouglasPeucker(straightM).LineString(flat) {
				row = p.appendFlat(row, at)
			}
			s.add(row)
			level.Lines++
		}
		set.Levels = append(set.Levels, level)
	}
	return set, nil
}
