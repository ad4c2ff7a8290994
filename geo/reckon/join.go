package reckon

import (
	"errors"
	"math"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A Fit is a log joined to what is known of places on its way, by weighted least
// squares: each leg gives way by its own error, all of them by the errors
// common to all, and the start by its.
type Fit struct {
	ChiSquare float64 // weighted sum of squares of what does not fit
	DOF       int     // observations: 2 for a known point, 1 for a line or a sight
	P         float64 // chance of a fit as bad or worse by the errors that were stated
	Rows      []FitRow
	Legs      []FitLeg
	// ScaleShare and TurnDeg are what the fit finds of the common errors: all legs
	// longer by that share than logged, and turned by that angle clockwise.
	ScaleShare, TurnDeg float64
}

// A FitLeg is what a fit says of one leg.
type FitLeg struct {
	// Shock is by how many standard deviations of the fit a change of that leg
	// alone would mend it; NaN where nothing known tells of the leg. The largest
	// points at the bad leg.
	Shock float64
	// Along and Across are its standardised residuals in length and in bearing:
	// about as a standard normal where only the stated errors are at work, beyond 3
	// or so where a mistake is (Baarda 1968, from memory). Positive where the leg was
	// longer than logged, or more to the right. NaN where nothing tells of them.
	Along, Across float64
}

// A FitRow is how one thing that is known fits the rest.
type FitRow struct {
	Known int // index in Log.Known
	// MissM is how far the log alone passes it by [m]; of a bearing NaN, and
	// MissDeg says by what angle [degrees].
	MissM, MissDeg float64
	// Standardised is the residual over its standard deviation, of a position
	// the larger of its two, without a sign.
	Standardised float64
}

// knownLine returns the known places of one line of the log that begin at i.
func (l *Log) knownLine(i int) []Known {
	n := i + 1
	for n < len(l.Known) && l.Known[n].Line == l.Known[i].Line && l.Known[n].After == l.Known[i].After {
		n++
	}
	return l.Known[i:n]
}

// resume returns where the log goes on after a break before leg i, if there is
// one, and how sure that is. from is where the log broke off, for the norths of
// a resection.
func (l *Log) resume(i int, from orb.Point, o Options) (at orb.Point, c earth.Covariance, ok bool, err error) {
	for k := range l.Known {
		known := &l.Known[k]
		if known.After != i || !known.Break {
			continue
		}
		if known.Kind == At {
			v := known.SigmaM * known.SigmaM
			return known.Point, earth.Covariance{NN: v, EE: v}, true, nil
		}
		r, err := l.resect(l.knownLine(k), from, o)
		if err != nil {
			return at, c, false, &LogError{File: l.Name, Line: known.Line, Text: "a resection that gives no place: " + textOf(err), Advice: "take bearings to two marks that lie well apart", Err: err}
		}
		return r.Point, r.Covariance, true, nil
	}
	return at, c, false, nil
}

// resect works a resection of the log out by itself.
func (l *Log) resect(sights []Known, from orb.Point, o Options) (*Resection, error) {
	var list []Bearing
	for _, k := range sights {
		b, err := l.sight(k, from, o)
		if err != nil {
			return nil, err
		}
		list = append(list, b)
	}
	return Resect(list)
}

// sight makes a sight true, as from a place.
func (l *Log) sight(k Known, from orb.Point, o Options) (Bearing, error) {
	leg := Leg{Line: k.Line, North: k.North, BearingDeg: k.BearingDeg, Time: l.timeAt(k.After)}
	b, _, _, err := l.true(leg, from, o)
	s := Bearing{Mark: k.Point, True: b, SigmaDeg: k.SigmaDeg, SigmaM: k.SigmaM}
	if s.SigmaDeg == 0 {
		s.SigmaDeg = o.SigmaBearingDeg
	}
	if s.SigmaDeg == 0 {
		s.SigmaDeg = leastSightDeg
	}
	return s, err
}

// leastSightDeg is the error of a bearing to a mark where nobody states one and
// legs are taken to have none [degrees]: the reading of a hand compass.
const leastSightDeg = 1

// textOf is an error's text without the package's name.
func textOf(err error) string {
	var e *LogError
	if errors.As(err, &e) {
		return e.Text
	}
	const name = "reckon: "
	if s := err.Error(); len(s) > len(name) && s[:len(name)] == name {
		return s[len(name):]
	}
	return err.Error()
}

// A joining is a log being joined.
type joining struct {
	log   *Log
	r     *Result
	o     Options
	plane *earth.Local // nil for a log in plain sums
	legs  []earth.Covariance
	chain chain
	// at is the link of each leg, knownAt the first of each known place, -1 for one
	// that the log only goes on from.
	at, knownAt []int
}

// join works out the fit and the slips, where anything is known besides the
// legs.
func (r *Result) join(l *Log, legs []earth.Covariance, o Options) error {
	seen := false
	for _, k := range l.Known {
		seen = seen || !k.Break
	}
	if !seen && (r.Closure == nil || len(r.Gaps) > 0) {
		return nil // nothing is known but where the log goes on
	}
	j := &joining{log: l, r: r, o: o, legs: legs}
	if len(l.Known) > 0 {
		j.plane = earth.NewLocal(l.Start)
	}
	s, err := j.fit(o.common(l))
	switch {
	case errors.Is(err, ErrNoError) && len(l.Known) == 0:
		return nil // a closure is told without odds
	case errors.Is(err, ErrNoError):
		return &LogError{File: l.Name, Text: "the log is taken to have no error, and does not meet what is known on the way", Advice: "give --sigma-distance and --sigma-bearing, or more room after ±", Err: err}
	case err != nil:
		return err
	}
	r.Slips = j.slips(s)
	if seen {
		return j.tell(s)
	}
	return nil
}

// fit solves the chain, again while sights are made straight about better places.
func (j *joining) fit(common Options) (*solved, error) {
	v := j.log.StartSigmaM * j.log.StartSigmaM
	turn := common.BearingBiasDeg * math.Pi / 180
	var p matrix
	for _, i := range []int{0, 1} {
		p[i][i], p[i+4][i+4], p[i][i+4], p[i+4][i] = v, v, v, v
	}
	p[2][2], p[3][3] = common.ScaleBias*common.ScaleBias, turn*turn

	_, places, err := j.logged()
	if err != nil {
		return nil, err
	}
	for range maxTurns {
		if err := j.build(places); err != nil {
			return nil, err
		}
		s, err := j.chain.solve(vector{}, p)
		if err != nil {
			return nil, err
		}
		moved := 0.0
		for i, link := range j.knownAt {
			if link >= 0 && j.log.Known[i].Kind == Sight {
				at := s.state[link]
				moved = math.Max(moved, math.Hypot(at[0]-places[i][0], at[1]-places[i][1]))
				places[i] = [2]float64{at[0], at[1]}
			}
		}
		if moved < 1e-4 {
			return s, nil
		}
	}
	return nil, &LogError{File: j.log.Name, Text: "the known places do not settle: bearings to marks contradict the legs widely", Advice: "look at the marks' positions and at back bearings"}
}

// logged returns by the log alone the places before each leg, and the end, and
// those at which each known place was noted, in north and east [m] on the plane.
func (j *joining) logged() (legs, known [][2]float64, err error) {
	at := [2]float64{}
	gap, next := 0, 0
	for i := range len(j.r.Legs) + 1 {
		for ; next < len(j.log.Known) && j.log.Known[next].After == i; next++ {
			if j.log.Known[next].Break && gap < len(j.r.Gaps) && j.r.Gaps[gap].After == i {
				if at, err = j.forward(j.r.Gaps[gap].To); err != nil {
					return nil, nil, err
				}
				gap++
			}
			known = append(known, at)
		}
		legs = append(legs, at)
		if i == len(j.r.Legs) {
			break
		}
		if s := j.r.Legs[i]; j.plane == nil {
			at[0], at[1] = at[0]+s.NorthM, at[1]+s.EastM
		} else if at, err = j.forward(s.To); err != nil {
			return nil, nil, err
		}
	}
	return legs, known, nil
}

func (j *joining) forward(p orb.Point) ([2]float64, error) {
	e, n, err := j.plane.Forward(p)
	if err != nil {
		return [2]float64{}, &LogError{File: j.log.Name, Text: "a place more than 300 km from the start of the log", Advice: "look at the positions: latitude comes first", Err: err}
	}
	return [2]float64{n, e}, nil
}

// build makes the links. places are where sights are made straight about.
func (j *joining) build(places [][2]float64) error {
	logged, _, err := j.logged()
	if err != nil {
		return err
	}
	links := j.chain.links[:0]
	j.at, j.knownAt = j.at[:0], j.knownAt[:0]
	known, gap := 0, 0
	for i := range len(j.log.Legs) + 1 {
		for ; known < len(j.log.Known) && j.log.Known[known].After == i; known++ {
			k := j.log.Known[known]
			if k.Break {
				j.knownAt = append(j.knownAt, -1)
				if known > 0 && j.log.Known[known-1].Break && j.log.Known[known-1].Line == k.Line {
					continue // the same resection
				}
				at, c, _, err := j.log.resume(i, j.r.Gaps[gap].To, j.o)
				if err != nil {
					return err
				}
				to, err := j.forward(at)
				if err != nil {
					return err
				}
				links = append(links, link{kind: jumpLink, n: to[0], e: to[1], c: c})
				gap++
				continue
			}
			j.knownAt = append(j.knownAt, len(links))
			if links, err = j.observe(links, k, places[known]); err != nil {
				return err
			}
		}
		if i == len(j.log.Legs) {
			break
		}
		j.at = append(j.at, len(links))
		l := link{kind: legLink, c: j.legs[i]}
		if s := j.r.Legs[i]; j.plane == nil {
			l.n, l.e = s.NorthM, s.EastM
		} else {
			to, err := j.forward(s.To)
			if err != nil {
				return err
			}
			l.n, l.e = to[0]-logged[i][0], to[1]-logged[i][1]
		}
		links = append(links, l)
	}
	if j.r.Closure != nil {
		links = append(links, link{kind: seenLink, h: vector{1, 0, 0, 0, -1, 0}}, link{kind: seenLink, h: vector{0, 1, 0, 0, 0, -1}})
	}
	j.chain.links = links
	return nil
}

// observe adds the rows of a known place.
func (j *joining) observe(links []link, k Known, at [2]float64) ([]link, error) {
	a, err := j.forward(k.Point)
	if err != nil {
		return nil, err
	}
	v := k.SigmaM * k.SigmaM
	switch k.Kind {
	case At:
		return append(links, link{kind: seenLink, h: vector{1}, z: a[0], r: v}, link{kind: seenLink, h: vector{0, 1}, z: a[1], r: v}), nil
	case On:
		b, err := j.forward(k.To)
		if err != nil {
			return nil, err
		}
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		h := vector{-(b[1] - a[1]) / length, (b[0] - a[0]) / length}
		return append(links, link{kind: seenLink, h: h, z: h[0]*a[0] + h[1]*a[1], r: v}), nil
	}
	from := j.plane.Inverse(at[1], at[0])
	s, err := j.log.sight(k, from, j.o)
	if err != nil {
		return nil, err
	}
	row := newSightRow(s, from)
	// A needle that is wrong for the legs is wrong for the sights.
	h := vector{row.dn, row.de, 0, -1}
	return append(links, link{kind: seenLink, h: h, z: row.miss + row.dn*at[0] + row.de*at[1], r: row.sigma * row.sigma}), nil
}

// tell writes a solution into the result, and moves the legs, the end and the
// covariance there.
func (j *joining) tell(s *solved) error {
	r := j.r
	end := s.state[len(j.chain.links)]
	f := &Fit{
		ChiSquare: s.chi, DOF: s.rows, P: fitChance(s.chi, s.rows),
		ScaleShare: end[2], TurnDeg: end[3] * 180 / math.Pi,
	}
	for i, at := range j.at {
		sin, cos := sincos(float64(r.Legs[i].Bearing))
		score, weight := s.score[at], s.weight[at]
		f.Legs = append(f.Legs, FitLeg{shock(score, weight), part(score, weight, cos, sin), part(score, weight, -sin, cos)})
	}
	_, logged, err := j.logged()
	if err != nil {
		return err
	}
	for i, k := range j.log.Known {
		if !k.Break {
			row, err := j.row(s, i, k, logged[i])
			if err != nil {
				return err
			}
			f.Rows = append(f.Rows, row)
		}
	}
	// What is common is what is not left without the common errors.
	alone, err := (&joining{log: j.log, r: r, o: j.o, plane: j.plane, legs: j.legs}).fit(Options{})
	if err != nil {
		return err
	}
	own, all := alone.cov[len(alone.cov)-1].place(), s.cov[len(s.cov)-1].place()
	if all.NN+all.EE < roundedM2 {
		own, all = earth.Covariance{}, earth.Covariance{} // a closed log ends where it began
	}
	r.CommonShare = math.Max(0, 1-(own.NN+own.EE)/(all.NN+all.EE))
	for i, at := range j.at {
		from, to := s.state[at], s.state[at+1]
		r.Legs[i].To = j.plane.Inverse(to[1], to[0])
		if j.o.Adjust == "" {
			r.Legs[i].AdjustedNorthM, r.Legs[i].AdjustedEastM = to[0]-from[0], to[1]-from[1]
		}
	}
	r.Fit = f
	r.End, r.Covariance = j.plane.Inverse(end[1], end[0]), all
	r.ellipses()
	return nil
}

// roundedM2 is what is left of a covariance by rounding [m²]: a hundredth of a
// millimetre.
const roundedM2 = 1e-10

// shock returns by how many standard deviations a change of a leg would mend the
// fit: the root of score' weight^-1 score (de Jong and Penzer 1998).
func shock(score [2]float64, w [2][2]float64) float64 {
	det := w[0][0]*w[1][1] - w[0][1]*w[1][0]
	if scale := w[0][0] * w[1][1]; !(det > 1e-9*scale) {
		// One direction alone is observed, or none.
		trace := w[0][0] + w[1][1]
		if !(trace > 0) {
			return math.NaN()
		}
		return math.Sqrt((score[0]*score[0] + score[1]*score[1]) / trace)
	}
	a, b := score[0], score[1]
	return math.Sqrt(max(0, (w[1][1]*a*a-2*w[0][1]*a*b+w[0][0]*b*b)/det))
}

// part returns the standardised residual of a leg in a direction.
func part(score [2]float64, w [2][2]float64, n, e float64) float64 {
	v := n*n*w[0][0] + n*e*(w[0][1]+w[1][0]) + e*e*w[1][1]
	if !(v > 1e-18) { // nothing known tells of it
		return math.NaN()
	}
	return (n*score[0] + e*score[1]) / math.Sqrt(v)
}

// row tells how a known place fits. alone is the place by the log alone.
func (j *joining) row(s *solved, i int, k Known, alone [2]float64) (FitRow, error) {
	f := FitRow{Known: i, MissM: math.NaN(), MissDeg: math.NaN()}
	at := j.knownAt[i]
	f.Standardised = math.Abs(s.score[at][0])
	links, err := j.observe(nil, k, alone)
	if err != nil {
		return f, err
	}
	miss := links[0].z - dot(links[0].h, vector{alone[0], alone[1]})
	switch k.Kind {
	case At:
		f.Standardised = math.Max(f.Standardised, math.Abs(s.score[at+1][0]))
		f.MissM = math.Hypot(miss, links[1].z-alone[1])
	case On:
		f.MissM = math.Abs(miss)
	case Sight:
		f.MissDeg = math.Abs(miss) * 180 / math.Pi
	}
	return f, nil
}
