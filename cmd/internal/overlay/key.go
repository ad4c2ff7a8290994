package overlay

import (
	"cmp"
	"image/color"
	"slices"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// A Shape is what the features of a layer are drawn as.
type Shape int

// Shapes, in the order of drawing: areas below lines below points.
const (
	Area     Shape = iota // an outline, filled or hatched
	Line                  // a line
	Dot                   // a filled disc
	Diamond               // a square on its corner: a hazard
	Triangle              // a letter on a triangle: a signal, or a site of one
	Square                // a letter on a square: a lookout
	Ringed                // a letter in a ring: a start
)

// A Hatch is parallel lines that fill an area; the zero value is none.
type Hatch struct {
	AngleDeg float64 // from east, against the clock
	GapMM    float64 // between lines, 0: no hatch
}

// A Look is how a layer is drawn, on paper and on the screen. No meaning is in its colour
// alone: every kind differs by shape, letter, dash or hatch too.
type Look struct {
	Layer   string // the layer's ID
	Title   string // for the key
	Shape   Shape
	Colour  color.RGBA
	WidthMM float64   // of lines and outlines
	DashMM  []float64 // on, off, …; nil: unbroken
	Hatch   Hatch
	Fill    uint8  // alpha of an area's fill, 0: none
	Note    string // what a reader must know of the layer; may be empty
}

// The colours of Okabe and Ito (2008, "Color Universal Design"), told apart by all kinds
// of colour vision.
var (
	black      = color.RGBA{0, 0, 0, 255}
	orange     = color.RGBA{230, 159, 0, 255}
	skyBlue    = color.RGBA{86, 180, 233, 255}
	green      = color.RGBA{0, 158, 115, 255}
	blue       = color.RGBA{0, 114, 178, 255}
	vermillion = color.RGBA{213, 94, 0, 255}
	purple     = color.RGBA{204, 121, 167, 255}
)

const ringNote = "where walking could have led, not where the person is"

// looks is the key of every layer, in the order of drawing.
var looks = []Look{
	{Layer: Likely, Shape: Area, Colour: blue, WidthMM: 0.2, Fill: 60, Note: "the darker, the likelier; sums up what was told"},
	{Layer: Swept, Shape: Area, Colour: purple, WidthMM: 0.3, Fill: 40, Note: "the darker, the likelier still"},
	{Layer: Seen, Shape: Area, Colour: green, WidthMM: 0.2, Hatch: Hatch{45, 2.4}, Note: "the hatch rises to the right by day, to the left by night"},
	{Layer: Areas, Shape: Area, Colour: purple, WidthMM: 0.3, DashMM: []float64{0.6, 0.6}},
	{Layer: Next, Shape: Area, Colour: purple, WidthMM: 0.6, Hatch: Hatch{135, 2.4}},
	{Layer: Rings, Shape: Area, Colour: orange, WidthMM: 0.5, DashMM: []float64{4, 1.2}, Note: ringNote},
	{Layer: Sights, Shape: Area, Colour: blue, WidthMM: 0.35, DashMM: []float64{1.2, 0.8}, Note: "to here by light, air and eye, ground may hide it sooner; short dashes by day, dash and dot by night"},
	{Layer: StartErr, Shape: Area, Colour: black, WidthMM: 0.25, DashMM: []float64{2, 1}},
	{Layer: LogErr, Shape: Area, Colour: vermillion, WidthMM: 0.3, DashMM: []float64{2, 0.8, 0.4, 0.8}},
	{Layer: Hazards, Shape: Area, Colour: black, WidthMM: 0.7, DashMM: []float64{0.7, 0.5}, Hatch: Hatch{90, 1.5}, Note: "upright hatch: keep out, or as its note says"},
	{Layer: Searched, Shape: Line, Colour: green, WidthMM: 0.3, DashMM: []float64{0.4, 0.6}},
	{Layer: Parties, Shape: Line, Colour: green, WidthMM: 0.6, DashMM: []float64{2.2, 0.6}},
	{Layer: Aircraft, Shape: Line, Colour: skyBlue, WidthMM: 0.6, DashMM: []float64{5, 1.5}},
	{Layer: Blind, Shape: Line, Colour: black, WidthMM: 1.2},
	{Layer: Log, Shape: Line, Colour: vermillion, WidthMM: 0.7},
	{Layer: Meant, Shape: Line, Colour: blue, WidthMM: 0.7, DashMM: []float64{6, 1}, Note: "a line, not a safe path"},
	{Layer: Home, Shape: Line, Colour: vermillion, WidthMM: 0.4, DashMM: []float64{1, 1}, Note: "a line, not a safe path"},
	{Layer: Way, Shape: Line, Colour: orange, WidthMM: 0.5, DashMM: []float64{3, 1, 0.5, 1}, Note: "a line, not a safe path"},
	{Layer: NextWays, Shape: Line, Colour: purple, WidthMM: 0.5, DashMM: []float64{1.8, 1.2}, Note: "lines, not safe paths"},
	{Layer: Links, Shape: Line, Colour: blue, WidthMM: 0.3, DashMM: []float64{0.8, 0.8}, Note: "lines of sight, not paths"},
	{Layer: Exits, Shape: Dot, Colour: orange, WidthMM: 1.6},
	{Layer: LogEnd, Shape: Dot, Colour: vermillion, WidthMM: 2.2},
	{Layer: Begin, Shape: Dot, Colour: purple, WidthMM: 2.2},
	{Layer: Hidden, Shape: Dot, Colour: black, WidthMM: 2.2},
	{Layer: Dangers, Shape: Diamond, Colour: black, WidthMM: 3},
	{Layer: Sites, Shape: Triangle, Colour: blue, WidthMM: 4},
	{Layer: Lookouts, Shape: Square, Colour: green, WidthMM: 3.6},
	{Layer: Starts, Shape: Ringed, Colour: black, WidthMM: 4.4, Note: "dashed where a newer one takes its place"},
}

// Key returns how the layers that have features are drawn, in the order of drawing. A
// layer that the key does not know is drawn last, in black, by the geometry of its first
// feature.
func Key(layers []layer.Layer) []Look {
	var list []Look
	for _, l := range layers {
		if len(l.Features) > 0 && !slices.ContainsFunc(list, func(k Look) bool { return k.Layer == l.ID }) {
			list = append(list, lookOf(l))
		}
	}
	rank := func(k Look) int {
		i := slices.IndexFunc(looks, func(o Look) bool { return o.Layer == k.Layer })
		if i < 0 {
			i = len(looks)
		}
		return i
	}
	slices.SortStableFunc(list, func(a, b Look) int {
		return cmp.Or(cmp.Compare(drawnAs(a), drawnAs(b)), cmp.Compare(rank(a), rank(b)))
	})
	return list
}

func lookOf(l layer.Layer) Look {
	for _, k := range looks {
		if k.Layer == l.ID {
			k.Title = l.Title
			return k
		}
	}
	k := Look{Layer: l.ID, Title: l.Title, Shape: Area, Colour: black, WidthMM: 0.3}
	switch l.Features[0].Geometry.(type) {
	case orb.Point, orb.MultiPoint:
		k.Shape, k.WidthMM = Dot, 2
	case orb.LineString, orb.MultiLineString:
		k.Shape = Line
	}
	return k
}

// drawnAs sorts shapes into areas, lines and points.
func drawnAs(k Look) int { return int(min(k.Shape, Dot)) }

// For returns the look of one feature of the layer: a start that another supersedes is
// dashed, walkers have dashes of their own, night is told from day, the inner ellipse and the likelier ground are
// told from the outer.
func (k Look) For(f layer.Feature) Look {
	share := func(key string) float64 {
		v, _ := f.Get(key)
		s, _ := v.(float64)
		return s
	}
	switch k.Layer {
	case Starts:
		if by, _ := f.Get("superseded_by"); by != nil && by != "" {
			k.DashMM = []float64{0.8, 0.6}
		}
	case Rings:
		switch walker, _ := f.Get("walker"); walker {
		case "slow":
			k.DashMM = []float64{1.2, 1.2}
		case "fast":
			k.DashMM = []float64{8, 1.2, 1.2, 1.2}
		}
	case Sights:
		switch light, _ := f.Get("light"); light {
		case Night:
			k.DashMM = []float64{3.5, 0.9, 0.9, 0.9}
		case Twilight:
			k.DashMM = []float64{2.5, 0.9}
		}
	case Seen:
		if light, _ := f.Get("light"); light == Night {
			k.Hatch.AngleDeg = 135
		}
	case LogErr:
		if share("share") < 0.9 {
			k.DashMM = []float64{0.6, 0.6}
		}
	case Likely:
		k.Fill = uint8(min(max(150-120*share("share"), 20), 150))
	case Swept:
		k.Fill = uint8(min(max(10+400*share("poa_after"), 10), 130))
	}
	return k
}

// Letters returns the letter that stands in each feature of a layer: the kind of a start,
// and A, B, C … for sites and lookouts, one letter a place. It is empty elsewhere.
func Letters(l layer.Layer) []string {
	letters := make([]string, len(l.Features))
	var places []orb.Geometry
	for i, f := range l.Features {
		switch l.ID {
		case Starts:
			letters[i], _ = first[string](f.Get("key"))
		case Sites, Lookouts:
			n := slices.IndexFunc(places, func(g orb.Geometry) bool { return orb.Equal(g, f.Geometry) })
			if n < 0 {
				n = len(places)
				places = append(places, f.Geometry)
			}
			letters[i] = letterOf(n)
		}
	}
	return letters
}

// Lettered returns the layers with the letter of each feature before its name, for files
// that cannot draw it.
func Lettered(layers []layer.Layer) []layer.Layer {
	list := slices.Clone(layers)
	for i, l := range list {
		features := slices.Clone(l.Features)
		for k, letter := range Letters(l) {
			if letter != "" {
				features[k].Name = letter + " " + features[k].Name
			}
		}
		list[i].Features = features
	}
	return list
}

// first returns a property as what it should be.
func first[T any](v any, ok bool) (T, bool) {
	t, is := v.(T)
	return t, ok && is
}

// letterOf returns A to Z, AA, AB and so on.
func letterOf(n int) string {
	if n < 26 {
		return string(rune('A' + n))
	}
	return letterOf(n/26-1) + string(rune('A'+n%26))
}
