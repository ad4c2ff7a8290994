package sweep

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrEffort tells that effort cannot be split: impossible shares, rates or times.
var ErrEffort = errors.New("sweep: impossible effort")

// A Split is the optimal division of searching time.
type Split struct {
	Seconds []float64 // in each segment; they sum to the time given
	POD     []float64 // that it buys in each
	POS     float64   // probability of finding the person
	// Lambda is the gain of the last second, the same in every segment that gets any
	// and not exceeded elsewhere [1/s].
	Lambda float64
}

// Allocate divides a time among segments so that the probability of finding the
// person is largest, when each second in segment i brings so much coverage
// (width x speed x people / area, [1/s]) and detection is by random search:
// maximise sum p_i (1 - e^(-r_i t_i)), sum t_i = T. Then
//
//	t_i = max(0, ln(p_i r_i / λ) / r_i)
//
// with the λ that uses up the time (Koopman 1957, Operations Research 5, 613-626;
// Charnes and Cooper 1958, Management Science 5, 44-50; Stone 1975, Theory of
// Optimal Search, section 2.2). It is exact, and going on later from what is left
// gives the same as having had all the time at once. Segments without probability
// or rate get nothing; where no segment has any, nobody can use the time and it is
// ErrEffort.
func Allocate(poa, perS []float64, seconds float64) (Split, error) {
	if len(poa) != len(perS) || !(seconds >= 0) || math.IsInf(seconds, 1) {
		return Split{}, fmt.Errorf("%w: %d shares, %d rates, %v s", ErrEffort, len(poa), len(perS), seconds)
	}
	var order []int
	for i := range poa {
		if !(poa[i] >= 0 && poa[i] <= 1 && perS[i] >= 0) || math.IsInf(perS[i], 1) {
			return Split{}, fmt.Errorf("%w: share %v and rate %v of segment %d", ErrEffort, poa[i], perS[i], i)
		}
		if poa[i]*perS[i] > 0 {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return Split{}, fmt.Errorf("%w: no segment has both probability and a rate", ErrEffort)
	}
	first := func(i int) float64 { return poa[i] * perS[i] }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(first(b), first(a)) })
	return fill(poa, perS, order, seconds), nil
}

// fill takes in segments in falling order of their first gain for as long as the
// gain of the next is above λ.
func fill(poa, perS []float64, order []int, seconds float64) Split {
	s := Split{Seconds: make([]float64, len(poa)), POD: make([]float64, len(poa))}
	logs, spans, lnλ := 0.0, 0.0, math.Inf(1) // sums of ln(p r)/r and of 1/r
	used := 0
	for _, i := range order {
		ln := math.Log(poa[i] * perS[i])
		if used > 0 && ln <= lnλ {
			break
		}
		logs += ln / perS[i]
		spans += 1 / perS[i]
		lnλ = (logs - seconds) / spans
		used++
	}
	total := 0.0
	for _, i := range order[:used] {
		s.Seconds[i] = max(0, (math.Log(poa[i]*perS[i])-lnλ)/perS[i])
		total += s.Seconds[i]
	}
	for _, i := range order[:used] {
		if total > 0 {
			s.Seconds[i] *= seconds / total // rounding only
		}
		s.POD[i] = -math.Expm1(-perS[i] * s.Seconds[i])
		s.POS += poa[i] * s.POD[i]
	}
	s.Lambda = math.Exp(lnλ)
	return s
}

// A Party can search.
type Party struct {
	People  int
	SpeedMS float64 // while searching [m/s]
	Seconds float64 // that they have, travel and all: daylight and duty included [s]
}

// An Effort is what there is to divide among segments.
type Effort struct {
	POA     []float64 // of each segment
	AreaM2  []float64
	Parties []Party
	WidthM  [][]float64 // sweep width by party and segment [m]
	// TravelS is the time there and back by party and segment [s], +Inf where the
	// party cannot or may not go (reach, danger, dark).
	TravelS [][]float64
	// BetweenS is the time from one segment to another [s], for [Effort.Tours]; +Inf
	// where nobody can go. nil: by way of the base.
	BetweenS [][]float64
}

