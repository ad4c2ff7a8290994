package sheet

import (
	"cmp"
	"image/color"
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
	at     orb.Point
	look   overlay.Look
	letter string
}

func (s symbol) box() box {
	return box{x: s.at[0], y: s.at[1], w: s.look.WidthMM + 0.4, h: s.look.WidthMM + 0.4}
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
	for _, s := range t.symbols {
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
	if k.Hatch.GapMM > 0 {
		t.strokes(hatched(t.p.areasOnPage(f.Geometry), k.Hatch.AngleDeg, k.Hatch.GapMM), pen{colour: k.Colour, mm: 0.12})
	}
	lines := t.p.onPage(f.Geometry)
	t.strokes(lines, pen{colour: k.Colour, mm: k.WidthMM, dash: k.DashMM})
	t.lineLabel(k, f, lines)
}

// point notes a symbol once for every place of a layer, and its label.
func (t *things) point(k overlay.Look, f layer.Feature, letter string, at orb.Point) {
	if !t.p.bound().Contains(at) {
		return
	}
	for _, s := range t.symbols {
		if s.at == at && s.look.Layer == k.Layer {
			return
		}
	}
	t.symbols = append(t.symbols, symbol{at, k, letter})
	text := pointText(t.r, k, f)
	if text == "" {
		return
	}
	rank := rankSymbol
	l := label{text: text, face: bold, pt: 7, colour: black}
	switch k.Layer {
	case overlay.Starts:
		rank = rankStart
	case overlay.Exits:
		rank, l.face, l.pt = rankSmall, regular, 6
	}
	t.font(l.face, l.pt)
	l.spots = beside(at, k.WidthMM+0.6, t.width(l.text)+2*labelGap, l.pt*mmPerPt)
	t.labels[rank] = append(t.labels[rank], l)
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
		l.spots = append(inside(t.p.areasOnPage(f.Geometry)), l.spots...)
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
	case overlay.Areas, overlay.Next, overlay.Swept:
		return f.Name, rankArea
	case overlay.Likely:
		share, _ := get("share").(float64)
		return overlay.Share(share) + " of the likelihood", rankLine
	case overlay.Parties, overlay.Searched, overlay.Aircraft, overlay.Way, overlay.NextWays, overlay.Log, overlay.Home:
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

// inside returns spots in the largest of some areas, the middle first.
func inside(areas orb.MultiPolygon) []spot {
	var list []spot
	var largest orb.Bound
	for _, a := range areas {
		if b := a.Bound(); cmp.Compare(side(b), side(largest)) > 0 {
			largest = b
		}
	}
	if side(largest) == 0 {
		return nil
	}
	c := largest.Center()
	h := largest.Max[1] - largest.Min[1]
	w := largest.Max[0] - largest.Min[0]
	for _, s := range [][2]float64{{0, 0}, {0, -0.2}, {0, 0.2}, {-0.2, 0}, {0.2, 0}, {0, -0.35}, {0, 0.35}, {-0.3, -0.2}, {0.3, 0.2}} {
		list = append(list, spot{x: c[0] + s[0]*w, y: c[1] + s[1]*h})
	}
	return list
}

// side is the shorter side of a bound.
func side(b orb.Bound) float64 { return min(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) }
