package sheet

import (
	"fmt"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/coord"
)

// A legend tells what stands around a map: the key, the scale, the norths, what the grid
// and the heights are, and the words that must be on every sheet.
type legend struct {
	*doc
	r        *job.Result
	looks    []overlay.Look
	interval float64 // of the contours [m], 0 for none
	blank    bool    // the map is larger than the ground
	beyond   string  // what goes on beyond the map; "" for nothing
	unnamed  *int    // how many names found no room, known once the map is drawn
}

// facts tell what the grid and the heights are.
func (l legend) facts(p *projection, w float64) block {
	return l.words(w, keyPt, "", l.gridWords(p), l.groundWords())
}

// warnings are what must be said on the map itself; the rest is on the pages of text.
func (l legend) warnings(w float64) block {
	cautions, standing := overlay.Cautions(), overlay.Standing()
	text := []string{cautions[0], standing[0], cautions[1]}
	if l.r.Rings != nil && len(l.r.Rings.Rings) > 0 {
		text = append(text, standing[3])
	}
	text = append(text, standing[4], "All cautions: on the pages that follow.")
	list := []string{strings.Join(text, " ")}
	if l.beyond != "" {
		list = append(list, l.beyond)
	}
	said := l.words(w, keyPt, overlay.Emergency(l.r), list...)
	line := l.lineHeight()
	return block{said.h + line, func(x, y float64) {
		said.draw(x, y)
		l.font(regular, keyPt)
		l.text(x, y+said.h+keyPt*mmPerPt, unnamedWords(*l.unnamed))
	}}
}

// unnamedWords tell how many names the map has no room for.
func unnamedWords(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "One name found no room here; map.html shows it enlarged."
	}
	return fmt.Sprintf("%d names found no room here; map.html shows them enlarged.", n)
}

// gridWords say which grid it is, how its lengths go with those of the ground, and how a
// reference reads.
func (l legend) gridWords(p *projection) string {
	var zones, squares []string
	for _, z := range p.zones() {
		zones = append(zones, fmt.Sprint(z))
	}
	for _, s := range p.squares() {
		squares = append(squares, s.letters)
	}
	k := p.tm.Scale(p.middle())
	text := fmt.Sprintf("Grid: UTM zone %d%s on WGS84, square %s, a line every %g km; point scale %.5f (a kilometre of the grid is %.1f m of ground).",
		p.zone, band(p), strings.Join(squares, ", "), gridStep(p.scale)/1000, k, 1000/k)
	if len(zones) > 1 {
		text += fmt.Sprintf(" Broken lines: the grid of zone %s on its side of the zones' edge.", strings.Join(zones[1:], ", "))
	}
	for i := len(l.r.Starts) - 1; i >= 0; i-- {
		if s := l.r.Starts[i]; s.SupersededBy == "" {
			return text + fmt.Sprintf(" For example: %s is at %s.", s.Name, overlay.GridReference(s.Point))
		}
	}
	return text
}

// band is the letter of the latitude band in the middle of the map.
func band(p *projection) string {
	u, err := coord.UTMOf(p.middle(), p.zone)
	if err != nil {
		return ""
	}
	return u.Band
}

// groundWords say what the contours and the shading are from.
func (l legend) groundWords() string {
	t := l.r.Terrain
	if t == nil || l.interval == 0 {
		return "No terrain: no heights, and nothing is hidden by ground on this map."
	}
	words := l.r.Words()
	text := fmt.Sprintf("Contours every %.0f m%s, thick every %.0f m%s. Heights: datum %s; from cells of %s; bare ground or surface: %s.",
		l.interval, inFeet(words, l.interval), 5*l.interval, inFeet(words, 5*l.interval), t.Datum, words.Sides(float64(t.CellEastM), float64(t.CellNorthM), 0), t.Surface)
	if words.Units == cli.Imperial {
		text += " The contours' figures are metres."
	}
	if l.blank {
		text += " White without contours: no terrain was given there."
	}
	return text
}

// inFeet adds what a length in metres is for who thinks in feet.
func inFeet(w cli.Words, m float64) string {
	if w.Units != cli.Imperial {
		return ""
	}
	return " (" + w.Distance(m) + ")"
}

// dayText writes the day of a declination.
func dayText(c *job.Compass) string {
	if c.Date == nil {
		return "the plan's day"
	}
	return strings.ToUpper(c.Date.Format("02 Jan 2006"))
}
