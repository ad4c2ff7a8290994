package job

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/terrain"
	"farhail/geo/walk"
	"farhail/signal/drill"

	"github.com/paulmach/orb"
)

// What makes a place of the terrain a candidate; all own choice.
const (
	ridgeM2       = 50_000 // ground that would drain over a ridge's cell, turned upside down
	knollAroundM  = 200    // a knoll is the highest ground that far around,
	knollRiseM    = 10     // and that much higher than the mean of it
	clearingFromM = 60     // a clearing has trees that near
)

// A nearGround is the terrain around what is near.
type nearGround struct {
	*grid.Heights
	col0, row0 int    // of the terrain
	inside     []bool // cells within the question's distance
}

// groundNear cuts the terrain to what is near; nil where no site is looked for by it.
func (p *placing) groundNear(near []candidate) (*nearGround, error) {
	if !slices.ContainsFunc(p.ask.Among, func(w string) bool { return w != plan.AmongGrid && w != plan.AmongRoute }) {
		return nil, nil
	}
	col0, row0, col1, row1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, c := range near {
		col0, row0, col1, row1 = min(col0, c.col), min(row0, c.row), max(col1, c.col), max(row1, c.row)
	}
	east, north := p.heights.MetresAt((col0+col1)/2, (row0+row1)/2)
	cols, rows := p.ask.WithinM/east, p.ask.WithinM/north
	mid, half := [2]float64{(col0 + col1) / 2, (row0 + row1) / 2}, [2]float64{(col1-col0)/2 + cols + 2, (row1-row0)/2 + rows + 2}
	if mid[0]+half[0] < 0 || mid[1]+half[1] < 0 || mid[0]-half[0] > float64(p.heights.Cols-1) || mid[1]-half[1] > float64(p.heights.Rows-1) {
		return nil, fmt.Errorf("nothing that sites are looked for near lies on the terrain")
	}
	g := &nearGround{Heights: window(p.heights, mid[0], mid[1], half[0], half[1]), col0: max(int(mid[0]-half[0]), 0), row0: max(int(mid[1]-half[1]), 0)}
	g.inside = make([]bool, len(g.Z))
	for _, c := range near {
		for row := max(int(c.row-rows)-g.row0, 0); row <= min(int(c.row+rows)-g.row0+1, g.Rows-1); row++ {
			for col := max(int(c.col-cols)-g.col0, 0); col <= min(int(c.col+cols)-g.col0+1, g.Cols-1); col++ {
				if math.Hypot((float64(col+g.col0)-c.col)*east, (float64(row+g.row0)-c.row)*north) <= p.ask.WithinM {
					g.inside[row*g.Cols+col] = true
				}
			}
		}
	}
	return g, nil
}

// groundSites returns ridges, knolls or clearings, the highest first, no nearer to each
// other than the spacing.
func (p *placing) groundSites(ctx context.Context, g *nearGround, word string, spacing float64) ([]candidate, error) {
	if g == nil {
		return nil, nil
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var mask []bool
	switch word {
	case plan.AmongRidges:
		mask = terrain.Ridges(g.Heights, ridgeM2)
	case plan.AmongKnolls:
		mask = g.knolls()
	case plan.AmongClearings:
		if p.cover == nil {
			p.leaveOut(p.String() + ": clearings, since no file tells what covers the ground (cover:)")
			return nil, nil
		}
		mask = p.clearings(g)
	}
	var cells []int
	for i, is := range mask {
		if is && g.inside[i] && !math.IsNaN(float64(g.Z[i])) {
			cells = append(cells, i)
		}
	}
	slices.SortStableFunc(cells, func(a, b int) int { return cmp.Compare(g.Z[b], g.Z[a]) })
	var list []candidate
	for _, i := range cells {
		c, err := p.put("", g.Point(float64(i%g.Cols), float64(i/g.Cols)))
		if err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	return apart(list, spacing), nil
}

// around calls one for each cell within a distance of another.
func (g *nearGround) around(i int, distM float64, one func(cell int)) {
	col, row := i%g.Cols, i/g.Cols
	east, north := g.Metres(row)
	dc, dr := int(distM/east), int(distM/north)
	for r := max(row-dr, 0); r <= min(row+dr, g.Rows-1); r++ {
		for c := max(col-dc, 0); c <= min(col+dc, g.Cols-1); c++ {
			if math.Hypot(float64(c-col)*east, float64(r-row)*north) <= distM && (c != col || r != row) {
				one(r*g.Cols + c)
			}
		}
	}
}

// knolls marks the cells that are the highest of those around, and stand above them.
func (g *nearGround) knolls() []bool {
	mask := make([]bool, len(g.Z))
	for i, z := range g.Z {
		if !g.inside[i] || g.lower(i) {
			continue
		}
		sum, n := 0.0, 0
		top := true
		g.around(i, knollAroundM, func(cell int) {
			if o := g.Z[cell]; o > z || o == z && cell < i {
				top = false
			} else if o == o {
				sum += float64(o)
				n++
			}
		})
		mask[i] = top && n > 0 && float64(z)-sum/float64(n) >= knollRiseM
	}
	return mask
}

// lower reports whether one of the cells beside a cell is higher, which spares the
// look around most.
func (g *nearGround) lower(i int) bool {
	col, row := i%g.Cols, i/g.Cols
	return col > 0 && g.Z[i-1] > g.Z[i] || col < g.Cols-1 && g.Z[i+1] > g.Z[i] || row > 0 && g.Z[i-g.Cols] > g.Z[i] || row < g.Rows-1 && g.Z[i+g.Cols] > g.Z[i]
}

// clearings marks open ground that has trees near it.
func (p *placing) clearings(g *nearGround) []bool {
	mask := make([]bool, len(g.Z))
	wooded := func(cell int) bool {
		return p.cover.grid.Class[(cell/g.Cols+g.row0)*p.heights.Cols+cell%g.Cols+g.col0].Wooded()
	}
	for i := range mask {
		if !g.inside[i] || !p.open(g.Point(float64(i%g.Cols), float64(i/g.Cols))) {
			continue
		}
		g.around(i, clearingFromM, func(cell int) { mask[i] = mask[i] || wooded(cell) })
	}
	return mask
}

// apart keeps the candidates that are no nearer to one kept before than that [m].
func apart(list []candidate, distM float64) []candidate {
	type block struct{ x, y int }
	at := func(c candidate) block {
		return block{int(math.Floor(c.x / distM)), int(math.Floor(c.y / distM))}
	}
	kept := map[block][]candidate{}
	var out []candidate
	for _, c := range list {
		b, near := at(c), false
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				for _, k := range kept[block{b.x + dx, b.y + dy}] {
					near = near || math.Hypot(k.x-c.x, k.y-c.y) < distM
				}
			}
		}
		if !near {
			kept[b] = append(kept[b], c)
			out = append(out, c)
		}
	}
	return out
}

