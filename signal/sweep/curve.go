package sweep

import (
	"math"

	"farhail/signal/sighting"
)

// A Curve is the lateral range curve of a pass and what follows from it.
type Curve struct {
	WidthM  float64 // sweep width W [m], both sides together
	OnTrack float64 // chance of seeing a target on the path itself
	// HalfM is the lateral distance where the chance is one half [m], 0 where
	// it is less on the track itself; "noticed" for a party that passes.
	HalfM float64
	Band  float64 // W may be larger or smaller by this factor

	pass  Pass
	rates []rates
	endM  float64 // distance beyond which nothing is seen
}

const (
	// clearEnds ends the tables among plants, in mean clear lines.
	clearEnds = 25
	// Points of the integrals; twice as many change W by less than 0.1 %.
	sideSteps = 120
	pathSteps = 100
)

// Solve works out the lateral range curve. An impossible value is an error. It
// takes some tens of milliseconds.
//
// W is the integral of the curve, to 0.2 % of what the rates give.
func (p Pass) Solve() (*Curve, error) { return p.solve(1) }

// solve is Solve with a wider window of distances.
func (p Pass) solve(window float64) (*Curve, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	q := p.query()
	w, err := q.Watch()
	if err != nil {
		return nil, err
	}
	c := &Curve{pass: p, endM: p.endM(q, w, window), Band: p.Band()}
	each := offsetEach
	if p.NoOffset {
		each = 0
	}
	for i := -each; i <= each; i++ {
		c.rates = append(c.rates, newRates(w.Raised(float64(i)*offsetStep), p.nearestM(), c.endM))
	}
	end := 0.0
	for _, r := range c.rates {
		end = max(end, r.endM)
	}
	c.endM = min(c.endM, end)
	c.OnTrack = c.Chance(0)
	c.widths()
	return c, nil
}

// AtSpeed returns the curve of the same pass at another speed [m/s], quicker than
// solving it again.
func (c *Curve) AtSpeed(speedMS float64) (*Curve, error) {
	other := *c
	other.pass.SpeedMS = speedMS
	if err := other.pass.Check(); err != nil {
		return nil, err
	}
	other.WidthM, other.HalfM = 0, 0
	other.OnTrack = other.Chance(0)
	other.widths()
	return &other, nil
}

// nearestM returns a distance that the watcher is never nearer than [m], with a row
// of [Passing]'s tables to spare.
func (p Pass) nearestM() float64 {
	return max(p.heightM()*math.Exp(-passingStepρ), ratesNearestM)
}

// endM returns the distance beyond which nothing is looked for, whatever the offset [m].
func (p Pass) endM(q sighting.Query, w sighting.Watch, window float64) float64 {
	luckiest := w
	if !p.NoOffset {
		luckiest = w.Raised(-offsetEach * offsetStep)
	}
	end := min(luckiest.FarthestM(), clearEnds*window*p.Plants.ClearM())
	if q.Ground == sighting.RoundEarth {
		end = min(end, q.Air.GeographicM(q.EyeM, q.SignalM))
	}
	return end
}

// widths fills in W and the half distance.
func (c *Curve) widths() {
	end := c.endM
	if c.pass.ScanLimitM > 0 {
		end = min(end, c.pass.ScanLimitM)
	}
	// Midpoint rule in ln x from a place so near the track that the chance is
	// still that of the track.
	if end == 0 {
		return
	}
	first := min(ratesNearestM, end)
	ratio := math.Pow(end/first, 1.0/sideSteps)
	sum := first * c.Chance(first/2)
	lastX, lastP := 0.0, c.OnTrack
	for i := range sideSteps {
		lo := first * math.Pow(ratio, float64(i))
		x := lo * math.Sqrt(ratio)
		p := c.Chance(x)
		sum += p * lo * (ratio - 1)
		if lastP >= 0.5 && p < 0.5 {
			c.HalfM = c.half(lastX, x)
		}
		lastX, lastP = x, p
	}
	if lastP >= 0.5 {
		c.HalfM = c.half(lastX, end)
	}
	c.WidthM = 2 * sum
}

