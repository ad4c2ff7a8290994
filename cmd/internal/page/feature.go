package page

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// A drawn layer is one line of the key with its features, in the order of drawing.
type drawn struct {
	ID       string    `json:"id"`
	Title    string    `json:"title"`
	Note     string    `json:"note"`
	Shape    string    `json:"shape"`
	Look     look      `json:"look"`
	Off      bool      `json:"off"` // not shown at first
	Features []feature `json:"features"`
}

// A look is how lines and areas are drawn, lengths in millimetres.
type look struct {
	Colour     string    `json:"colour"`
	WidthMM    float64   `json:"width_mm"`
	DashMM     []float64 `json:"dash_mm"`
	HatchDeg   float64   `json:"hatch_deg"`
	HatchGapMM float64   `json:"hatch_gap_mm"` // 0: none
	Fill       float64   `json:"fill"`         // 0 to 1
}

type feature struct {
	Kind   string   `json:"kind"`  // point, line or area
	Parts  int      `json:"parts"` // of the stream
	Label  string   `json:"label"`
	Letter string   `json:"letter"`
	Look   look     `json:"look"`
	Facts  []string `json:"facts"`  // what a click on it tells
	Inside bool     `json:"inside"` // its label stands in it, where it is large enough
	Site   int      `json:"site"`   // the site of the margins that it belongs to and is shown with; -1 for none
}

var shapes = map[overlay.Shape]string{
	overlay.Area: "area", overlay.Line: "line", overlay.Dot: "dot", overlay.Triangle: "triangle", overlay.Square: "square", overlay.Diamond: "diamond", overlay.Ringed: "ring",
}

// hiddenAtFirst are layers that would cover the others: one click of the key shows them.
var hiddenAtFirst = map[string]bool{overlay.Sights: true, overlay.Exits: true}

// namedInside are layers of many areas side by side, whose borders say nothing.
var namedInside = map[string]bool{overlay.Areas: true, overlay.Swept: true, overlay.Next: true}

// offAtFirst tells whether a layer is not shown at first: search areas neither, where the same
// areas are shown with what was done to them.
func offAtFirst(id string, all []layer.Layer) bool {
	swept := slices.ContainsFunc(all, func(l layer.Layer) bool { return l.ID == overlay.Swept && len(l.Features) > 0 })
	return hiddenAtFirst[id] || id == overlay.Areas && swept
}

func lookOf(k overlay.Look) look {
	return look{
		Colour: fmt.Sprintf("#%02x%02x%02x", k.Colour.R, k.Colour.G, k.Colour.B), WidthMM: k.WidthMM, DashMM: append([]float64{}, k.DashMM...),
		HatchDeg: k.Hatch.AngleDeg, HatchGapMM: k.Hatch.GapMM, Fill: math.Round(float64(k.Fill)/255*1000) / 1000,
	}
}

// layers returns the layers as the key has them, their geometry added to the stream.
func (p *plane) layers(all []layer.Layer, r *job.Result, s *stream) []drawn {
	list := []drawn{}
	for _, k := range overlay.Key(all) {
		d := drawn{ID: k.Layer, Title: k.Title, Note: note(k), Shape: shapes[k.Shape], Look: lookOf(k), Off: offAtFirst(k.Layer, all), Features: []feature{}}
		for _, l := range all {
			if l.ID != k.Layer {
				continue
			}
			letters := overlay.Letters(l)
			for i, f := range l.Features {
				kind, rows := p.rows(f.Geometry)
				if len(rows) == 0 {
					continue
				}
				for _, row := range rows {
					s.add(row)
				}
				d.Features = append(d.Features, feature{kind, len(rows), label(l.ID, f, r.Plan.Location()), letters[i], lookOf(k.For(f)), facts(f, r), namedInside[l.ID], siteOf(l.ID, f, r.Map)})
			}
		}
		list = append(list, d)
	}
	return list
}

// note returns what a reader must know of a layer, where its title does not say it.
func note(k overlay.Look) string {
	switch {
	case strings.Contains(k.Title, k.Note):
		return ""
	case k.Layer == overlay.Seen:
		return strings.TrimPrefix(k.Note+"; of the site chosen above", "; ")
	}
	return k.Note
}

// siteOf returns which site of the margins ground is seen from: such ground is shown for one
// site at a time, since hatchings over each other cannot be read.
func siteOf(id string, f layer.Feature, m *job.Map) int {
	if id != overlay.Seen {
		return -1
	}
	return slices.IndexFunc(m.Margins, func(s job.Margin) bool {
		return s.Site == f.Name && s.Signal == text(f, "signal") && timeOf(s.At).Equal(f.Time)
	})
}

