package job

import (
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/terrain"
	"farhail/signal/drill"
)

// What counts as a cliff, that nobody should be drawn over, is what nobody is hidden
// beside: see signal/drill. The rest is own choice.
const (
	// mostCrossing is the share of those who notice a light that may have to cross
	// something on their way to it.
	mostCrossing = 0.1
	// aroundHazardsM is how far around sites and likely ground ways may lead.
	aroundHazardsM = 3000
)

// A PlaceCrossing is what the ways to a light that attracts were checked for.
type PlaceCrossing struct {
	LimitDeg     cli.Num `json:"limit_deg"` // slope that counts as a cliff
	CellM        cli.Len `json:"cell_m"`
	Checked      bool    `json:"cliffs_checked"` // false on cells too large to show cliffs
	GroundSeenBy string  `json:"ground_seen_by"` // initials; "" where nobody said so
	SteepCells   int     `json:"steep_cells"`
	VoidCells    int     `json:"void_cells"`
	WaterCells   int     `json:"water_cells"` // of the cover; flats of exactly 0 m too
	MappedCells  int     `json:"mapped_cells"`
	HazardCells  int     `json:"hazard_cells"` // that the plan warns of
	WaterFrom    string  `json:"water_from"`
	MostShare    cli.Num `json:"most_share"` // a site with a larger share is not proposed
	NotProposed  int     `json:"not_proposed"`
	Forced       bool    `json:"forced"`
}

// Hazards are the cells that nobody should be drawn over.
type hazards struct {
	*grid.Heights
	mask   []bool
	pieces []int32 // of the free cells that hang together; -1: none
	told   PlaceCrossing
}

// cellM returns the larger side of the terrain's cells.
func (r *run) cellM() float64 {
	east, north := r.heights.Metres(r.heights.Rows / 2)
	return max(east, north)
}

// unseenGround says why nothing may attract the traveller over this terrain; "" where it
// may.
func (p *placing) unseenGround() string {
	if cell := p.cellM(); cell > drill.CliffCellM && p.ask.GroundSeenBy == "" {
		return fmt.Sprintf("cells of %.0f m cannot show cliffs, and a light or sound draws people over them: somebody must have seen the ground between them and it, and say so (ground_seen_by: initials)", cell)
	}
	return ""
}

// hazards marks what lies on the ground around sites and likely cells.
func (p *placing) hazards(places []lookedAt) (*hazards, error) {
	h := &hazards{Heights: p.heights, mask: make([]bool, len(p.heights.Z)), pieces: make([]int32, len(p.heights.Z))}
	cell := p.cellM()
	h.told = PlaceCrossing{LimitDeg: drill.CliffDeg, CellM: cli.Len(cell), Checked: cell <= drill.CliffCellM, GroundSeenBy: p.ask.GroundSeenBy,
		MostShare: mostCrossing, Forced: p.ask.Forced, WaterFrom: "not known: no cover file"}
	if !h.told.Checked {
		h.told.LimitDeg = drill.CoarseCliffDeg
	}
	var water, mapped []bool
	if p.cover != nil {
		h.told.WaterFrom = "the cover's files: lakes, rivers, the sea; streams are crossed, no bridge or trail counts"
		// Somebody who is drawn walks straight: a bridge beside the line opens nothing, nor
		// does a trail over a cliff.
		water, mapped = p.cover.mapped.LargeWater(p.cover.grid), p.cover.mapped.Cliffs(p.cover.grid)
	}
	barriers, err := p.shapes(p.plan.Traveller.Barriers)
	if err != nil {
		return nil, err
	}
	drawn, warned := MarkShapes(p.heights.Frame, barriers), MarkShapes(p.heights.Frame, p.dangers)
	c0, r0, c1, r1 := p.boxAround(places)
	for i := range h.pieces {
		h.pieces[i] = -1
	}
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			i := row*h.Cols + col
			switch slope := terrain.SteepestDeg(p.heights, col, row); {
			case math.IsNaN(float64(h.Z[i])):
				h.told.VoidCells++
			case water != nil && water[i], p.terrain.AtSeaLevel(float64(col), float64(row)):
				h.told.WaterCells++
			case mapped != nil && mapped[i], drawn != nil && drawn[i]:
				h.told.MappedCells++
			case warned != nil && warned[i]:
				h.told.HazardCells++
			case slope > float64(h.told.LimitDeg):
				h.told.SteepCells++
			default:
				continue
			}
			h.mask[i] = true
		}
	}
	h.join(c0, r0, c1, r1)
	return h, nil
}