// half returns where the chance is one half between two lateral distances.
func (c *Curve) half(lo, hi float64) float64 {
	for hi-lo > 1e-6*hi {
		mid := (lo + hi) / 2
		if c.Chance(mid) >= 0.5 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// Chance returns the chance that one pass at the given lateral distance [m]
// shows the target.
func (c *Curve) Chance(xM float64) float64 {
	p := c.chances(xM)
	if c.pass.NoOffset {
		return p[0]
	}
	return mean(p)
}

// ChanceOfSeveral returns the chance that at least one of so many watchers who
// pass together at the given lateral distance [m] sees the target.
func (c *Curve) ChanceOfSeveral(xM float64, watchers int) float64 {
	p := c.chances(xM)
	if c.pass.NoOffset {
		return 1 - math.Pow(1-p[0], float64(watchers))
	}
	return several(p, watchers)
}

// chances returns the chance at a lateral distance for each offset, 1 - e^(-F).
func (c *Curve) chances(xM float64) (p [offsets]float64) {
	path := c.path(xM)
	for i, r := range c.rates {
		p[i] = -math.Expm1(-c.hazard(path, r))
	}
	return p
}

// A stand is a place on the path from which the target is looked for.
type stand struct {
	distM  float64
	step   int     // in the tables of rates
	part   float64 // of the step
	length float64 // of path that it stands for, times the chance that the line is clear [m]
}

// path divides the path past a target at a lateral distance. Simpson's rule in
// t, s = ρ sinh t: the distance is ρ cosh t, and every power law is smooth in
// it.
func (c *Curve) path(xM float64) []stand {
	p := c.pass
	if p.ScanLimitM > 0 && xM > p.ScanLimitM {
		return nil
	}
	h := p.heightM()
	// Much nearer than the tables' first distance the rate no longer changes.
	ρ := max(math.Hypot(xM, h), ratesNearestM/10)
	if ρ >= c.endM {
		return nil
	}
	near, far := p.stretch(xM)
	reach := math.Sqrt(c.endM*c.endM - ρ*ρ)
	near, far = max(near, -reach), min(far, reach)
	if near >= far {
		return nil
	}
	clear := p.Plants.ClearM()
	from, to := math.Asinh(near/ρ), math.Asinh(far/ρ)
	step := (to - from) / pathSteps
	if p.Abeam {
		step *= 2 // behind abeam as before it
	}
	stands := make([]stand, pathSteps+1)
	for i := range stands {
		d := ρ * math.Cosh(from+float64(i)*(to-from)/pathSteps)
		length := d * step / 3
		switch {
		case i == 0 || i == pathSteps:
		case i%2 == 1:
			length *= 4
		default:
			length *= 2
		}
		length *= math.Exp(-d / clear)
		if p.Grazing && h > 0 {
			length *= math.Exp(-GrazingPerM * d / h)
		}
		stands[i].step, stands[i].part = place(math.Log(d))
		stands[i].distM, stands[i].length = d, length
	}
	return stands
}

// hazard returns F: the rate of finding, added up along the path over the
// speed. Among plants the line is clear over one window of path at a time,
// and each clear window shows the target with chance 1 - e^(-rate
// window/speed).
func (c *Curve) hazard(path []stand, r rates) float64 {
	amongPlants := !math.IsInf(c.pass.Plants.ClearM(), 1)
	sum := 0.0
	for _, s := range path {
		if s.distM > r.endM {
			continue
		}
		perM := r.at(s.step, s.part) / c.pass.SpeedMS
		if amongPlants {
			perM = -math.Expm1(-perM*WindowM) / WindowM
		}
		sum += perM * s.length
	}
	return sum
}
