package observer

import "math"

// The visual lobe: how the threshold grows away from the point that the eye
// is fixed on. One set of numbers serves every signal.
const (
	// CentralDeg is the radius of the disc around the fixation point where the
	// threshold is that of the fovea [deg] (Koopman, OEG Report 56, 1946,
	// chapter 4: where his central and outer laws join; from memory). Range 0.5
	// to 1.
	CentralDeg = 0.8
	// E2Deg is the eccentricity at which the threshold of a small object has
	// grown fourfold [deg]. 1.0 is fitted to the 17 000 /sr/s of pilots who
	// were not told of the other aircraft (Andrews, MIT Lincoln Laboratory
	// ATC-151, 1989, read second-hand); 0.8 to 1.5 fit within the choice of
	// contrast, attention and field. It describes search in the field: lobes
	// measured in laboratories are wider and overstate it.
	E2Deg = 1.0
	// lobeEndDeg is where the lobe is cut off [deg]: beyond, eyes turn.
	lobeEndDeg = 60
)

// growth returns 1 + e/E2 at an angle from the fixation point [deg], where e
// is what the angle exceeds the central disc by.
func growth(angleDeg float64) float64 {
	return 1 + max(0, angleDeg-CentralDeg)/E2Deg
}

// LobeSR returns the size of the visual lobe [sr]: the solid angle around the
// fixation point within which one glimpse shows the object, each direction
// weighted with the chance that it is seen there,
//
//	integral over a from 0 to 60 degrees of Seen(v(a)) 2 pi sin(a) da.
//
// v returns the visibility ratio at an angle from the fixation point [deg]; it
// must not rise with the angle, and not change within [CentralDeg]. Where it
// bends, the angle of the bend is wanted too ([PooledDeg]). Accurate to 0.01 %
// for the laws of this package.
func LobeSR(v func(angleDeg float64) float64, bendsDeg ...float64) float64 {
	centre := Seen(v(0))
	if centre == 0 {
		return 0
	}
	sum := centre * coneSR(CentralDeg)
	for _, bend := range bendsDeg {
		if bend > CentralDeg && bend < lobeEndDeg {
			near, far := lobePart(CentralDeg, bend), lobePart(bend, lobeEndDeg)
			return sum + near.over(v) + far.over(v)
		}
	}
	return sum + wholeLobe.over(v)
}

// lobeNodes are the directions at which a ring of the lobe is sampled.
type lobeNodes [32]struct {
	angleDeg float64 // from the fixation point
	weight   float64 // solid angle that it stands for [sr]
}

const degree = math.Pi / 180

// wholeLobe is all that is outside of the central disc.
var wholeLobe = lobePart(CentralDeg, lobeEndDeg)

// lobePart returns the nodes of a ring between two angles from the fixation
// point [deg]: those of Gauss and Legendre in u = ln(1 + e/E2), in which every
// lobe is smooth and of about one width.
func lobePart(fromDeg, toDeg float64) (nodes lobeNodes) {
	from, to := math.Log(growth(fromDeg)), math.Log(growth(toDeg))
	for i, l := range legendre {
		g := math.Exp(from + (to-from)*(1+l.x)/2)
		a := CentralDeg + E2Deg*(g-1)
		nodes[i].angleDeg = a
		nodes[i].weight = l.weight * (to - from) / 2 * 2 * math.Pi * math.Sin(a*degree) * E2Deg * degree * g
	}
	return nodes
}

// over integrates the chance of a look over the ring.
func (n *lobeNodes) over(v func(angleDeg float64) float64) float64 {
	sum := 0.0
	for i := range n {
		sum += Seen(v(n[i].angleDeg)) * n[i].weight
	}
	return sum
}

// legendre holds the nodes and weights of Gauss's rule on -1 to 1, the roots of
// Legendre's polynomial by Newton's steps (Abramowitz and Stegun, 1964,
// 25.4.29).
var legendre = func() (rule [len(lobeNodes{})]struct{ x, weight float64 }) {
	n := float64(len(rule))
	for i := range rule {
		x, slope := -math.Cos(math.Pi*(float64(i)+0.75)/(n+0.5)), 0.0
		for range 10 {
			p, before := 1.0, 0.0
			for k := range rule {
				j := float64(k)
				p, before = ((2*j+1)*x*p-j*before)/(j+1), p // 22.7.10
			}
			slope = n * (x*p - before) / (x*x - 1) // 22.8.5
			x -= p / slope
		}
		rule[i].x, rule[i].weight = x, 2/((1-x*x)*slope*slope)
	}
	return rule
}()

// coneSR returns the solid angle of a cone of the given half angle [deg].
func coneSR(angleDeg float64) float64 {
	s := math.Sin(angleDeg * degree / 2)
	return 4 * math.Pi * s * s
}

// ConeDeg returns the half angle [deg] of the cone that fills the given solid
// angle [sr], for print: the radius of a lobe.
func ConeDeg(solidAngleSR float64) float64 {
	return 2 * math.Asin(math.Sqrt(solidAngleSR/(4*math.Pi))) / degree
}

// LobeSR is [LobeSR] on the scene: through field glasses the lobe of the eye
// covers as much less of it as they magnify, and no more than their field.
func (e Eye) LobeSR(v func(angleDeg float64) float64, bendsDeg ...float64) float64 {
	return e.optics.onScene(LobeSR(v, bendsDeg...))
}

// ApparentSR returns the solid angle [sr] that the eye meets where an area on
// the scene fills the given one [sr].
func (e Eye) ApparentSR(solidAngleSR float64) float64 {
	m := e.optics.magnified()
	return solidAngleSR * m * m
}

// PointLobeSR returns the lobe [sr] of a point of light, or of an object so
// small that only its area counts, whose visibility ratio at the fixation
// point is v.
func (e Eye) PointLobeSR(v float64) float64 {
	return e.LobeSR(func(angleDeg float64) float64 { return v * e.side(angleDeg) })
}

// PointRatio returns the visibility ratio at which a small object has a lobe
// of the given size [sr], the inverse of [Eye.PointLobeSR]: 0 for no lobe, +Inf
// for one that the field of view cannot hold.
func (e Eye) PointRatio(lobeSR float64) float64 {
	switch {
	case !(lobeSR > 0):
		return 0
	case lobeSR >= e.optics.onScene(coneSR(lobeEndDeg)):
		return math.Inf(1)
	}
	// A secant of the logarithms, which are nearly proportional, kept within a
	// bracket.
	surplus := func(logV float64) float64 {
		return math.Log(e.PointLobeSR(math.Exp(logV)) / lobeSR)
	}
	lo, hi := math.Log(1e-4), math.Log(1e8)
	x, slope := math.Log(4), 1.0
	f := surplus(x)
	for {
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-12 {
			return math.Exp(next)
		}
		g := surplus(next)
		slope = (g - f) / (next - x)
		x, f = next, g
	}
}
