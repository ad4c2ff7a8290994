package mapfile

import (
	"fmt"
	"math"
	"slices"

	"farhail/geo/layer"
	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// FittedLayers are layers that fit a profile, and what it took.
type FittedLayers struct {
	Layers       []layer.Layer
	WorstOffsetM float64 // how far a left-out point lies from its line at most [m], ground distance
	Thinned      int     // lines with points left out
	Split        int     // lines that became several
	Renamed      []Rename
	Problems     []Problem
}

// thinRouteM is how far a point that is left out of a route may lie from it: beyond, the
// route is split and keeps all its points. Own choice: what a handheld's position is off
// under trees.
const thinRouteM = 25

// FitLayers returns layers as a handheld of a profile takes them from [WriteGPX]. Each
// feature becomes one waypoint, track or route; those of the layers named routes are
// routes. Longer tracks are thinned ([track.Track.Thin]), and split first where they have
// too many parts for that; longer routes are thinned too where no point left out lies more
// than 25 m off, and are split where it would, each part beginning with the point that ends
// the one before. Names are cut and made unlike each other, among waypoints, routes and
// tracks each; a line without a name has that of its layer. Features of a kind of which
// there are too many stay, with a problem that says so.
func FitLayers(layers []layer.Layer, p Profile, routes ...string) (FittedLayers, error) {
	var out FittedLayers
	kinds := map[string][]*string{}
	for _, l := range layers {
		fitted := layer.Layer{ID: l.ID, Title: l.Title}
		route := slices.Contains(routes, l.ID)
		for _, f := range l.Features {
			parts, err := out.feature(l, f, p, route)
			if err != nil {
				return out, fmt.Errorf("layer %s, %q: %w", l.ID, f.Name, err)
			}
			fitted.Features = append(fitted.Features, parts...)
		}
		for i := range fitted.Features {
			f := &fitted.Features[i]
			kind := "waypoints"
			if _, point := f.Geometry.(orb.Point); !point {
				kind = "tracks"
				if route {
					kind = "routes"
				}
				if f.Name == "" {
					f.Name = l.ID
				}
			}
			kinds[kind] = append(kinds[kind], &f.Name)
		}
		out.Layers = append(out.Layers, fitted)
	}
	for _, k := range []struct {
		kind string
		most int
	}{{"waypoints", p.Waypoints}, {"routes", p.Routes}, {"tracks", p.Tracks}} {
		names := kinds[k.kind]
		if k.most > 0 && len(names) > k.most {
			out.Problems = append(out.Problems, Problem{Severity: SeverityWarning,
				Text: fmt.Sprintf("%d %s, but units of this kind take %d: the last %d may be lost", len(names), k.kind, k.most, len(names)-k.most),
				Hint: "load the file into a larger unit, or take out by hand what is not needed"})
		}
		if p.NameLength > 0 {
			out.Renamed = append(out.Renamed, shorten(names, p.NameLength)...)
		}
	}
	return out, nil
}

// feature returns a feature as one for each waypoint, track and route.
func (o *FittedLayers) feature(l layer.Layer, f layer.Feature, p Profile, route bool) ([]layer.Feature, error) {
	points, lines, err := flatten(f.Geometry)
	if err != nil {
		return nil, err
	}
	var list []layer.Feature
	for _, at := range points {
		part := f
		part.Geometry = at
		list = append(list, part)
	}
	t := track.Track{Name: f.Name}
	for _, line := range lines {
		var s track.Segment
		for _, at := range line {
			if lon, lat := at.Lon(), at.Lat(); math.IsNaN(lon) || math.IsNaN(lat) {
				return nil, fmt.Errorf("longitude %g, latitude %g: %w", lon, lat, ErrPosition)
			}
			s = append(s, track.At(at))
		}
		if len(s) > 0 {
			t.Segments = append(t.Segments, s)
		}
	}
	fit, most, whole := o.fitTrack, p.TrackPoints, 1
	if route {
		fit, most, whole = o.fitRoute, p.RoutePoints, len(t.Segments)
	}
	parts := fit(t, l.ID, most)
	if len(parts) > whole {
		o.Split++
	}
	for _, part := range parts {
		g := make(orb.MultiLineString, len(part.Segments))
		for i, s := range part.Segments {
			for _, fix := range s {
				g[i] = append(g[i], fix.Point)
			}
		}
		made := f
		made.Name, made.Geometry = part.Name, g
		list = append(list, made)
	}
	return list, nil
}

// fitTrack returns a track as one or more of at most so many points.
func (o *FittedLayers) fitTrack(t track.Track, _ string, most int) []track.Track {
	if t.Points() == 0 {
		return nil
	}
	var list []track.Track
	for _, part := range splitSegments(t, most) {
		list = append(list, o.thin(part, most))
	}
	return list
}

// thin leaves points out of a line that is too long, and keeps how far they lie off.
func (o *FittedLayers) thin(t track.Track, most int) track.Track {
	if most == 0 || t.Points() <= most {
		return t
	}
	thinned, worst := t.Thin(most)
	thinned.Name = t.Name
	o.Thinned++
	o.WorstOffsetM = max(o.WorstOffsetM, worst)
	return thinned
}

// fitRoute returns each line as a route, thinned or split.
func (o *FittedLayers) fitRoute(t track.Track, unnamed string, most int) []track.Track {
	var list []track.Track
	for _, s := range t.Segments {
		line := track.Track{Name: t.Name, Segments: []track.Segment{s}}
		if most > 0 && len(s) > most {
			if _, worst := line.Thin(most); worst <= thinRouteM {
				line = o.thin(line, most)
			}
		}
		list = append(list, splitRoute(line, unnamed, most)...)
	}
	if len(list) > len(t.Segments) || len(t.Segments) > 1 {
		name := t.Name
		if name == "" {
			name = unnamed
		}
		numberParts(list, name)
	}
	return list
}
