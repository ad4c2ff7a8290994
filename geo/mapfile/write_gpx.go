package mapfile

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"farhail/geo/layer"
	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"
)

// ErrPosition is wrapped by the error for a position that is not on the earth.
var ErrPosition = errors.New("mapfile: position is not on the earth")

// GPXOptions says what stands in the head of a GPX file.
type GPXOptions struct {
	Name        string // of the document, may be ""
	Description string // of the document, may be ""

	Profile Profile  // whose limits of texts are kept; FitLayers keeps the others
	Routes  []string // IDs of the layers whose lines are routes, not tracks

	// Tell is told of names and texts from which characters were left out. Nil
	// is told nothing.
	Tell func(Problem)

	texts *int // waypoints with a text so far
}

// tellText tells of characters that a text cannot keep.
func (o GPXOptions) tellText(where, s string) {
	if n := unwritable(s); n > 0 && o.Tell != nil {
		o.Tell(Problem{Severity: SeverityWarning, Text: fmt.Sprintf("%s: %s left out", where, count(n, "control character", "control characters")),
			Found: clip(cleanText(s)), Hint: "XML cannot hold them: write the text without"})
	}
}

// longestText is the length at which descriptions are cut [characters]; an
// importer is known to fail above 5000; own reserve.
const longestText = 4000

// WriteGPX writes layers as GPX 1.1: points become waypoints, lines tracks of
// one segment each part, rings closed segments, and lines of o.Routes a route each
// part. type is the layer's ID, desc lists the properties, those whole lines of
// it that the profile's texts can hold, none once it has no more texts. Positions are rounded to 1e-9 degrees, heights to
// 0.01 m, times to whole seconds UTC (the fraction is cut). Characters that XML
// cannot hold are left out, and o.Tell is told. The same layers give the same
// bytes.
//
// A position that is not on the earth or a height beyond 12 km is an error
// (wrapping [ErrPosition]) and nothing is written.
func WriteGPX(w io.Writer, layers []layer.Layer, o GPXOptions) error {
	doc := &gpx.GPX{Name: cleanText(o.Name), Description: cleanText(o.Description)}
	o.tellText("name of the document", o.Name)
	o.texts = new(int)
	for _, l := range layers {
		for _, f := range l.Features {
			o.tellText(fmt.Sprintf("layer %s, name %q", l.ID, cleanText(f.Name)), f.Name)
			if err := addFeature(doc, l.ID, f, o); err != nil {
				return fmt.Errorf("layer %s, %q: %w", l.ID, f.Name, err)
			}
		}
	}
	return writeGPX(w, doc)
}

// Write writes the waypoints, routes and tracks as GPX 1.1, in the manner of
// [WriteGPX]. Empty segments are kept, dropped points are not.
func (g *GPX) Write(w io.Writer) error {
	doc := &gpx.GPX{Name: cleanText(g.Name)}
	for i, f := range g.Waypoints {
		p, err := gpxPoint(f)
		if err != nil {
			return fmt.Errorf("waypoint %d: %w", i+1, err)
		}
		doc.Waypoints = append(doc.Waypoints, p)
	}
	for i, t := range g.Routes {
		r := gpx.GPXRoute{Name: cleanText(t.Name)}
		for _, s := range t.Segments {
			points, err := gpxPoints(s)
			if err != nil {
				return fmt.Errorf("route %d: %w", i+1, err)
			}
			r.Points = append(r.Points, points...)
		}
		doc.Routes = append(doc.Routes, r)
	}
	for i, t := range g.Tracks {
		out := gpx.GPXTrack{Name: cleanText(t.Name)}
		for j, s := range t.Segments {
			points, err := gpxPoints(s)
			if err != nil {
				return fmt.Errorf("track %d, segment %d: %w", i+1, j+1, err)
			}
			out.Segments = append(out.Segments, gpx.GPXTrackSegment{Points: points})
		}
		doc.Tracks = append(doc.Tracks, out)
	}
	return writeGPX(w, doc)
}

