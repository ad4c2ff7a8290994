package los

import (
	"context"
	"math"
)

// nearRings is how many rings before a cell are looked at one by one where the
// fan is asked about the rest.
const nearRings = 4

// wedge is a part of a side between two tangents of direction.
type wedge struct {
	*sweep
	side
	from, to    float64
	first, last bool // the side's first or last wedge
	fan         fan
	was, now    []hint // of the ring before and this one
	wasFirst    int    // minor coordinate of was[0]
	legs        [maxLegs]leg

	// The ring in hand.
	m      int
	x, inv float64
	// Between these major coordinates lie the crossings of a line to the ring.
	nearest, farthest float64
}

func newWedge(s *sweep, sd side, i int) *wedge {
	w := &wedge{sweep: s, side: sd, first: i == 0, last: i == wedgesPerSide-1}
	w.from = -1 + 2*float64(i)/wedgesPerSide
	w.to = -1 + 2*float64(i+1)/wedgesPerSide
	w.fan = newFan(s, sd, w.from, w.to, (sd.last-sd.first)*sd.sign+1)
	return w
}

// run decides the wedge's cells ring by ring.
func (w *wedge) run(ctx context.Context) error {
	for m := w.side.first; (w.side.last-m)*w.sign >= 0; m += w.sign {
		if err := ctx.Err(); err != nil {
			return err
		}
		w.m, w.x = m, math.Abs(float64(m)-w.eyeMajor)
		w.nearest, w.farthest = between(w.eyeMajor, float64(m))
		w.inv = 1 / w.x
		first, last := w.cells()
		if !w.fan.dead {
			w.fan.take(w.e, m-nearRings*w.sign)
		}
		w.ring(first, last)
		w.was, w.now, w.wasFirst = w.now, w.was, first
	}
	return nil
}

// cells returns the minor coordinates of the wedge's cells in this ring. The
// same expressions end one wedge and begin the next, so none is left out.
func (w *wedge) cells() (first, last int) {
	first = int(math.Ceil(w.eyeMinor + w.x*w.from))
	last = int(math.Ceil(w.eyeMinor+w.x*w.to)) - 1
	within := func(n int) bool {
		y := math.Abs(float64(n) - w.eyeMinor)
		return y < w.x || y == w.x && w.diagonals
	}
	if w.first {
		first = int(math.Ceil(w.eyeMinor-w.x)) - 1
		for !within(first) && float64(first) < w.eyeMinor {
			first++
		}
	}
	if w.last {
		last = int(math.Floor(w.eyeMinor+w.x)) + 1
		for !within(last) && float64(last) > w.eyeMinor {
			last--
		}
	}
	return max(first, w.minorFirst), min(last, w.minorLast)
}

