package reckon

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// Causes of a LogError from Run that a caller may act on.
var (
	// ErrNoDeclination says that magnetic bearings cannot be made true.
	ErrNoDeclination = errors.New("reckon: no declination to make it true")
	// ErrNoConvergence says that grid bearings cannot be made true.
	ErrNoConvergence = errors.New("reckon: no grid convergence to make it true")
	// ErrNoError says that least squares was asked for with legs without error.
	ErrNoError = errors.New("reckon: least squares needs an error of distance and of bearing above zero")
	// ErrNoStart says that a log with known places does not say where it starts.
	ErrNoStart = errors.New("reckon: no start")
	// ErrBroken says that a log with a break was to be closed.
	ErrBroken = errors.New("reckon: a log with a break cannot be spread over its legs")
)

// Options says how sure the legs are and where declinations come from. The
// zero value stands for legs without error.
type Options struct {
	// SigmaDistance is the standard deviation of a leg's length, as a share of
	// it, and SigmaBearingDeg that of its bearing [degrees]; legs err
	// independently.
	SigmaDistance, SigmaBearingDeg float64
	// ScaleBias and BearingBiasDeg are standard deviations of errors common to
	// all legs: of pace length, as a share, and of the bearing [degrees].
	ScaleBias, BearingBiasDeg float64
	// Declination returns the declination of a place and time [degrees], such
	// as by a magnetic model. The log's own comes first. May be nil.
	Declination func(p orb.Point, t time.Time) (float64, error)
	// Convergence returns the grid convergence of a place [degrees], positive
	// when grid north lies east of true north: one grid for the whole log. May
	// be nil.
	Convergence func(p orb.Point) float64
	// Close says that the log ends where it began, Adjust how what is missing is
	// spread over the legs (which implies Close).
	Close  bool
	Adjust Adjustment
	// Calibrated takes for paced legs of a calibrated log the spread of its
	// counts in place of SigmaDistance. The error of their mean always counts as
	// common to all legs, beside ScaleBias.
	Calibrated bool
	// Heading says that there was no compass, as the log's header does too. Then places
	// are means over what the heading may have done.
	Heading Heading
}

// Result is where a log leads.
type Result struct {
	NorthM, EastM float64   // plain sums over the legs, and over breaks [m]
	LengthM       float64   // sum of the legs on the map [m]
	End           orb.Point // chained by geodesics; NaN where the log states no start
	Home          Home
	Back          []BackLeg // the way home by legs; nil without a compass
	// Covariance of the end relative to the start [m²], and its ellipses of one
	// standard deviation (39 %), 50 % and 95 %.
	Covariance                  earth.Covariance
	Sigma, Ellipse50, Ellipse95 earth.Ellipse
	// CommonShare is how much of the covariance (of its trace) is due to errors
	// common to all legs, from 0 to 1; NaN without any error, or without a compass.
	CommonShare float64
	Closure     *Closure // nil unless the log was to be closed
	Legs        []Step
	Gaps        []Gap
	Fit         *Fit      // with what is known on the way; nil where nothing is
	Slips       *Slips    // nil unless the log was closed, or joined to what is known
	Warnings    []Warning // the log's, and what could not be computed
}

// Home is the straight way back to the start: a line, not a safe path. By the
// geodesic between the two positions where the log is placed, else by the plain
// sums. Bearings are NaN where they are unknown, or where end and start are one.
type Home struct {
	True      earth.True
	Magnetic  earth.Magnetic
	Grid      earth.Grid
	DistanceM float64
	Paces     float64 // of the log's kind on level ground; NaN where it states none
}

// Closure is what a log that should end at its start misses it by.
type Closure struct {
	NorthM, EastM float64 // end less start [m]
	LengthM       float64 // its length [m]
	Ratio         float64 // length of the log over it, 635 for "1 in 635"; +Inf where nothing is missing
	// ChiSquare is what is missing over its covariance, with 2 degrees of freedom;
	// P is the chance of as much or more by the legs' errors. Errors common to all
	// legs cancel around a loop. NaN for legs without error.
	ChiSquare, P float64
}

// A Gap is a stretch that was not logged: from where the log broke off to where
// it goes on.
type Gap struct {
	After         int     // legs before it
	NorthM, EastM float64 // by the true bearing at its beginning [m]
	DistanceM     float64
	To            orb.Point
}

