package los

import "math"

// hint names a crossing of any line from the eye: column i as 2i, row i as
// 2i + 1. noHint is none.
type hint int32

const noHint hint = -1

// verdict is what a scan found out about a target.
type verdict uint8

const (
	open    verdict = iota // nothing blocks, nothing is unknown
	blocked                // a crossing does
	voided                 // nothing does, but a crossing had no data
	unsure                 // the line is not known well enough
)

// scanner looks along lines from an eye with the help of tiles.
type scanner struct {
	e     *Eye
	tiles *tiles
}

// through looks along a line for a crossing above the slope, from its far end
// on, and skips tiles that lie below it. The line's ends may be off by offCells
// and its heights by slackM: with 0 the answer is that of [Eye.scan] for the
// same line, else what lies within the slack is unsure.
func (s scanner) through(legs []leg, slope, offCells, slackM float64) (verdict, hint) {
	t := s.trace(slope)
	t.off, t.slack = offCells, slackM
	for i := len(legs) - 1; i >= 0 && t.found != blocked; i-- {
		t.leg(&legs[i])
	}
	return t.found, t.at
}

// steepest returns the greatest slope to a line's crossings as [Eye.steepest]
// does, which crossing that is, and whether one had no data. The better the hint
// the sooner tiles can be skipped.
func (s scanner) steepest(legs []leg, from hint) (slope float64, at hint, voids bool) {
	t := s.trace(math.Inf(-1))
	t.climb = true
	if from != noHint {
		for i := range legs {
			if a, ok := s.e.axisOf(&legs[i], from); ok {
				t.l = &legs[i]
				t.crossings(&a, int(from>>1), int(from>>1))
			}
		}
	}
	for i := len(legs) - 1; i >= 0; i-- {
		t.leg(&legs[i])
	}
	return t.slope, t.at, t.found == voided
}

func (s scanner) trace(slope float64) trace {
	return trace{scanner: s, slope: slope, bend: max(s.e.q, 0) / 4, at: noHint}
}

// trace is one line under scrutiny.
type trace struct {
	scanner
	climb                   bool // to the steepest crossing
	slope, off, slack, bend float64
	found                   verdict
	at                      hint

	l            *leg
	major, minor axis
	majorIsCol   bool
	p0, q0       float64 // start along the major and the minor axis
	rate, metres float64 // per cell of the major axis
}

func (t *trace) leg(l *leg) {
	axes := l.axes(t.e.h.Cols)
	t.l, t.major, t.minor, t.majorIsCol = l, axes[0], axes[1], true
	t.p0, t.q0 = l.col0, l.row0
	p1, q1 := l.col1, l.row1
	if math.Abs(q1-t.q0) > math.Abs(p1-t.p0) {
		t.major, t.minor, t.majorIsCol = axes[1], axes[0], false
		t.p0, t.q0, p1, q1 = t.q0, t.p0, q1, p1
	}
	if p1 == t.p0 {
		return
	}
	t.rate, t.metres = (q1-t.q0)/(p1-t.p0), (l.to-l.from)/(p1-t.p0)
	t.level(&t.tiles.large, min(t.p0, p1), max(t.p0, p1), p1 > t.p0)
}

// level walks over the tiles of a level between two places of the major axis.
func (t *trace) level(lv *tileLevel, from, to float64, farIsHigh bool) {
	first, last, step := int(to)>>lv.bits, int(from)>>lv.bits, -1
	if !farIsHigh {
		first, last, step = last, first, 1
	}
	for k := first; k != last+step && t.found != blocked; k += step {
		a, b := max(from, float64(k<<lv.bits)), min(to, float64((k+1)<<lv.bits))
		highest, line := t.over(lv, k<<lv.bits, a, b)
		switch {
		case highest <= line:
		case lv.bits == blockBits:
			t.level(&t.tiles.small, a, b, farIsHigh)
		default:
			if t.off > 0 && math.IsInf(highest, 1) {
				// No-data here may lie beside one line and under the other.
				t.found = unsure
			}
			t.leaf(a, b)
		}
	}
}

// over returns the highest ground of the tiles that the line is over from a to
// b, and the least height of the line there, both not lowered.
func (t *trace) over(lv *tileLevel, major int, a, b float64) (highest, line float64) {
	va, vb := t.q0+(a-t.p0)*t.rate, t.q0+(b-t.p0)*t.rate
	da, db := t.l.from+(a-t.p0)*t.metres, t.l.from+(b-t.p0)*t.metres
	// The line's height over the lowered earth, slope d + q d², is convex: it
	// lies above its chord less q (b - a)² / 4.
	line = t.e.z + min(da*(t.slope+t.e.q*da), db*(t.slope+t.e.q*db)) - t.bend*(db-da)*(db-da) - t.slack - roundingM
	lo, hi := min(va, vb)-t.off, max(va, vb)+t.off
	return lv.over(major, int(max(lo-tiny, 0)), int(hi+tiny), t.majorIsCol), line
}

// leaf looks at the crossings from a to b.
func (t *trace) leaf(a, b float64) {
	first, last := max(t.major.first, int(math.Ceil(a))), min(t.major.last, int(b))
	t.crossings(&t.major, first, last)
	if t.found == blocked || t.minor.first > t.minor.last {
		return
	}
	va, vb := t.q0+(a-t.p0)*t.rate, t.q0+(b-t.p0)*t.rate
	lo, hi := min(va, vb), max(va, vb)
	t.crossings(&t.minor, max(t.minor.first, int(max(lo-tiny, 0))), min(t.minor.last, int(hi+1)))
}

