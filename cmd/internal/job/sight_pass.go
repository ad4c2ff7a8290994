package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/signal/sighting"
	"farhail/signal/source"
	"farhail/signal/sweep"
)

// passable says why nobody can be judged who passes a signal; nil where they can.
func passable(q sighting.Query) error {
	switch {
	case !q.Observer.Law.HasLobe():
		return fmt.Errorf("%s has no visual lobe, which a pass rests on", q.Observer.Law.Name())
	case q.Source.Kind() == source.KindMirror:
		return fmt.Errorf("a pass does not go with a mirror: its flash is aimed by hand at whom its holder sees")
	}
	return nil
}

// pass judges an observer who passes the signal: noticed is the distance to the
// side at which half of all passes see it, and the sweep width follows.
func (r SightRequest) pass(q sighting.Query, out *SightResult) error {
	if out.SightLine != nil || q.Ground == sighting.LineBlocked || q.Ground == sighting.LineUnknown {
		return fmt.Errorf("a pass is over open ground: it does not go with a line over terrain")
	}
	if err := passable(q); err != nil {
		return err
	}
	point := q.Source.Toward(q.View).Point()
	p := r.passOf(q, float64(out.Inputs.Looking.SpeedMS))
	c, err := solvePass(&p)
	if err != nil {
		return err
	}
	r.passFactors(q, out)
	width, band := c.WidthM, c.Band
	if r.Fatigued {
		width *= fatigueFactor
		out.Inputs.Factors = append(out.Inputs.Factors, sweepFactor("fatigue", fatigueFactor, "", "US National SAR Manual: excessive fatigue, as reported; on the width alone"))
	}
	scanLimitM := math.NaN()
	if !point {
		scanLimitM = p.ScanLimitM
	}
	out.SweepWidthM = cli.Len(width)
	out.Sweep = &SightSweep{
		Band: cli.Num(band), ScanLimitM: cli.Len(scanLimitM), Clutter: out.Inputs.Looking.Clutter, OnTrackChance: cli.Num(math.NaN()),
		BeyondTrials: !point && width > 2*confirmedM,
	}
	best := float64(out.PerceptibleM)
	noticed := c.HalfM
	if noticed > best*(1-halfWidth) {
		noticed = best
	}
	if q.Aloft {
		noticed = min(aircraftNoticedM(width), best)
		out.Inputs.Factors = append(out.Inputs.Factors,
			sweepFactor("width over the distance that half of all passes see", inverseCubeHalf, "", "inverse cube law (Koopman 1946) of the same width: the shape of the model's own curve from the air is wrong, and it is not given"),
			grazingFactor)
	} else {
		if p.Grazing {
			out.Inputs.Factors = append(out.Inputs.Factors, grazingFactor)
		}
		out.Sweep.OnTrackChance = cli.Num(c.OnTrack)
		out.Inputs.Factors = append(out.Inputs.Factors, sweepFactor("chance on the path itself", c.OnTrack, "", "by the model"))
	}
	out.LuminousNoticedM = cli.Len(noticed)
	if plants := r.plants(); plants != (sweep.Plants{}) {
		out.LuminousNoticedM = cli.Len(math.NaN())
		out.Cautions = append(out.Cautions, fmt.Sprintf("perceptible is along a clear line: among these plants half of all lines are clear for %s, and on the way other lines open", Distance(plants.HalfClearM())))
	}
	if err := r.passLimit(q, noticed, out); err != nil {
		return err
	}
	out.NoticedM = cli.Len(noticed)
	out.Why = why(out)
	ends := func(by float64) SightBand {
		return SightBand{cli.Len(min(noticed*by, best)), cli.Len(math.NaN()), cli.Len(width * by)}
	}
	out.Low, out.Mid, out.High = ends(1/band), ends(1), ends(band)
	out.Inputs.Factors = append(out.Inputs.Factors,
		sweepFactor("offset of the threshold, standard deviation", sweep.OffsetSD, "log10", "own choice: half of it is the target's and the day's, half the watcher's"),
		sweepFactor("band of the width", band, "", "either way; fits to published widths"))
	if r.plants() != (sweep.Plants{}) {
		out.Inputs.Factors = append(out.Inputs.Factors, sweepFactor("window of a clear line", sweep.WindowM, "m", "own estimate, 1 to 4"))
	}
	if !point {
		out.Inputs.Factors = append(out.Inputs.Factors, sweepFactor("scan limit to a side", p.ScanLimitM, "m", "nobody looks for unlit things past the range that they expect; fitted to air search over land"))
	}
	if out.Sweep.BeyondTrials {
		out.Cautions = append(out.Cautions, "not confirmed by any trial: widths of unlit things beyond 1 km to a side")
	}
	if !r.Measured.given() {
		out.Cautions = append(out.Cautions, "a width that you measured yourselves (1.8, 1.6 or 1.1 times the detection range, for bright, middling and dull things) wins over this one")
	}
	return r.Measured.wins(out)
}

