package job

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"path"
	"path/filepath"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/magnetic"
	"farhail/geo/reckon"

	"github.com/paulmach/orb"
)

// Reckon is a leg log worked out.
type Reckon struct {
	Log        string        `json:"log"`
	NorthM     cli.Len       `json:"north_m"`
	EastM      cli.Len       `json:"east_m"`
	Start      LatLon        `json:"start"`
	End        LatLon        `json:"end"`
	LengthM    cli.Len       `json:"length_m"`
	Home       Home          `json:"home"`
	Covariance [2][2]cli.Num `json:"covariance_m2"` // [[nn, ne], [ne, ee]]
	Sigma      Ellipse       `json:"sigma_ellipse"`
	Ellipse50  Ellipse       `json:"ellipse50"`
	Ellipse95  Ellipse       `json:"ellipse95"`
	Closure    *Closure      `json:"closure"`
	Legs       []Leg         `json:"legs"`
	// CommonShare is how much of the covariance is due to errors common to all
	// legs, from 0 to 1; null without any error.
	CommonShare cli.Num      `json:"common_share"`
	Gaps        []Gap        `json:"gaps"`  // stretches that were not logged
	Fit         *Fit         `json:"fit"`   // null where nothing is known on the way
	Slips       *Slips       `json:"slips"` // null unless the log was closed, or joined to what is known
	HomeLegs    []BackLeg    `json:"home_legs"`
	StakeMap    *StakeMap    `json:"stake_map"` // null unless a patch was stated
	Against     *ScoredLog   `json:"against"`   // null unless held against a track
	Inputs      ReckonInputs `json:"inputs"`
	// Path is the positions of the log from its start to its end, empty where
	// the log states no start.
	Path []orb.Point `json:"-"`
}

// A Gap is a stretch that was not logged.
type Gap struct {
	AfterLeg  int     `json:"after_leg"`
	DistanceM cli.Len `json:"distance_m"`
	LatLon
}

// A Fit is how the log agrees with what is known on the way.
type Fit struct {
	ChiSquare cli.Num  `json:"chi_square"`
	DOF       int      `json:"degrees_of_freedom"`
	P         cli.Num  `json:"p"` // chance of a fit as bad or worse by the errors stated
	Known     []FitRow `json:"known"`
	WorstLeg  int      `json:"worst_leg"` // that a change of would mend the fit most, from 1; 0 where none stands out
	WorstBy   cli.Num  `json:"worst_leg_standardised"`
	Legs      []FitLeg `json:"legs"`
	// ScaleShare and TurnDeg are what the fit finds of the errors common to all legs:
	// longer by that share than logged, and turned clockwise; 0 where none is taken.
	ScaleShare cli.Num `json:"scale_share"`
	TurnDeg    cli.Num `json:"turn_deg"`
}

// A FitLeg is what a fit says of one leg, in standard deviations: by how much a change
// of it would mend the fit, and its residuals along it (longer than logged) and across
// (to the right).
type FitLeg struct {
	Standardised cli.Num `json:"standardised"`
	Along        cli.Num `json:"along"`
	Across       cli.Num `json:"across"`
}

// A FitRow is how one known place, line or bearing fits.
type FitRow struct {
	AfterLeg     int     `json:"after_leg"`
	Kind         string  `json:"kind"` // at, on or sight
	Name         string  `json:"name"`
	MissM        cli.Len `json:"miss_m"` // of the log alone
	MissDeg      cli.Num `json:"miss_deg"`
	Standardised cli.Num `json:"standardised"`
}

func fitOf(l *reckon.Log, g *reckon.Result) *Fit {
	if g.Fit == nil {
		return nil
	}
	out := &Fit{ChiSquare: cli.Num(g.Fit.ChiSquare), DOF: g.Fit.DOF, P: cli.Num(g.Fit.P), WorstBy: cli.Num(math.NaN()), ScaleShare: cli.Num(g.Fit.ScaleShare), TurnDeg: cli.Num(g.Fit.TurnDeg)}
	for _, row := range g.Fit.Rows {
		k := l.Known[row.Known]
		out.Known = append(out.Known, FitRow{k.After, string(k.Kind), k.Name, cli.Len(row.MissM), cli.Num(row.MissDeg), cli.Num(row.Standardised)})
	}
	for i, s := range g.Fit.Legs {
		out.Legs = append(out.Legs, FitLeg{cli.Num(s.Shock), cli.Num(s.Along), cli.Num(s.Across)})
		if s.Shock > 0 && !(s.Shock <= float64(out.WorstBy)) {
			out.WorstLeg, out.WorstBy = i+1, cli.Num(s.Shock)
		}
	}
	return out
}