// boxAround returns the cells around sites and likely ground, wide enough for ways.
func (p *placing) boxAround(places []lookedAt) (c0, r0, c1, r1 int) {
	c0, r0 = p.heights.Cols-1, p.heights.Rows-1
	grow := func(c candidate) {
		c0, c1 = min(c0, int(c.col)), max(c1, int(c.col)+1)
		r0, r1 = min(r0, int(c.row)), max(r1, int(c.row)+1)
	}
	for _, c := range p.sites {
		grow(c)
	}
	for _, l := range places {
		grow(l.candidate)
	}
	more := int(aroundHazardsM / p.cellM())
	return max(c0-more, 0), max(r0-more, 0), min(c1+more, p.heights.Cols-1), min(r1+more, p.heights.Rows-1)
}

// join numbers the pieces of free ground that hang together by the sides of cells.
func (h *hazards) join(c0, r0, c1, r1 int) {
	piece := int32(0)
	var open []int
	for row := r0; row <= r1; row++ {
		for col := c0; col <= c1; col++ {
			i := row*h.Cols + col
			if h.mask[i] || h.pieces[i] >= 0 {
				continue
			}
			h.pieces[i] = piece
			open = append(open[:0], i)
			for len(open) > 0 {
				at := open[len(open)-1]
				open = open[:len(open)-1]
				x, y := at%h.Cols, at/h.Cols
				for _, d := range [4][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
					c, r := x+d[0], y+d[1]
					if c < c0 || c > c1 || r < r0 || r > r1 {
						continue
					}
					if n := r*h.Cols + c; !h.mask[n] && h.pieces[n] < 0 {
						h.pieces[n] = piece
						open = append(open, n)
					}
				}
			}
			piece++
		}
	}
}

// nearest returns the index of the cell that holds a place.
func (h *hazards) nearest(c candidate) int {
	col := min(max(int(math.Round(c.col)), 0), h.Cols-1)
	row := min(max(int(math.Round(c.row)), 0), h.Rows-1)
	return row*h.Cols + col
}

// between reports whether somebody would have to cross something: the straight line
// crosses it, or no way keeps off it.
func (h *hazards) between(from, to candidate) bool {
	a, b := h.nearest(from), h.nearest(to)
	return h.pieces[a] < 0 || h.pieces[a] != h.pieces[b] || h.straight(from, to)
}

// straight reports whether the straight line from one place to another crosses
// something, or passes between two cells of it that touch by a corner. It is looked at
// twice in each cell.
func (h *hazards) straight(from, to candidate) bool {
	dc, dr := to.col-from.col, to.row-from.row
	n := int(2*math.Ceil(math.Max(math.Abs(dc), math.Abs(dr)))) + 1
	lastCol, lastRow := int(math.Round(from.col)), int(math.Round(from.row))
	for i := range n + 1 {
		u := float64(i) / float64(n)
		col, row := int(math.Round(from.col+u*dc)), int(math.Round(from.row+u*dr))
		if h.closed(col, row) || h.closed(lastCol, row) || h.closed(col, lastRow) {
			return true
		}
		lastCol, lastRow = col, row
	}
	return false
}

// closed reports whether a cell of the terrain holds something.
func (h *hazards) closed(col, row int) bool {
	return col >= 0 && row >= 0 && col < h.Cols && row < h.Rows && h.mask[row*h.Cols+col]
}

// along reports whether a way over the ground crosses something, or leaves the ground
// that was looked at.
func (h *hazards) along(way []candidate) bool {
	for i, c := range way {
		if h.pieces[h.nearest(c)] < 0 || i > 0 && h.straight(way[i-1], c) {
			return true
		}
	}
	return false
}

// offHazards drops the sites that stand on something themselves.
func (h *hazards) offHazards(sites []candidate) []candidate {
	return slices.DeleteFunc(slices.Clone(sites), func(c candidate) bool { return h.mask[h.nearest(c)] })
}