// withinLimits drops the candidates beyond the question's limits: on water, too steep, too
// far to walk, or under trees with something that burns. Where no limit of slope is given,
// none that was looked for stands on ground that counts as a cliff.
func (p *placing) withinLimits(ctx context.Context, list []candidate) ([]candidate, error) {
	var err error
	if p.ask.ReachS > 0 {
		if list, err = p.reachable(ctx, list); err != nil {
			return nil, err
		}
	}
	burns := p.burns()
	if burns && p.cover == nil {
		p.warn(p.String()+": no file tells where trees stand, so fires are not kept from under them", "give cover:, and look before anybody lights one")
	}
	given := len(p.ask.Candidates) > 0
	steep, under, wet := 0, 0, 0
	kept := list[:0:0]
	for _, c := range list {
		switch {
		case p.onWater(c):
			wet++
			if given {
				p.warn(fmt.Sprintf("candidate %s lies on water by the ground cover and is left out", c.name), "look at its position, or at the cover's files")
			}
		case !given && p.ask.MaxSlopeDeg == 0 && p.slopeDeg(c) > drill.CliffDeg:
			steep++
		case p.ask.MaxSlopeDeg > 0 && !(p.slopeDeg(c) <= p.ask.MaxSlopeDeg):
			steep++
		case burns && p.cover != nil && !p.open(c.point):
			under++
		default:
			kept = append(kept, c)
		}
	}
	if under > 0 {
		p.warn(fmt.Sprintf("%s: %d candidates lie under trees, in scrub or bog, on water or among houses, and no flame is put there", p, under), "")
	}
	if steep > 0 && len(kept) == 0 {
		p.warn(fmt.Sprintf("%s: all %d candidates are steeper than %.3g deg, or on the terrain's edge", p, steep, cmp.Or(p.ask.MaxSlopeDeg, drill.CliffDeg)), "give a larger max_slope:")
	}
	if wet > 0 && len(kept) == 0 {
		p.warn(fmt.Sprintf("%s: %d candidates lie on water by the ground cover, and no other is left", p, wet), "give a smaller spacing: or other candidates:")
	}
	return kept, nil
}

// onWater reports whether the cover knows a candidate's place as water.
func (p *placing) onWater(c candidate) bool {
	return p.cover != nil && p.cover.Class(c.point) == "water"
}

// burns reports whether the question may place something that burns.
func (p *placing) burns() bool {
	if p.ask.Question == plan.PlaceLookouts {
		return false
	}
	for _, h := range p.plan.Hours {
		if s, ok := p.signalAt(h.Time); ok && flames(s) {
			return true
		}
	}
	return false
}

// open reports whether the cover knows a place as ground without trees, scrub, bog, water or
// houses.
func (p *placing) open(at orb.Point) bool {
	switch p.cover.Class(at) {
	case "grass", "crops", "bare", "snow":
		return true
	}
	return false
}

// reachable keeps the candidates that can be walked to in time, at the speed of the
// plan's usual walker.
func (p *placing) reachable(ctx context.Context, list []candidate) ([]candidate, error) {
	start, ok := ringStart(p.plan.Starts)
	for _, s := range p.plan.Starts {
		if s.Name == p.ask.ReachFrom {
			start, ok = s, true
		}
	}
	if !ok {
		return nil, cli.WithHint(fmt.Errorf("%s: reach is from a start, and the plan has none", p), "give starts:")
	}
	o, _, err := p.walking(start)
	if err != nil {
		return nil, err
	}
	if usual := p.plan.Traveller.Walkers.Usual; usual > 0 {
		o.Factor = usual
	}
	o.MaxSeconds = p.ask.ReachS
	field, err := walk.Reach(ctx, p.heights, o)
	if err != nil {
		return nil, fmt.Errorf("%s, reach from %s: %w", p, start.Name, err)
	}
	kept := list[:0:0]
	for _, c := range list {
		c.walkS = float64(field.Seconds[int(math.Round(c.row))*field.Cols+int(math.Round(c.col))])
		if !math.IsNaN(c.walkS) {
			kept = append(kept, c)
		}
	}
	return kept, nil
}