// LatLon is a position in JSON; both are null where it is not known.
type LatLon struct {
	Lat cli.Deg `json:"lat"`
	Lon cli.Deg `json:"lon"`
}

func latLon(p orb.Point) LatLon { return LatLon{cli.Deg(p.Lat()), cli.Deg(p.Lon())} }

// Point returns the position as longitude and latitude.
func (l LatLon) Point() orb.Point { return orb.Point{float64(l.Lon), float64(l.Lat)} }

// Home is the straight way back: a line, not a safe path.
type Home struct {
	TrueDeg     cli.Angle `json:"bearing_true_deg"`
	MagneticDeg cli.Angle `json:"bearing_magnetic_deg"`
	GridDeg     cli.Angle `json:"bearing_grid_deg"`
	DistanceM   cli.Len   `json:"distance_m"`
	Paces       cli.Num   `json:"paces"`
}

// Ellipse is an error ellipse; the azimuth is that of the major axis, true.
type Ellipse struct {
	MajorM     cli.Len       `json:"major_m"`
	MinorM     cli.Len       `json:"minor_m"`
	AzimuthDeg cli.Num       `json:"azimuth_deg"`
	Shape      earth.Ellipse `json:"-"`
}

func ellipse(e earth.Ellipse) Ellipse {
	return Ellipse{cli.Len(e.MajorM), cli.Len(e.MinorM), cli.Num(e.AzimuthDeg), e}
}

// Closure is what a log that should end at its start misses it by.
type Closure struct {
	NorthM  cli.Len `json:"north_m"`
	EastM   cli.Len `json:"east_m"`
	LengthM cli.Len `json:"length_m"`
	Ratio   cli.Num `json:"ratio"`
	// ChiSquare is what is missing over its covariance, with 2 degrees of freedom, and
	// P its chance by the errors stated.
	ChiSquare cli.Num `json:"chi_square"`
	P         cli.Num `json:"p"`
}

// Leg is one leg worked out.
type Leg struct {
	TrueDeg        cli.Angle `json:"bearing_true_deg"`
	DistanceM      cli.Len   `json:"distance_m"`
	NorthM         cli.Len   `json:"north_m"`
	EastM          cli.Len   `json:"east_m"`
	AdjustedNorthM cli.Len   `json:"adjusted_north_m"`
	AdjustedEastM  cli.Len   `json:"adjusted_east_m"`
	DeclinationDeg cli.Num   `json:"declination_deg"` // applied; null where none was
	ConvergenceDeg cli.Num   `json:"convergence_deg"` // applied; null where none was
	Note           string    `json:"note"`
}

// ReadLog reads a leg log of fsys. Its start may be a waypoint, FILE.gpx#NAME,
// of a file seen from the log's folder.
func ReadLog(fsys fs.FS, name string) (*reckon.Log, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	return reckon.ParseLogWith(f, name, func(text string) (orb.Point, error) {
		if file := cli.WaypointFile(text); file != "" && !filepath.IsAbs(file) {
			text = path.Join(path.Dir(filepath.ToSlash(name)), text)
		}
		if pos, ours, err := cli.Waypoint(fsys, text); ours {
			return pos.Point, err
		}
		pos, err := coord.Parse(text)
		return pos.Point, err
	})
}

