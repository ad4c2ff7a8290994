package mapfile

import (
	"fmt"
	"math"
	"time"

	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// place is where a point stands in the file; numbers from 0.
type place struct {
	kind                  string
	track, segment, index int
}

func (at place) String() string {
	switch at.kind {
	case "wpt":
		return fmt.Sprintf("waypoint %d", at.index+1)
	case "rtept":
		return fmt.Sprintf("route %d, point %d", at.track+1, at.index+1)
	}
	return fmt.Sprintf("track %d, segment %d, point %d", at.track+1, at.segment+1, at.index+1)
}

// point reads a wpt, rtept or trkpt to its end; ok is false where it has no
// usable position.
func (p *gpxReader) point(e element, at place) (fix track.Fix, ok bool, err error) {
	p.points++
	if p.points > MaxPoints {
		return fix, false, p.fail(fmt.Sprintf("more than %d points", MaxPoints), "", "split the file", ErrTooLarge)
	}
	line, col := e.line, e.col
	pos, reason, found, hint := position(e)
	fix = track.At(pos)
	err = p.children(func(e element) error {
		switch e.name {
		case "ele":
			s, err := p.contentBytes()
			if err == nil && math.IsNaN(fix.HeightM) {
				fix.HeightM = p.height(string(s), at)
			}
			return err
		case "time":
			s, err := p.contentBytes()
			if err == nil && fix.Time.IsZero() {
				fix.Time = p.time(string(s), at)
			}
			return err
		case "name":
			s, err := p.content()
			fix.Name = s
			return err
		}
		return p.pass(e)
	})
	if err != nil || reason == "" {
		return fix, err == nil, err
	}
	p.g.Dropped = append(p.g.Dropped, Dropped{Kind: at.kind, Track: at.track, Segment: at.segment,
		Index: at.index, Line: line, Column: col, Reason: reason})
	p.problems.add("point left out", Problem{Line: line, Column: col, Severity: SeverityWarning,
		Text: fmt.Sprintf("%s: %s, point left out", at, reason), Found: found, Hint: hint})
	return track.Fix{}, false, nil
}

// position takes lat and lon from the attributes; reason says why there is no
// usable position, found is the offending text.
func position(e element) (pt orb.Point, reason, found, hint string) {
	var lat, lon string
	var haveLat, haveLon bool
	for _, a := range e.attr {
		if a.name.prefix != "" {
			continue
		}
		switch a.name.local {
		case "lat":
			if haveLat {
				return pt, "latitude given twice", string(a.value), ""
			}
			lat, haveLat = string(a.value), true
		case "lon":
			if haveLon {
				return pt, "longitude given twice", string(a.value), ""
			}
			lon, haveLon = string(a.value), true
		}
	}
	switch {
	case !haveLat && !haveLon:
		return pt, "latitude and longitude missing", "", "GPX names them lat and lon, in small letters"
	case !haveLat:
		return pt, "latitude missing", "", ""
	case !haveLon:
		return pt, "longitude missing", "", ""
	}
	y, reason, hint := parseDegrees("latitude", lat, 90)
	if reason != "" {
		if a, ok := parseNumber(lat); ok && math.Abs(a) <= 180 {
			if b, ok := parseNumber(lon); ok && math.Abs(b) <= 90 {
				hint = "latitude and longitude may be swapped"
			}
		}
		return pt, reason, lat, hint
	}
	x, reason, hint := parseDegrees("longitude", lon, 180)
	if reason != "" {
		return pt, reason, lon, hint
	}
	if x == 180 {
		x = -180 // GPX 1.1 longitudeType: -180 <= x < 180
	}
	return orb.Point{x, y}, "", "", ""
}

// height reads an elevation; what cannot be used is NaN and told.
func (p *gpxReader) height(s string, at place) float64 {
	v, ok := parseNumber(s)
	switch {
	case s == "":
		p.warn("empty elevation", fmt.Sprintf("%s: elevation empty, taken as unknown", at), "", "")
		return math.NaN()
	case !ok:
		hint := ""
		for _, c := range s {
			if c == ',' {
				hint = "write a point, not a comma, before the decimals"
			}
		}
		p.warn("elevation", fmt.Sprintf("%s: elevation cannot be read, taken as unknown", at), s, hint)
		return math.NaN()
	case math.Abs(v) > highest:
		p.warn("elevation", fmt.Sprintf("%s: elevation beyond %d m, taken as unknown", at, highest), s, "")
		return math.NaN()
	}
	return v
}

// time reads an instant; what cannot be read is the zero time and told.
func (p *gpxReader) time(s string, at place) time.Time {
	t, note, ok := parseTime(s)
	switch {
	case s == "":
		p.warn("empty time", fmt.Sprintf("%s: time empty, taken as unknown", at), "", "")
	case !ok:
		p.warn("time", fmt.Sprintf("%s: time cannot be read, taken as unknown", at), s,
			"a time is written 2026-03-01T06:00:00Z")
	case note != "":
		hint := ""
		if note == noteNoZone {
			hint = "end it with Z or an offset such as +02:00"
		}
		p.warn(note, fmt.Sprintf("%s: %s", at, note), s, hint)
	}
	return t
}

// fixList collects fixes in blocks, so that a long segment is copied once and
// not at every growth.
type fixList struct {
	blocks []track.Segment
	n      int
}

const blockSize = 4096

func (l *fixList) add(f track.Fix) {
	if l.n%blockSize == 0 {
		size := blockSize
		if l.n == 0 {
			size = 16 // most segments are short: let append grow the first block
		}
		l.blocks = append(l.blocks, make(track.Segment, 0, size))
	}
	last := len(l.blocks) - 1
	l.blocks[last] = append(l.blocks[last], f)
	l.n++
}

// segment is the fixes in one piece; nil where there are none.
func (l *fixList) segment() track.Segment {
	if len(l.blocks) == 0 {
		return nil
	}
	if len(l.blocks) == 1 {
		return l.blocks[0]
	}
	all := make(track.Segment, 0, l.n)
	for i, b := range l.blocks {
		all = append(all, b...)
		l.blocks[i] = nil
	}
	return all
}
