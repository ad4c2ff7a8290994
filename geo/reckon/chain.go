package reckon

import (
	"math"

	"farhail/geo/earth"
)

// A chain is a log as a least-squares problem: legs with errors of their own,
// two errors common to all, a start that may be unsure, and what is known of
// places on the way. Everything is linear, and the places follow one another,
// so that the normal equations are solved from leg to leg: forward as a filter
// (Kalman 1960), back as a smoother, in a time that grows with the number of
// legs. The result is that of weighted least squares over all of it at once.
//
// The state is, in this order, where the party is (north, east), the two common
// errors (a share of every length, a turn of every bearing in radians) and
// where the log started (north, east).
//
// Sources: de Jong 1989, Smoothing and interpolation with the state-space model,
// J. Am. Stat. Assoc. 84, 1085-1088, for the way back and the residuals; de Jong
// and Penzer 1998, Diagnosing shocks in time series, J. Am. Stat. Assoc. 93,
// 796-806, for what a change of one leg would do. Both from memory; the tests
// solve the same problems by dense normal equations.
type chain struct {
	links []link
}

const stateSize = 6

type (
	vector [stateSize]float64
	matrix [stateSize]vector
)

type linkKind int

const (
	legLink  linkKind = iota // a leg moves the party on
	seenLink                 // something is observed
	jumpLink                 // the log goes on elsewhere
)

// A link is one event of a chain in its order. The fields below the line are the
// filter's.
type link struct {
	kind linkKind
	// of a leg: its displacement and the covariance of its own error; of a jump:
	// where to, and how sure.
	n, e float64
	c    earth.Covariance
	// of an observation: z = h·state + error of variance r.
	h    vector
	z, r float64

	a    vector // state before
	p    matrix // its covariance
	k    vector // P h / f
	v, f float64
}

// A solved chain.
type solved struct {
	chi  float64 // weighted sum of squares of what does not fit
	rows int     // observations
	// before holds for every link the state before it by all of the log, and after
	// the last one its end.
	state []vector
	cov   []matrix
	// score and weight of every link: of a leg, the slope and the curvature of the
	// log-likelihood by a change of the leg's displacement; of an observation, the
	// standardised residual in score[0].
	score  [][2]float64
	weight [][2][2]float64
}

// solve works the chain out from a start. It fails with ErrNoError where an
// observation contradicts what is taken to have no error.
func (ch *chain) solve(a vector, p matrix) (*solved, error) {
	s := &solved{}
	for i := range ch.links {
		l := &ch.links[i]
		l.a, l.p = a, p
		switch l.kind {
		case legLink:
			t := l.step()
			a = t.times(a)
			a[0], a[1] = a[0]+l.n, a[1]+l.e
			p = t.timesMatrix(p).timesTransposed(t)
			p[0][0] += l.c.NN
			p[0][1] += l.c.NE
			p[1][0] += l.c.NE
			p[1][1] += l.c.EE
		case jumpLink:
			a[0], a[1] = l.n, l.e
			for k := range p {
				p[0][k], p[1][k], p[k][0], p[k][1] = 0, 0, 0, 0
			}
			p[0][0], p[0][1], p[1][0], p[1][1] = l.c.NN, l.c.NE, l.c.NE, l.c.EE
		case seenLink:
			ph := p.times(l.h)
			l.v, l.f = l.z-dot(l.h, a), dot(l.h, ph)+l.r
			if !(l.f > 0) {
				return nil, ErrNoError
			}
			s.chi += l.v * l.v / l.f
			s.rows++
			for j := range a {
				l.k[j] = ph[j] / l.f
				a[j] += l.k[j] * l.v
			}
			for j := range p {
				for k := range p {
					p[j][k] -= l.k[j] * ph[k]
				}
			}
		}
	}
	ch.back(s, a, p)
	return s, nil
}

// step returns the state's transition by a leg: a common share lengthens it, a
// common turn swings it to the right.
func (l *link) step() matrix {
	t := identity()
	t[0][2], t[0][3] = l.n, -l.e
	t[1][2], t[1][3] = l.e, l.n
	return t
}

// back goes through the chain from its end, with the slope r and the curvature w
// of the log-likelihood of all that comes after by the state.
func (ch *chain) back(s *solved, a vector, p matrix) {
	n := len(ch.links)
	s.state, s.cov = make([]vector, n+1), make([]matrix, n+1)
	s.score, s.weight = make([][2]float64, n), make([][2][2]float64, n)
	s.state[n], s.cov[n] = a, p
	var r vector
	var w matrix
	for i := n - 1; i >= 0; i-- {
		l := &ch.links[i]
		switch l.kind {
		case legLink:
			s.score[i] = [2]float64{r[0], r[1]}
			s.weight[i] = [2][2]float64{{w[0][0], w[0][1]}, {w[1][0], w[1][1]}}
			t := l.step()
			r = t.transposedTimes(r)
			w = t.transposedTimesMatrix(w).timesMatrix(t)
		case jumpLink:
			r[0], r[1] = 0, 0
			for k := range w {
				w[0][k], w[1][k], w[k][0], w[k][1] = 0, 0, 0, 0
			}
		case seenLink:
			// (de Jong 1989) u = v/f - k'r, its variance 1/f + k'Nk.
			u := l.v/l.f - dot(l.k, r)
			s.score[i][0] = u / math.Sqrt(1/l.f+dot(l.k, w.times(l.k)))
			for j := range r {
				r[j] += l.h[j] * u
			}
			// L = I - k h', N = h h'/f + L'NL.
			left := identity()
			for j := range left {
				for k := range left {
					left[j][k] -= l.k[j] * l.h[k]
				}
			}
			w = left.transposedTimesMatrix(w).timesMatrix(left)
			for j := range w {
				for k := range w {
					w[j][k] += l.h[j] * l.h[k] / l.f
				}
			}
		}
		pr := l.p.times(r)
		for j := range pr {
			s.state[i][j] = l.a[j] + pr[j]
		}
		s.cov[i] = l.p
		pwp := l.p.timesMatrix(w).timesMatrix(l.p)
		for j := range pwp {
			for k := range pwp {
				s.cov[i][j][k] -= pwp[j][k]
			}
		}
	}
}

// place returns the position part of a covariance.
func (m *matrix) place() earth.Covariance {
	return earth.Covariance{NN: m[0][0], NE: (m[0][1] + m[1][0]) / 2, EE: m[1][1]}
}

func identity() (m matrix) {
	for i := range m {
		m[i][i] = 1
	}
	return m
}

func dot(a, b vector) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func (m *matrix) times(v vector) (out vector) {
	for i := range m {
		out[i] = dot(m[i], v)
	}
	return out
}

func (m *matrix) transposedTimes(v vector) (out vector) {
	for i := range m {
		for j := range m {
			out[j] += m[i][j] * v[i]
		}
	}
	return out
}

func (m matrix) timesMatrix(b matrix) (out matrix) {
	for i := range m {
		for k := range m {
			if x := m[i][k]; x != 0 {
				for j := range m {
					out[i][j] += x * b[k][j]
				}
			}
		}
	}
	return out
}

func (m matrix) timesTransposed(b matrix) (out matrix) {
	for i := range m {
		for j := range m {
			out[i][j] = dot(m[i], b[j])
		}
	}
	return out
}

func (m *matrix) transposedTimesMatrix(b matrix) (out matrix) {
	for k := range m {
		for i := range m {
			if x := m[k][i]; x != 0 {
				for j := range m {
					out[i][j] += x * b[k][j]
				}
			}
		}
	}
	return out
}
