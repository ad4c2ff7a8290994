package sheet

import (
	"strings"

	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// The key: a sample of each layer's look and what it is.
const (
	keyPt    = 7
	sampleMM = 9.5
	// sampleHatchMM is between two lines of the sample of a hatch.
	sampleHatchMM = 1
)

// keyEntries makes a block for every layer of the map.
func (d *doc) keyEntries(looks []overlay.Look, w float64) []block {
	var list []block
	for i := len(looks) - 1; i >= 0; i-- { // what lies on top comes first
		k := looks[i]
		text := k.Title
		if k.Note != "" && !strings.Contains(text, k.Note) {
			text += " (" + k.Note + ")"
		}
		words := d.words(w-sampleMM-1.5, keyPt, "", text)
		list = append(list, block{words.h, func(x, y float64) {
			d.sample(k, area{x, y, x + sampleMM, y + 2.9})
			words.draw(x+sampleMM+1.5, y)
		}})
	}
	return list
}

// sample draws how a layer looks.
func (d *doc) sample(k overlay.Look, a area) {
	x, y := (a.x0+a.x1)/2, (a.y0+a.y1)/2
	box := area{a.x0, a.y0 + 0.2, a.x1, a.y1}.polygon()
	line := pen{colour: k.Colour, mm: k.WidthMM, dash: k.DashMM}
	switch k.Shape {
	case overlay.Area:
		d.fillAreas(orb.MultiPolygon{box}, k.Colour, k.Fill)
		if k.Layer == overlay.Seen { // half by day, half by night
			for half, light := range []string{overlay.Day, overlay.Night} {
				part := a
				part.x0 += float64(half) * a.w() / 2
				part.x1 = part.x0 + a.w()/2
				look := k.For(layer.New("", nil, layer.P("light", light)))
				look.Hatch.GapMM = min(look.Hatch.GapMM, sampleHatchMM) // so that several lines show
				d.hatch(look, orb.MultiPolygon{part.polygon()})
			}
			return
		}
		d.hatch(k, orb.MultiPolygon{box})
		d.strokes([]orb.LineString{orb.LineString(box[0])}, line)
	case overlay.Line:
		d.strokes([]orb.LineString{{{a.x0, y}, {a.x1, y}}}, line)
	default:
		letter := ""
		switch {
		case k.Layer == overlay.Starts:
			letter = "L"
		case k.Shape != overlay.Dot && k.Shape != overlay.Diamond:
			letter = "A"
		}
		k.DashMM = nil
		k.WidthMM = min(k.WidthMM, 3.4)
		d.symbol(symbol{place: orb.Point{x, y}, at: orb.Point{x, y}, look: k, letter: letter})
	}
}

// keyBlock puts the entries into columns of the same width, of about the same height.
func (d *doc) keyBlock(looks []overlay.Look, w float64, columns int) block {
	const gap, apart = 3.0, 0.9
	each := (w - gap*float64(columns-1)) / float64(columns)
	entries := d.keyEntries(looks, each)
	sum := 0.0
	for _, e := range entries {
		sum += e.h + apart
	}
	var cols [][]block
	var high, most float64
	for _, e := range entries {
		if len(cols) == 0 || len(cols) < columns && high+e.h/2 > sum/float64(columns) {
			cols, high = append(cols, nil), 0
		}
		cols[len(cols)-1] = append(cols[len(cols)-1], e)
		high += e.h + apart
		most = max(most, high)
	}
	return block{most, func(x, y float64) {
		for i, col := range cols {
			down := y
			for _, e := range col {
				e.draw(x+float64(i)*(each+gap), down)
				down += e.h + apart
			}
		}
	}}
}