// Step is a leg worked out.
type Step struct {
	Bearing                       earth.True // NaN for a leg without
	MapM                          float64    // distance on the map [m]
	NorthM, EastM                 float64    // [m]
	AdjustedNorthM, AdjustedEastM float64    // after the closure was spread [m]; NaN unless it was
	DeclinationDeg                float64    // applied; NaN where none was
	ConvergenceDeg                float64    // applied; NaN where none was
	To                            orb.Point  // end of the leg; NaN where the log states no start
}

// Run works out a log. Errors are *[LogError] with the line of the leg that
// cannot be worked out, or for a wrong option plain ones.
func Run(l *Log, o Options) (*Result, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	r := &Result{End: l.Start, Warnings: append([]Warning(nil), l.Warnings...)}
	var leg []earth.Covariance
	var sum earth.Covariance // of the legs alone
	if len(l.Known) > 0 && !l.Placed() {
		return nil, &LogError{File: l.Name, Line: l.Known[0].Line, Text: "a known place, but the log states no start", Advice: "add a line start: with the position of the first leg", Err: ErrNoStart}
	}
	var veering *veer
	if l.Heading.None && !o.Heading.None {
		o.Heading = l.Heading
	}
	if o.Heading.None {
		veering = o.newVeer()
	}
	r.Covariance = earth.Covariance{NN: l.StartSigmaM * l.StartSigmaM, EE: l.StartSigmaM * l.StartSigmaM}
	sinceN, sinceE := 0.0, 0.0 // net displacement since the last break
	for i := range len(l.Legs) + 1 {
		jumped, err := r.jump(l, i, o)
		if err != nil {
			return nil, err
		}
		if jumped {
			sinceN, sinceE = 0, 0
			if veering != nil {
				veering = o.newVeer()
			}
		}
		if i == len(l.Legs) {
			break
		}
		s, err := l.step(&l.Legs[i], r.End, o)
		if err != nil {
			return nil, err
		}
		sinceN, sinceE = sinceN+s.NorthM, sinceE+s.EastM
		switch {
		case veering != nil && l.Legs[i].Lost():
			// where to is as unknown as with a compass; the heading begins anew
			r.Covariance = r.Covariance.Plus(veering.covariance()).Plus(o.legCovariance(s))
			veering = o.newVeer()
		case veering != nil:
			mean := veering.walk(s.Bearing, s.MapM)
			if l.Placed() {
				s.To, _ = earth.Direct(r.End, s.Bearing, mean)
			}
		}
		r.End = s.To
		r.NorthM += s.NorthM
		r.EastM += s.EastM
		r.LengthM += s.MapM
		c := o.ofLeg(l, &l.Legs[i]).legCovariance(s)
		leg = append(leg, c)
		r.Legs = append(r.Legs, s)
		if veering == nil {
			sum = sum.Plus(c)
			r.Covariance = r.Covariance.Plus(c)
		}
	}
	if veering != nil {
		return r.veered(l, veering, o)
	}
	common := o.common(l).commonCovariance(sinceN, sinceE)
	r.Covariance = r.Covariance.Plus(common)
	r.CommonShare = (common.NN + common.EE) / (r.Covariance.NN + r.Covariance.EE)
	r.ellipses()
	if o.Close || o.Adjust != "" {
		r.close(sum)
	}
	if o.Adjust != "" && len(r.Gaps) > 0 {
		return nil, &LogError{File: l.Name, Text: "the log has a break and cannot be spread over its legs", Advice: "leave --adjust away: known places are joined by least squares", Err: ErrBroken}
	}
	if o.Adjust != "" {
		if err := r.adjust(o.Adjust, leg, sum); err != nil {
			return nil, err
		}
	}
	if err := r.join(l, leg, o); err != nil {
		return nil, err
	}
	r.goHome(l, o)
	r.goBack(l, o)
	return r, nil
}

// ellipses draws the covariance.
func (r *Result) ellipses() {
	r.Sigma = r.Covariance.SigmaEllipse()
	r.Ellipse50 = r.Covariance.Ellipse(0.50)
	r.Ellipse95 = r.Covariance.Ellipse(0.95)
}

// close works out what the log misses its start by. sum is the covariance of the
// sum of the legs' own errors.
func (r *Result) close(sum earth.Covariance) {
	c := &Closure{NorthM: r.NorthM, EastM: r.EastM, LengthM: math.Hypot(r.NorthM, r.EastM), ChiSquare: math.NaN()}
	c.Ratio = r.LengthM / c.LengthM
	if det := sum.NN*sum.EE - sum.NE*sum.NE; det > 0 {
		n, e := c.NorthM, c.EastM
		c.ChiSquare = (sum.EE*n*n - 2*sum.NE*n*e + sum.NN*e*e) / det
	}
	c.P = fitChance(c.ChiSquare, 2)
	r.Closure = c
}