// Check returns an error that names the first impossible value.
func (e Effort) Check() error {
	if len(e.AreaM2) != len(e.POA) || len(e.WidthM) != len(e.Parties) || len(e.TravelS) != len(e.Parties) {
		return fmt.Errorf("%w: %d shares, %d areas; %d parties, %d lists of widths, %d of travel",
			ErrEffort, len(e.POA), len(e.AreaM2), len(e.Parties), len(e.WidthM), len(e.TravelS))
	}
	for i, p := range e.POA {
		if !(p >= 0 && p <= 1) || !(e.AreaM2[i] > 0) || math.IsInf(e.AreaM2[i], 1) {
			return fmt.Errorf("%w: share %v and area %v m2 of segment %d", ErrEffort, p, e.AreaM2[i], i)
		}
	}
	for j, p := range e.Parties {
		if p.People < 1 || !(p.SpeedMS > 0) || math.IsInf(p.SpeedMS, 1) || !(p.Seconds >= 0) || math.IsInf(p.Seconds, 1) {
			return fmt.Errorf("%w: party %d: %d people at %v m/s for %v s", ErrEffort, j, p.People, p.SpeedMS, p.Seconds)
		}
		if len(e.WidthM[j]) != len(e.POA) || len(e.TravelS[j]) != len(e.POA) {
			return fmt.Errorf("%w: party %d: %d widths and %d travel times for %d segments", ErrEffort, j, len(e.WidthM[j]), len(e.TravelS[j]), len(e.POA))
		}
		for i := range e.POA {
			if w, t := e.WidthM[j][i], e.TravelS[j][i]; !(w >= 0) || math.IsInf(w, 1) || !(t >= 0) {
				return fmt.Errorf("%w: party %d in segment %d: width %v m, travel %v s", ErrEffort, j, i, w, t)
			}
		}
	}
	return e.checkBetween()
}

func (e Effort) checkBetween() error {
	if e.BetweenS != nil && len(e.BetweenS) != len(e.POA) {
		return fmt.Errorf("%w: ways from %d segments of %d", ErrEffort, len(e.BetweenS), len(e.POA))
	}
	for i, to := range e.BetweenS {
		if len(to) != len(e.POA) {
			return fmt.Errorf("%w: ways from segment %d to %d of %d", ErrEffort, i, len(to), len(e.POA))
		}
		for k, s := range to {
			if !(s >= 0) {
				return fmt.Errorf("%w: way from segment %d to %d of %v s", ErrEffort, i, k, s)
			}
		}
	}
	return nil
}

// perS returns the coverage that a second of a party brings in a segment [1/s].
func (e Effort) perS(party, segment int) float64 {
	p := e.Parties[party]
	return e.WidthM[party][segment] * p.SpeedMS * float64(p.People) / e.AreaM2[segment]
}

// onSiteS returns the time that is left to a party for searching a segment, 0
// where it cannot get there and back [s].
func (e Effort) onSiteS(party, segment int) float64 {
	return max(0, e.Parties[party].Seconds-e.TravelS[party][segment])
}

// coverage returns what a party brings to a segment if it spends its time there.
func (e Effort) coverage(party, segment int) float64 {
	return e.perS(party, segment) * e.onSiteS(party, segment)
}

// found turns the coverage of each segment, in place, into the POD that it buys by
// random search, and returns the POS.
func (e Effort) found(coverage []float64) (pos float64) {
	for i, c := range coverage {
		coverage[i] = -math.Expm1(-c)
		pos += e.POA[i] * coverage[i]
	}
	return pos
}

// table returns zeros by party and segment.
func (e Effort) table() [][]float64 {
	rows := make([][]float64, len(e.Parties))
	for j := range rows {
		rows[j] = make([]float64, len(e.POA))
	}
	return rows
}
