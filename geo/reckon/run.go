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
}

// Result is where a log leads.
type Result struct {
	NorthM, EastM float64   // plain sums over the legs [m]
	LengthM       float64   // sum of the legs on the map [m]
	End           orb.Point // chained by geodesics; NaN where the log states no start
	Home          Home
	// Covariance of the end relative to the start [m²], and its ellipses of one
	// standard deviation (39 %), 50 % and 95 %.
	Covariance                  earth.Covariance
	Sigma, Ellipse50, Ellipse95 earth.Ellipse
	Closure                     *Closure // nil unless the log was to be closed
	Legs                        []Step
	Warnings                    []Warning // the log's, and what could not be computed
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
}

// Step is a leg worked out.
type Step struct {
	Bearing                       earth.True
	MapM                          float64   // distance on the map [m]
	NorthM, EastM                 float64   // [m]
	AdjustedNorthM, AdjustedEastM float64   // after the closure was spread [m]; NaN unless it was
	DeclinationDeg                float64   // applied; NaN where none was
	ConvergenceDeg                float64   // applied; NaN where none was
	To                            orb.Point // end of the leg; NaN where the log states no start
}

// Run works out a log. Errors are *[LogError] with the line of the leg that
// cannot be worked out, or for a wrong option plain ones.
func Run(l *Log, o Options) (*Result, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	r := &Result{End: l.Start, Warnings: append([]Warning(nil), l.Warnings...)}
	var leg []earth.Covariance
	for i := range l.Legs {
		s, err := l.step(&l.Legs[i], r.End, o)
		if err != nil {
			return nil, err
		}
		r.End = s.To
		r.NorthM += s.NorthM
		r.EastM += s.EastM
		r.LengthM += s.MapM
		c := o.legCovariance(s)
		leg = append(leg, c)
		r.Covariance = r.Covariance.Plus(c)
		r.Legs = append(r.Legs, s)
	}
	independent := r.Covariance
	r.Covariance = independent.Plus(o.commonCovariance(r.NorthM, r.EastM))
	r.Sigma = r.Covariance.SigmaEllipse()
	r.Ellipse50 = r.Covariance.Ellipse(0.50)
	r.Ellipse95 = r.Covariance.Ellipse(0.95)
	r.goHome(l, o)
	if o.Close || o.Adjust != "" {
		c := &Closure{NorthM: r.NorthM, EastM: r.EastM, LengthM: math.Hypot(r.NorthM, r.EastM)}
		c.Ratio = r.LengthM / c.LengthM
		r.Closure = c
	}
	if o.Adjust != "" {
		if err := r.adjust(o.Adjust, leg, independent); err != nil {
			return nil, err
		}
	}
	return r, nil
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
	fault := func(cause error, text, advice string) error {
		return &LogError{File: l.Name, Line: leg.Line, Text: text, Advice: advice, Err: cause}
	}
	switch leg.North {
	case Magnetic:
		d, err := l.declination(from, leg.Time, o)
		if err != nil {
			text := strings.TrimPrefix(strings.TrimPrefix(err.Error(), "reckon: "), "magnetic: ")
			advice := "add a line declination: 3.2E, or start: and date: for the magnetic model"
			if !errors.Is(err, ErrNoDeclination) {
				advice = "add a line declination: with that of a map, like 3.2E in 2026, 0.2E a year"
			}
			return s, fault(err, "a magnetic bearing, but "+text, advice)
		}
		s.DeclinationDeg = d
		s.Bearing = earth.NewMagnetic(leg.BearingDeg).True(d)
	case Grid:
		if o.Convergence == nil || !l.Placed() {
			return s, fault(ErrNoConvergence, "a grid bearing, but no grid convergence to make it true", "add a line start: with the position of the first leg")
		}
		s.ConvergenceDeg = o.Convergence(from)
		s.Bearing = earth.NewGrid(leg.BearingDeg).True(s.ConvergenceDeg)
	default:
		s.Bearing = earth.NewTrue(leg.BearingDeg)
	}
	sin, cos := sincos(float64(s.Bearing))
	s.NorthM, s.EastM = s.MapM*cos, s.MapM*sin
	if l.Placed() {
		s.To, _ = earth.Direct(from, s.Bearing, s.MapM)
	}
	return s, nil
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

// declination returns the log's own declination or, per place and time, the
// model's.
func (l *Log) declination(p orb.Point, t time.Time, o Options) (float64, error) {
	if t.IsZero() {
		t = l.Date
	}
	if l.Declination != nil {
		d := l.Declination.At(t)
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
	h := Home{True: earth.True(nan), Magnetic: earth.Magnetic(nan), Grid: earth.Grid(nan), Paces: nan}
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
	if d, err := l.declination(r.End, l.lastTime(), o); err == nil {
		h.Magnetic = h.True.Magnetic(d)
	} else if !errors.Is(err, ErrNoDeclination) {
		r.Warnings = append(r.Warnings, Warning{
			Line: l.Legs[len(l.Legs)-1].Line, Text: "no magnetic bearing for the way home: " + err.Error()})
	}
	if o.Convergence != nil && l.Placed() {
		h.Grid = h.True.Grid(o.Convergence(r.End))
	}
	r.Home = h
}

// lastTime returns the time of the last leg that has one, else zero.
func (l *Log) lastTime() time.Time {
	for i := len(l.Legs) - 1; i >= 0; i-- {
		if t := l.Legs[i].Time; !t.IsZero() {
			return t
		}
	}
	return time.Time{}
}