// ring decides the cells first to last of the ring in hand.
func (w *wedge) ring(first, last int) {
	e, a, sz := w.e, w.a, w.sizes
	if n := last - first + 1; n <= 0 {
		w.now = w.now[:0]
		return
	} else if cap(w.now) < n {
		w.now = make([]hint, n, 2*n)
	} else {
		w.now = w.now[:n]
	}
	z, q, x, inv := e.stands.Z, e.q, w.x, w.inv
	at := w.m*w.majorStride + first*w.minorStride
	out, outStride := (w.m-a.Row0)*a.Frame.Cols+first-a.Col0, 1
	majorSize, minorSize := sz.north, sz.east
	if w.majorIsCol {
		out, outStride = (first-a.Row0)*a.Frame.Cols+w.m-a.Col0, a.Frame.Cols
		majorSize, minorSize = sz.east, sz.north
	}
	radius2 := w.radiusM * w.radiusM
	near2, far2 := radius2*(1-1e-9-4*sz.off), radius2*(1+1e-9+4*sz.off)
	slack := roundingM
	for n := first; n <= last; n, at, out = n+1, at+w.minorStride, out+outStride {
		row, col := n, w.m
		if !w.majorIsCol {
			row, col = w.m, n
		}
		k := sz.scale[col-sz.col0]
		t := (float64(n) - w.eyeMinor) * inv
		size2 := k * (majorSize[row-sz.row0] + t*t*minorSize[row-sz.row0])
		d2 := x * x * size2
		known := w.inherited(t)
		w.now[n-first] = known
		if d2 > near2 {
			if d2 > far2 || w.farther(col, row) {
				continue
			}
		}
		ground := float64(z[at])
		if ground != ground {
			a.State[out] = Unknown
			continue
		}
		// The slope per cell of the major axis, lowered.
		top := ground + w.targetM + tieM
		slope := (top-e.z)*inv - q*x*size2
		if sz.wide {
			slack = roundingM + 4*sz.off*math.Abs(q)*d2
		}
		straight := w.chain == nil || w.chain.straight(col, row)
		if a.NeedM != nil {
			var need float64
			a.State[out], need, w.now[n-first] = w.needed(col, row, straight, known, ground, &a.BlockedBy[out])
			a.NeedM[out] = float32(need)
			continue
		}
		if straight && known >= 0 {
			if w.hides(known, n, t, slope, size2, slack) {
				a.State[out] = Hidden
				continue
			}
			if w.hides(known+2, n, t, slope, size2, slack) {
				a.State[out], w.now[n-first] = Hidden, known+2
				continue
			}
			if known >= 2 && w.hides(known-2, n, t, slope, size2, slack) {
				a.State[out], w.now[n-first] = Hidden, known-2
				continue
			}
		}
		var v verdict
		by := noHint
		if straight {
			v, by = w.near(col, row, t, slope, slack, ground+w.targetM)
		} else {
			v, by = w.far(col, row, known, ground+w.targetM)
		}
		switch v {
		case blocked:
			a.State[out], w.now[n-first] = Hidden, by
		case open:
			// A cell that is seen is the likeliest to hide those behind it.
			a.State[out], w.now[n-first] = Seen, w.self()
		default:
			a.State[out] = Unknown
		}
	}
}

// self names the crossings of the ring in hand.
func (w *wedge) self() hint {
	if w.majorIsCol {
		return hint(2 * w.m)
	}
	return hint(2*w.m + 1)
}

// inherited returns the hint of the cell that lies before one in direction t.
func (w *wedge) inherited(t float64) hint {
	if len(w.was) == 0 {
		return noHint
	}
	i := int(math.Floor(w.eyeMinor+t*(w.x-1)+0.5)) - w.wasFirst
	return w.was[min(max(i, 0), len(w.was)-1)]
}

// between returns the bounds beyond which a crossing counts as one of the line's
// ends a and b, as [leg.axis] takes them.
func between(a, b float64) (first, last float64) { return min(a, b) + tiny, max(a, b) - tiny }

// hides reports whether a crossing of the straight line to the ring's cell n, in
// direction t, stands above the slope for certain.
func (w *wedge) hides(at hint, n int, t, slope, size2, slack float64) bool {
	i := float64(at >> 1)
	e := w.e
	var x, b float64
	var k, stride int
	if (at&1 == 0) == w.majorIsCol {
		if !(i > w.nearest && i < w.farthest) {
			return false
		}
		x = (i - w.eyeMajor) * float64(w.sign)
		b = w.eyeMinor + t*x
		k, stride = int(at>>1)*w.majorStride, w.minorStride
	} else {
		if first, last := between(w.eyeMinor, float64(n)); !(i > first && i < last) {
			return false
		}
		x = (i - w.eyeMinor) / t
		b = w.eyeMajor + x*float64(w.sign)
		k, stride = int(at>>1)*w.minorStride, w.majorStride
	}
	j := int(b)
	f := b - float64(j)
	k += j * stride
	ground := float64(e.h.Z[k])
	if f > tiny {
		ground += f * (float64(e.h.Z[k+stride]) - ground)
	}
	return ground-e.z > x*(slope+e.q*x*size2)+slack
}

// farther reports whether a cell is beyond the radius, by its exact line.
func (w *wedge) farther(col, row int) bool {
	legs := w.e.legs(w.legs[:0], float64(col), float64(row))
	return legs[len(legs)-1].to > w.radiusM
}

// straight returns the line to a cell that is one leg; its length is exact but
// on wide projected grids.
func (w *wedge) straight(col, row int) leg {
	e, c, r := w.e, float64(col), float64(row)
	m := w.sizes.sides[row-w.sizes.row0]
	if w.sizes.wide {
		k := math.Sqrt(w.sizes.scale[col-w.sizes.col0])
		m[0], m[1] = k*m[0], k*m[1]
	}
	return leg{e.col, e.row, c, r, 0, math.Hypot((c-e.col)*m[0], (r-e.row)*m[1])}
}

