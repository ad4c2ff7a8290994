package mapfile

import (
	"cmp"
	"slices"

	"github.com/paulmach/orb"
)

// A turnBox is the box around geometries that normalise has returned.
type turnBox struct {
	south, north float64
	spans        [][2]float64 // of longitude, of each part
}

// add takes a geometry in.
func (t *turnBox) add(g orb.Geometry) {
	switch g := g.(type) {
	case nil:
		return
	case orb.MultiPoint:
		for _, m := range g {
			t.add(m)
		}
		return
	case orb.MultiLineString:
		for _, m := range g {
			t.add(m)
		}
		return
	case orb.MultiPolygon:
		for _, m := range g {
			t.add(m)
		}
		return
	case orb.Collection:
		for _, m := range g {
			t.add(m)
		}
		return
	}
	b := g.Bound()
	if len(t.spans) == 0 {
		t.south, t.north = b.Min.Lat(), b.Max.Lat()
	}
	t.south, t.north = min(t.south, b.Min.Lat()), max(t.north, b.Max.Lat())
	t.spans = append(t.spans, [2]float64{b.Min.Lon(), b.Max.Lon()})
}

// append writes the box as RFC 7946 section 5 has it, west, south, east, north: the
// narrowest that holds all, with west greater than east where it goes over the 180 degree
// line (section 5.2). Nothing is written for nothing.
func (t *turnBox) append(b []byte) []byte {
	if len(t.spans) == 0 {
		return b
	}
	slices.SortFunc(t.spans, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	west, east := t.spans[0][0], t.spans[0][1]
	from, to, widest := 0.0, 0.0, 0.0 // the widest gap within the turn
	for _, s := range t.spans {
		if gap := s[0] - east; gap > widest {
			from, to, widest = east, s[0], gap
		}
		east = max(east, s[1])
	}
	if widest > west+360-east {
		west, east = to, from
	}
	b = append(b, `,"bbox":[`...)
	for i, v := range []float64{west, t.south, east, t.north} {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendCoordinate(b, v)
	}
	return append(b, ']')
}
