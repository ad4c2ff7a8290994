package sweep

import (
	"math"
	"math/rand/v2"
	"slices"
)

// A timeline is what one party does by the clock.
type timeline struct {
	order  []int     // segments
	stayS  []float64 // in each
	spells []spell   // in each
}

// A spell is a time in which a segment is searched.
type spell struct{ fromS, untilS, perS float64 }

func (l timeline) clone() timeline {
	return timeline{slices.Clone(l.order), slices.Clone(l.stayS), slices.Clone(l.spells)}
}

// An improving is the search for better tours.
type improving struct {
	*touring
	open  [][]int // by party: segments where it can find anything
	lines []timeline
	endS  float64   // of the longest time that a party has
	each  []float64 // what each segment is worth now
	sum   float64
	r     *rand.Rand

	// Used again and again.
	times, after []float64
	here         []spell
	touched      []int
}

// Own choices. changesEach is how many changes are tried for each party, changesMost for
// all of them, each of tries times; counted, not timed, so that the same input gives the
// same answer. A change for the worse by warmest is taken with a chance of 1/e at first, by
// coldest at last. Four times as many changes are worth 1 % more.
const (
	changesEach      = 15_000
	changesMost      = 150_000
	tries            = 2
	warmest, coldest = 5e-3, 1e-5
)

// improve changes tours a little at random, again and again, and keeps the best: a change
// that loses is taken as well, but less and less (simulated annealing: Kirkpatrick, Gelatt
// and Vecchi 1983, Science 220, 671-680). What counts is the chance that they are found by
// the end plus its mean over the time until then: with short ways and times well divided
// more are found, with the likeliest first they are found sooner, and the two count alike
// (own choice).
func (t *touring) improve() {
	var best []timeline
	most := 0.0
	for seed := range uint64(tries) {
		m := t.improving(seed)
		if m.endS == 0 {
			return
		}
		for n, changes := 0, min(changesEach*len(m.lines), changesMost); n < changes; n++ {
			m.change(warmest * math.Pow(coldest/warmest, float64(n)/float64(changes)))
			if best == nil || m.sum > most*(1+tie) {
				best, most = slices.Clone(m.lines), m.sum
			}
		}
	}
	for j, line := range best {
		t.visits[j] = line.order
		clear(t.Seconds[j])
		for k, i := range line.order {
			t.Seconds[j][i] = line.stayS[k]
		}
	}
}

// improving starts from the tours as they stand.
func (t *touring) improving(seed uint64) *improving {
	m := &improving{touring: t, each: make([]float64, len(t.POA)), r: rand.New(rand.NewPCG(1, seed))}
	for j, p := range t.Parties {
		m.endS = max(m.endS, p.Seconds)
		line := timeline{order: slices.Clone(t.visits[j])}
		for _, i := range t.visits[j] {
			line.stayS = append(line.stayS, t.Seconds[j][i])
		}
		if !m.fit(j, &line) {
			line = timeline{}
		}
		m.lines = append(m.lines, line)
		var open []int
		for i := range t.POA {
			if t.POA[i]*t.perS(j, i) > 0 && t.onSiteS(j, i) > 0 {
				open = append(open, i)
			}
		}
		m.open = append(m.open, open)
	}
	if m.endS == 0 {
		return m
	}
	for i := range t.POA {
		m.each[i] = m.worth(i)
		m.sum += m.each[i]
	}
	return m
}

// change tries one change. Timelines are replaced, never written to.
func (m *improving) change(warmth float64) {
	a := m.r.IntN(len(m.lines))
	b := a
	if len(m.open[a]) == 0 {
		return
	}
	line, other := m.lines[a].clone(), timeline{}
	n := len(line.order)
	k := 0
	if n > 0 {
		k = m.r.IntN(n)
	}
	switch what := m.r.IntN(8); {
	case what <= 2 && n > 1: // more time here, less there
		l := m.r.IntN(n)
		by := (line.stayS[l] - LeastTaskS) * m.r.Float64() * m.r.Float64()
		line.stayS[k], line.stayS[l] = line.stayS[k]+by, line.stayS[l]-by
	case what == 3 && n > 1: // the other way round from one to another
		l := m.r.IntN(n)
		slices.Reverse(line.order[min(k, l) : max(k, l)+1])
		slices.Reverse(line.stayS[min(k, l) : max(k, l)+1])
	case what == 4 && n > 0: // somewhere else
		line.order[k] = m.open[a][m.r.IntN(len(m.open[a]))]
	case what == 5: // somewhere else as well
		line.insert(m.r.IntN(n+1), m.open[a][m.r.IntN(len(m.open[a]))], LeastTaskS*(1+2*m.r.Float64()))
	case what == 6 && n > 1: // not there
		line.drop(k)
	case what == 7 && n > 0: // by another party, or at another time, or in exchange
		b = m.r.IntN(len(m.lines))
		segment, stayS := line.order[k], line.stayS[k]
		if b == a {
			line.drop(k)
			line.insert(m.r.IntN(n), segment, stayS)
			break
		}
		other = m.lines[b].clone()
		at := m.r.IntN(len(other.order) + 1)
		if at < len(other.order) && m.r.IntN(2) == 0 {
			line.order[k], other.order[at] = other.order[at], segment
			break
		}
		line.drop(k)
		other.insert(at, segment, stayS)
	default:
		return
	}
	if !m.fit(a, &line) || b != a && !m.fit(b, &other) {
		return
	}
	m.take(a, b, line, other, warmth)
}

