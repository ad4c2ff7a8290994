package los

import "math"

// fan holds, for each of many narrow bins of direction, an upper bound of the
// slopes to all crossings within a distance: what stands above it is seen over
// them without looking at each. The bound comes from the cells next to a line:
// between two cells of a ring the ground is straight, and so is its slope per
// cell of the major axis, the measure used here, as a function of the tangent of
// the direction; the same holds for the edges from ring to ring, whose ends lie
// in the same bins. Curvature makes the lowered ground between two cells higher
// than straight by at most q cell² / 4, which is added.
type fan struct {
	side
	from, perBin float64 // first tangent, bins per tangent
	bound        []float32
	lift         float64 // added to a lowered height [m]
	major2       float64 // least squared cell sizes [m²]
	minor2       float64
	next         int // the major coordinate of the next ring to take in
	dead         bool
}

// binsPerCell is the number of bins per cell of the farthest ring.
const binsPerCell = 1

func newFan(s *sweep, sd side, from, to float64, rings int) fan {
	f := fan{side: sd, from: from, next: sd.first}
	// Light that bends more than the earth turns the bounds of curvature around;
	// needed heights are not asked of a fan.
	if s.e.q < 0 || rings < nearRings || s.a.NeedM != nil {
		f.dead = true
		return f
	}
	f.major2, f.minor2 = s.sizes.eastMin, s.sizes.northMin
	if !sd.majorIsCol {
		f.major2, f.minor2 = f.minor2, f.major2
	}
	widest := 0.0
	for i, e := range s.sizes.east {
		widest = max(widest, e, s.sizes.north[i])
	}
	f.lift = s.e.q*widest*1.01/4 + 2*roundingM
	n := int(math.Ceil((to-from)*float64(rings)*binsPerCell)) + 1
	f.perBin = float64(n) / (to - from)
	f.bound = make([]float32, n)
	for i := range f.bound {
		f.bound[i] = float32(math.Inf(-1))
	}
	f.around(s.e)
	return f
}

// around takes in the edges that run past an eye between cells to the first
// ring: lines cross them between their minor distance and that ring.
func (f *fan) around(e *Eye) {
	x := math.Abs(float64(f.first) - f.eyeMajor)
	for _, n := range []int{int(math.Floor(f.eyeMinor)), int(math.Ceil(f.eyeMinor))} {
		y := math.Abs(float64(n) - f.eyeMinor)
		if y <= tiny || y > x || n < f.minorFirst || n > f.minorLast {
			continue
		}
		at := f.first*f.majorStride + n*f.minorStride
		z := max(float64(e.h.Z[at]), float64(e.h.Z[at-f.sign*f.majorStride])) // NaN wins
		up := max((z+f.lift-e.z)/y, (z+f.lift-e.z)/x)
		if up != up {
			up = math.Inf(1)
		}
		for i := range f.bound {
			if t := f.from + (float64(i)+0.5)/f.perBin; (t > 0) == (float64(n) > f.eyeMinor) {
				f.bound[i] = max(f.bound[i], float32(up)+float32(math.Abs(up))*1.2e-7)
			}
		}
	}
}

// take brings the bound up to the ring of a major coordinate.
func (f *fan) take(e *Eye, until int) {
	for ; (until-f.next)*f.sign >= 0; f.next += f.sign {
		f.ring(e, f.next)
	}
}

// ring takes in the edges between neighbouring cells of one ring.
func (f *fan) ring(e *Eye, m int) {
	x := math.Abs(float64(m) - f.eyeMajor)
	inv := 1 / x
	to := f.from + float64(len(f.bound))/f.perBin
	first := max(int(math.Floor(f.eyeMinor+x*f.from-tiny)), f.minorFirst)
	last := min(int(math.Ceil(f.eyeMinor+x*to+tiny)), f.minorLast)
	z, at := e.h.Z, m*f.majorStride+first*f.minorStride
	perBin, bound := f.perBin, f.bound
	// Bin of a cell: (n - eye) / x in bins.
	scale := inv * perBin
	origin := f.from * perBin
	lift := f.lift - e.z
	flat := e.q * x * f.major2
	round := e.q * inv * f.minor2
	before, binBefore := float32(math.Inf(-1)), 0
	for n := first; n <= last; n++ {
		dn := float64(n) - f.eyeMinor
		s := (float64(z[at])+lift)*inv - flat - round*dn*dn
		at += f.minorStride
		// Rounded up, as the bound is kept in 32 bits.
		up := float32(s) + float32(math.Abs(s))*1.2e-7
		if s != s {
			up = float32(math.Inf(1))
		}
		b := dn*scale - origin
		bin := int(b + 1e-6) // towards 0 suits: bins below 0 are not kept
		lowest := max(int(b-1e-6), 0)
		if n == first {
			// Alone where the grid is one cell wide.
			binBefore = lowest
		}
		v := max(before, up)
		for i := binBefore; i <= min(bin, len(bound)-1); i++ {
			if bound[i] < v {
				bound[i] = v
			}
		}
		before, binBefore = up, lowest
	}
}

// at returns the bound for a tangent.
func (f *fan) at(t float64) float64 {
	return float64(f.bound[min(max(int((t-f.from)*f.perBin), 0), len(f.bound)-1)])
}
