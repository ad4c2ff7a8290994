package los

import (
	"context"
	"fmt"
	"math"
	"math/bits"

	"farhail/geo/grid"
)

// Bits is a set of whole numbers from 0, one bit each, least first.
type Bits []uint64

// Has reports whether i is in the set; it panics beyond the set's size.
func (b Bits) Has(i int) bool { return b[i>>6]>>(i&63)&1 != 0 }

// Count returns how many numbers the set holds.
func (b Bits) Count() int {
	n := 0
	for _, w := range b {
		n += bits.OnesCount64(w)
	}
	return n
}

func (b Bits) add(i int) { b[i>>6] |= 1 << (i & 63) }

// SeenSet is what one eye sees of a list of targets, by their index. A target
// within the radius that is in neither set is hidden.
type SeenSet struct {
	Seen, Unknown Bits
}

// SeenSets returns for each eye which targets within radiusM [m] it sees; +Inf
// sets no limit. Each pair has the state of its own sight line ([Eye.State]).
// What hid the target before is tried first, then tiles of ground that lie below
// the line are skipped, so targets that follow one another along a track cost
// least. An eye without ground knows nothing of any target. It returns the
// context's error when it ends first and an error that wraps ErrOptions. Memory
// is two bits a pair and a twentieth of the heights between the stations.
func SeenSets(ctx context.Context, h *grid.Heights, eyes, targets []Station, radiusM float64, o Options) ([]SeenSet, error) {
	if !(radiusM > 0) {
		return nil, fmt.Errorf("%w: radius %g m", ErrOptions, radiusM)
	}
	if _, err := o.drop(); err != nil {
		return nil, err
	}
	out := make([]SeenSet, len(eyes))
	if len(eyes) == 0 || len(targets) == 0 {
		return out, nil
	}
	over, err := o.over(h)
	if err != nil {
		return nil, err
	}
	t := tilesBetween(over, eyes, targets)
	err = eachUntil(ctx, len(eyes), func(ctx context.Context, i int) (err error) {
		out[i], err = seenSet(ctx, h, t, eyes[i], targets, radiusM, o)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// tilesBetween covers the box of all stations that lie on the grid.
func tilesBetween(h *grid.Heights, lists ...[]Station) *tiles {
	col0, row0, col1, row1 := h.Cols-1, h.Rows-1, 0, 0
	for _, list := range lists {
		for _, s := range list {
			if h.Inside(s.Col, s.Row) {
				c, r := int(clamp(s.Col, h.Cols)), int(clamp(s.Row, h.Rows))
				col0, row0, col1, row1 = min(col0, c), min(row0, r), max(col1, c+1), max(row1, r+1)
			}
		}
	}
	if h.CRS.LonLat() {
		col0, row0, col1, row1 = col0-chainReach, row0-chainReach, col1+chainReach, row1+chainReach
	}
	col0, row0 = max(min(col0, h.Cols-1), 0), max(min(row0, h.Rows-1), 0)
	return newTiles(h, col0, row0, max(min(col1, h.Cols-1), col0), max(min(row1, h.Rows-1), row0))
}

func newSeenSet(n int) SeenSet {
	words := (n + 63) / 64
	return SeenSet{make(Bits, words), make(Bits, words)}
}

func seenSet(ctx context.Context, h *grid.Heights, t *tiles, eye Station, targets []Station, radiusM float64, o Options) (SeenSet, error) {
	set := newSeenSet(len(targets))
	e, err := NewEye(h, eye, o)
	if err != nil {
		// The options are checked: there is no ground.
		for i := range targets {
			set.Unknown.add(i)
		}
		return set, nil
	}
	s := scanner{e: e, tiles: t}
	var buf [maxLegs]leg
	known := noHint
	for i, target := range targets {
		// Some hundred lines are a millisecond.
		if i&255 == 0 {
			if err := ctx.Err(); err != nil {
				return set, err
			}
		}
		if !h.Inside(target.Col, target.Row) {
			set.Unknown.add(i)
			continue
		}
		legs := e.legs(buf[:0], clamp(target.Col, h.Cols), clamp(target.Row, h.Rows))
		if legs[len(legs)-1].to > radiusM {
			continue
		}
		ground := h.SampleCell(target.Col, target.Row)
		if math.IsNaN(ground) || math.IsNaN(target.HeightM) {
			set.Unknown.add(i)
			continue
		}
		slope, ok := e.slope(legs, ground+target.HeightM)
		if !ok {
			set.Seen.add(i)
			continue
		}
		if known != noHint && e.hides(legs, known, slope, 0) {
			continue
		}
		switch v, at := s.through(legs, slope, 0, 0); v {
		case blocked:
			known = at
		case voided:
			set.Unknown.add(i)
		default:
			set.Seen.add(i)
		}
	}
	return set, nil
}
