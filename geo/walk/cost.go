package walk

import "math"

// cost returns the time of move k from a cell that is not barred to another
// [s], +Inf where the move is not allowed. Once it is seen to be at least limit
// it may be any number not below limit.
func (s *search) cost(from, k int, st *step, limit float64) float64 {
	to := from + st.offset
	z0, z1 := float64(s.nodes[from].z), float64(s.nodes[to].z)
	onTrail := s.trail != nil && s.o.Trail[from] && s.o.Trail[to]
	places := s.places[k]
	if len(places) == 0 {
		if a, b, ok := s.moves[k].corners(s.h.Cols); ok && s.nodes[from+a].best() == barred && s.nodes[from+b].best() == barred {
			return math.Inf(1)
		}
		return s.leg(z1-z0, st.leg, s.ground(from, to), onTrail)
	}
	for _, p := range places {
		a, b := from+p.a, from+p.b
		if s.nodes[a].best() == barred || s.nodes[b].best() == barred {
			return math.Inf(1)
		}
		onTrail = onTrail && (s.o.Trail[a] || s.o.Trail[b])
	}
	if s.o.EndHeights {
		return s.leg(z1-z0, st.leg, s.ground(from, to), onTrail)
	}
	var sum float64
	last, lastGround, rest := z0, s.groundAt(from), st.whole
	// What remains of a move off trails is at least what its mean slope takes.
	pace, floor := s.pace, s.groundLeast*s.scale
	if onTrail || len(pace.low) == 0 {
		floor = 0
	}
	for _, p := range places {
		a, b := float64(s.nodes[from+p.a].z), float64(s.nodes[from+p.b].z)
		here := a + p.share*(b-a)
		ground := s.groundBetween(from, p)
		sum += s.leg(here-last, st.leg, (lastGround+ground)/2, onTrail)
		rest -= st.leg
		if floor > 0 {
			if least := sum + rest*floor*pace.atLeast((z1-here)/rest); least >= limit {
				return least
			}
		}
		last, lastGround = here, ground
	}
	return sum + s.leg(z1-last, st.leg, (lastGround+s.groundAt(to))/2, onTrail)
}

// leg returns the time over a map distance with that rise [s].
func (s *search) leg(riseM, lengthM, ground float64, onTrail bool) float64 {
	slope := riseM / lengthM
	if onTrail {
		return lengthM * s.trail.at(slope) * s.scale
	}
	if slope > s.maxGrade || slope < -s.maxGrade {
		return math.Inf(1)
	}
	return lengthM * s.pace.at(slope) * ground * s.scale
}

func (s *search) groundAt(cell int) float64 {
	if s.o.Ground == nil {
		return 1
	}
	return float64(s.o.Ground[cell])
}

// ground returns the factor of a leg between two cells, half its way on each.
func (s *search) ground(from, to int) float64 {
	return (s.groundAt(from) + s.groundAt(to)) / 2
}

func (s *search) groundBetween(from int, p place) float64 {
	if s.o.Ground == nil {
		return 1
	}
	a, b := float64(s.o.Ground[from+p.a]), float64(s.o.Ground[from+p.b])
	return a + p.share*(b-a)
}