// ReckonLog works out one log. Where the options give no declination, that of
// the magnetic model at the log's date is taken; where they give no convergence,
// that of the UTM zone of the log's start.
func ReckonLog(l *reckon.Log, o AskedLog) (*Reckon, []reckon.Warning, error) {
	o.norths(l)
	inputs := o.settle(l)
	g, err := reckon.Run(l, o.Options)
	if err != nil {
		return nil, nil, err
	}
	out := &Reckon{
		Log: l.Name, NorthM: cli.Len(g.NorthM), EastM: cli.Len(g.EastM), Start: latLon(l.Start), End: latLon(g.End), LengthM: cli.Len(g.LengthM),
		Home: Home{
			TrueDeg: cli.Angle(g.Home.True), MagneticDeg: cli.Angle(g.Home.Magnetic), GridDeg: cli.Angle(g.Home.Grid),
			DistanceM: cli.Len(g.Home.DistanceM), Paces: cli.Num(g.Home.Paces),
		},
		Covariance: [2][2]cli.Num{
			{cli.Num(g.Covariance.NN), cli.Num(g.Covariance.NE)}, {cli.Num(g.Covariance.NE), cli.Num(g.Covariance.EE)},
		},
		CommonShare: cli.Num(g.CommonShare), Gaps: []Gap{}, Fit: fitOf(l, g),
		Sigma: ellipse(g.Sigma), Ellipse50: ellipse(g.Ellipse50), Ellipse95: ellipse(g.Ellipse95),
		Slips: slipsOf(l, g.Slips), HomeLegs: backOf(l, g), Inputs: inputs,
	}
	if out.StakeMap, err = stakes(l, g, o); err != nil {
		return nil, nil, err
	}
	if c := g.Closure; c != nil {
		out.Closure = &Closure{cli.Len(c.NorthM), cli.Len(c.EastM), cli.Len(c.LengthM), cli.Num(c.Ratio), cli.Num(c.ChiSquare), cli.Num(c.P)}
	}
	for _, gap := range g.Gaps {
		out.Gaps = append(out.Gaps, Gap{gap.After, cli.Len(gap.DistanceM), latLon(gap.To)})
	}
	for i, s := range g.Legs {
		out.Legs = append(out.Legs, Leg{
			cli.Angle(s.Bearing), cli.Len(s.MapM), cli.Len(s.NorthM), cli.Len(s.EastM),
			cli.Len(s.AdjustedNorthM), cli.Len(s.AdjustedEastM), cli.Num(s.DeclinationDeg), cli.Num(s.ConvergenceDeg), l.Legs[i].Note,
		})
	}
	if l.Placed() {
		out.Path = append(out.Path, l.Start)
		for _, s := range g.Legs {
			out.Path = append(out.Path, s.To)
		}
	}
	return out, g.Warnings, nil
}

// norths fills in what makes bearings true where nobody stated it.
func (a *AskedLog) norths(l *reckon.Log) {
	if a.Declination == nil {
		a.Declination = declination
	}
	if a.Convergence == nil && l.Placed() {
		a.Convergence = convergenceAt(l.Start)
	}
}

func declination(p orb.Point, t time.Time) (float64, error) {
	f, err := magnetic.At(p, 0, t)
	if err != nil {
		return math.NaN(), err
	}
	return f.DeclinationDeg, nil
}

// loggedBy returns how the plan has its traveller's logs worked out.
func loggedBy(t plan.Traveller) AskedLog {
	return AskedLog{
		Options: reckon.Options{
			SigmaDistance: t.SigmaDistance, SigmaBearingDeg: t.SigmaBearingDeg, ScaleBias: t.ScaleBias, BearingBiasDeg: t.BearingBiasDeg,
		},
		Stated: StatedErrors(t.LogErrorsStated),
	}
}

// reckon works out the traveller's log. A log that does not say where it
// starts is taken to start where the plan does.
func (r *run) reckon(context.Context) error {
	t := r.plan.Traveller
	if t.Log == "" {
		r.leaveOut("position by the log: the plan names no log (traveller: log:)")
		return nil
	}
	l, err := ReadLog(r.fsys, t.Log)
	if err != nil {
		return err
	}
	if s, ok := ringStart(r.plan.Starts); ok && !l.Placed() {
		l.Start = s.Point
		r.warn(t.Log+": the log states no start and is taken to begin at "+s.Name, "add a line start: with a position to the log")
	}
	out, warnings, err := ReckonLog(l, loggedBy(t))
	if err != nil {
		return err
	}
	for _, w := range warnings {
		r.warn(fmt.Sprintf("%s:%d: %s", t.Log, w.Line, w.Text), w.Hint)
	}
	r.result.Reckon = out
	return nil
}
