package overlay

import (
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/job"
	"farhail/geo/earth"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// Identifiers of the layers, the value of "layer" in files.
const (
	Starts   = "start"
	StartErr = "start-error"
	Log      = "log"
	LogEnd   = "log-end"
	LogErr   = "log-error"
	Home     = "way-home"
	Rings    = "ring"
	Exits    = "ring-exit"
	Way      = "route"
	Sights   = "sight"
	Sites    = "site"
	Seen     = "seen"
	Blind    = "blind"
	Links    = "link"
	Lookouts = "lookout"
	Parties  = "party"
	Aircraft = "aircraft"
	Likely   = "likely"
	Areas    = "search-area"
	Hazards  = "hazard"
	Dangers  = "hazard-mark"
	Meant    = "meant-way"
)

// sides is how many corners stand for a circle or an ellipse: the outline is
// then at most 0.06 % inside.
const sides = 90

// Layers returns the result as layers for map files, always in one order.
func Layers(r *job.Result) []layer.Layer {
	return append([]layer.Layer{
		starts(r), startErrors(r), log(r), logEnd(r), logErrors(r), home(r),
		rings(r), exits(r), sights(r), sites(r), seen(r), blindStretches(r), links(r), lookouts(r), parties(r), aircraft(r), likely(r), searchAreas(r),
		meantWay(r), hazards(r), hazardMarks(r),
	}, SweepLayers(r)...)
}

// RouteLayers are the layers whose lines a handheld may lead along, as routes.
var RouteLayers = []string{Meant, Home, Way, NextWays}

// HandheldLayers returns those of [Layers] that serve on a handheld: without
// seen areas, likelihood and ways out, and of the rings only the usual walker's.
// Names begin with the letter of the key, and those of sites tell the signal.
func HandheldLayers(r *job.Result) []layer.Layer {
	var list []layer.Layer
	for _, l := range Lettered(Layers(r)) {
		switch l.ID {
		case Seen, Blind, Links, Likely, Areas, Exits, Searched, Swept:
			continue
		case Rings:
			usual := l.Features[:0:0]
			for _, f := range l.Features {
				if walker, _ := f.Get("walker"); walker == "usual" {
					usual = append(usual, f)
				}
			}
			l.Features = usual
		case Sights:
			l.Features = slices.DeleteFunc(l.Features, func(f layer.Feature) bool { // seen from nowhere
				_, point := f.Geometry.(orb.Point)
				return point
			})
		case Sites:
			for i, letter := range Letters(l) {
				if signal, _ := first[string](l.Features[i].Get("signal")); signal != "" {
					l.Features[i].Name = letter + " " + signal
				}
			}
		}
		list = append(list, l)
	}
	return list
}

func starts(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Starts, Title: "Starts: L last known, S last seen, P planning point"}
	for _, s := range r.Starts {
		f := layer.New(s.Name, s.Point,
			layer.P("kind", s.Kind), layer.P("key", startKey(s.Kind)), layer.P("radius95_m", float64(s.Radius95M)),
			layer.P("source", s.Source), layer.P("superseded_by", s.SupersededBy))
		f.Time = timeOf(s.Time)
		l.Features = append(l.Features, f)
	}
	return l
}

// startKey is the letter that stands for a kind of start on the map.
func startKey(kind string) string {
	switch kind {
	case "last-known":
		return "L"
	case "last-seen":
		return "S"
	}
	return "P"
}

func startErrors(r *job.Result) layer.Layer {
	l := layer.Layer{ID: StartErr, Title: "Where a start lies with 95 %"}
	for _, s := range r.Starts {
		if radius := float64(s.Radius95M); radius > 0 {
			l.Features = append(l.Features, layer.New(s.Name+", 95 %", circle(s.Point, radius), layer.P("radius95_m", radius)))
		}
	}
	return l
}

func log(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Log, Title: "Leg log"}
	if r.Reckon != nil && len(r.Reckon.Path) > 1 {
		l.Features = append(l.Features, layer.New("log", orb.LineString(r.Reckon.Path),
			layer.P("length_m", float64(r.Reckon.LengthM)), layer.P("legs", len(r.Reckon.Legs))))
	}
	return l
}

func logEnd(r *job.Result) layer.Layer {
	l := layer.Layer{ID: LogEnd, Title: "End of the log"}
	if r.Reckon == nil || len(r.Reckon.Path) == 0 {
		return l
	}
	g := r.Reckon
	l.Features = append(l.Features, layer.New("end of the log", g.Path[len(g.Path)-1],
		layer.P("home_bearing_true_deg", float64(g.Home.TrueDeg)), layer.P("home_bearing_magnetic_deg", float64(g.Home.MagneticDeg)),
		layer.P("home_bearing_grid_deg", float64(g.Home.GridDeg)), layer.P("home_distance_m", float64(g.Home.DistanceM)),
		layer.P("home_paces", float64(g.Home.Paces))))
	return l
}

