package sweep

import (
	"math"
	"slices"
)

// A Task is what one party does next.
type Task struct {
	Party, Segment int     // Segment is -1 for a party that can add nothing
	Seconds        float64 // searching, travel not counted [s]
	TravelS        float64 // there and back [s]; in [Tours] from the task before
	LengthM        float64 // that all its people walk in the segment together [m]
	// SpacingM is how far apart lines lie that cover the segment once in that time
	// [m]; the party's people walk so far apart, or their sweeps do.
	SpacingM float64
	// Passes is in how many goes the lines are best walked, every so manyth first and
	// then those between: all of them find as much as one after another, but sooner.
	Passes int
	POD    float64 // that the party alone buys, by random search
}

// task returns what a party does that searches a segment for a time, after a way.
func (e Effort) task(party, segment int, seconds, travelS float64) Task {
	p := e.Parties[party]
	t := Task{Party: party, Segment: segment, Seconds: seconds, TravelS: travelS}
	t.LengthM = seconds * p.SpeedMS * float64(p.People)
	t.SpacingM = e.AreaM2[segment] / t.LengthM
	coverage := e.perS(party, segment) * seconds
	t.Passes = goes(coverage)
	t.POD = -math.Expm1(-coverage)
	return t
}

// goes returns in how many goes a coverage is best walked: each of about 1, own
// choice.
func goes(coverage float64) int { return max(1, int(math.Round(coverage))) }

// An Assignment sends each party to one segment.
type Assignment struct {
	Tasks []Task    // one for each party
	POD   []float64 // of each segment, by all parties there
	POS   float64
	Bound float64 // no assignment has a higher POS
	Exact bool    // proven best
}

// assignSteps is how many gains of a party in a segment are looked at; counted, not
// timed, so that the same input gives the same answer. Own choice: some tenths of a second.
const assignSteps = 60_000_000

// Assign sends each party to one segment so that the probability of finding the
// person is largest. Coverages of parties in one segment add up (random search).
// alone keeps parties apart, one to a segment at most: then it is the assignment
// problem and solved as such. Otherwise it is branch and bound from a choice by
// gain that is improved by moving one party at a time; Exact tells whether it came
// to an end. Of assignments within 1e-9 the one with the earlier segments wins.
func (e Effort) Assign(alone bool) (Assignment, error) {
	if err := e.Check(); err != nil {
		return Assignment{}, err
	}
	if alone {
		return e.matched()
	}
	best := e.byGain()
	for e.moveOne(best) {
	}
	s := &assigning{share: e.table(), best: best, worth: e.pos(best), at: make([]int, len(e.Parties)), steps: assignSteps}
	for j := range s.share {
		for i := range e.POA {
			s.share[j][i] = -math.Expm1(-e.coverage(j, i))
		}
	}
	left := slices.Clone(e.POA)
	root := s.bound(0, left)
	s.branch(0, left, 0)
	a := e.describe(s.best)
	a.Exact = s.steps > 0
	a.Bound = a.POS
	if !a.Exact {
		a.Bound = max(a.POS, root)
	}
	return a, nil
}

// nobody is the segment of a party that stays.
const nobody = -1

// pos returns the probability of success of an assignment.
func (e Effort) pos(segments []int) float64 {
	return e.found(e.coverages(segments))
}

func (e Effort) coverages(segments []int) []float64 {
	c := make([]float64, len(e.POA))
	for j, i := range segments {
		if i != nobody {
			c[i] += e.coverage(j, i)
		}
	}
	return c
}

// byGain lets the party and segment go first that add most.
func (e Effort) byGain() []int {
	at := make([]int, len(e.Parties))
	for j := range at {
		at[j] = nobody
	}
	c := make([]float64, len(e.POA))
	for range e.Parties {
		party, segment, most := -1, -1, 0.0
		for j := range e.Parties {
			if at[j] != nobody {
				continue
			}
			for i := range e.POA {
				if g := e.gain(j, i, c[i]); g > most*(1+tie) {
					party, segment, most = j, i, g
				}
			}
		}
		if party < 0 {
			break
		}
		at[party] = segment
		c[segment] += e.coverage(party, segment)
	}
	return at
}

// tie is the relative difference below which two gains count as equal.
const tie = 1e-9

// gain returns what a party adds to a segment that has a coverage already.
func (e Effort) gain(party, segment int, coverage float64) float64 {
	return e.POA[segment] * math.Exp(-coverage) * -math.Expm1(-e.coverage(party, segment))
}

// moveOne makes the one move that helps most.
func (e Effort) moveOne(at []int) bool {
	now := e.pos(at)
	party, segment, best := -1, -1, now*(1+tie)
	for j := range at {
		was := at[j]
		for i := range e.POA {
			at[j] = i
			if p := e.pos(at); p > best {
				party, segment, best = j, i, p
			}
		}
		at[j] = was
	}
	if party < 0 {
		return false
	}
	at[party] = segment
	return true
}

// An assigning is the search for the best assignment.
type assigning struct {
	share [][]float64 // that a party finds of what is in a segment
	best  []int
	worth float64
	at    []int
	steps int // that may still be taken
}

// bound returns the most that parties from one on can find of what is left: each the
// most it could find now, which is more than it can after others (submodular), and
// all no more than there is.
func (s *assigning) bound(from int, left []float64) float64 {
	all, each := 0.0, 0.0
	for _, l := range left {
		all += l
	}
	for _, share := range s.share[from:] {
		most := 0.0
		for i, l := range left {
			most = max(most, l*share[i])
		}
		each += most
	}
	s.steps -= len(left) * (len(s.share) - from + 1)
	return min(all, each)
}

// branch sends one party after another.
func (s *assigning) branch(party int, left []float64, sum float64) {
	if sum > s.worth*(1+tie) {
		s.worth, s.best = sum, slices.Clone(s.at)
		for j := party; j < len(s.at); j++ {
			s.best[j] = nobody
		}
	}
	if party == len(s.share) || s.steps <= 0 || sum+s.bound(party, left) <= s.worth*(1+tie) {
		return
	}
	for i, share := range s.share[party] {
		gain := left[i] * share
		if gain <= 0 {
			continue
		}
		s.at[party] = i
		was := left[i]
		left[i] -= gain
		s.branch(party+1, left, sum+gain)
		left[i] = was
	}
	s.at[party] = nobody
	s.branch(party+1, left, sum)
}

// matched gives every party a segment of its own, or none.
func (e Effort) matched() (Assignment, error) {
	// A column of its own for each party stands for staying: it costs nothing.
	cost := make([][]float64, len(e.Parties))
	for j := range cost {
		cost[j] = make([]float64, len(e.POA)+len(e.Parties))
		for i := range e.POA {
			cost[j][i] = -e.gain(j, i, 0)
		}
	}
	columns, err := Match(cost)
	if err != nil {
		return Assignment{}, err
	}
	for j, i := range columns {
		if i >= len(e.POA) || cost[j][i] == 0 {
			columns[j] = nobody
		}
	}
	a := e.describe(columns)
	a.Bound, a.Exact = a.POS, true
	return a, nil
}

// describe turns an assignment into what people can follow.
func (e Effort) describe(segments []int) Assignment {
	a := Assignment{POD: e.coverages(segments)}
	a.POS = e.found(a.POD)
	for j, i := range segments {
		t := Task{Party: j, Segment: i, SpacingM: math.NaN()}
		if i != nobody {
			t = e.task(j, i, e.onSiteS(j, i), e.TravelS[j][i])
		}
		a.Tasks = append(a.Tasks, t)
	}
	return a
}
