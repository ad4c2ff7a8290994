package sweep

import "math"

// A Shared is a division of every party's time among segments.
type Shared struct {
	Seconds [][]float64 // by party and segment, searching only [s]
	POD     []float64   // of each segment
	POS     float64
	Bound   float64 // no division has a higher POS
}

// shareRounds and shareGap end the turns.
const (
	shareRounds = 2000
	shareGap    = 1e-9 // between POS and its bound
)

// Share divides the time of each party among segments, when going from one to
// another takes no time beyond the travel to the nearest that it can reach, which
// is taken off first: what could be had at best, to set beside [Effort.Assign].
// Each party in turn divides its time best, given what the others do; the
// objective is concave, so that the turns lead to the optimum, and its slope
// tells how far off it may still be.
func (e Effort) Share() (Shared, error) {
	if err := e.Check(); err != nil {
		return Shared{}, err
	}
	s := Shared{Seconds: e.table()}
	for range shareRounds {
		for j := range e.Parties {
			e.turn(j, &s)
		}
		if e.rate(&s); s.Bound-s.POS <= shareGap {
			break
		}
	}
	return s, nil
}

// shareS returns the time that a party can search in all [s], and the rates in the
// segments that it can reach within it.
func (e Effort) shareS(party int) (seconds float64, perS []float64) {
	least := math.Inf(1)
	perS = make([]float64, len(e.POA))
	for i := range e.POA {
		if e.onSiteS(party, i) > 0 {
			perS[i] = e.perS(party, i)
			least = min(least, e.TravelS[party][i])
		}
	}
	return max(0, e.Parties[party].Seconds-least), perS
}

// turn divides one party's time, given the coverage that the others bring.
func (e Effort) turn(party int, s *Shared) {
	seconds, perS := e.shareS(party)
	left := make([]float64, len(e.POA))
	for i, p := range e.POA {
		left[i] = p * math.Exp(-e.covered(s, i, party))
	}
	split, err := Allocate(left, perS, seconds)
	if err != nil {
		return // nothing that this party could add
	}
	s.Seconds[party] = split.Seconds
}

// covered returns the coverage of a segment by all parties but one.
func (e Effort) covered(s *Shared, segment, but int) float64 {
	c := 0.0
	for j := range e.Parties {
		if j != but {
			c += e.perS(j, segment) * s.Seconds[j][segment]
		}
	}
	return c
}

// coveredByAll returns the coverage of each segment by all parties.
func (e Effort) coveredByAll(s *Shared) []float64 {
	c := make([]float64, len(e.POA))
	for i := range c {
		c[i] = e.covered(s, i, nobody)
	}
	return c
}

// rate works out POD, POS and the bound: a concave objective lies below its
// tangent, along which each party would spend all its time where it gains most.
func (e Effort) rate(s *Shared) {
	s.POD = e.coveredByAll(s)
	slope := make([]float64, len(e.POA)) // of coverage
	for i, c := range s.POD {
		slope[i] = e.POA[i] * math.Exp(-c)
	}
	s.POS = e.found(s.POD)
	s.Bound = s.POS
	for j := range e.Parties {
		seconds, perS := e.shareS(j)
		most := 0.0
		for i, r := range perS {
			most = max(most, slope[i]*r)
			s.Bound -= slope[i] * r * s.Seconds[j][i]
		}
		s.Bound += most * seconds
	}
}
