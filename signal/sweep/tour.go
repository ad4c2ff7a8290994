package sweep

import (
	"math"
	"slices"
)

// Tours are what all parties do, each one task after another.
type Tours struct {
	// Tasks are by party in their order, none for a party that can add nothing. A
	// task's travel is the way to it; the last one's holds the way back as well.
	Tasks [][]Task
	POD   []float64 // of each segment, by all parties there
	POS   float64
	Bound float64 // nothing that the parties could do has a higher POS
}

// LeastTaskS is the shortest time for which a party is sent to a segment of a tour
// [s]. Own choice.
const LeastTaskS = 900

// Tours sends each party to one segment after another, which [Effort.Assign] does
// not: where a party can cover its segment several times over, most of that time is
// lost, and the next segment is worth the way. Coverages add up (random search).
//
// The next visit is always the one, of all parties and segments, that brings most
// for the time that it costs, way included, and lasts as long as is best for that: until
// the gain of the last second is the mean gain (marginal value: Charnov 1976, Theoretical
// Population Biology 9, 129-136); it goes where in the tour the extra way is shortest.
// Visits are moved for as long as that finds more by the end and on the mean until then,
// and the time that is saved on the ways is used. Then all times are made best for the
// tours as they stand, each party in turn, and visits of less than [LeastTaskS] fall
// out. No party goes to one segment twice. It is a heuristic, never worse than Assign
// from which it takes over where that is better; Bound, that of [Effort.Share], tells
// what it may lack.
//
// Times are divided by what lines in good order find, as the tasks tell people to walk
// them: the inverse cube law. By random search too much would be spent on covering the
// likeliest ground over and over (simulated: 0.03 fewer found in eight hours). What is
// told that they buy is by random search, which errs on the side of too little.
func (e Effort) Tours() (Tours, error) {
	best, err := e.Share() // checks
	if err != nil {
		return Tours{}, err
	}
	t := &touring{Effort: e, Shared: Shared{Seconds: e.table()}, visits: make([][]int, len(e.Parties))}
	for range orderRounds {
		for t.goOn() {
		}
		if !t.reorder() {
			break
		}
	}
	for t.retime(); t.dropShortest(); {
		t.retime()
	}
	one, err := e.Assign(false)
	if err != nil {
		return Tours{}, err
	}
	if one.POS > t.pos() {
		for j, task := range one.Tasks {
			t.visits[j] = nil
			clear(t.Seconds[j])
			if task.Segment != nobody {
				t.visits[j] = []int{task.Segment}
				t.Seconds[j][task.Segment] = task.Seconds
			}
		}
	}
	return t.describe(max(best.Bound, one.POS)), nil
}

// touring is a set of tours in the making.
type touring struct {
	Effort
	Shared
	visits [][]int // segments by party, in order
}

// wayS returns the time from one segment to another, or from the base [s].
func (e Effort) wayS(party, from, to int) float64 {
	switch {
	case from == nobody:
		return e.TravelS[party][to] / 2
	case from == to:
		return 0
	case e.BetweenS != nil:
		return e.BetweenS[from][to]
	}
	return (e.TravelS[party][from] + e.TravelS[party][to]) / 2
}

// backS returns the time from a segment to the base [s].
func (e Effort) backS(party, from int) float64 {
	if from == nobody {
		return 0
	}
	return e.TravelS[party][from] / 2
}

// walkS returns the time that a party is on its way [s].
func (t *touring) walkS(party int) float64 {
	sum, at := 0.0, nobody
	for _, i := range t.visits[party] {
		sum += t.wayS(party, at, i)
		at = i
	}
	return sum + t.backS(party, at)
}

// goOn adds the visit that brings most for its time, where in the tour it costs least to
// go there, or stays longer where a party goes already; false where there is none.
func (t *touring) goOn() bool {
	party, segment, place, seconds, most := nobody, nobody, 0, 0.0, 0.0
	covered := t.coveredByAll(&t.Shared)
	for j := range t.Parties {
		left := t.Parties[j].Seconds - t.walkS(j)
		for _, s := range t.Seconds[j] {
			left -= s
		}
		for i, p := range t.POA {
			rate := t.perS(j, i)
			extra, at := t.detourS(j, i)
			room, least := left-extra, float64(LeastTaskS)
			if at == nobody {
				least = 1
			}
			if !(room >= least) || rate == 0 {
				continue
			}
			s := min(max(stayS(rate, extra, covered[i]), LeastTaskS), room)
			worth := p * (inLines(covered[i]+rate*s) - inLines(covered[i])) / (extra + s)
			if worth > most*(1+tie) {
				party, segment, place, seconds, most = j, i, at, s, worth
			}
		}
	}
	if party == nobody {
		return false
	}
	if place != nobody {
		t.visits[party] = slices.Insert(t.visits[party], place, segment)
	}
	t.Seconds[party][segment] += seconds
	return true
}

