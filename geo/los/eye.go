package los

import (
	"errors"
	"fmt"
	"math"

	"farhail/geo/grid"
)

// ErrNoGround says that an eye stands off the grid or where it has no data.
var ErrNoGround = errors.New("los: no ground under the eye")

// Eye is a place to look from, made ready for many sight lines. It does not
// change and may be used by several goroutines.
type Eye struct {
	h        *grid.Heights // that lines run over
	stands   *grid.Heights // that it and its targets stand on: h, but with a screen
	col, row float64
	z        float64 // height of the eye itself [m]
	q        float64 // lowering per square metre [1/m]
	// Ground size of all cells [m], 0 where it differs from row to row.
	eastM, northM float64
}

// besideCells is the part of a cell within which an eye counts as on a row or
// column of centres. The heights of an eye and of a crossing 1e-9 cells from it
// differ by rounding alone, which as a slope would hide the whole country.
const besideCells = 1e-6

// onCentre puts a coordinate beside a whole number on it.
func onCentre(x float64) float64 {
	if n := math.Round(x); math.Abs(x-n) <= besideCells {
		return n
	}
	return x
}

// NewEye returns an eye at a station, on the centre of a cell if it misses it by
// no more than 1e-6 cells. It returns an error that wraps ErrNoGround or
// ErrOptions where nothing can be seen from there.
func NewEye(h *grid.Heights, at Station, o Options) (*Eye, error) {
	q, err := o.drop()
	if err != nil {
		return nil, err
	}
	at.Col, at.Row = onCentre(at.Col), onCentre(at.Row)
	ground := h.SampleCell(at.Col, at.Row)
	if math.IsNaN(ground) || math.IsNaN(at.HeightM) {
		return nil, fmt.Errorf("%w: column %.2f, row %.2f of %d by %d", ErrNoGround, at.Col, at.Row, h.Cols, h.Rows)
	}
	over, err := o.over(h)
	if err != nil {
		return nil, err
	}
	e := &Eye{h: over, stands: h, col: clamp(at.Col, h.Cols), row: clamp(at.Row, h.Rows), z: ground + at.HeightM, q: q}
	switch {
	case o.GridLengths && !h.CRS.LonLat():
		e.eastM, e.northM = h.DX, h.DY
	case h.OneScale():
		e.eastM, e.northM = h.MetresAt(0, 0)
	}
	return e, nil
}

// over returns the heights that lines run over.
func (o Options) over(h *grid.Heights) (*grid.Heights, error) {
	switch len(o.Screen) {
	case 0:
		return h, nil
	case len(h.Z):
		return &grid.Heights{Frame: h.Frame, Z: o.Screen}, nil
	}
	return nil, fmt.Errorf("%w: a screen of %d cells on a grid of %d", ErrOptions, len(o.Screen), len(h.Z))
}

// clamp puts a coordinate that is off the grid by rounding back on its edge.
func clamp(x float64, n int) float64 { return min(max(x, 0), float64(n-1)) }

// State returns whether a target is seen, without the figures of [Eye.Sight]
// and several times faster.
func (e *Eye) State(target Station) State {
	ground := e.stands.SampleCell(target.Col, target.Row)
	if math.IsNaN(ground) || math.IsNaN(target.HeightM) {
		return Unknown
	}
	var one [1]leg
	legs := e.legs(one[:0], clamp(target.Col, e.h.Cols), clamp(target.Row, e.h.Rows))
	return e.state(legs, ground+target.HeightM)
}

// state decides for a target whose height itself is z.
func (e *Eye) state(legs []leg, z float64) State {
	slope, ok := e.slope(legs, z)
	if !ok {
		return Seen
	}
	voids := false
	for i := range legs {
		blocked, v := e.scan(&legs[i], slope)
		if blocked {
			return Hidden
		}
		voids = voids || v
	}
	if voids {
		return Unknown
	}
	return Seen
}

// slope returns the slope [m per m] from the eye to 0.1 mm above a target, in
// heights lowered by curvature, false for a target at the eye's own place.
func (e *Eye) slope(legs []leg, z float64) (float64, bool) {
	d := legs[len(legs)-1].to
	return (z + tieM - e.q*d*d - e.z) / d, d > 0
}

