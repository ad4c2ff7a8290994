package sheet

import (
	"context"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"
)

// Room around the map [mm]; all own choice.
const (
	sideMM    = 70 // width of what stands beside a map that lies
	factsMM   = 66 // width of scale, norths and grid below one that stands
	betweenMM = 4
)

// A mapPage is the first page in the making.
type mapPage struct {
	legend
	layers []layer.Layer
	laid   []laid // labels, in their places
	taken  []box  // symbols
	window area
}

// mapPages draws the maps of a result.
func (d *doc) mapPages(ctx context.Context, r *job.Result, o Options) error {
	for _, t := range themes(overlay.Layers(r)) {
		if _, err := d.mapPage(ctx, r, o, t); err != nil {
			return err
		}
	}
	return nil
}

// mapPage draws one map, and returns nil where there is nothing to draw.
func (d *doc) mapPage(ctx context.Context, r *job.Result, o Options, theme theme) (*mapPage, error) {
	layers := theme.layers
	place, ok := newPlot(r, layers)
	if !ok {
		return nil, nil
	}
	m := &mapPage{legend: legend{doc: d, r: r, looks: overlay.Key(layers), unnamed: new(int)}, layers: layers}
	if r.Map != nil && r.Map.Ground != nil {
		m.interval = intervals[0]
	}
	// What goes on beyond the map is known once it is placed, and takes room itself.
	var f fit
	var p *projection
	for range 2 {
		f = place.choose(o, func(paper Paper, lying bool, scale int) area {
			return m.room(place.around(scale), paper, lying)
		})
		p = newProjection(place.zone, place.south, f.scale, f.window, f.east, f.north)
		m.beyond = beyondWords(p, r, layers, m.looks, f.cut)
	}
	m.window = p.window
	w, h := pageSize(f.paper, f.lying)
	d.page(w, h)
	y := d.head(r, area{margin, margin, w - margin, h - margin}, theme.name+" "+scaleText(f.scale))
	if err := m.draw(ctx, p); err != nil {
		return nil, err
	}
	m.around(p, f.lying, y)
	return m, nil
}

func pageSize(paper Paper, lying bool) (w, h float64) {
	w, h = paper.size()
	if lying {
		w, h = h, w
	}
	return w, h
}

// room is where the map is on a page: what head, foot and the words around it leave.
func (m *mapPage) room(p *projection, paper Paper, lying bool) area {
	w, h := pageSize(paper, lying)
	a := area{margin, margin + headHeight(m.r), w - margin, h - margin - footHeight}
	side := m.sideBlocks(p, lying, a.w())
	if lying {
		if height(side) > a.h() {
			return area{}
		}
		a.x1 -= sideMM + betweenMM
	} else {
		a.y1 -= height(side) + betweenMM
	}
	return area{a.x0 + besideMap, a.y0 + aboveMap, a.x1 - besideMap, a.y1 - aboveMap}
}

// sideBlocks are what stands beside or below the map.
func (m *mapPage) sideBlocks(p *projection, lying bool, w float64) []block {
	if lying {
		return []block{m.keyBlock(m.looks, sideMM, 1), m.scaleBlock(p, sideMM, m.r.Words()), m.northBlock(p, m.r.Compass, sideMM), m.facts(p, sideMM), m.warnings(sideMM)}
	}
	// The facts go where they make the whole less high: below the key or the norths.
	wide := w - factsMM - betweenMM
	left := []block{m.keyBlock(m.looks, wide, 2)}
	right := []block{m.scaleBlock(p, factsMM, m.r.Words()), m.northBlock(p, m.r.Compass, factsMM)}
	if height(left) < height(right) {
		left = append(left, m.facts(p, wide))
	} else {
		right = append(right, m.facts(p, factsMM))
	}
	both := block{max(height(left), height(right)), func(x, y float64) {
		stack(left, x, y)
		stack(right, x+w-factsMM, y)
	}}
	return []block{both, m.warnings(w)}
}

// around draws what stands beside or below the map.
func (m *mapPage) around(p *projection, lying bool, top float64) {
	win := p.window
	list := m.sideBlocks(p, lying, m.w-2*margin)
	if lying {
		stack(list, win.x1+besideMap+betweenMM, top)
		return
	}
	stack(list, margin, win.y1+aboveMap+betweenMM)
}

// draw draws the map itself, from the ground up.
func (m *mapPage) draw(ctx context.Context, p *projection) error {
	win := p.window
	t := &things{doc: m.doc, p: p, r: m.r}
	m.pdf.ClipRect(win.x0, win.y0, win.w(), win.h(), false)
	heights, err := m.ground(ctx, p, func() { t.fills(m.layers, m.looks) })
	if err != nil {
		return err
	}
	m.pdf.ClipEnd()
	squares := m.grid(p)
	m.pdf.ClipRect(win.x0, win.y0, win.w(), win.h(), false)
	t.draw(m.layers, m.looks)
	m.labels(t, squares, heights)
	m.pdf.ClipEnd()
	m.frame(p)
	return nil
}

// ground draws the shaded ground, what lies right on it, and the contours, whose heights
// it returns to be labelled.
func (m *mapPage) ground(ctx context.Context, p *projection, onIt func()) ([]label, error) {
	m.interval, m.blank = 0, false
	if m.r.Map == nil || m.r.Map.Ground == nil {
		onIt()
		return nil, nil
	}
	h := cutOut(p, m.r.Map.Ground)
	if h == nil {
		onIt()
		return nil, nil
	}
	blank, err := m.shade(ctx, p, h)
	if err != nil {
		return nil, err
	}
	onIt()
	m.interval, m.blank = contourInterval(h, p.scale), blank > 0.002
	return m.contours(ctx, p, h, m.interval)
}

// labels puts all labels in their places and writes them.
func (m *mapPage) labels(t *things, squares, heights []label) {
	t.pointLabels()
	for _, s := range t.symbols {
		m.taken = append(m.taken, s.box())
	}
	var all []label
	for _, list := range t.labels {
		all = append(all, list...)
	}
	names := len(all)
	all = append(append(all, squares...), heights...)
	laid, leftOut := m.place(all, m.taken, m.window.inset(0.5))
	m.laid = laid
	for _, i := range leftOut {
		if i < names {
			*m.unnamed++
		}
	}
	for _, l := range m.laid {
		m.writeLabel(l)
	}
}