// jump takes the log on to where it goes on after a break, if there is one
// before leg i.
func (r *Result) jump(l *Log, i int, o Options) (bool, error) {
	at, c, ok, err := l.resume(i, r.End, o)
	if !ok || err != nil {
		return false, err
	}
	d, b, _ := earth.Inverse(r.End, at)
	g := Gap{After: i, DistanceM: d, To: at}
	if d > 0 {
		sin, cos := sincos(float64(b))
		g.NorthM, g.EastM = d*cos, d*sin
	}
	r.NorthM, r.EastM = r.NorthM+g.NorthM, r.EastM+g.EastM
	r.Gaps = append(r.Gaps, g)
	r.End, r.Covariance = at, c
	return true, nil
}

// ofLeg returns the options with the errors of one leg.
func (o Options) ofLeg(l *Log, leg *Leg) Options {
	if p := l.paceOf(leg); o.Calibrated && p != nil && p.Runs > 1 {
		o.SigmaDistance = p.SD
	}
	return o
}

// paceOf returns the pace that a leg was counted by, nil for none.
func (l *Log) paceOf(leg *Leg) *Pace {
	if leg.Paces == 0 {
		return nil
	}
	return l.paceIn(leg.Condition)
}

// paceIn returns the pace of a condition, that on level ground for one without.
func (l *Log) paceIn(condition string) *Pace {
	for i, c := range l.Conditions {
		if c.Name == condition {
			return &l.Conditions[i].Pace
		}
	}
	return l.Pace
}

// common returns the options with the errors common to all legs: where legs are
// paced and the pace was calibrated, the error of its mean comes to the scale
// bias.
func (o Options) common(l *Log) Options {
	for i := range l.Legs {
		if p := l.paceOf(&l.Legs[i]); p != nil && p == l.Pace && p.Runs > 1 {
			o.ScaleBias = math.Hypot(o.ScaleBias, p.SD/math.Sqrt(float64(p.Runs)))
			break
		}
	}
	return o
}

func (o Options) check() error {
	for _, v := range []struct {
		name  string
		value float64
	}{
		{"error of distance", o.SigmaDistance},
		{"error of bearing", o.SigmaBearingDeg},
		{"scale bias", o.ScaleBias},
		{"bearing bias", o.BearingBiasDeg},
	} {
		if !(v.value >= 0) || math.IsInf(v.value, 0) {
			return fmt.Errorf("reckon: the %s must be a number from 0 up", v.name)
		}
	}
	switch o.Adjust {
	case "", Compass, Transit, LeastSquares:
		return nil
	}
	return fmt.Errorf("reckon: no adjustment %q", string(o.Adjust))
}

// step works out one leg that starts at a position.
func (l *Log) step(leg *Leg, from orb.Point, o Options) (Step, error) {
	nan := math.NaN()
	s := Step{MapM: leg.MapM(), AdjustedNorthM: nan, AdjustedEastM: nan, DeclinationDeg: nan, ConvergenceDeg: nan, To: from}
	if leg.Lost() {
		s.Bearing = earth.True(nan)
		return s, nil
	}
	var err error
	if s.Bearing, s.DeclinationDeg, s.ConvergenceDeg, err = l.true(*leg, from, o); err != nil {
		return s, err
	}
	sin, cos := sincos(float64(s.Bearing))
	s.NorthM, s.EastM = s.MapM*cos, s.MapM*sin
	if l.Placed() {
		s.To, _ = earth.Direct(from, s.Bearing, s.MapM)
	}
	return s, nil
}

