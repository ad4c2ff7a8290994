package job

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// maxCandidates is the largest number of sites that are compared. Own choice:
// with 2000 people-places each this is about five million sight lines.
const maxCandidates = 2000

// candidates returns the sites that the plan gives, or else those of a grid near
// the route, the log and the lookouts. Sites off the terrain are left out.
func (r *run) candidates() ([]candidate, float64, error) {
	var list []candidate
	for _, c := range r.asked.Candidates {
		at, err := r.put(c.Name, c.Point)
		if err != nil {
			return nil, 0, err
		}
		if r.onGround(at) {
			list = append(list, at)
		} else {
			r.warn(fmt.Sprintf("candidate %s lies where the terrain has no height and is left out", c.Name), "")
		}
	}
	if len(r.asked.Candidates) > 0 {
		if len(list) > maxCandidates {
			return nil, 0, fmt.Errorf("%d candidates are more than the %d that are compared", len(list), maxCandidates)
		}
		return list, math.NaN(), nil
	}
	spacing := r.asked.SpacingM
	for {
		var err error
		if list, err = r.gridSites(spacing); err != nil {
			return nil, 0, err
		}
		if len(list) <= maxCandidates {
			break
		}
		// The count falls with the square of the spacing.
		spacing *= 1.02 * math.Sqrt(float64(len(list))/maxCandidates)
	}
	if spacing > r.asked.SpacingM {
		r.warn(fmt.Sprintf("candidate sites stand %.0f m apart instead of %.0f m, so that no more than %d are compared", spacing, r.asked.SpacingM, maxCandidates), "give candidates: or a smaller within:")
	}
	return list, spacing, nil
}

// gridSites returns the points of a grid in the plan's local frame that lie
// within the plan's distance of the route, the log or a lookout, from the north
// and west.
func (r *run) gridSites(spacing float64) ([]candidate, error) {
	within := r.asked.WithinM
	type node struct{ row, col int }
	near := map[node]bool{}
	for _, p := range r.near() {
		x, y, err := r.local.Forward(p)
		if err != nil {
			return nil, err
		}
		for row := int(math.Ceil((y - within) / spacing)); float64(row)*spacing <= y+within; row++ {
			for col := int(math.Ceil((x - within) / spacing)); float64(col)*spacing <= x+within; col++ {
				if math.Hypot(float64(col)*spacing-x, float64(row)*spacing-y) <= within {
					near[node{row, col}] = true
				}
			}
		}
	}
	var list []candidate
	for n := range near {
		at, err := r.put("", r.local.Inverse(float64(n.col)*spacing, float64(n.row)*spacing))
		if err != nil {
			return nil, err
		}
		if r.onGround(at) {
			list = append(list, at)
		}
	}
	slices.SortFunc(list, func(a, b candidate) int {
		return cmp.Or(-cmp.Compare(math.Round(a.y), math.Round(b.y)), cmp.Compare(math.Round(a.x), math.Round(b.x)))
	})
	return list, nil
}

// near returns positions along the routes, the log and the traveller's track,
// and of the lookouts: where sites are looked for.
func (r *run) near() []orb.Point {
	var list []orb.Point
	for _, w := range r.watch.watchers {
		if !w.aloft {
			list = append(list, w.point)
		}
	}
	for _, t := range r.travelled {
		for _, at := range t.Every(everyHundred) {
			list = append(list, at.Point)
		}
	}
	return append(list, r.logPoints()...)
}

// logPoints returns positions no more than 100 m apart along the log.
func (r *run) logPoints() []orb.Point {
	if r.result.Reckon == nil {
		return nil
	}
	var list []orb.Point
	path := r.result.Reckon.Path
	for i := 1; i < len(path); i++ {
		length, bearing, _ := earth.Inverse(path[i-1], path[i])
		n := int(length/100) + 1
		for k := range n {
			p, _ := earth.Direct(path[i-1], bearing, length*float64(k)/float64(n))
			list = append(list, p)
		}
	}
	if len(path) > 0 {
		list = append(list, path[len(path)-1])
	}
	return list
}

// put returns a position with its places on the terrain and in the local frame.
func (r *run) put(name string, p orb.Point) (candidate, error) {
	c := candidate{name: name, point: p}
	c.col, c.row = r.heights.Cell(p)
	var err error
	if c.x, c.y, err = r.local.Forward(p); err != nil {
		return c, fmt.Errorf("a position of the plan: %w", err)
	}
	return c, nil
}

func (r *run) onGround(c candidate) bool {
	return !math.IsNaN(r.heights.SampleCell(c.col, c.row))
}
