package mapfile

import (
	"fmt"
	"image/color"
	"io"
	"math"
	"slices"
	"time"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-kml/v3"
)

// A KMLStyle is how a feature is drawn. Points have no picture, which would have to be
// fetched, and no pin: their name stands at their place.
type KMLStyle struct {
	Colour  color.RGBA // of lines, outlines, names and fills
	WidthPX float64    // of lines and outlines
	Fill    uint8      // alpha of an area's fill, 0: none
}

// KMLOptions say what stands in the head of a KML file and how its features are drawn.
type KMLOptions struct {
	Name        string // of the document
	Description string // of the document; may be ""

	// Style returns how a feature of a layer is drawn; nil draws all in black lines.
	Style func(l layer.Layer, f layer.Feature) KMLStyle
}

// WriteKML writes layers as KML 2.2 (OGC 07-147r2): a folder for each layer that has
// features, a placemark for each feature that has a place, with its properties as extended
// data, layer and time among them. Geometries have the form of [WriteGeoJSON]: rounded to
// 1e-7 degrees, wound, and cut at the 180 degree line; lines and areas lie on the ground.
// Equal styles are written once. Nothing in the file refers to anything outside it, and no
// time is written as KML's own, since viewers hide what is not of the hour they show. The
// same layers give the same bytes.
//
// A position that is not on the earth ([ErrPosition]), an area that winds about a pole in
// another way ([ErrPole]) or a property that cannot be written is an error, and nothing is
// written.
func WriteKML(w io.Writer, layers []layer.Layer, o KMLOptions) error {
	styles := &kmlStyles{of: o.Style}
	var folders []kml.Element
	for _, l := range layers {
		folder := kml.Folder(kml.Name(cleanText(l.Title)))
		empty := true
		for _, f := range l.Features {
			mark, err := placemark(l, f, styles)
			if err != nil {
				return fmt.Errorf("layer %s, %q: %w", l.ID, f.Name, err)
			}
			if mark != nil {
				folder.Append(mark)
				empty = false
			}
		}
		if !empty {
			folders = append(folders, folder)
		}
	}
	doc := kml.Document(kml.Name(cleanText(o.Name)))
	if text := cleanText(o.Description); text != "" {
		doc.Append(kml.Description(text))
	}
	if err := kml.KML(doc.Append(append(styles.elements(), folders...)...)).WriteIndent(w, "", " "); err != nil {
		return fmt.Errorf("writing KML: %w", err)
	}
	return nil
}

// placemark returns a feature; nil for one without a place.
func placemark(l layer.Layer, f layer.Feature, styles *kmlStyles) (kml.Element, error) {
	g, err := normalise(f.Geometry)
	if err != nil || g == nil {
		return nil, err
	}
	data := kml.ExtendedData(kmlData("layer", l.ID))
	if _, point := g.(orb.Point); point && !math.IsNaN(f.HeightM) {
		data.Append(kmlData("height_m", string(appendNumber(nil, round(f.HeightM, 100)))))
	}
	if !f.Time.IsZero() {
		data.Append(kmlData("time", f.Time.UTC().Format(time.RFC3339)))
	}
	for _, p := range f.Properties {
		text, err := propertyText(p)
		if err != nil {
			return nil, err
		}
		data.Append(kmlData(p.Key, text))
	}
	return kml.Placemark(kml.Name(cleanText(f.Name)), kml.StyleURL("#"+styles.id(l, f)), data, kmlGeometry(g)), nil
}

func kmlData(key, value string) kml.Element {
	return kml.Data(cleanText(key), kml.Value(cleanText(value)))
}

// kmlGeometry turns a geometry that normalise has returned into an element.
func kmlGeometry(g orb.Geometry) kml.Element {
	parts := kml.MultiGeometry()
	switch g := g.(type) {
	case orb.Point:
		return kml.Point(kmlCoordinates([]orb.Point{g}))
	case orb.LineString:
		return kml.LineString(kml.Tessellate(true), kmlCoordinates(g))
	case orb.Polygon:
		area := kml.Polygon(kml.Tessellate(true))
		for i, r := range g {
			ring := kml.LinearRing(kmlCoordinates(r))
			if i == 0 {
				area.Append(kml.OuterBoundaryIs(ring))
			} else {
				area.Append(kml.InnerBoundaryIs(ring))
			}
		}
		return area
	case orb.MultiPoint:
		for _, m := range g {
			parts.Append(kmlGeometry(m))
		}
	case orb.MultiLineString:
		for _, m := range g {
			parts.Append(kmlGeometry(m))
		}
	case orb.MultiPolygon:
		for _, m := range g {
			parts.Append(kmlGeometry(m))
		}
	case orb.Collection:
		for _, m := range g {
			parts.Append(kmlGeometry(m))
		}
	}
	return parts
}

func kmlCoordinates(line []orb.Point) kml.Element {
	list := make([]kml.Coordinate, len(line))
	for i, p := range line {
		list[i] = kml.Coordinate{Lon: p.Lon(), Lat: p.Lat()}
	}
	return kml.Coordinates(list...)
}

// kmlStyles holds the styles that are in use, in the order of first use.
type kmlStyles struct {
	of   func(layer.Layer, layer.Feature) KMLStyle
	used []KMLStyle
}

// id returns the name of a feature's style.
func (s *kmlStyles) id(l layer.Layer, f layer.Feature) string {
	style := KMLStyle{Colour: color.RGBA{A: 255}, WidthPX: 2}
	if s.of != nil {
		style = s.of(l, f)
	}
	n := slices.Index(s.used, style)
	if n < 0 {
		n = len(s.used)
		s.used = append(s.used, style)
	}
	return fmt.Sprintf("style%d", n+1)
}

func (s *kmlStyles) elements() []kml.Element {
	var list []kml.Element
	for i, k := range s.used {
		// KML's colours are not multiplied by their alpha, and color.RGBA is handed on as
		// it is.
		fill := k.Colour
		fill.A = k.Fill
		list = append(list, kml.SharedStyle(fmt.Sprintf("style%d", i+1),
			kml.IconStyle(kml.Scale(0)),
			kml.LabelStyle(kml.Color(k.Colour), kml.Scale(0.9)),
			kml.LineStyle(kml.Color(k.Colour), kml.Width(k.WidthPX)),
			kml.PolyStyle(kml.Color(fill), kml.Fill(k.Fill > 0), kml.Outline(true))))
	}
	return list
}