// true makes the bearing of a leg, or of a sight, true. It returns the
// declination and the convergence that were applied, NaN for none.
func (l *Log) true(leg Leg, from orb.Point, o Options) (b earth.True, declDeg, convDeg float64, err error) {
	declDeg, convDeg = math.NaN(), math.NaN()
	fault := func(cause error, text, advice string) error {
		return &LogError{File: l.Name, Line: leg.Line, Text: text, Advice: advice, Err: cause}
	}
	switch leg.North {
	case Magnetic:
		d, err := l.declination(leg.Declination, from, leg.Time, o)
		if err != nil {
			text := strings.TrimPrefix(strings.TrimPrefix(err.Error(), "reckon: "), "magnetic: ")
			advice := "add a line declination: 3.2E, or start: and date: for the magnetic model"
			if !errors.Is(err, ErrNoDeclination) {
				advice = "add a line declination: with that of a map, like 3.2E in 2026, 0.2E a year"
			}
			return b, declDeg, convDeg, fault(err, "a magnetic bearing, but "+text, advice)
		}
		return earth.NewMagnetic(leg.BearingDeg).True(d), d, convDeg, nil
	case Grid:
		c := l.convergence(leg.Convergence, from, o)
		if math.IsNaN(c) {
			return b, declDeg, convDeg, fault(ErrNoConvergence, "a grid bearing, but no grid convergence to make it true", "add a line start: with the position of the first leg, or a line convergence: 1.2E")
		}
		return earth.NewGrid(leg.BearingDeg).True(c), declDeg, c, nil
	}
	return earth.NewTrue(leg.BearingDeg), declDeg, convDeg, nil
}

// convergence returns a leg's own convergence, the log's, or that of the place;
// NaN where none is known.
func (l *Log) convergence(own *float64, p orb.Point, o Options) float64 {
	switch {
	case own != nil:
		return *own
	case l.Convergence != nil:
		return *l.Convergence
	case o.Convergence != nil && l.Placed():
		return o.Convergence(p)
	}
	return math.NaN()
}

// sincos returns sine and cosine of an angle in degrees, exact at the quarters
// of the circle, so that a leg due west goes 0 m north, and never -0.
func sincos(deg float64) (sin, cos float64) {
	quarter := math.Round(deg / 90)
	s, c := math.Sincos((deg - 90*quarter) * math.Pi / 180)
	switch int(quarter) & 3 {
	case 0:
		return s, c
	case 1:
		return c, 0 - s
	case 2:
		return 0 - s, -c
	}
	return -c, s
}

// declination returns a leg's own declination, the log's or, per place and time,
// the model's.
func (l *Log) declination(own *Declination, p orb.Point, t time.Time, o Options) (float64, error) {
	if t.IsZero() {
		t = l.Date
	}
	if own == nil {
		own = l.Declination
	}
	if own != nil {
		d := own.At(t)
		if math.IsNaN(d) {
			return d, fmt.Errorf("%w: the declination changes by year and the log has no date", ErrNoDeclination)
		}
		return d, nil
	}
	if o.Declination == nil || !l.Placed() || t.IsZero() {
		return math.NaN(), ErrNoDeclination
	}
	return o.Declination(p, t)
}

// goHome works out the way back.
func (r *Result) goHome(l *Log, o Options) {
	nan := math.NaN()
	h := Home{True: earth.True(nan), Paces: nan}
	if l.Placed() {
		h.DistanceM, h.True, _ = earth.Inverse(r.End, l.Start)
	} else {
		h.DistanceM = math.Hypot(r.NorthM, r.EastM)
		if h.DistanceM > 0 {
			h.True = earth.NewTrue(math.Atan2(-r.EastM, -r.NorthM) * 180 / math.Pi)
		}
	}
	if l.Pace != nil {
		h.Paces = h.DistanceM / l.Pace.Metres()
	}
	var err error
	if h.Magnetic, h.Grid, err = l.norths(h.True, r.End, l.timeAt(len(l.Legs)), o); err != nil {
		r.Warnings = append(r.Warnings, Warning{
			Line: l.Legs[len(l.Legs)-1].Line, Text: "no magnetic bearing for the way home: " + err.Error()})
	}
	r.Home = h
}

// norths returns a bearing at a place as a compass and as the grid have it, NaN
// where they are not known. An error says that the magnetic model has none there.
func (l *Log) norths(b earth.True, at orb.Point, t time.Time, o Options) (m earth.Magnetic, g earth.Grid, err error) {
	m, g = earth.Magnetic(math.NaN()), earth.Grid(math.NaN())
	d, err := l.declination(nil, at, t, o)
	switch {
	case err == nil:
		m = b.Magnetic(d)
	case errors.Is(err, ErrNoDeclination):
		err = nil
	}
	if c := l.convergence(nil, at, o); !math.IsNaN(c) {
		g = b.Grid(c)
	}
	return m, g, err
}

// timeAt returns the time of the last of the first n legs that has one, else zero.
func (l *Log) timeAt(n int) time.Time {
	for i := n - 1; i >= 0; i-- {
		if t := l.Legs[i].Time; !t.IsZero() {
			return t
		}
	}
	return time.Time{}
}