func (l *timeline) insert(at, segment int, stayS float64) {
	l.order, l.stayS = slices.Insert(l.order, at, segment), slices.Insert(l.stayS, at, stayS)
}

func (l *timeline) drop(at int) {
	l.order, l.stayS = slices.Delete(l.order, at, at+1), slices.Delete(l.stayS, at, at+1)
}

// fit makes a party's times fill what it has, and works out its spells; false where it
// goes somewhere twice or where it cannot, or has too little time.
func (m *improving) fit(party int, line *timeline) bool {
	left, now, at := m.Parties[party].Seconds, 0.0, nobody
	for k, i := range line.order {
		if slices.Contains(line.order[:k], i) || m.perS(party, i) == 0 || math.IsInf(m.TravelS[party][i], 1) {
			return false
		}
		left -= m.wayS(party, at, i)
		at = i
	}
	left -= m.backS(party, at)
	n, sum := float64(len(line.order)), 0.0
	least := float64(LeastTaskS)
	if n < 2 {
		least = 0
	}
	if n > 0 && !(left > 0 && left >= n*least*(1-tie)) {
		return false
	}
	for _, s := range line.stayS {
		sum += s - least
	}
	line.spells = line.spells[:0]
	at = nobody
	for k, i := range line.order {
		if sum > 0 {
			line.stayS[k] = least + (line.stayS[k]-least)*max(0, left-n*least)/sum
		} else {
			line.stayS[k] = left / n
		}
		now += m.wayS(party, at, i)
		line.spells = append(line.spells, spell{now, now + line.stayS[k], m.perS(party, i)})
		now, at = now+line.stayS[k], i
	}
	return true
}

// take puts the timelines of one or two parties in place of those they have if they are
// worth more, or by chance.
func (m *improving) take(a, b int, line, other timeline, warmth float64) {
	wasA, wasB := m.lines[a], m.lines[b]
	m.touched = append(append(m.touched[:0], wasA.order...), line.order...)
	if b != a {
		m.touched = append(append(m.touched, wasB.order...), other.order...)
		m.lines[b] = other
	}
	m.lines[a] = line
	slices.Sort(m.touched)
	m.touched, m.after = slices.Compact(m.touched), m.after[:0]
	gain := 0.0
	for n, i := range m.touched {
		m.after = append(m.after, m.worth(i))
		gain += m.after[n] - m.each[i]
	}
	if gain < 0 && m.r.Float64() >= math.Exp(gain/warmth) {
		m.lines[b] = wasB
		m.lines[a] = wasA
		return
	}
	for n, i := range m.touched {
		m.each[i] = m.after[n]
	}
	m.sum += gain
}

// worth returns the chance that the person is in a segment and found by the end, plus
// its mean over the time until then.
func (m *improving) worth(segment int) float64 {
	m.times, m.here = m.times[:0], m.here[:0]
	for _, line := range m.lines {
		if k := slices.Index(line.order, segment); k >= 0 {
			m.here = append(m.here, line.spells[k])
			m.times = append(m.times, line.spells[k].fromS, line.spells[k].untilS)
		}
	}
	slices.Sort(m.times)
	covered, now, sum := 0.0, 0.0, 0.0
	for n := range len(m.times) + 1 {
		next := m.endS
		if n < len(m.times) {
			next = m.times[n]
		}
		rate := 0.0
		for _, s := range m.here {
			if s.fromS <= now && next <= s.untilS {
				rate += s.perS
			}
		}
		after := covered + rate*(next-now)
		if rate > 0 {
			sum += (inOrderSum(after) - inOrderSum(covered)) / rate
		} else {
			sum += inOrder(covered) * (next - now)
		}
		covered, now = after, next
	}
	return m.POA[segment] * (inOrder(covered) + sum/m.endS)
}

// Lines are taken to lie in good order but for a tenth, which finds as lines at random do
// (own choice): without it, time that is left when all has been covered well would go
// anywhere.
const atRandom = 0.1

// inOrder is what lines find by coverage.
func inOrder(coverage float64) float64 {
	return (1-atRandom)*inLines(coverage) - atRandom*math.Expm1(-coverage)
}

// inOrderSum is the integral of inOrder.
func inOrderSum(coverage float64) float64 {
	lines := coverage*inLines(coverage) + 2/math.Pi*(inLinesSlope(coverage)-1)
	return (1-atRandom)*lines + atRandom*(coverage+math.Expm1(-coverage))
}