// orderRounds is how often tours are put in order and gone on with; counted, so that the
// same input gives the same answer.
const orderRounds = 10

// reorder moves visits of one party after another to where they are best, one at a time,
// and reports whether any was moved.
func (t *touring) reorder() (moved bool) {
	for j, visits := range t.visits {
		o := t.ordering(j)
		now := o.worth(visits)
		for {
			best, most := visits, now*(1+tie)
			for from := range visits {
				rest := slices.Delete(slices.Clone(visits), from, from+1)
				for to := range visits {
					if to == from {
						continue
					}
					order := slices.Insert(slices.Clone(rest), to, visits[from])
					if worth := o.worth(order); worth > most {
						best, most = order, worth
					}
				}
			}
			if most <= now*(1+tie) {
				break
			}
			visits, now, moved = best, most, true
		}
		t.visits[j] = visits
	}
	return moved
}

// An ordering weighs the orders of one party's visits, the others' as they are.
type ordering struct {
	*touring
	party  int
	endS   float64 // of the longest time that a party has
	others [][]spell
	alone  []float64 // by segment: what it is worth by the others alone
}

// A spell is a time in which a segment is searched.
type spell struct{ fromS, untilS, perS float64 }

func (t *touring) ordering(party int) ordering {
	n := len(t.POA)
	o := ordering{touring: t, party: party, others: make([][]spell, n), alone: make([]float64, n)}
	for j, p := range t.Parties {
		o.endS = max(o.endS, p.Seconds)
		if j != party {
			t.addSpells(o.others, j, t.visits[j], t.Seconds[j])
		}
	}
	for i, p := range t.POA {
		o.alone[i] = p * found(o.others[i], o.endS)
	}
	return o
}

// addSpells adds the times of a party's visits, by segment.
func (t *touring) addSpells(to [][]spell, party int, visits []int, seconds []float64) {
	now, at := 0.0, nobody
	for _, i := range visits {
		now += t.wayS(party, at, i)
		to[i] = append(to[i], spell{now, now + seconds[i], t.perS(party, i)})
		now, at = now+seconds[i], i
	}
}

// found returns the chance that somebody in a segment is found by the end, by lines in
// good order, plus the mean over the time until then of the chance that they have been.
func found(spells []spell, endS float64) float64 {
	var times []float64
	for _, s := range spells {
		times = append(times, s.fromS, s.untilS)
	}
	slices.Sort(times)
	times = append(times, endS)
	covered, now, sum := 0.0, 0.0, 0.0
	for _, next := range times {
		rate := 0.0
		for _, s := range spells {
			if s.fromS <= now && next <= s.untilS {
				rate += s.perS
			}
		}
		span := max(0, next-now)
		after := covered + rate*span
		// Simpson's rule: the law is smooth.
		sum += span / 6 * (inLines(covered) + 4*inLines((covered+after)/2) + inLines(after))
		covered, now = after, next
	}
	return inLines(covered) + sum/endS
}

// worth returns by how much more than without the party the person is found by the end,
// plus the mean over the time of by how much more they have been found by then: with
// short ways it finds more, with the likeliest first it finds sooner, and the two count
// alike (own choice). Times are the best for the order.
func (o ordering) worth(visits []int) float64 {
	times := o.timesOf(o.party, visits)
	sum, now, at := 0.0, 0.0, nobody
	for _, i := range visits {
		now += o.wayS(o.party, at, i)
		own := spell{now, now + times[i], o.perS(o.party, i)}
		sum += o.POA[i]*found(append(slices.Clone(o.others[i]), own), o.endS) - o.alone[i]
		now, at = own.untilS, i
	}
	if math.IsInf(now, 1) {
		return math.Inf(-1)
	}
	return sum
}

// detourS returns by how much longer a party's ways become if it visits a segment as well
// [s], and where in its tour that is least, of equal places the latest; 0 and nobody
// where it goes there already.
func (t *touring) detourS(party, segment int) (extraS float64, place int) {
	visits := t.visits[party]
	if slices.Contains(visits, segment) {
		return 0, nobody
	}
	extraS = math.Inf(1)
	if math.IsInf(t.TravelS[party][segment], 1) {
		return extraS, nobody // they may not go there, from elsewhere neither
	}
	before := nobody
	for k := 0; k <= len(visits); k++ {
		by := t.wayS(party, before, segment)
		if k == len(visits) {
			by += t.backS(party, segment) - t.backS(party, before)
		} else {
			by += t.wayS(party, segment, visits[k]) - t.wayS(party, before, visits[k])
			before = visits[k]
		}
		if by <= extraS {
			extraS, place = by, k
		}
	}
	return max(0, extraS), place
}