func timeOf(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

// rows lays a geometry on the plane; none for what is not drawn.
func (p *plane) rows(g orb.Geometry) (kind string, rows []flatRow) {
	kind, parts := partsOf(g)
	for _, part := range parts {
		var row flatRow
		for _, at := range part {
			row = p.appendFlat(row, p.flat(at))
		}
		rows = append(rows, row)
	}
	return kind, rows
}

// partsOf takes a geometry apart into runs of positions: rings of areas, lines, points.
func partsOf(g orb.Geometry) (kind string, parts [][]orb.Point) {
	add := func(points []orb.Point) {
		if len(points) > 0 {
			parts = append(parts, points)
		}
	}
	switch g := g.(type) {
	case orb.Point:
		kind = "point"
		add([]orb.Point{g})
	case orb.MultiPoint:
		kind = "point"
		add(g)
	case orb.LineString:
		kind = "line"
		add(g)
	case orb.MultiLineString:
		kind = "line"
		for _, line := range g {
			add(line)
		}
	case orb.Polygon:
		kind = "area"
		for _, ring := range g {
			add(ring)
		}
	case orb.MultiPolygon:
		kind = "area"
		for _, polygon := range g {
			for _, ring := range polygon {
				add(ring)
			}
		}
	}
	return kind, parts
}

// positions returns all corners of layers.
func positions(layers []layer.Layer) []orb.Point {
	var list []orb.Point
	for _, l := range layers {
		for _, f := range l.Features {
			_, parts := partsOf(f.Geometry)
			for _, part := range parts {
				list = append(list, part...)
			}
		}
	}
	return list
}

// text returns a property that is a word, "" where it is none.
func text(f layer.Feature, key string) string {
	v, _ := f.Get(key)
	s, _ := v.(string)
	return s
}

// figure returns a property that is a number, NaN where it is none.
func figure(f layer.Feature, key string) float64 {
	if v, ok := f.Get(key); ok {
		if x, is := v.(float64); is {
			return x
		}
	}
	return math.NaN()
}

func timeIn(f layer.Feature, zone *time.Location) *time.Time {
	if f.Time.IsZero() {
		return nil
	}
	t := f.Time.In(zone)
	return &t
}

// label is what stands beside a feature on the map, short; "" for none.
func label(id string, f layer.Feature, zone *time.Location) string {
	hour := ""
	if t := timeIn(f, zone); t != nil {
		hour = t.Format("15:04")
	}
	switch id {
	case overlay.StartErr, overlay.Seen, overlay.Blind, overlay.Links, overlay.Exits, overlay.NextWays, overlay.Searched, overlay.Hazards:
		return ""
	case overlay.LogErr, overlay.Likely:
		return fmt.Sprintf("%.0f %%", 100*figure(f, "share"))
	case overlay.Rings:
		name := fmt.Sprintf("%s %s", text(f, "walker"), job.Duration(figure(f, "after_s")))
		if hour != "" {
			name += ", " + hour
		}
		return name
	case overlay.Sights:
		return strings.TrimSpace(f.Name + " " + hour)
	case overlay.Sites:
		return strings.TrimSpace(text(f, "signal") + " " + hour)
	case overlay.Log:
		return "leg log"
	case overlay.Home:
		return "way home"
	}
	return f.Name
}

// facts is what a click on a feature tells: its name, place, time and figures.
func facts(f layer.Feature, r *job.Result) []string {
	words := r.Words()
	list := []string{f.Name}
	if at, ok := f.Geometry.(orb.Point); ok {
		list = append(list, words.Position(at))
	}
	if t := timeIn(f, r.Plan.Location()); t != nil {
		list = append(list, overlay.Moment(t))
	}
	for _, p := range f.Properties {
		if line := fact(p, words); line != "" {
			list = append(list, line)
		}
	}
	return list
}

// fact writes one property, its unit taken from the end of its key; "" where it says nothing.
func fact(p layer.Property, words cli.Words) string {
	name := strings.ReplaceAll(p.Key, "_", " ")
	switch v := p.Value.(type) {
	case string:
		if v == "" || p.Key == "key" {
			return ""
		}
		return name + ": " + v
	case bool:
		if v {
			return name + ": yes"
		}
		return name + ": no"
	case int:
		return fmt.Sprintf("%s: %d", name, v)
	case []string:
		if len(v) == 0 {
			return ""
		}
		return name + ": " + strings.Join(v, ", ")
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return ""
		}
		name, value := quantity(p.Key, v, words)
		return strings.ReplaceAll(name, "_", " ") + ": " + value
	}
	return ""
}

// quantity takes the unit off a key and writes the figure with it.
func quantity(key string, v float64, words cli.Words) (name, value string) {
	if key == "share" || strings.HasSuffix(key, "_share") || strings.HasPrefix(key, "share_of") || strings.HasPrefix(key, "poa_") || key == "pod" || key == "chance" {
		return key, overlay.Share(v)
	}
	for _, u := range []struct {
		ending string
		write  func(float64) string
	}{
		{"_person_s", func(v float64) string { return job.Duration(v) + " of looking" }}, // before those that it ends in
		{"_m2", words.Area}, {"_m", words.Distance}, {"_s", job.Duration},
		{"_deg", func(v float64) string { return overlay.Bearing(v) + "°" }},
	} {
		if short, ok := strings.CutSuffix(key, u.ending); ok {
			return short, u.write(v)
		}
	}
	return key, cli.Significant(v)
}
