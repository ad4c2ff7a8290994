package reckon

import (
	"math"
	"slices"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A Fit is a log joined by least squares to what is known on the way.
type Fit struct {
	ChiSquare float64 // weighted sum of squares of what does not fit
	DOF       int     // observations: two for a known position, one for a line or a bearing
	P         float64 // chance of a fit as bad or worse by the errors that were stated
	Rows      []FitRow
	// Legs holds, for each leg, by how many standard deviations of the fit a
	// change of that leg alone would mend it; NaN where nothing known follows it. The
	// largest points at the bad leg.
	Legs []float64
}

// A FitRow is how one thing that is known fits the rest.
type FitRow struct {
	Known int // index in Log.Known
	// MissM is how far the log alone passes it by [m]; of a bearing NaN, and
	// MissDeg says by what angle [degrees].
	MissM, MissDeg float64
	// Standardised is the residual over its standard deviation, of a position
	// the larger of its two.
	Standardised float64
}

// rounds is how often bearings to marks are made straight again about the place
// that was found. The place moves by less than a millimetre after three.
const rounds = 4

// resume returns where the log goes on after a break before leg i.
func (l *Log) resume(i int, from orb.Point, o Options) (at orb.Point, c earth.Covariance, ok bool, err error) {
	var sights []Bearing
	line := 0
	for _, k := range l.Known {
		if !k.Break || k.After != i {
			continue
		}
		if k.Kind == At {
			v := k.SigmaM * k.SigmaM
			return k.Point, earth.Covariance{NN: v, EE: v}, true, nil
		}
		b, err := l.bearing(k, from, i, o)
		if err != nil {
			return at, c, false, err
		}
		sights, line = append(sights, b), k.Line
	}
	if sights == nil {
		return at, c, false, nil
	}
	r, err := Resect(sights)
	if err != nil {
		return at, c, false, &LogError{File: l.Name, Line: line, Text: "the bearings give no place", Advice: "take marks that lie well apart, best a third of a circle", Err: err}
	}
	return r.Point, r.Covariance, true, nil
}

// bearing makes a sight true.
func (l *Log) bearing(k Known, from orb.Point, i int, o Options) (Bearing, error) {
	leg := Leg{Line: k.Line, BearingDeg: k.BearingDeg, North: k.North}
	if i > 0 {
		leg.Time = l.Legs[i-1].Time
	}
	b, _, _, err := l.true(leg, from, o)
	sigma := k.SigmaDeg
	if sigma == 0 {
		sigma = o.SigmaBearingDeg
	}
	if sigma == 0 {
		sigma = leastSightDeg
	}
	return Bearing{Mark: k.Point, True: b, SigmaDeg: sigma, SigmaM: k.SigmaM}, err
}

// leastSightDeg is the error of a bearing to a mark where nobody states one and
// legs are taken to have none [degrees]: the reading of a hand compass.
const leastSightDeg = 1

// join joins the log to what is known on the way, and moves its legs, its end and
// the covariance there.
func (r *Result) join(l *Log, leg []earth.Covariance, o Options) error {
	if !slices.ContainsFunc(l.Known, func(k Known) bool { return !k.Break }) {
		return nil // nothing is known but where the log goes on
	}
	// Plain sums and places of the log alone, at its start and after each leg.
	sums, places := r.sums(l)
	moved := make([][2]float64, len(sums)) // by the fit [m north, east]
	var fit *Fit
	for range rounds {
		f, by, end, err := r.fitOnce(l, leg, o, sums, places, moved)
		if err != nil {
			return err
		}
		fit, moved = f, by
		r.Covariance = end
	}
	r.Fit = fit
	for i := range r.Legs {
		s := &r.Legs[i]
		s.To = shifted(places[i+1], moved[i+1])
		if gap := r.gapBefore(i); gap == nil {
			s.AdjustedNorthM = s.NorthM + moved[i+1][0] - moved[i][0]
			s.AdjustedEastM = s.EastM + moved[i+1][1] - moved[i][1]
		}
	}
	r.End = r.Legs[len(r.Legs)-1].To
	r.ellipses()
	return nil
}

func (r *Result) gapBefore(i int) *Gap {
	for k := range r.Gaps {
		if r.Gaps[k].After == i {
			return &r.Gaps[k]
		}
	}
	return nil
}

// sums returns the plain sums and the places at the start and after each leg,
// breaks counted.
func (r *Result) sums(l *Log) (sums [][2]float64, places []orb.Point) {
	at := [2]float64{}
	sums, places = append(sums, at), append(places, l.Start)
	for i, s := range r.Legs {
		if g := r.gapBefore(i); g != nil {
			at[0], at[1] = at[0]+g.NorthM, at[1]+g.EastM
		}
		at[0], at[1] = at[0]+s.NorthM, at[1]+s.EastM
		sums, places = append(sums, at), append(places, s.To)
	}
	return sums, places
}

// shifted returns a place moved by metres north and east.
func shifted(p orb.Point, by [2]float64) orb.Point {
	d := math.Hypot(by[0], by[1])
	if d == 0 {
		return p
	}
	to, _ := earth.Direct(p, earth.NewTrue(math.Atan2(by[1], by[0])*180/math.Pi), d)
	return to
}

// fitOnce solves the chain with everything made straight about the log's places
// as the last round moved them.
func (r *Result) fitOnce(l *Log, leg []earth.Covariance, o Options, sums [][2]float64, places []orb.Point, moved [][2]float64) (*Fit, [][2]float64, earth.Covariance, error) {
	ch := &chain{}
	rowOf := map[int]int{} // link to row of the fit
	fit := &Fit{P: math.NaN()}
	var legLinks []int
	after := make([]int, len(sums)) // the link that begins after each leg and what is known there
	see := func(i int) error {
		for k, known := range l.Known {
			if known.After != i || known.Break {
				continue
			}
			rows, row, err := l.observe(known, i, o, sums[i], places[i], moved[i])
			if err != nil {
				return err
			}
			row.Known = k
			fit.Rows = append(fit.Rows, row)
			for _, obs := range rows {
				rowOf[len(ch.links)] = len(fit.Rows) - 1
				ch.links = append(ch.links, obs)
			}
		}
		after[i] = len(ch.links)
		return nil
	}
	if err := see(0); err != nil {
		return nil, nil, earth.Covariance{}, err
	}
	for i, s := range r.Legs {
		if g := r.gapBefore(i); g != nil {
			_, c, _, err := l.resume(i, places[i], o)
			if err != nil {
				return nil, nil, earth.Covariance{}, err
			}
			ch.links = append(ch.links, link{kind: jumpLink, n: sums[i+1][0] - s.NorthM, e: sums[i+1][1] - s.EastM, c: c})
		}
		legLinks = append(legLinks, len(ch.links))
		ch.links = append(ch.links, link{kind: legLink, n: s.NorthM, e: s.EastM, c: leg[i]})
		if err := see(i + 1); err != nil {
			return nil, nil, earth.Covariance{}, err
		}
	}
	solved, err := ch.solve(vector{}, o.common(l).prior(l))
	if err != nil {
		return nil, nil, earth.Covariance{}, &LogError{File: l.Name, Text: "the log is taken to have no error, and does not meet what is known on the way", Advice: "give --sigma-distance and --sigma-bearing, or more room after ±", Err: err}
	}
	fit.ChiSquare, fit.DOF = solved.chi, solved.rows
	fit.P = fitChance(fit.ChiSquare, fit.DOF)
	for i := range ch.links {
		if row, ok := rowOf[i]; ok {
			f := &fit.Rows[row]
			if s := math.Abs(solved.score[i][0]); math.IsNaN(f.Standardised) || s > f.Standardised {
				f.Standardised = s
			}
		}
	}
	for _, i := range legLinks {
		fit.Legs = append(fit.Legs, shock(solved.score[i], solved.weight[i]))
	}
	by := make([][2]float64, len(sums))
	for i := range sums {
		state := solved.state[after[i]]
		by[i] = [2]float64{state[0] - sums[i][0], state[1] - sums[i][1]}
	}
	end := solved.cov[len(ch.links)]
	return fit, by, end.place(), nil
}

// prior returns how unsure a chain is before its first leg.
func (o Options) prior(l *Log) (p matrix) {
	v := l.StartSigmaM * l.StartSigmaM
	turn := o.BearingBiasDeg * math.Pi / 180
	p[2][2], p[3][3] = o.ScaleBias*o.ScaleBias, turn*turn
	for _, k := range []int{0, 1} {
		p[k][k], p[k+4][k+4], p[k][k+4], p[k+4][k] = v, v, v, v
	}
	return p
}

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

// observe makes what is known of a place into observations of the plain sums
// there, straight about the place as it was moved.
func (l *Log) observe(k Known, i int, o Options, sum [2]float64, place orb.Point, moved [2]float64) ([]link, FitRow, error) {
	at := shifted(place, moved)
	now := [2]float64{sum[0] + moved[0], sum[1] + moved[1]}
	row := FitRow{MissM: math.NaN(), MissDeg: math.NaN(), Standardised: math.NaN()}
	from := func(p orb.Point) (n, e float64) { // [m] from the place as moved
		d, b, _ := earth.Inverse(at, p)
		if d == 0 {
			return 0, 0
		}
		sin, cos := math.Sincos(float64(b) * math.Pi / 180)
		return d * cos, d * sin
	}
	seen := func(hn, he, miss, sigma float64) link {
		return link{kind: seenLink, h: vector{hn, he}, z: hn*now[0] + he*now[1] + miss, r: sigma * sigma}
	}
	switch k.Kind {
	case At:
		dn, de := from(k.Point)
		row.MissM, _, _ = earth.Inverse(place, k.Point)
		return []link{seen(1, 0, dn, k.SigmaM), seen(0, 1, de, k.SigmaM)}, row, nil
	case On:
		an, ae := from(k.Point)
		bn, be := from(k.To)
		length := math.Hypot(bn-an, be-ae)
		un, ue := -(be-ae)/length, (bn-an)/length
		row.MissM = math.Abs(un*(an+moved[0]) + ue*(ae+moved[1]))
		return []link{seen(un, ue, un*an+ue*ae, k.SigmaM)}, row, nil
	}
	b, err := l.bearing(k, at, i, o)
	if err != nil {
		return nil, row, err
	}
	s := newSightRow(b, at)
	row.MissDeg = math.Abs(newSightRow(b, place).miss) * 180 / math.Pi
	return []link{seen(s.dn, s.de, s.miss, s.sigma)}, row, nil
}
