package reckon

import (
	"math"
	"slices"

	"farhail/geo/earth"
)

// A SlipKind is a mistake that people make with a log.
type SlipKind string

const (
	SwappedBearing SlipKind = "swapped-bearing-digits"  // 130 for 310
	SwappedCount   SlipKind = "swapped-distance-digits" // 850 for 580
	BackBearing    SlipKind = "back-bearing"            // read looking back, or at the needle's other end
	Doubled        SlipKind = "doubled"                 // steps written down as double paces
	Halved         SlipKind = "halved"                  // double paces written down as steps
)

// A Slip is one leg that may have been written down wrongly, and what would be
// right then.
type Slip struct {
	Leg         int // from 0
	Kind        SlipKind
	BearingDeg  float64 // as it would be right, from the leg's north
	WalkedM     float64
	Probability float64 // of a slip on this leg, of any kind, given that there is at most one in the log
	Odds        float64 // Probability against all else
	ChiSquare   float64 // of the fit with this slip put right
	P           float64 // its chance
	Explains    bool    // with it put right the misfit is no longer significant
}

// Slips says which legs may be wrong.
type Slips struct {
	ChiSquare   float64 // of the misfit
	DOF         int
	P           float64 // its chance by the stated errors
	None        float64 // probability that no leg has a slip of the kinds known
	Significant bool    // P is below SlipLevel, or a slip likelier than none: one bad leg hardly shows in the sum over a long log
	List        []Slip  // those of 1 % and more and, where Significant, all that explain the misfit; the likeliest first
	Told        bool    // Significant, and the first is at least 3 to 1 likelier than all else
}

const (
	// SlipLevel is the chance below which a misfit is taken for a mistake.
	SlipLevel = 0.05
	// SlipShare is how many legs are taken to have a slip before anything is
	// known, a quarter of them each: swapped digits, a back bearing, a count
	// doubled and halved. Own choice.
	SlipShare = 0.02
	// toldOdds and leastListed are own choices.
	toldOdds    = 3
	leastListed = 0.01
)

// A guess is a leg as it may have been.
type guess struct {
	kind       SlipKind
	bearingDeg float64
	walkedM    float64
	prior      float64
}

// guesses lists what a leg may have been, if it has a slip.
func (l *Leg) guesses() []guess {
	if l.Lost() {
		return nil
	}
	const each = SlipShare / 4
	list := []guess{
		{BackBearing, earth.Wrap360(l.BearingDeg + 180), l.WalkedM, each},
		{Doubled, l.BearingDeg, l.WalkedM / 2, each},
		{Halved, l.BearingDeg, l.WalkedM * 2, each},
	}
	var swaps []guess
	for _, text := range swapped(l.written.bearing, 3) {
		r, fault := parseReading(text)
		var one Leg
		degs, err := oneNorth(&one, []reading{r}, word{})
		if fault.text != "" || err != nil {
			continue
		}
		deg := degs[0]
		if l.written.back {
			deg += 180
		}
		swaps = append(swaps, guess{SwappedBearing, earth.Wrap360(deg), l.WalkedM, 0})
	}
	for _, text := range swapped(l.written.count, 0) {
		if v, ok := parseNumber(text); ok && v*l.written.unitM <= maxLegM {
			swaps = append(swaps, guess{SwappedCount, l.BearingDeg, v * l.written.unitM, 0})
		}
	}
	for i := range swaps {
		swaps[i].prior = each / float64(len(swaps))
	}
	return append(list, swaps...)
}

// swapped returns a text with two neighbouring digits of its first number
// swapped, once for every pair that differs. The number is filled up with zeros
// to a width first, as bearings are written with three figures.
func swapped(text string, width int) []string {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	from := 0
	for from < len(text) && !digit(text[from]) {
		from++
	}
	to := from
	for to < len(text) && digit(text[to]) {
		to++
	}
	if from == 0 {
		for ; to-from < width && to > from; to++ {
			text = "0" + text
		}
	}
	var list []string
	for i := from; i+1 < to; i++ {
		if text[i] != text[i+1] {
			b := []byte(text)
			b[i], b[i+1] = b[i+1], b[i]
			list = append(list, string(b))
		}
	}
	return list
}