// halfWidth is how closely the distance of one half is found, as a share of it.
const halfWidth = 1e-5

// passFactors puts what the rate of finding rests on in the place of what a look over
// a sector does.
func (r SightRequest) passFactors(q sighting.Query, out *SightResult) {
	kept := []SightFactor{}
	for _, f := range out.Inputs.Factors {
		if f.For != "noticed" {
			kept = append(kept, f)
		}
	}
	for _, f := range factors(q.PassFactors()) {
		kept = append(kept, SightFactor{"noticed", f})
	}
	out.Inputs.Factors = kept
}

// passOf returns the pass of a query.
func (r SightRequest) passOf(q sighting.Query, speedMS float64) sweep.Pass {
	unlit := !q.Source.Toward(q.View).Point()
	p := sweep.Pass{Query: q, SpeedMS: speedMS, Plants: r.plants(), Abeam: q.Aloft, Grazing: q.Aloft || unlit && q.SignalM <= lowM}
	if unlit {
		p.ScanLimitM = sweep.ScanLimitM(q.Air.VisibilityM)
	}
	return p
}

// lowM is how low a thing must lie to be hidden by low growth and small humps from
// people on foot as from an aircraft [m]: own choice.
const lowM = 0.5

// A SightSweep is what a modelled sweep width rests on.
type SightSweep struct {
	Band          cli.Num `json:"band"`            // it may be larger or smaller by this factor
	ScanLimitM    cli.Len `json:"scan_limit_m"`    // to either side, beyond which nobody looks; null for what shines
	Clutter       string  `json:"clutter"`         // behind it
	OnTrackChance cli.Num `json:"on_track_chance"` // null from the air, where the model's curve is wrong
	BeyondTrials  bool    `json:"beyond_trials"`   // no trial confirms such a width
}

// passLimit says what ends the distance to the side.
func (r SightRequest) passLimit(q sighting.Query, noticed float64, out *SightResult) error {
	switch {
	case noticed >= float64(out.PerceptibleM):
		out.LimitNoticed = out.Limit
	case r.plants() != (sweep.Plants{}):
		out.LimitNoticed = string(sighting.Vegetation)
	default:
		w, err := q.Watch()
		if err != nil {
			return err
		}
		out.LimitNoticed = string(w.Limit(noticed))
	}
	return nil
}

var grazingFactor = sweepFactor("grazing", sweep.GrazingPerM, "", "own estimate, 0 to 0.05: low growth leaves e^(-0.02 range/height) of the lines clear")

func sweepFactor(name string, value float64, unit, from string) SightFactor {
	return SightFactor{"sweep", Factor{Name: name, Value: cli.Num(value), Unit: unit, Source: from}}
}

// confirmedM is how far trials of unlit things reach [m].
const confirmedM = 1000

// solvePass solves a pass. From the air a signal that shows otherwise from
// above is taken as it shows from where most are found, a quarter of the width
// to the side; one that shows nothing there, like a level beam, is refused.
func solvePass(p *sweep.Pass) (*sweep.Curve, error) {
	q := &p.Query
	if !q.Aloft {
		return p.Solve()
	}
	side := func(xM float64) source.Appearance {
		q.View.ElevationDeg = math.Atan2(q.EyeM-q.SignalM, xM) * 180 / math.Pi
		return q.Source.Toward(q.View)
	}
	look := side(math.Inf(1))
	steep := side(0)
	if look.Point() && look != steep {
		return nil, fmt.Errorf("a pass by an aircraft needs a light that shines all round: a narrow beam is met from ever other sides")
	}
	c, err := p.Solve()
	if err != nil || look == steep {
		return c, err
	}
	const steps = 4
	for range steps {
		side(max(c.WidthM/4, 1))
		if c, err = p.Solve(); err != nil {
			return nil, err
		}
	}
	return c, nil
}
