package overlay

import (
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/job"
	"farhail/geo/earth"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// flashReach returns how far a mirror's flash is noticed on the bearings that the
// sun allows: all round, or a sector with the mirror at its point. Where the
// ground decides, no farther than the farthest place that sees it. The point
// itself where the sun allows none.
func flashReach(s job.Sighting) orb.Geometry {
	var ring orb.Ring
	for _, on := range s.Mirror.Reach {
		d := float64(on.NoticedM)
		if !math.IsNaN(float64(s.SeenAreaM2)) {
			d = math.Min(d, float64(s.NoticedM))
		}
		if d > 0 {
			p, _ := earth.Direct(s.Point, earth.True(on.AzimuthDeg), d)
			ring = append(ring, p)
		}
	}
	if len(ring) < 3 {
		return s.Point
	}
	if n := len(s.Mirror.Reach); !s.Mirror.AllRound && earth.Wrap360(float64(s.Mirror.Reach[0].AzimuthDeg-s.Mirror.Reach[n-1].AzimuthDeg)) > sectorGapDeg {
		ring = append(ring, s.Point)
	}
	ring = append(ring, ring[0])
	if ring.Orientation() == orb.CW { // bearings run clockwise
		ring.Reverse()
	}
	return orb.Polygon{ring}
}

// flashBearings tells the bearings that one mirror reaches at that hour, clockwise;
// null where the sun allows none.
func flashBearings(m *job.SightMirror) []layer.Property {
	return []layer.Property{
		layer.P("from_deg", float64(m.FromDeg)), layer.P("to_deg", float64(m.ToDeg)), layer.P("all_round", m.AllRound),
		layer.P("sun_az_deg", float64(m.SunAzDeg)), layer.P("sun_el_deg", float64(m.SunElDeg)),
	}
}

// sectorGapDeg is from which gap between its ends on a reach is a sector: bearings
// lie 10 degrees apart.
const sectorGapDeg = 15

// lampReach returns how far an aimed lamp is noticed on every bearing; where the
// ground decides, no farther than the farthest place that sees it.
func lampReach(s job.Sighting) orb.Geometry {
	var ring orb.Ring
	for _, on := range slices.Backward(s.Lamp.Reach) { // rings run anticlockwise
		p, _ := earth.Direct(s.Point, earth.True(on.AzimuthDeg), math.Min(float64(on.NoticedM), float64(s.NoticedM)))
		ring = append(ring, p)
	}
	return orb.Polygon{append(ring, ring[0])}
}

// mirrors writes when the sun lets a mirror work, once a day.
func (b *brief) mirrors(r *job.Result) {
	type shown struct{ signal, day string }
	done := map[shown]bool{}
	for _, s := range r.Sight {
		if s.Mirror == nil || s.At == nil {
			continue
		}
		key := shown{s.Signal, s.At.Format(time.DateOnly)}
		if done[key] {
			continue
		}
		if len(done) == 0 {
			b.title("WHEN A MIRROR WORKS")
			b.line("Bearings of the level, true, that one mirror reaches in clear sun, and its light to either side of the sun. Hills hide the sun later and earlier than the level does. Never hold it on an aircraft once acknowledged.")
		}
		done[key] = true
		b.item("   ", "%s, %s:", s.Signal, day(s.At))
		if len(s.Mirror.Hours) == 0 {
			b.item("   ", "No hour of that day: the sun stays down or behind cloud.")
			continue
		}
		b.columns("   %-6s %-12s %-24s %10s", "hour", "sun az/el", "reaches", "candela")
		for _, h := range s.Mirror.Hours {
			b.columns("   %-6s %03.0f/%02.0f       %-24s %10.2g", h.At.Format("15:04"), float64(h.SunAzDeg), float64(h.SunElDeg), h.Words(), float64(h.SquareCD))
		}
	}
}

// sounds writes how far sounds are heard: the hour makes no difference.
func (b *brief) sounds(r *job.Result) {
	done := map[string]bool{}
	for _, s := range r.Sight {
		if s.SightSound == nil || done[s.Signal] {
			continue
		}
		if len(done) == 0 {
			b.title("HOW FAR SOUNDS CARRY")
			b.line("%s", b.words.Sentence("In still air over open level ground. Against the wind and on sunny days it may end at 100 m to 300 m; so sounds have no ring on the map. Noticed: 13 dB over the noise. At best: level with it, by somebody who listens."))
			b.columns("   %-20s %9s %12s  %-10s %9s", "sound", "noticed", "at best", "limit", "noise")
		}
		done[s.Signal] = true
		b.columns("   %-20.20s %9s %12s  %-10s %6.0f dB", ascii(s.Signal), b.words.Distance(float64(s.NoticedM)), b.words.Distance(float64(s.PerceptibleM)), s.LimitNoticed, float64(s.NoiseDB))
	}
}