// writeGPX hands the document to gpxgo. It is always 1.1 (gpxgo's 1.0 output is
// not valid) and without foreign attributes (gpxgo does not escape them).
func writeGPX(w io.Writer, doc *gpx.GPX) error {
	doc.Version, doc.Creator = "1.1", "farhail"
	data, err := doc.ToXml(gpx.ToXmlParams{Version: "1.1", Indent: true})
	if err != nil {
		return fmt.Errorf("writing GPX: %w", err)
	}
	if _, err = w.Write(append(data, '\n')); err != nil {
		return fmt.Errorf("writing GPX: %w", err)
	}
	return nil
}

func addFeature(doc *gpx.GPX, kind string, f layer.Feature, o GPXOptions) error {
	points, lines, err := flatten(f.Geometry)
	if err != nil {
		return err
	}
	name, desc := cleanText(f.Name), ""
	if desc, err = description(f, o); err != nil {
		return err
	}
	for _, at := range points {
		p, err := gpxPoint(track.Fix{Point: at, HeightM: f.HeightM, Time: f.Time, Name: f.Name})
		if err != nil {
			return err
		}
		p.Type, p.Description = cleanText(kind), o.text(desc)
		doc.Waypoints = append(doc.Waypoints, p)
	}
	route := slices.Contains(o.Routes, kind)
	t := gpx.GPXTrack{Name: name, Type: cleanText(kind), Description: desc}
	for _, line := range lines {
		var s []gpx.GPXPoint
		for _, at := range line {
			p, err := gpxPoint(track.At(at))
			if err != nil {
				return err
			}
			s = append(s, p)
		}
		if route {
			doc.Routes = append(doc.Routes, gpx.GPXRoute{Name: name, Type: t.Type, Description: desc, Points: s})
			continue
		}
		t.Segments = append(t.Segments, gpx.GPXTrackSegment{Points: s})
	}
	if len(t.Segments) > 0 {
		doc.Tracks = append(doc.Tracks, t)
	}
	return nil
}

// text returns the text of one more waypoint, "" once the profile takes no more.
func (o GPXOptions) text(desc string) string {
	if desc == "" {
		return ""
	}
	if *o.texts++; o.Profile.Texts > 0 && *o.texts > o.Profile.Texts {
		return ""
	}
	return desc
}

// flatten takes a geometry apart into points and lines; rings become closed
// lines.
func flatten(g orb.Geometry) (points []orb.Point, lines []orb.LineString, err error) {
	switch g := g.(type) {
	case nil:
	case orb.Point:
		points = append(points, g)
	case orb.MultiPoint:
		points = append(points, g...)
	case orb.LineString:
		lines = append(lines, g)
	case orb.MultiLineString:
		lines = append(lines, g...)
	case orb.Ring:
		if n := len(g); n > 0 && g[0] != g[n-1] {
			g = append(g[:n:n], g[0])
		}
		lines = append(lines, orb.LineString(g))
	case orb.Polygon:
		for _, r := range g {
			_, l, _ := flatten(r) // a ring gives no error
			lines = append(lines, l...)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			_, l, _ := flatten(p) // a polygon gives no error
			lines = append(lines, l...)
		}
	case orb.Bound:
		return flatten(g.ToRing())
	case orb.Collection:
		for _, m := range g {
			p, l, err := flatten(m)
			if err != nil {
				return nil, nil, err
			}
			points, lines = append(points, p...), append(lines, l...)
		}
	default:
		return nil, nil, fmt.Errorf("geometry of type %T cannot be written", g)
	}
	return points, lines, nil
}

func gpxPoints(s track.Segment) ([]gpx.GPXPoint, error) {
	list := make([]gpx.GPXPoint, len(s))
	for i, f := range s {
		p, err := gpxPoint(f)
		if err != nil {
			return nil, fmt.Errorf("point %d: %w", i+1, err)
		}
		list[i] = p
	}
	return list, nil
}