func (t *trace) crossings(a *axis, first, last int) {
	if first > last {
		return
	}
	if t.climb {
		slope, i, void := t.e.steepestOf(t.l.from, a, first, last)
		if slope > t.slope {
			t.slope, t.at = slope, crossing(a, i)
		}
		if void {
			t.found = voided
		}
		return
	}
	if t.slack == 0 {
		i, void := t.e.above(t.l.from, a, first, last, t.slope)
		if void && t.found == open {
			t.found = voided
		}
		if i >= 0 {
			t.found, t.at = blocked, crossing(a, i)
		}
		return
	}
	gap, i, void := t.e.highest(t.l.from, a, first, last, t.slope)
	slack := t.slack * (1 + math.Abs(a.rate))
	switch {
	case gap > slack:
		t.found, t.at = blocked, crossing(a, i)
	case void || gap > -slack:
		t.found = unsure
	}
}

// crossing names crossing i of an axis.
func crossing(a *axis, i int) hint {
	if a.rows {
		return hint(2*i + 1)
	}
	return hint(2 * i)
}

// above returns the first of the crossings first to last of a leg that stands
// above the slope, -1 for none, and whether one before it had no data. It is
// one part of [Eye.scan].
func (e *Eye) above(from float64, a *axis, first, last int, slope float64) (at int, void bool) {
	z, q, eye := e.h.Z, e.q, e.z
	for i := first; i <= last; i++ {
		s := float64(i) - a.from
		b := a.across + s*a.rate
		j := int(b)
		f := b - float64(j)
		k := i*a.stride + j*a.acrossStride
		ground := float64(z[k])
		if f > tiny {
			ground += f * (float64(z[k+a.acrossStride]) - ground)
		}
		d := from + s*a.metres
		line := d * (slope + q*d)
		if ground-eye > line {
			return i, void
		}
		if ground != ground {
			if ground = exact(z, k, a.acrossStride, f); ground-eye > line {
				return i, void
			}
			void = void || ground != ground
		}
	}
	return -1, void
}

// highest returns which of the crossings first to last stands highest above the
// slope, by how much [m], and whether one had no data.
func (e *Eye) highest(from float64, a *axis, first, last int, slope float64) (gapM float64, at int, void bool) {
	gapM, at = math.Inf(-1), -1
	for i := first; i <= last; i++ {
		s := float64(i) - a.from
		b := a.across + s*a.rate
		j := int(b)
		ground := exact(e.h.Z, i*a.stride+j*a.acrossStride, a.acrossStride, b-float64(j))
		if ground != ground {
			void = true
			continue
		}
		d := from + s*a.metres
		if gap := ground - e.z - d*(slope+e.q*d); gap > gapM {
			gapM, at = gap, i
		}
	}
	return gapM, at, void
}

// axisOf returns the axis of a leg that a hint's crossing is on, false where the
// leg has no such crossing between its ends.
func (e *Eye) axisOf(l *leg, at hint) (axis, bool) {
	i := int(at >> 1)
	// Most legs do not come near.
	if x := float64(i); at&1 == 0 {
		if x < min(l.col0, l.col1) || x > max(l.col0, l.col1) {
			return axis{}, false
		}
		a := l.columns(e.h.Cols)
		return a, a.first <= i && i <= a.last
	} else if x < min(l.row0, l.row1) || x > max(l.row0, l.row1) {
		return axis{}, false
	}
	a := l.rows(e.h.Cols)
	return a, a.first <= i && i <= a.last
}

// hides reports whether the crossing that a hint names stands above a slope by
// more than the slack.
func (e *Eye) hides(legs []leg, at hint, slope, slack float64) bool {
	for k := range legs {
		if a, ok := e.axisOf(&legs[k], at); ok {
			gap, _, _ := e.highest(legs[k].from, &a, int(at>>1), int(at>>1), slope)
			if gap > slack*(1+math.Abs(a.rate)) {
				return true
			}
		}
	}
	return false
}

// nearlyHides is [Eye.hides] for legs that are not exact, where rounding does not
// matter: several times faster, and false where the crossing is near a joint.
func (e *Eye) nearlyHides(legs []leg, at hint, slope, slack float64) bool {
	x := float64(at >> 1)
	k, stride := int(at>>1), e.h.Cols
	if at&1 != 0 {
		k, stride = k*e.h.Cols, 1
	}
	for i := range legs {
		l := &legs[i]
		a0, a1, b0, b1 := l.col0, l.col1, l.row0, l.row1
		if at&1 != 0 {
			a0, a1, b0, b1 = b0, b1, a0, a1
		}
		if !(x > min(a0, a1)+tiny && x < max(a0, a1)-tiny) {
			continue
		}
		inv := 1 / (a1 - a0)
		s := (x - a0) * inv
		b := b0 + s*(b1-b0)
		j := int(b)
		f := b - float64(j)
		n := k + j*stride
		ground := float64(e.h.Z[n])
		if f > tiny {
			ground += f * (float64(e.h.Z[n+stride]) - ground)
		}
		d := l.from + s*(l.to-l.from)
		if ground-e.z-d*(slope+e.q*d) > slack*(1+math.Abs((b1-b0)*inv)) {
			return true
		}
	}
	return false
}

// cell returns the index in the terrain of the cell next to a crossing of a
// line, on the line's steepest leg where more than one has it.
func (e *Eye) cell(legs []leg, at hint) int32 {
	best, cell := math.Inf(-1), int32(-1)
	for k := range legs {
		a, ok := e.axisOf(&legs[k], at)
		if !ok {
			continue
		}
		i := int(at >> 1)
		if slope, _, _ := e.steepestOf(legs[k].from, &a, i, i); slope > best {
			best, cell = slope, int32(i*a.stride+int(a.across+(float64(i)-a.from)*a.rate+0.5)*a.acrossStride)
		}
	}
	return cell
}
