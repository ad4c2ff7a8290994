package sweep

import (
	"fmt"
	"math"
)

// A Passing is a lateral range curve for straight legs that begin and end
// anywhere: what each metre of a leg adds to the rate of finding, summed up from
// abeam of the target outwards. A whole straight path gives [Curve.Chance].
type Passing struct {
	WidthM float64 // sweep width [m]: the model's, or the one that was measured

	pass  Pass
	scale float64 // by which distances of the model are stretched
	endM  float64 // distance beyond which nothing is seen, stretched
	// Each table holds, for one offset of the threshold, ln of the hazard of all
	// path beyond ρ sinh t from abeam, on one side, row by row of ρ, in equal steps
	// of ln ρ and t. Sums from the far end inwards keep legs that end short of the
	// target exact.
	tables  [offsets][]float32
	used    int // tables: all, or one with NoOffset
	steps   int // of t
	nearest float64
}

const (
	passingStepρ = 0.1
	passingStepT = 0.1
	nothing      = -700 // ln of no hazard at all
)

// Passing returns the table of a curve. A width that searchers measured on the
// spot [m] wins over the model's: distances are then stretched so that the curve
// has that width, and keeps its shape. NaN takes the model's width.
func (c *Curve) Passing(measuredM float64) (*Passing, error) {
	p := &Passing{WidthM: c.WidthM, pass: c.pass, scale: 1, used: len(c.rates), nearest: ratesNearestM / 10}
	switch {
	case math.IsNaN(measuredM):
	case !(measuredM >= 0) || math.IsInf(measuredM, 1):
		return nil, fmt.Errorf("sweep: width %g m is not a number from 0 up", measuredM)
	case c.WidthM == 0 && measuredM > 0:
		return nil, fmt.Errorf("sweep: the model sees nothing, so that a measured width of %g m has no shape", measuredM)
	case c.WidthM > 0:
		p.WidthM, p.scale = measuredM, measuredM/c.WidthM
	}
	p.endM = c.endM * p.scale
	if p.endM == 0 {
		return p, nil
	}
	rows := int(math.Ceil(math.Log(max(c.endM/p.nearest, 1))/passingStepρ)) + 2
	p.steps = int(math.Ceil(math.Asinh(c.endM/p.nearest)/passingStepT)) + 2
	for i, r := range c.rates {
		p.tables[i] = c.passingTable(r, rows, p.steps, p.nearest)
	}
	return p, nil
}

// passingTable sums hazards along the path, by Simpson's rule in t as in
// [Curve.path].
func (c *Curve) passingTable(r rates, rows, steps int, nearestM float64) []float32 {
	table := make([]float32, rows*steps)
	clear, h := c.pass.Plants.ClearM(), c.pass.heightM()
	amongPlants := !math.IsInf(clear, 1)
	density := func(ρ, t float64) float64 { // hazard per unit of t
		d := ρ * math.Cosh(t)
		if d > r.endM {
			return 0
		}
		perM := r.at(place(math.Log(d))) / c.pass.SpeedMS
		if amongPlants {
			perM = -math.Expm1(-perM*WindowM) / WindowM * math.Exp(-d/clear)
		}
		if c.pass.Grazing && h > 0 {
			perM *= math.Exp(-GrazingPerM * d / h)
		}
		return perM * d
	}
	for row := range rows {
		ρ := nearestM * math.Exp(float64(row)*passingStepρ)
		line := table[row*steps : (row+1)*steps]
		line[steps-1] = nothing
		sum, last := 0.0, density(ρ, float64(steps-1)*passingStepT)
		for k := steps - 2; k >= 0; k-- {
			t := float64(k) * passingStepT
			next := density(ρ, t)
			sum += (last + 4*density(ρ, t+passingStepT/2) + next) * passingStepT / 6
			line[k] = float32(logOf(sum))
			last = next
		}
	}
	return table
}

func logOf(x float64) float64 { return max(math.Log(x), nothing) }

// A run is a straight stretch of path past a target.
type run struct {
	// xM is the least distance of its line from the target, beforeM how far before
	// that place it begins, downToM how far it ends (negative: behind) [m].
	xM, beforeM, downToM float64
	// On a slope the place nearest in space is not the one that is abeam on the map:
	// that lies turnM farther before, and the target sideM to the side on the map. They
	// count for where people look, to a side and ahead [m].
	sideM, turnM float64
}

// level is a run on level ground.
func level(xM, beforeM, downToM float64) run { return run{xM, beforeM, downToM, xM, 0} }

// add adds the hazard of a run to the hazards of the offsets, each times the chance
// that the line is clear.
func (p *Passing) add(to *[offsets]float64, r run, clear float64) {
	if p.endM == 0 || p.pass.ScanLimitM > 0 && r.sideM > p.pass.ScanLimitM {
		return
	}
	x, from, until, turn := r.xM/p.scale, r.downToM/p.scale, r.beforeM/p.scale, r.turnM/p.scale
	near, far := p.pass.stretch(r.sideM / p.scale)
	if p.pass.Abeam {
		near = -far
	}
	near, far = near+turn, far+turn
	ρ, end := max(math.Hypot(x, p.pass.heightM()), p.nearest), p.endM/p.scale
	if ρ >= end {
		return
	}
	reach := math.Sqrt(end*end - ρ*ρ)
	from, until = max(from, near, -reach), min(until, far, reach)
	if from >= until {
		return
	}
	row := math.Log(ρ/p.nearest) / passingStepρ
	outer, inner := p.beyond(row, math.Asinh(until/ρ)), p.beyond(row, math.Asinh(from/ρ))
	abeam := p.beyond(row, 0)
	for i := range p.used {
		table := p.tables[i]
		o, n := outer.of(table), inner.of(table)
		d := math.Abs(n - o)
		if from < 0 && until > 0 {
			d = 2*abeam.of(table) - o - n
		}
		to[i] += clear * max(d, 0)
	}
}

// A spot is a place in the tables.
type spot struct {
	at, steps  int
	inRow, inT float64
}

// beyond returns the spot of a row and of a t on either side of abeam.
func (p *Passing) beyond(row, t float64) spot {
	k := min(math.Abs(t)/passingStepT, float64(p.steps-1)-1e-9)
	return spot{int(row)*p.steps + int(k), p.steps, row - math.Floor(row), k - math.Floor(k)}
}

// of returns the hazard beyond the spot. Its logarithm is straight in ln ρ and nearly
// so in t for power laws; where it ends it is taken as straight itself.
func (s spot) of(table []float32) float64 {
	a, b, c, d := table[s.at], table[s.at+1], table[s.at+s.steps], table[s.at+s.steps+1]
	mix := func(a, b, c, d float64) float64 {
		return (a*(1-s.inT)+b*s.inT)*(1-s.inRow) + (c*(1-s.inT)+d*s.inT)*s.inRow
	}
	if min(a, b, c, d) > nothing {
		return math.Exp(mix(float64(a), float64(b), float64(c), float64(d)))
	}
	return mix(math.Exp(float64(a)), math.Exp(float64(b)), math.Exp(float64(c)), math.Exp(float64(d)))
}

// Chance returns the chance that a leg shows a target at a lateral distance xM,
// which the watcher approaches from beforeM before abeam down to downToM
// (negative: behind) [m].
func (p *Passing) Chance(xM, beforeM, downToM float64) float64 {
	var hazards, chance [offsets]float64
	p.add(&hazards, level(xM, beforeM, downToM), 1)
	for i, h := range hazards {
		chance[i] = -math.Expm1(-h)
	}
	if p.used == 1 {
		return chance[0]
	}
	return mean(chance)
}
