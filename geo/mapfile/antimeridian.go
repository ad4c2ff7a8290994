package mapfile

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

// unwrap follows longitudes from position to position, the short way round, so
// that a line across the 180 degree line runs on beyond it. The start lies in
// [-180, 180).
func unwrap(l orb.LineString) (orb.LineString, error) {
	out := make(orb.LineString, len(l))
	for i, p := range l {
		lon, lat, err := onEarth(p)
		if err != nil {
			return nil, err
		}
		if i == 0 && lon == 180 {
			lon = -180
		}
		if i > 0 {
			last := out[i-1][0]
			if turn := lon - last; math.Abs(turn) > 180 {
				lon -= 360 * math.Round(turn/360)
			}
		}
		out[i] = orb.Point{lon, lat}
	}
	return out, nil
}

// turnOf is the number of whole turns a longitude lies east of [-180, 180).
func turnOf(lon float64) int { return int(math.Floor((lon + 180) / 360)) }

// cutLine cuts an unwrapped line of two or more positions at the 180 degree
// line and brings the parts back into range. Parts of no length are left out
// unless the whole line has none.
func cutLine(l orb.LineString) orb.MultiLineString {
	var out orb.MultiLineString
	part := orb.LineString{}
	keep := func(turn int) {
		moved := make(orb.LineString, len(part))
		long := false
		for i, p := range part {
			moved[i] = orb.Point{round7(p[0] - 360*float64(turn)), round7(p[1])}
			long = long || moved[i] != moved[0]
		}
		if long {
			out = append(out, moved)
		}
		part = part[:0]
	}
	turn := turnOf(l[0][0])
	for i, p := range l {
		for turn != turnOf(p[0]) {
			next := turn + 1
			if turnOf(p[0]) < turn {
				next = turn - 1
			}
			edge := 360*float64(max(turn, next)) - 180
			lat := latAt(l[i-1], p, edge)
			part = append(part, orb.Point{edge, lat})
			keep(turn)
			part = append(part, orb.Point{edge, lat})
			turn = next
		}
		part = append(part, p)
	}
	whole := orb.MultiLineString{{wrapped(l[0]), wrapped(l[len(l)-1])}}
	keep(turn)
	if len(out) == 0 {
		return whole
	}
	return out
}

func wrapped(p orb.Point) orb.Point {
	return orb.Point{round7(p[0] - 360*float64(turnOf(p[0]))), round7(p[1])}
}

// latAt is the latitude at which the straight line a-b passes a longitude.
func latAt(a, b orb.Point, lon float64) float64 {
	if a[0] == b[0] {
		return a[1]
	}
	return a[1] + (b[1]-a[1])*(lon-a[0])/(b[0]-a[0])
}

// cutPolygon cuts a polygon, given as unwrapped open rings with the outer one
// first, at the 180 degree line. Each part is again an outer ring and its
// holes.
//
// The rings fall into chains on either side of the line. Along it the ends of
// the chains bound the inside of the polygon two by two, so joining each end
// with its neighbour closes the chains of one side to outer rings.
func cutPolygon(rings []orb.LineString) [][]orb.LineString {
	west, _ := span(rings[0])
	shift(rings[0], -360*float64(turnOf(west)))
	west, east := span(rings[0])
	for _, hole := range rings[1:] {
		if len(hole) > 0 {
			w, _ := span(hole)
			shift(hole, 360*math.Ceil((west-w)/360))
		}
	}
	if east <= 180 {
		return [][]orb.LineString{rings}
	}
	var parts [][]orb.LineString
	for _, side := range []struct {
		beyond bool
		move   float64
	}{{false, 0}, {true, -360}} {
		outers, holes := cutSide(rings, side.beyond)
		list := make([][]orb.LineString, len(outers))
		for i, o := range outers {
			list[i] = []orb.LineString{o}
		}
		for _, h := range holes {
			i := slices.IndexFunc(outers, func(o orb.LineString) bool {
				return planar.RingContains(orb.Ring(append(o[:len(o):len(o)], o[0])), h[0])
			})
			i = max(i, 0) // a hole outside every part was outside the polygon: keep it with the first
			list[i] = append(list[i], h)
		}
		for _, part := range list {
			for _, r := range part {
				shift(r, side.move)
			}
		}
		parts = append(parts, list...)
	}
	return parts
}

func span(l orb.LineString) (west, east float64) {
	west, east = l[0][0], l[0][0]
	for _, p := range l {
		west, east = min(west, p[0]), max(east, p[0])
	}
	return west, east
}

func shift(l orb.LineString, by float64) {
	for i := range l {
		l[i][0] += by
	}
}

// cutSide returns the outer rings on one side of the 180 degree line and the
// holes that lie there whole. A position on the line counts as beyond.
func cutSide(rings []orb.LineString, beyond bool) (outers, holes []orb.LineString) {
	var chains []orb.LineString
	for i, r := range rings {
		cut := chainsOf(r, beyond)
		switch {
		case cut != nil:
			chains = append(chains, cut...)
		case len(r) == 0 || (r[0][0] >= 180) != beyond:
		case i == 0:
			outers = append(outers, slices.Clone(r))
		default:
			holes = append(holes, slices.Clone(r))
		}
	}
	return append(outers, joinChains(chains)...), holes
}

// chainsOf returns the parts of a ring on one side, each from crossing to
// crossing; nil for a ring that does not cross.
func chainsOf(r orb.LineString, beyond bool) []orb.LineString {
	n := len(r)
	on := func(i int) bool { return (r[i%n][0] >= 180) == beyond }
	var chains []orb.LineString
	for i := range n {
		if on(i) || !on(i+1) {
			continue
		}
		chain := orb.LineString{{180, latAt(r[i], r[(i+1)%n], 180)}}
		j := i + 1
		for ; on(j); j++ {
			chain = append(chain, r[j%n])
		}
		chain = append(chain, orb.Point{180, latAt(r[(j-1)%n], r[j%n], 180)})
		chains = append(chains, chain)
	}
	return chains
}

// joinChains closes chains to rings along the line on which they end.
func joinChains(chains []orb.LineString) []orb.LineString {
	ends := make([]int, 2*len(chains)) // 2i = start of chain i, 2i+1 = its end
	lat := func(e int) float64 {
		c := chains[e/2]
		if e%2 == 0 {
			return c[0][1]
		}
		return c[len(c)-1][1]
	}
	for i := range ends {
		ends[i] = i
	}
	slices.SortStableFunc(ends, func(a, b int) int { return cmp.Compare(lat(a), lat(b)) })
	neighbour := make([]int, len(ends))
	for i := 0; i < len(ends); i += 2 {
		neighbour[ends[i]], neighbour[ends[i+1]] = ends[i+1], ends[i]
	}
	used := make([]bool, len(chains))
	var rings []orb.LineString
	for first := range chains {
		if used[first] {
			continue
		}
		var ring orb.LineString
		for e := 2 * first; !used[e/2]; {
			used[e/2] = true
			c := slices.Clone(chains[e/2])
			if e%2 == 1 { // entered at its end
				slices.Reverse(c)
			}
			ring = append(ring, c...)
			e = neighbour[e^1]
		}
		rings = append(rings, ring)
	}
	return rings
}
