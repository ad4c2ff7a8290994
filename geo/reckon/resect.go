package reckon

import (
	"errors"
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat/distuv"
)

// Causes why bearings to marks give no place.
var (
	// ErrFewMarks says that a resection needs bearings to two marks.
	ErrFewMarks = errors.New("reckon: a resection needs bearings to two marks")
	// ErrAlike says that all bearings run along one line, or never meet.
	ErrAlike = errors.New("reckon: the bearings do not cross")
)

// A Bearing is a bearing taken to a known mark.
type Bearing struct {
	Mark     orb.Point
	True     earth.True
	SigmaDeg float64 // standard deviation of the bearing [degrees], above 0
	SigmaM   float64 // of the mark's position along each axis [m]
}

// A Resection is the place from which bearings were taken.
type Resection struct {
	Point        orb.Point
	Covariance   earth.Covariance // [m²]
	ChiSquare    float64          // of what does not fit
	DOF          int              // bearings less 2
	P            float64          // chance of a fit as bad or worse; NaN for two bearings
	Standardised []float64        // residual of each bearing over its standard deviation; NaN for two
}

// leastCross is the least sine of the angle at which the best two lines cross:
// about 2 degrees. Own choice; the place is not to be told below.
const leastCross = 0.035

// maxTurns is how often a fit is made straight again; it takes four or so.
const maxTurns = 40

// Resect works out where bearings to two or more marks were taken, by least
// squares on geodesics: each bearing weighs by its own error and by that of its
// mark as seen from there. Within 300 km. Sighted marks give lines of position
// that cross; three or more leave a remainder that says how well they agree.
//
// Source: intersection of lines of position with weights, Mikhail 1976,
// Observations and Least Squares, chapter 9, from memory.
func Resect(sights []Bearing) (*Resection, error) {
	if len(sights) < 2 {
		return nil, ErrFewMarks
	}
	plane := earth.NewLocal(sights[0].Mark)
	n, e, err := crossing(plane, sights)
	if err != nil {
		return nil, err
	}
	r := &Resection{}
	var rows []sightRow
	for range maxTurns {
		r.Point = plane.Inverse(e, n)
		rows = rows[:0]
		var c earth.Covariance // the normal matrix
		var bn, be float64
		for _, s := range sights {
			row := newSightRow(s, r.Point)
			rows = append(rows, row)
			w := 1 / (row.sigma * row.sigma)
			c.NN += w * row.dn * row.dn
			c.NE += w * row.dn * row.de
			c.EE += w * row.de * row.de
			bn += w * row.dn * row.miss
			be += w * row.de * row.miss
		}
		det := c.NN*c.EE - c.NE*c.NE
		if !(det > 0) {
			return nil, ErrAlike
		}
		r.Covariance = earth.Covariance{NN: c.EE / det, NE: -c.NE / det, EE: c.NN / det}
		dn, de := r.Covariance.NN*bn+r.Covariance.NE*be, r.Covariance.NE*bn+r.Covariance.EE*be
		n, e = n+dn, e+de
		if math.Hypot(dn, de) < 1e-6 {
			break
		}
	}
	r.DOF, r.P = len(sights)-2, math.NaN()
	for _, row := range rows {
		if math.Abs(row.miss) > math.Pi/2 {
			return nil, ErrAlike // the lines meet behind the observer
		}
		u := row.miss / row.sigma
		r.ChiSquare += u * u
		left := row.sigma*row.sigma - (r.Covariance.NN*row.dn*row.dn + 2*r.Covariance.NE*row.dn*row.de + r.Covariance.EE*row.de*row.de)
		v := math.NaN()
		if r.DOF > 0 && left > 1e-9*row.sigma*row.sigma {
			v = row.miss / math.Sqrt(left)
		}
		r.Standardised = append(r.Standardised, v)
	}
	r.P = fitChance(r.ChiSquare, r.DOF)
	return r, nil
}

// fitChance returns the chance of a weighted sum of squares as large or larger
// with so many degrees of freedom; NaN for none.
func fitChance(chi float64, dof int) float64 {
	if dof < 1 || math.IsNaN(chi) {
		return math.NaN()
	}
	return distuv.ChiSquared{K: float64(dof)}.Survival(chi)
}

// A sightRow is a bearing made straight about a place: what it misses [rad], how
// the bearing turns with a step north or east [rad/m], and its error [rad].
type sightRow struct{ miss, dn, de, sigma float64 }

func newSightRow(s Bearing, at orb.Point) sightRow {
	d, az, _ := earth.Inverse(at, s.Mark)
	d = math.Max(d, 1) // at the mark itself a bearing says nothing
	sin, cos := math.Sincos(float64(az) * math.Pi / 180)
	if math.IsNaN(float64(az)) {
		sin, cos, az = 0, 1, 0
	}
	return sightRow{
		miss: earth.Wrap180(float64(s.True)-float64(az)) * math.Pi / 180,
		dn:   sin / d, de: -cos / d,
		sigma: math.Hypot(s.SigmaDeg*math.Pi/180, s.SigmaM/d),
	}
}

// crossing returns where the two lines that cross best do, on the plane.
func crossing(plane *earth.Local, sights []Bearing) (n, e float64, err error) {
	type line struct{ n, e, sin, cos float64 }
	var lines []line
	for _, s := range sights {
		me, mn, err := plane.Forward(s.Mark)
		if err != nil {
			return 0, 0, err
		}
		sin, cos := math.Sincos(float64(s.True) * math.Pi / 180)
		lines = append(lines, line{mn, me, sin, cos})
	}
	best := 0.0
	for i, a := range lines {
		for _, b := range lines[:i] {
			cross := a.cos*b.sin - a.sin*b.cos
			if math.Abs(cross) <= best {
				continue
			}
			best = math.Abs(cross)
			// mark a less t steps along a's bearing lies on b's line.
			t := ((a.n-b.n)*b.sin - (a.e-b.e)*b.cos) / cross
			n, e = a.n-t*a.cos, a.e-t*a.sin
		}
	}
	if best < leastCross {
		return 0, 0, ErrAlike
	}
	return n, e, nil
}
