package mapfile

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// poleRun is a ring around a pole as a line that runs east from -180 to 180.
type poleRun struct {
	line  orb.LineString
	north bool
}

// runAround turns a ring whose unwrapped line, the last position being the first
// again, gained a whole turn of longitude into a line from the 180 degree line
// to itself. Of the two poles it is around the nearer one. It is [ErrPole] for a
// ring that crosses that line to and fro or winds twice.
func runAround(ring orb.LineString) (poleRun, error) {
	n := len(ring) - 1
	turn := ring[n][0] - ring[0][0]
	if math.Abs(turn) > 540 {
		return poleRun{}, ErrPole
	}
	ring = slices.Clone(ring)
	if turn < 0 {
		slices.Reverse(ring)
	}
	lat := 0.0
	for _, p := range ring {
		lat += p[1]
	}
	for i := range n {
		edge := 360*math.Floor((ring[i][0]+180)/360) + 180 // the next 180 degree line to the east
		if ring[i+1][0] < edge {
			continue
		}
		start := orb.Point{-180, latAt(ring[i], ring[i+1], edge)}
		line := orb.LineString{start}
		for j := i + 1; j <= i+n; j++ {
			p := ring[j%n]
			p[0] += 360*float64(j/n) - edge - 180
			line = append(line, p)
		}
		line = append(line, orb.Point{180, start[1]})
		if west, east := span(line); west == -180 && east == 180 {
			return poleRun{line, lat >= 0}, nil
		}
	}
	return poleRun{}, ErrPole
}

// closed is the run with its way back: over its own pole, or along another run,
// where the area lies between the two.
func (r poleRun) closed(inner *poleRun) orb.LineString {
	ring := slices.Clone(r.line)
	if inner != nil {
		back := slices.Clone(inner.line)
		slices.Reverse(back)
		return append(ring, back...)
	}
	lat := 90.0
	if !r.north {
		lat = -90
	}
	return append(ring, orb.Point{180, lat}, orb.Point{-180, lat})
}