// inLines returns what lines that are laid evenly find of what is in a segment, by
// coverage: the inverse cube law (Koopman 1946, OEG Report 56, equation 2-31).
func inLines(coverage float64) float64 { return math.Erf(math.Sqrt(math.Pi) / 2 * coverage) }

// inLinesSlope is by how much more per coverage.
func inLinesSlope(coverage float64) float64 { return math.Exp(-math.Pi / 4 * coverage * coverage) }

// stayS returns for how long it is best to stay where a way of x has led and so much
// is covered already [s]: where the mean gain for the whole time, way included, is that of
// the last second, by bisection.
func stayS(rate, wayS, covered float64) float64 {
	late := func(s float64) bool { // the mean gain is above that of the last second
		return inLines(covered+rate*s)-inLines(covered) > inLinesSlope(covered+rate*s)*rate*(wayS+s)
	}
	low, high := 0.0, 6/rate
	for range 60 {
		if mid := (low + high) / 2; late(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2
}

// divided returns the times in segments that find most by lines in good order, where so
// much is covered already: the gain of the last second is the same wherever any is spent.
func divided(poa, perS, covered []float64, seconds float64) []float64 {
	times := make([]float64, len(poa))
	spend := func(lnGain float64) (sum float64) {
		for i, p := range poa {
			times[i] = 0
			if p*perS[i] > 0 {
				c := math.Sqrt(4 / math.Pi * max(0, math.Log(p*perS[i])-lnGain))
				times[i] = max(0, c-covered[i]) / perS[i]
			}
			sum += times[i]
		}
		return sum
	}
	low, high := -200.0, 0.0 // of the logarithm of the gain
	for range 80 {
		if mid := (low + high) / 2; spend(mid) > seconds {
			low = mid
		} else {
			high = mid
		}
	}
	if sum := spend(high); sum > 0 {
		for i := range times {
			times[i] *= seconds / sum // rounding only
		}
	}
	return times
}

// retime makes the times best for the tours as they stand, by turns.
func (t *touring) retime() {
	for range retimeRounds {
		for j := range t.Parties {
			t.Seconds[j] = t.timesOf(j, t.visits[j])
		}
	}
}

// retimeRounds is in how many turns times are made best. Own choice: a party more or less
// in a segment is settled in a few.
const retimeRounds = 20

// timesOf returns the best times of a party's visits, the others' as they are, by segment.
func (t *touring) timesOf(party int, visits []int) []float64 {
	poa, perS, covered := make([]float64, len(visits)), make([]float64, len(visits)), make([]float64, len(visits))
	walkS, at := 0.0, nobody
	for k, i := range visits {
		poa[k], perS[k], covered[k] = t.POA[i], t.perS(party, i), t.covered(&t.Shared, i, party)
		walkS += t.wayS(party, at, i)
		at = i
	}
	times := make([]float64, len(t.POA))
	for k, s := range divided(poa, perS, covered, max(0, t.Parties[party].Seconds-walkS-t.backS(party, at))) {
		times[visits[k]] = s
	}
	return times
}

// dropShortest takes the shortest visit out if it is too short.
func (t *touring) dropShortest() bool {
	party, at, least := nobody, nobody, float64(LeastTaskS)*(1-tie)
	for j, visits := range t.visits {
		for k, i := range visits {
			if s := t.Seconds[j][i]; s < least && len(visits) > 1 {
				party, at, least = j, k, s
			}
		}
	}
	if party == nobody {
		return false
	}
	t.Seconds[party][t.visits[party][at]] = 0
	t.visits[party] = slices.Delete(t.visits[party], at, at+1)
	return true
}

// pos returns the probability of success of the tours.
func (t *touring) pos() float64 {
	return t.found(t.coveredByAll(&t.Shared))
}

// describe turns tours into what people can follow.
func (t *touring) describe(bound float64) Tours {
	out := Tours{Tasks: make([][]Task, len(t.Parties)), POD: t.coveredByAll(&t.Shared), Bound: bound}
	out.POS = t.found(out.POD)
	for j := range t.Parties {
		at := nobody
		for k, i := range t.visits[j] {
			wayS := t.wayS(j, at, i)
			if k+1 == len(t.visits[j]) {
				wayS += t.backS(j, i)
			}
			out.Tasks[j] = append(out.Tasks[j], t.task(j, i, t.Seconds[j][i], wayS))
			at = i
		}
	}
	return out
}
