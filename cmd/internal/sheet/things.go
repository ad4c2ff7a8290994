package sheet

import (
	"cmp"
	"image/color"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// things draws the layers of a result onto the map: areas, lines and points, each by its
// look, and gathers the labels that they want.
type things struct {
	*doc
	p       *projection
	r       *job.Result
	labels  [labelRanks][]label
	symbols []symbol
}

// Ranks of labels: what is placed first.
const (
	rankStart = iota
	rankSymbol
	rankRing
	rankSight
	rankArea
	rankLine
	rankSmall
	labelRanks
)

// A symbol is a point on the map that no label may cover.
type symbol struct {
	place  orb.Point // on the map
	at     orb.Point // where it is drawn: beside its place where others stand on it
	look   overlay.Look
	letter string
	label  label // what is written beside it, "" for nothing
	rank   int
}

func (s symbol) box() box {
	return box{x: s.at[0], y: s.at[1], w: s.look.WidthMM + 0.4, h: s.look.WidthMM + 0.4}
}

// settle moves symbols that stand on others beside them, the later drawn first to keep
// its place, and returns them by that rank: a letter that is covered says nothing.
func settle(list []symbol) []symbol {
	var settled []symbol
	for _, s := range slices.Backward(list) {
		free := func(at orb.Point) bool {
			b := s.box()
			b.x, b.y = at[0], at[1]
			return !slices.ContainsFunc(settled, func(o symbol) bool { return b.overlaps(o.box()) })
		}
		for _, off := range []float64{0, 1, 1.3, 1.7, 2.2} {
			done := false
			for i := range 8 {
				sin, cos := math.Sincos(float64(i) * math.Pi / 4)
				at := orb.Point{s.place[0] + off*s.look.WidthMM*sin, s.place[1] - off*s.look.WidthMM*cos}
				if done = free(at); done {
					s.at = at
					break
				}
			}
			if done {
				break
			}
		}
		settled = append(settled, s)
	}
	return settled
}

// fills draws what lies below the contours: areas that are filled.
func (t *things) fills(layers []layer.Layer, looks []overlay.Look) {
	for _, k := range looks {
		l := layerOf(layers, k.Layer)
		for i := len(l.Features) - 1; i >= 0; i-- { // the smallest region of a list comes first and lies on top
			f := l.Features[i]
			if look := k.For(f); look.Shape == overlay.Area && look.Fill > 0 {
				t.fillAreas(t.p.areasOnPage(f.Geometry), look.Colour, look.Fill)
			}
		}
	}
}

// draw draws hatches, outlines, lines and points.
func (t *things) draw(layers []layer.Layer, looks []overlay.Look) {
	for _, k := range looks {
		l := layerOf(layers, k.Layer)
		letters := overlay.Letters(l)
		for i, f := range l.Features {
			t.feature(k.For(f), f, letters[i])
		}
	}
	t.symbols = settle(t.symbols)
	for _, s := range slices.Backward(t.symbols) {
		t.symbol(s)
	}
}

func layerOf(layers []layer.Layer, id string) layer.Layer {
	for _, l := range layers {
		if l.ID == id {
			return l
		}
	}
	return layer.Layer{}
}

// feature draws one thing. The geometry decides: a layer of areas may hold a point, where
// a signal shows so little that no ring can be drawn.
func (t *things) feature(k overlay.Look, f layer.Feature, letter string) {
	if at, ok := f.Geometry.(orb.Point); ok {
		if k.Shape >= overlay.Dot {
			t.point(k, f, letter, t.p.xy(at))
		}
		return
	}
	t.hatch(k, t.p.areasOnPage(f.Geometry))
	if k.Layer == overlay.Seen {
		return // hatched without a border: its many specks would hide the ground
	}
	lines := t.p.onPage(f.Geometry)
	if k.Layer == overlay.Likely {
		lines = broad(lines)
	}
	t.strokes(lines, pen{colour: k.Colour, mm: k.WidthMM, dash: k.DashMM})
	t.lineLabel(k, f, lines)
}

// point notes a symbol once for every place of a layer, and its label.
func (t *things) point(k overlay.Look, f layer.Feature, letter string, at orb.Point) {
	if !t.p.bound().Contains(at) {
		return
	}
	for i, s := range t.symbols {
		if s.place == at && s.look.Layer == k.Layer {
			if text := pointText(t.r, k, f); k.Layer != overlay.Exits && !strings.Contains(s.label.text, text) {
				t.symbols[i].label.text += ", " + text
			}
			return
		}
	}
	s := symbol{place: at, at: at, look: k, letter: letter, rank: rankSymbol}
	s.label = label{text: pointText(t.r, k, f), face: bold, pt: 7, colour: black}
	switch k.Layer {
	case overlay.Starts:
		s.rank = rankStart
	case overlay.Exits:
		s.rank, s.label.face, s.label.pt = rankSmall, regular, 6
		for _, o := range t.symbols { // one trail leads out of many rings
			if o.look.Layer == k.Layer && o.label.text == s.label.text {
				s.label.text = ""
			}
		}
	}
	t.symbols = append(t.symbols, s)
}

// pointLabels asks for the labels of the symbols, beside where they were drawn.
func (t *things) pointLabels() {
	for _, s := range t.symbols {
		if s.label.text == "" {
			continue
		}
		t.font(s.label.face, s.label.pt)
		s.label.spots = beside(s.at, s.look.WidthMM+0.6, t.width(s.label.text)+2*labelGap, s.label.pt*mmPerPt)
		t.labels[s.rank] = append(t.labels[s.rank], s.label)
	}
}

// lineLabel asks for a label along a line or outline.
func (t *things) lineLabel(k overlay.Look, f layer.Feature, lines []orb.LineString) {
	text, rank := lineText(t.r, k, f)
	if text == "" || len(lines) == 0 {
		return
	}
	l := label{text: text, face: regular, pt: 6.5, colour: darker(k.Colour)}
	if rank == rankRing {
		l.face = bold
	}
	t.font(l.face, l.pt)
	w := t.width(l.text) + 2*labelGap
	l.spots = along(lines, w)
	if rank == rankArea {
		within := inside(t.p.areasOnPage(f.Geometry), w, l.pt*mmPerPt)
		if k.Layer == overlay.Next {
			within = append(within, l.spots...)
		}
		l.spots = within
	}
	t.labels[rank] = append(t.labels[rank], l)
}

// pointText is what is written beside a point.
func pointText(r *job.Result, k overlay.Look, f layer.Feature) string {
	switch k.Layer {
	case overlay.Starts:
		return strings.TrimSpace(f.Name + " " + clockText(r, f.Time))
	case overlay.Sites:
		if signal, _ := f.Get("signal"); strings.HasPrefix(f.Name, "site ") && signal != nil {
			return strings.TrimSpace(signal.(string) + " " + clockText(r, f.Time))
		}
	}
	return f.Name
}

// lineText is what is written along a line, and how much it matters.
func lineText(r *job.Result, k overlay.Look, f layer.Feature) (string, int) {
	get := func(key string) any { v, _ := f.Get(key); return v }
	switch k.Layer {
	case overlay.Rings:
		walker, _ := get("walker").(string)
		if at := clockText(r, f.Time); at != "" {
			return at + " " + walker, rankRing
		}
		after, _ := get("after_s").(float64)
		return job.Duration(after) + " " + walker, rankRing
	case overlay.Sights:
		noticed, _ := get("noticed_m").(float64)
		return strings.TrimSpace(f.Name+" "+clockText(r, f.Time)) + ", " + r.Words().Distance(noticed), rankSight
	case overlay.LogErr:
		share, _ := get("share").(float64)
		return "log's end " + overlay.Share(share), rankSmall
	case overlay.StartErr:
		return "95 %", rankSmall
	case overlay.Next:
		return f.Name, rankArea
	case overlay.Areas, overlay.Swept: // "area 12" is one of very many: its number
		return strings.TrimPrefix(f.Name, "area "), rankArea
	case overlay.Likely:
		share, _ := get("share").(float64)
		return overlay.Share(share) + " of the likelihood", rankLine
	case overlay.Parties, overlay.Searched, overlay.Aircraft, overlay.Meant, overlay.Way, overlay.NextWays, overlay.Log, overlay.Home:
		return f.Name, rankLine
	}
	return "", rankSmall
}

// clockText writes a time on the map: hours and minutes on the day of as_of, else with
// the day; "" for none.
func clockText(r *job.Result, at time.Time) string {
	if at.IsZero() {
		return ""
	}
	if zone := r.Plan.Location(); zone != nil {
		at = at.In(zone)
	}
	if day := r.Plan.AsOf; day != nil && day.Format(time.DateOnly) == at.Format(time.DateOnly) {
		return at.Format("15:04")
	}
	return overlay.Clock(&at)
}

// darker returns a colour that small letters can be read in on white.
func darker(c color.RGBA) color.RGBA {
	light := 0.3*float64(c.R) + 0.59*float64(c.G) + 0.11*float64(c.B)
	const most = 95
	if light <= most {
		return c
	}
	k := most / light
	return color.RGBA{uint8(float64(c.R) * k), uint8(float64(c.G) * k), uint8(float64(c.B) * k), 255}
}

// inside returns spots in the largest of some areas for a text of a size, the middle
// first; none where it is larger than the area.
func inside(areas orb.MultiPolygon, textW, textH float64) []spot {
	var list []spot
	var largest orb.Bound
	for _, a := range areas {
		if b := a.Bound(); cmp.Compare(side(b), side(largest)) > 0 {
			largest = b
		}
	}
	c := largest.Center()
	h := largest.Max[1] - largest.Min[1]
	w := largest.Max[0] - largest.Min[0]
	if side(largest) == 0 || textW > w || textH > h {
		return nil
	}
	for _, s := range [][2]float64{{0, 0}, {0, -0.2}, {0, 0.2}, {-0.2, 0}, {0.2, 0}, {0, -0.35}, {0, 0.35}, {-0.3, -0.2}, {0.3, 0.2}} {
		list = append(list, spot{x: c[0] + s[0]*w, y: c[1] + s[1]*h})
	}
	return list
}

// side is the shorter side of a bound.
func side(b orb.Bound) float64 { return min(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) }