func logErrors(r *job.Result) layer.Layer {
	l := layer.Layer{ID: LogErr, Title: "Where the log ends, 50 % and 95 %"}
	if r.Reckon == nil || len(r.Reckon.Path) == 0 {
		return l
	}
	end := r.Reckon.Path[len(r.Reckon.Path)-1]
	for _, e := range []struct {
		share int
		job.Ellipse
	}{{50, r.Reckon.Ellipse50}, {95, r.Reckon.Ellipse95}} {
		if e.Shape.MajorM > 0 {
			l.Features = append(l.Features, layer.New(fmt.Sprintf("end of the log, %d %%", e.share), orb.Polygon{e.Shape.Outline(end, sides)},
				layer.P("share", float64(e.share)/100), layer.P("major_m", float64(e.MajorM)), layer.P("minor_m", float64(e.MinorM)),
				layer.P("azimuth_deg", float64(e.AzimuthDeg))))
		}
	}
	return l
}

func home(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Home, Title: "Straight way home: a line, not a safe path"}
	if r.Reckon != nil && len(r.Reckon.Path) > 1 {
		path := r.Reckon.Path
		l.Features = append(l.Features, layer.New("straight way home", orb.LineString{path[len(path)-1], path[0]},
			layer.P("distance_m", float64(r.Reckon.Home.DistanceM))))
	}
	return l
}

func rings(r *job.Result) layer.Layer {
	if r.Rings == nil {
		return RingLayer(&job.Rings{})
	}
	return RingLayer(r.Rings)
}

// RingLayer returns travel rings as a layer.
func RingLayer(rings *job.Rings) layer.Layer {
	l := layer.Layer{ID: Rings, Title: "Outer limits of walking, by hours and walker"}
	for _, g := range rings.Rings {
		f := layer.New(ringName(g), g.Shape,
			layer.P("walker", g.Walker), layer.P("after_s", float64(g.AfterS)), layer.P("area_m2", float64(g.AreaM2)),
			layer.P("farthest_m", float64(g.FarthestM)), layer.P("open", g.Open), layer.P("rule", rings.Rule), layer.P("flat", rings.Flat))
		f.Time = timeOf(g.By)
		l.Features = append(l.Features, f)
	}
	return l
}

func ringName(g job.Ring) string {
	name := fmt.Sprintf("%s walker after %s", g.Walker, job.Duration(float64(g.AfterS)))
	if g.Open {
		name += ", open"
	}
	return name
}

func sights(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Sights, Title: "How far a signal is noticed"}
	for _, s := range r.Sight {
		f := layer.New(s.Signal+with(s.Observer), s.Point, layer.P("kind", s.Kind), layer.P("light", lightAt(r, s.At)), layer.P("observer", s.Observer), layer.P("watchers", s.Watchers),
			layer.P("noticed_m", float64(s.NoticedM)), layer.P("perceptible_m", float64(s.PerceptibleM)),
			layer.P("limit", s.Limit), layer.P("limit_noticed", s.LimitNoticed), layer.P("geographic_m", float64(s.GeographicM)), layer.P("seen_area_m2", float64(s.SeenAreaM2)))
		if w := float64(s.SweepWidthM); known(w) {
			f.Properties = append(f.Properties, layer.P("sweep_width_m", w))
		}
		switch d := float64(s.NoticedM); {
		case s.SightSound != nil: // wind and ground bend a sound: no ring
		case s.Mirror != nil:
			f.Geometry = flashReach(s)
			f.Properties = append(f.Properties, flashBearings(s.Mirror)...)
		case s.Lamp != nil && len(s.Lamp.Reach) > 0 && d > 0:
			f.Geometry = lampReach(s)
		case d > 0:
			f.Geometry = circle(s.Point, d)
		}
		f.Time = timeOf(s.At)
		l.Features = append(l.Features, f)
	}
	return l
}

func seen(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Seen, Title: "Ground from which a signal is noticed"}
	for _, p := range r.Place {
		for _, s := range p.Sites {
			if len(s.Seen) > 0 {
				f := layer.New(s.Name, s.Seen, layer.P("signal", p.Signal), layer.P("light", lightAt(r, p.At)), layer.P("seen_area_m2", float64(s.SeenAreaM2)))
				f.Time = timeOf(p.At)
				l.Features = append(l.Features, f)
			}
		}
	}
	return l
}

func lookouts(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Lookouts, Title: "Lookouts"}
	for _, o := range r.Looking.Lookouts {
		l.Features = append(l.Features, layer.New(o.Name, o.Point, layer.P("people", o.People)))
	}
	return l
}

func parties(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Parties, Title: "Parties"}
	for _, p := range r.Looking.Parties {
		l.Features = append(l.Features, layer.New(p.Name, p.Paths, layer.P("people", p.People),
			layer.P("length_m", float64(p.LengthM)), layer.P("seconds", float64(p.Seconds)), layer.P("gaps", p.Gaps)))
	}
	return l
}

func circle(at orb.Point, radiusM float64) orb.Polygon {
	return orb.Polygon{earth.Ellipse{MajorM: radiusM, MinorM: radiusM}.Outline(at, sides)}
}

func timeOf(t *time.Time) time.Time {
	if t == nil {
		return time.Time{}
	}
	return *t
}

// known tells whether a figure is there.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
