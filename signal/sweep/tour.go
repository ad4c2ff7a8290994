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
// From there tours are changed at random: times moved from one visit to another, visits
// to another place, party or time, and what is better is kept, of two things that count
// alike: how many are found by the end, and how many on the mean until then. So the
// likeliest ground is searched first, by several where that is best (a plan that has the
// highest POS at each time is sought: Stone 1975, Theory of Optimal Search, section 2.2).
// No party goes to one segment twice, none for less than [LeastTaskS] to one of several.
// It is a heuristic, never worse than Assign from which it takes over where that is
// better; Bound, that of [Effort.Share], tells what it may lack.
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
	for t.goOn() {
	}
	t.improve()
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
