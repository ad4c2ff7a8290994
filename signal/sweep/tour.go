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
// for the time that it costs, way included, and lasts as long as is best for that:
// with the rate r and the extra way x, (1 - e^(-r t)) / (x + t) is largest where
// e^(r t) - 1 - r t = r x (marginal value: Charnov 1976, Theoretical Population Biology
// 9, 129-136). Then all times are made best for the tours as they stand, each party in
// turn ([Allocate]), and visits of less than [LeastTaskS] fall out. No party goes to
// one segment twice. It is a heuristic, never worse than Assign from which it takes
// over where that is better; Bound, that of [Effort.Share], tells what it may lack.
func (e Effort) Tours() (Tours, error) {
	best, err := e.Share() // checks
	if err != nil {
		return Tours{}, err
	}
	t := &touring{Effort: e, Shared: Shared{Seconds: e.table()}, visits: make([][]int, len(e.Parties))}
	for t.goOn() {
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

// last returns the segment where a party's tour ends.
func (t *touring) last(party int) int {
	if v := t.visits[party]; len(v) > 0 {
		return v[len(v)-1]
	}
	return nobody
}

// goOn adds the visit that brings most for its time, false where there is none.
func (t *touring) goOn() bool {
	party, segment, seconds, most := nobody, nobody, 0.0, 0.0
	covered := t.coveredByAll(&t.Shared)
	for j := range t.Parties {
		at := t.last(j)
		left := t.Parties[j].Seconds - t.walkS(j)
		for _, s := range t.Seconds[j] {
			left -= s
		}
		for i, p := range t.POA {
			if i != at && slices.Contains(t.visits[j], i) {
				continue
			}
			extra := max(0, t.wayS(j, at, i)+t.backS(j, i)-t.backS(j, at))
			room, rate := left-extra, t.perS(j, i)
			if !(room >= 1) || i != at && room < LeastTaskS || rate == 0 {
				continue
			}
			s := min(max(stayS(rate, extra), LeastTaskS), room)
			worth := p * math.Exp(-covered[i]) * -math.Expm1(-rate*s) / (extra + s)
			if worth > most*(1+tie) {
				party, segment, seconds, most = j, i, s, worth
			}
		}
	}
	if party == nobody {
		return false
	}
	if t.last(party) != segment {
		t.visits[party] = append(t.visits[party], segment)
	}
	t.Seconds[party][segment] += seconds
	return true
}

// stayS returns for how long it is best to stay where a way of x has led [s]: the
// root of e^y - 1 - y = r x, y = r t, by Newton's method from above, where the
// function is convex.
func stayS(rate, wayS float64) float64 {
	x := rate * wayS
	y := math.Sqrt(2 * x)
	for range 50 {
		if y == 0 {
			break
		}
		step := (math.Expm1(y) - y - x) / math.Expm1(y)
		y -= step
		if math.Abs(step) < 1e-9*y {
			break
		}
	}
	return y / rate
}

// retime makes the times best for the tours as they stand, by turns.
func (t *touring) retime() {
	before := -1.0
	for range shareRounds {
		for j := range t.Parties {
			left, perS := make([]float64, len(t.POA)), make([]float64, len(t.POA))
			for _, i := range t.visits[j] {
				left[i] = t.POA[i] * math.Exp(-t.covered(&t.Shared, i, j))
				perS[i] = t.perS(j, i)
			}
			if split, err := Allocate(left, perS, max(0, t.Parties[j].Seconds-t.walkS(j))); err == nil {
				t.Seconds[j] = split.Seconds
			}
		}
		if now := t.pos(); now-before <= shareGap {
			return
		} else {
			before = now
		}
	}
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
