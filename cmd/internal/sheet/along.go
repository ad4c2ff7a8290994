package sheet

import (
	"math"
	"slices"
	"sort"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// lengthOf is the length of a line of the page [mm].
func lengthOf(line orb.LineString) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i][0]-line[i-1][0], line[i][1]-line[i-1][1])
	}
	return sum
}

// at returns the place that far along a line, or its end.
func at(line orb.LineString, far float64) orb.Point {
	for i := 1; i < len(line); i++ {
		step := math.Hypot(line[i][0]-line[i-1][0], line[i][1]-line[i-1][1])
		if far <= step && step > 0 {
			t := far / step
			return orb.Point{line[i-1][0] + t*(line[i][0]-line[i-1][0]), line[i-1][1] + t*(line[i][1]-line[i-1][1])}
		}
		far -= step
	}
	return line[len(line)-1]
}

// broad leaves out the outlines of strips and specks that a fill shows well enough.
func broad(lines []orb.LineString) []orb.LineString {
	return slices.DeleteFunc(lines, func(line orb.LineString) bool {
		closed := line[0] == line[len(line)-1]
		return closed && 2*math.Abs(planar.Area(orb.Ring(line))) < 1.2*lengthOf(line)
	})
}

// sortBy sorts spots by what each costs, the least first; equal ones keep their order.
func sortBy(list []spot, cost []float64) {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return cost[order[a]] < cost[order[b]] })
	sorted := slices.Clone(list)
	for i, o := range order {
		sorted[i] = list[o]
	}
	copy(list, sorted)
}
