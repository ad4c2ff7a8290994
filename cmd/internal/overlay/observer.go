package overlay

import (
	"cmp"
	"fmt"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"
)

// An observed group holds the sightings of one kind of those who look.
type observed struct {
	observer string
	watchers []string
	sights   []job.Sighting
}

// observers groups the sightings by who looks, in the order of the result.
// Sounds are left out.
func observers(sights []job.Sighting) []*observed {
	var list []*observed
	at := map[string]*observed{}
	for _, s := range sights {
		if s.SightSound != nil {
			continue
		}
		key := s.Observer + "\x00" + strings.Join(s.Watchers, "\x00")
		g := at[key]
		if g == nil {
			g = &observed{observer: s.Observer, watchers: s.Watchers}
			at[key], list = g, append(list, g)
		}
		g.sights = append(g.sights, s)
	}
	return list
}

// words says who looks: their names, and what their eyes look through.
func (g *observed) words() string {
	eyes := cmp.Or(g.sights[0].Inputs.Who.Words(), "by eye")
	if len(g.watchers) == 0 {
		return eyes
	}
	return strings.Join(g.watchers, ", ") + ": " + eyes
}

// sightTable writes the sightings of one kind of those who look; those of passes
// with the width that they sweep.
func (b *brief) sightTable(g *observed, named bool) {
	if named {
		b.line("For %s.", g.words())
	}
	b.columns("   %-20s %-13s %9s %12s  %-8s %9s", "signal", "at", "noticed", "perceptible", "limit", "horizon")
	for _, s := range g.sights {
		b.columns("   %-20.20s %-13s %9s %12s  %-8s %9s", ascii(s.Signal), clock(s.At), b.words.Distance(float64(s.NoticedM)), b.words.Distance(float64(s.PerceptibleM)), s.LimitNoticed, b.words.Distance(float64(s.GeographicM)))
	}
	for _, s := range g.sights {
		if s.SweepWidthM > 0 {
			b.item("   ", "%s %s: half of those who pass at %s notice it to the side; sweep width %s (%s to %s) over open ground",
				s.Signal, clock(s.At), b.words.Speed(float64(s.Inputs.Looking.SpeedMS)), b.words.Distance(float64(s.SweepWidthM)), b.words.Distance(float64(s.Low.SweepWidthM)), b.words.Distance(float64(s.High.SweepWidthM)))
		}
	}
}

// with says through what somebody looks, "" for the naked eye and for ears.
func with(observer string) string {
	switch observer {
	case "", job.ObserverEye, job.ObserverEar:
		return ""
	}
	return ", " + observer
}

// others tells how far the other kinds of those who look notice a placed signal.
func (b *brief) others(by []job.PlaceSeer) string {
	var list []string
	for _, o := range by[min(1, len(by)):] {
		list = append(list, fmt.Sprintf("%s by %s", b.words.Distance(float64(o.NoticedM)), strings.Join(append([]string{o.Observer}, o.Watchers...), " ")))
	}
	if len(list) == 0 {
		return ""
	}
	return " (" + strings.Join(list, ", ") + ")"
}

// flights writes the aircraft that look.
func (b *brief) flights(list []job.Flight) {
	for _, f := range list {
		way := ""
		if known(float64(f.LengthM)) {
			way = fmt.Sprintf(", %s in %s", b.words.Distance(float64(f.LengthM)), job.Duration(float64(f.Seconds)))
		}
		b.item("   ", "%s: aircraft at %s above the ground, %s, %d aboard%s", f.Name, b.words.Distance(float64(f.AltitudeM)), b.words.Speed(float64(f.SpeedMS)), f.People, way)
	}
}

// aircraft returns the ways of the aircraft that look.
func aircraft(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Aircraft, Title: "Aircraft"}
	for _, f := range r.Looking.Aircraft {
		if len(f.Paths) > 0 {
			l.Features = append(l.Features, layer.New(f.Name, f.Paths, layer.P("people", f.People), layer.P("altitude_m", float64(f.AltitudeM)),
				layer.P("speed_m_s", float64(f.SpeedMS)), layer.P("length_m", float64(f.LengthM)), layer.P("seconds", float64(f.Seconds))))
		}
	}
	return l
}