// near decides for a cell whose line is straight: the last crossings before it
// one by one, the others by the fan if that says that they are lower, else by
// tiles. The slope is per cell and lowered, z the height of the target.
func (w *wedge) near(col, row int, t, slope, slack, z float64) (verdict, hint) {
	e := w.e
	w.legs[0] = w.straight(col, row)
	l := &w.legs[0]
	line, ok := e.slope(w.legs[:1], z)
	if !ok {
		return open, noHint
	}
	lengths := !w.sizes.wide // are exact
	if !w.fan.dead && (lengths || w.x > 2*nearRings) {
		least := line
		if !lengths {
			// These crossings are more than half way to the cell.
			least -= 2 * slack / l.to
		}
		axes := l.axes(e.h.Cols)
		major, minor := &axes[0], &axes[1]
		if !w.majorIsCol {
			major, minor = minor, major
		}
		past := w.m - nearRings*w.sign
		i, void := e.above(0, major, max(major.first, min(past, w.m)+1), min(major.last, max(past, w.m)-1), least)
		if i >= 0 && lengths {
			return blocked, crossing(major, i)
		}
		sure := i < 0 && !void
		// Where the line passes the last ring of the fan.
		y, n := w.eyeMinor+t*max(w.x-nearRings, 0), float64(w.n(col, row))
		i, void = e.above(0, minor, max(minor.first, int(min(y, n))), min(minor.last, int(max(y, n))+1), least)
		if i >= 0 && lengths {
			return blocked, crossing(minor, i)
		}
		if sure && i < 0 && !void && slope-slack*w.inv > w.fan.at(t) {
			return open, noHint
		}
	}
	if lengths {
		return w.through(w.legs[:1], line, 0, 0)
	}
	if v, by := w.through(w.legs[:1], line, 0, slack); v == open || v == blocked {
		return v, by
	}
	return w.exact(col, row, z)
}

// exact decides for a cell by its exact line.
func (w *wedge) exact(col, row int, z float64) (verdict, hint) {
	legs := w.e.legs(w.legs[:0], float64(col), float64(row))
	slope, ok := w.e.slope(legs, z)
	if !ok {
		return open, noHint
	}
	return w.through(legs, slope, 0, 0)
}

// n returns the minor coordinate of a cell.
func (w *wedge) n(col, row int) int {
	if w.majorIsCol {
		return row
	}
	return col
}

// far decides for a cell whose line is a chain: first by the hints and the tiles
// along interpolated legs, then by the exact line where these are too uncertain.
func (w *wedge) far(col, row int, known hint, z float64) (verdict, hint) {
	e, c := w.e, w.chain
	if legs, ok := c.legs(w.legs[:0], col, row); ok {
		// No errors but d > 0 can come of slope here: chains are long.
		slope, _ := e.slope(legs, z)
		d := legs[len(legs)-1].to
		slack := roundingM + c.slack(len(legs), slope, d)
		for _, h := range [3]hint{known, known + 2, known - 2} {
			if h >= 0 && e.nearlyHides(legs, h, slope, slack) {
				return blocked, h
			}
		}
		if v, by := w.through(legs, slope, 2*c.off, slack); v == blocked || v == open {
			return v, by
		}
	}
	return w.exact(col, row, z)
}

// needed decides for a cell by the steepest of all crossings of its exact line,
// and returns the height that a target there needs, NaN where unknown, and that
// crossing. It stores the cell that hides the target, if any.
func (w *wedge) needed(col, row int, straight bool, known hint, ground float64, by *int32) (State, float64, hint) {
	e := w.e
	legs := w.legs[:1]
	if straight && !w.sizes.wide {
		legs[0] = w.straight(col, row)
	} else {
		legs = e.legs(w.legs[:0], float64(col), float64(row))
	}
	slope, at, voids := w.steepest(legs, known)
	state, need := e.judge(slope, voids, legs[len(legs)-1].to, ground, w.targetM)
	if state == Hidden {
		*by = e.cell(legs, at)
	}
	if at == noHint || need == 0 {
		at = w.self()
	}
	return state, need, at
}