// gpxPoint rounds and checks a fix. gpxgo would print small and large heights
// with an exponent, a time in its own zone with a Z behind it, and NaN as
// "NaN"; none of these is valid GPX.
func gpxPoint(f track.Fix) (p gpx.GPXPoint, err error) {
	lon, lat, err := onEarth(f.Point)
	if err != nil {
		return p, err
	}
	lon, lat = round(lon, 1e9), round(lat, 1e9)
	if lon == 180 {
		lon = -180 // longitudeType: below 180
	}
	p.Latitude, p.Longitude = lat, lon
	if !math.IsNaN(f.HeightM) {
		if math.Abs(f.HeightM) > highest {
			return p, fmt.Errorf("height %.1f m is beyond %d m: %w", f.HeightM, highest, ErrPosition)
		}
		p.Elevation = *gpx.NewNullableFloat64(round(f.HeightM, 100))
	}
	if !f.Time.IsZero() {
		p.Timestamp = f.Time.UTC()
		if y := p.Timestamp.Year(); y < 2 || y > 9999 {
			return p, fmt.Errorf("year %d cannot be written", y)
		}
	}
	p.Name = cleanText(f.Name)
	return p, nil
}

// onEarth checks a position and brings its longitude into [-180, 180]; shapes
// across the 180 degree line may come with longitudes that run on beyond it.
func onEarth(p orb.Point) (lon, lat float64, err error) {
	lon, lat = p.Lon(), p.Lat()
	if !(math.Abs(lon) <= 540 && math.Abs(lat) <= 90) { // written so that NaN fails
		return 0, 0, fmt.Errorf("longitude %g, latitude %g: %w", lon, lat, ErrPosition)
	}
	if math.Abs(lon) > 180 {
		lon = math.Remainder(lon, 360)
	}
	return lon, lat, nil
}

// round rounds to 1/scale; the sum with 0 turns a negative zero into zero.
func round(v, scale float64) float64 { return math.Round(v*scale)/scale + 0 }

// cleanText leaves out what XML 1.0 cannot hold (section 2.2, Char) and the
// white space around.
func cleanText(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "")
	}
	s = strings.Map(func(r rune) rune {
		if xmlChar(r) && r != '\r' {
			return r
		}
		return -1
	}, s)
	return strings.TrimSpace(s)
}

// unwritable counts what cleanText leaves out inside a text, line ends apart.
func unwritable(s string) int {
	n := 0
	for i, r := range s {
		bad := r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD")
		if bad || !xmlChar(r) {
			n++
		}
	}
	return n
}

// description lists the properties of a feature, one a line.
func description(f layer.Feature, o GPXOptions) (string, error) {
	var b strings.Builder
	for _, p := range f.Properties {
		text, err := propertyText(p)
		if err != nil {
			return "", err
		}
		o.tellText(fmt.Sprintf("%q, %s", cleanText(f.Name), cleanText(p.Key)), text)
		fmt.Fprintf(&b, "%s: %s\n", p.Key, text)
	}
	return wholeLines(cleanText(b.String()), cmp.Or(o.Profile.TextLength, longestText)), nil
}

// wholeLines returns the first lines of a text that have at most so many characters
// together; where the first has more, the beginning of it.
func wholeLines(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	head := cut(s, most)
	if end := strings.LastIndexByte(head, '\n'); end > 0 {
		if strings.HasPrefix(s[len(head):], "\n") {
			return head
		}
		return head[:end]
	}
	return head
}

// propertyText writes a property as a text; "unknown" for no data.
func propertyText(p layer.Property) (string, error) {
	switch v := p.Value.(type) {
	case nil:
		return "unknown", nil
	case string:
		return v, nil
	case time.Time:
		return v.UTC().Format(time.RFC3339), nil
	}
	data, err := appendValue(nil, p.Value)
	if err != nil {
		return "", fmt.Errorf("property %s: %w", p.Key, err)
	}
	if text := strings.ReplaceAll(string(data), `"`, ""); text != "null" {
		return text, nil
	}
	return "unknown", nil
}