// slips weighs for every leg and kind of slip how much better the log would fit,
// with the leg's displacement d and covariance as they would be right. With the
// slope r and the curvature N of the log-likelihood by the leg's displacement,
// and the change D of its covariance,
//
//	Δ log L = dᵀr - ½ dᵀN d + ½ ρᵀ D (I + N D)⁻¹ ρ - ½ log det(I + N D),  ρ = r - N d
//
// which is exact for one leg but for what the common errors make of d. The
// probabilities are by Bayes' rule over "no slip" and one slip in any leg.
func (j *joining) slips(s *solved) *Slips {
	out := &Slips{ChiSquare: s.chi, DOF: s.rows, P: fitChance(s.chi, s.rows)}
	type found struct {
		Slip
		log, best float64
	}
	var list []found
	most := 0.0
	for i, at := range j.at {
		f := found{log: math.Inf(-1), best: math.Inf(-1)}
		leg, step, l := &j.log.Legs[i], j.r.Legs[i], &j.chain.links[at]
		for _, g := range leg.guesses() {
			if !(leg.WalkedM > 0) {
				break
			}
			turn, scale := g.bearingDeg-leg.BearingDeg, g.walkedM/leg.WalkedM
			sin, cos := sincos(turn)
			right := Step{Bearing: earth.NewTrue(float64(step.Bearing) + turn), MapM: step.MapM * scale}
			d := [2]float64{scale*(l.n*cos-l.e*sin) - l.n, scale*(l.e*cos+l.n*sin) - l.e}
			c := j.o.ofLeg(j.log, leg).legCovariance(right)
			gain, chi := gains(s.score[at], s.weight[at], d, earth.Covariance{NN: c.NN - l.c.NN, NE: c.NE - l.c.NE, EE: c.EE - l.c.EE})
			post := math.Log(g.prior/(1-SlipShare)) + gain
			f.log = logSum(f.log, post)
			if post > f.best {
				f.best = post
				f.Slip = Slip{Leg: i, Kind: g.kind, BearingDeg: g.bearingDeg, WalkedM: g.walkedM, ChiSquare: math.Max(0, s.chi-chi)}
			}
		}
		if f.Kind != "" {
			most = math.Max(most, f.log)
			list = append(list, f)
		}
	}
	sum := math.Exp(-most) // no slip
	for _, f := range list {
		sum += math.Exp(f.log - most)
	}
	out.None = math.Exp(-most) / sum
	out.Significant = out.P < SlipLevel || out.None < 0.5
	for _, f := range list {
		part := math.Exp(f.log - most)
		f.Probability = part / sum
		// The rest is summed again, for odds that are long.
		rest := math.Exp(-most)
		if f.Probability > 0.5 {
			for _, other := range list {
				if other.Leg != f.Leg {
					rest += math.Exp(other.log - most)
				}
			}
		} else {
			rest = sum - part
		}
		f.Odds = part / rest
		f.P = fitChance(f.ChiSquare, s.rows)
		f.Explains = f.P >= SlipLevel
		if out.Significant && f.Explains || f.Probability >= leastListed {
			out.List = append(out.List, f.Slip)
		}
	}
	slices.SortStableFunc(out.List, func(a, b Slip) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	out.Told = out.Significant && len(out.List) > 0 && out.List[0].Odds >= toldOdds
	return out
}

// logSum returns log(exp a + exp b).
func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(a, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// gains returns the change of the log-likelihood, and by how much the weighted
// sum of squares falls, for a change d of a leg and dc of its covariance.
func gains(r [2]float64, w [2][2]float64, d [2]float64, dc earth.Covariance) (gain, chi float64) {
	nd := [2]float64{w[0][0]*d[0] + w[0][1]*d[1], w[1][0]*d[0] + w[1][1]*d[1]}
	rho := [2]float64{r[0] - nd[0], r[1] - nd[1]}
	c := [2][2]float64{{dc.NN, dc.NE}, {dc.NE, dc.EE}}
	// m = I + N D
	var m [2][2]float64
	for i := range m {
		for k := range m {
			m[i][k] = w[i][0]*c[0][k] + w[i][1]*c[1][k]
		}
		m[i][i]++
	}
	det := m[0][0]*m[1][1] - m[0][1]*m[1][0]
	if !(det > 0) {
		return math.Inf(-1), 0
	}
	x := [2]float64{(m[1][1]*rho[0] - m[0][1]*rho[1]) / det, (m[0][0]*rho[1] - m[1][0]*rho[0]) / det}
	cx := [2]float64{c[0][0]*x[0] + c[0][1]*x[1], c[1][0]*x[0] + c[1][1]*x[1]}
	q := d[0]*r[0] + d[1]*r[1] - 0.5*(d[0]*nd[0]+d[1]*nd[1]) + 0.5*(rho[0]*cx[0]+rho[1]*cx[1])
	return q - 0.5*math.Log(det), 2 * q
}