// scan looks at a leg's crossings, columns first, and reports whether one
// stands above the line with a slope from the eye, and whether one had no data
// before that.
func (e *Eye) scan(l *leg, slope float64) (blocked, voids bool) {
	z, q, eye := e.h.Z, e.q, e.z
	for _, a := range l.axes(e.h.Cols) {
		for i := a.first; i <= a.last; i++ {
			s := float64(i) - a.from
			b := a.across + s*a.rate
			j := int(b)
			f := b - float64(j)
			at := i*a.stride + j*a.acrossStride
			ground := float64(z[at])
			if f > tiny {
				ground += f * (float64(z[at+a.acrossStride]) - ground)
			}
			d := l.from + s*a.metres
			// ground - q d² > eye + slope d, but so that rounding does not decide
			// beside the eye.
			line := d * (slope + q*d)
			if ground-eye > line {
				return true, voids
			}
			if ground != ground {
				// The cell without a height may have no weight.
				if ground = exact(z, at, a.acrossStride, f); ground-eye > line {
					return true, voids
				}
				voids = voids || ground != ground
			}
		}
	}
	return false, voids
}

// Sight returns what the sight line to a target meets; see [Line].
func (e *Eye) Sight(target Station) Sight {
	var one [1]leg
	legs := e.legs(one[:0], clamp(target.Col, e.h.Cols), clamp(target.Row, e.h.Rows))
	total := legs[len(legs)-1].to
	ground := e.stands.SampleCell(target.Col, target.Row)
	s := Sight{State: Unknown, DistanceM: total, ClearanceM: math.NaN(), BlockedAtM: math.NaN(), NeedM: math.NaN()}
	if math.IsNaN(ground) || math.IsNaN(target.HeightM) {
		return s
	}
	s.State, s.NeedM = Seen, 0
	slope, ok := e.slope(legs, ground+target.HeightM)
	if !ok {
		return s
	}
	line := slope - tieM/total
	steepest := math.Inf(-1)
	for i := range legs {
		e.crossingsIn(e.h.Z, &legs[i], func(d, z float64) {
			if math.IsNaN(z) {
				s.Voids++
				return
			}
			steepest = max(steepest, (z-e.q*d*d-e.z)/d)
			if gap := e.z + d*(line+e.q*d) - z; !(gap >= s.ClearanceM) {
				s.ClearanceM = gap
			}
			if z-e.z > d*(slope+e.q*d) && !(d >= s.BlockedAtM) {
				s.BlockedAtM = d
			}
		})
	}
	s.NeedM = e.need(steepest, total, ground)
	switch {
	case !math.IsNaN(s.BlockedAtM):
		s.State = Hidden
	case s.Voids > 0:
		s.State, s.ClearanceM, s.NeedM = Unknown, math.NaN(), math.NaN()
	}
	return s
}

// need returns the height above its ground that a target at a distance needs to
// top a line of a slope, -Inf where nothing stands between.
func (e *Eye) need(steepest, distM, ground float64) float64 {
	return max(0, e.z+steepest*distM+e.q*distM*distM-ground)
}

// judge decides for a target as [Eye.state] does, by the greatest slope to the
// crossings before it, and returns the height above its ground that it needs,
// NaN where no data under the line leaves that open.
func (e *Eye) judge(steepest float64, voids bool, distM, ground, targetM float64) (State, float64) {
	least := e.need(steepest, distM, ground)
	switch {
	// A target may stand below its ground.
	case e.z+steepest*distM+e.q*distM*distM-ground > targetM+tieM:
		if voids {
			least = math.NaN()
		}
		return Hidden, least
	case voids:
		return Unknown, math.NaN()
	}
	return Seen, least
}

// steepestOf returns the greatest slope from the eye to the crossings first to
// last of a leg, in heights lowered by curvature, which one that is, and whether
// one had no data.
func (e *Eye) steepestOf(from float64, a *axis, first, last int) (slope float64, at int, void bool) {
	slope, at = math.Inf(-1), -1
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
		if up := (ground-e.z)/d - e.q*d; up > slope {
			slope, at = up, i
		}
	}
	return slope, at, void
}

// crossingsIn calls visit with the distance and the height, not lowered, of each
// crossing of a leg over heights of the eye's grid.
func (e *Eye) crossingsIn(heights []float32, l *leg, visit func(d, z float64)) {
	for _, a := range l.axes(e.h.Cols) {
		for i := a.first; i <= a.last; i++ {
			s := float64(i) - a.from
			b := a.across + s*a.rate
			j := int(b)
			visit(l.from+s*a.metres, exact(heights, i*a.stride+j*a.acrossStride, a.acrossStride, b-float64(j)))
		}
	}
}

// exact interpolates between cell at and the next one, a fraction f in [0, 1)
// further; a cell without a height whose weight is only rounding has no say.
func exact(z []float32, at, stride int, f float64) float64 {
	ground := float64(z[at])
	if f > tiny {
		ground += f * (float64(z[at+stride]) - ground)
	}
	if ground != ground && f >= 1-tiny {
		return float64(z[at+stride])
	}
	return ground
}
