package reckon

import (
	"errors"
	"math"

	"farhail/geo/earth"
	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// Causes why a log is not scored.
var (
	// ErrShortTrack says that a track has too few places to be compared with.
	ErrShortTrack = errors.New("reckon: a track of fewer places than the log has legs")
	// ErrUnscored says that a log of a walker without a compass has no legs to be
	// laid along a track.
	ErrUnscored = errors.New("reckon: a log without a compass is not scored")
)

// A Score is a log held against the track of the same walk.
type Score struct {
	EndErrorM      float64   // between where the log leads and where the track ends [m]
	EndErrorShare  float64   // of the track's length
	LogEnd, Actual orb.Point // its ends
	TrackM         float64   // length of the track, gaps and all [m]
	Legs           []LegScore
	Worst          int // leg with the greatest MissM, from 0
}

// A LegScore is one leg held against the stretch of the track that it is laid
// along.
type LegScore struct {
	From, To        orb.Point // of the stretch
	TrackDeg        float64   // true bearing from one to the other; NaN where they are one
	TrackM          float64   // straight [m]
	BearingErrorDeg float64   // of the log, positive to the right [degrees]; NaN where TrackDeg is
	DistanceErrorM  float64   // of the log on the map, positive when it is too long [m]
	MissM           float64   // between where the leg leads and where it should, from the stretch's beginning [m]
	// Kind is the slip that the leg looks like, "" for none, and Probability its chance
	// against none by the errors stated.
	Kind        SlipKind
	Probability float64
}

const (
	// scorePlaces is into how many pieces a track is cut to find where legs end.
	scorePlaces = 150
	// grossCost is the most that one leg costs when legs are laid along a track, in
	// half squares of standard deviations, so that one that fits nowhere does not
	// drag the others along. Own choice.
	grossCost = 25
	// A leg is walked straight: what the track swerves counts against a share of the
	// leg and some metres. Own choice.
	swerveShare, swerveM = 0.1, 15
	// cornerM is how well the place is known at which a leg was ended [m]: the pieces
	// of the track and the receiver. Own choice.
	cornerM = 5
)

// ScoreLog holds a log against the track of the same walk, from its first fix to its
// last. The legs are laid along the track in their order so that bearings, lengths
// and straightness agree best, the slips of [SlipKind] allowed at their odds: by
// dynamic programming over places along the track. A log that states no start begins
// where the track does.
func ScoreLog(l *Log, t track.Track, o Options) (*Score, error) {
	if l.Heading.None || o.Heading.None {
		return nil, ErrUnscored
	}
	first, last, ok := t.Ends()
	if !ok {
		return nil, ErrShortTrack
	}
	if !l.Placed() {
		placed := *l
		placed.Start = first
		l = &placed
	}
	// Places that were known on the way would mend what is to be judged.
	alone := *l
	alone.Known = nil
	for _, k := range l.Known {
		if k.Break {
			alone.Known = append(alone.Known, k)
		}
	}
	o.Close, o.Adjust = false, ""
	r, err := Run(&alone, o)
	if err != nil {
		return nil, err
	}
	s := &scoring{log: &alone, r: r, o: o}
	if err := s.places(t); err != nil {
		return nil, err
	}
	ends, err := s.lay()
	if err != nil {
		return nil, err
	}
	out := &Score{EndErrorM: earth.Distance(r.End, last), LogEnd: r.End, Actual: last, TrackM: s.along[len(s.along)-1]}
	out.EndErrorShare = out.EndErrorM / out.TrackM
	for i, e := range ends {
		leg := s.judge(i, e[0], e[1])
		out.Legs = append(out.Legs, leg)
		if leg.MissM > out.Legs[out.Worst].MissM {
			out.Worst = i
		}
	}
	return out, nil
}

// scoring is a log being laid along a track.
type scoring struct {
	log   *Log
	r     *Result
	o     Options
	fixes track.Segment // the whole track as one line
	at    [][2]float64
	along []float64 // length up to each fix [m]
	node  []int     // fixes at which legs may end
}

// places reads the track: its fixes as one line, and among them every piece's end
// and every turn.
func (s *scoring) places(t track.Track) (err error) {
	for _, seg := range t.Segments {
		s.fixes = append(s.fixes, seg...)
	}
	if s.at, err = flat(s.fixes); err != nil {
		return err
	}
	s.along = make([]float64, len(s.at))
	for i := 1; i < len(s.at); i++ {
		s.along[i] = s.along[i-1] + math.Hypot(s.at[i][0]-s.at[i-1][0], s.at[i][1]-s.at[i-1][1])
	}
	step := math.Max(cornerM, s.along[len(s.along)-1]/scorePlaces)
	corners := turns(s.at, DefaultOffsetM)
	next := 0.0
	for i := range s.at {
		corner := len(corners) > 0 && corners[0] == i
		if corner {
			corners = corners[1:]
		}
		if corner || s.along[i] >= next {
			s.node = append(s.node, i)
			next = s.along[i] + step
		}
	}
	if len(s.node) <= len(s.log.Legs) {
		return ErrShortTrack
	}
	return nil
}

// A chord is a stretch of the track between two nodes.
type chord struct {
	m, deg float64 // length, true bearing
	corner float64 // variance of the bearing by its ends [rad²]
}

func newChord(m, deg float64) chord {
	corner := cornerM / math.Max(m, cornerM)
	return chord{m, deg, corner * corner}
}

// swerve returns how far the track leaves a chord.
func (s *scoring) swerve(a, b int) float64 {
	_, off := farthest(s.at, s.node[a], s.node[b])
	return off
}

// A reading is one way to take a leg: as it is written, or with a slip put right.
type scoreReading struct {
	kind                  SlipKind
	deg, m                float64 // true bearing in (-180, 180], length on the map
	lengthVar, bearingVar float64 // [m²], [rad²]
	price                 float64 // -log of its chance
}

// readings lists the ways to take a leg, as it is written first.
func (s *scoring) readings(i int) []scoreReading {
	leg, step := &s.log.Legs[i], s.r.Legs[i]
	o := s.o.ofLeg(s.log, leg)
	bearing := o.SigmaBearingDeg * math.Pi / 180
	if leg.Lost() {
		// anywhere within its length: the chord costs nothing by its bearing
		return []scoreReading{{"", 0, step.MapM, math.Inf(1), math.Inf(1), 0}}
	}
	list := []scoreReading{{"", float64(step.Bearing), step.MapM, 0, bearing * bearing, -math.Log(1 - SlipShare)}}
	if leg.WalkedM > 0 {
		for _, g := range leg.guesses() {
			list = append(list, scoreReading{g.kind, float64(step.Bearing) + g.bearingDeg - leg.BearingDeg, step.MapM * g.walkedM / leg.WalkedM, 0, bearing * bearing, -math.Log(g.prior)})
		}
	}
	for k := range list {
		d := o.SigmaDistance * list[k].m
		list[k].lengthVar = d*d + cornerM*cornerM
		list[k].deg = earth.Wrap180(list[k].deg)
	}
	return list
}

// cost returns what a chord costs as a leg, in half squares of standard deviations
// and minus the logarithm of chances.
func (w *scoreReading) cost(c *chord) float64 {
	along, turn := c.m-w.m, c.deg-w.deg
	if turn > 180 {
		turn -= 360
	} else if turn < -180 {
		turn += 360
	}
	turn *= math.Pi / 180
	return w.price + (along*along/w.lengthVar+turn*turn/(w.bearingVar+c.corner))/2
}

// lay returns for each leg the nodes between which it fits the track best, the
// whole of it covered but for breaks.
func (s *scoring) lay() ([][2]int, error) {
	n, m := len(s.log.Legs), len(s.node)
	cost := make([]float64, m) // of the legs so far to end at a node
	for j := range cost {
		cost[j] = math.Inf(1)
	}
	cost[0] = 0
	from := make([][]int, n)        // where the leg that ends at a node began
	rest := make([][]int, n)        // and where the leg before it had ended
	swerves := make([]float64, m*m) // NaN where not yet worked out
	chords := make([]chord, m*m)
	for b := range m {
		for a := range b {
			p, q := s.at[s.node[a]], s.at[s.node[b]]
			chords[a*m+b] = newChord(math.Hypot(q[0]-p[0], q[1]-p[1]), math.Atan2(q[1]-p[1], q[0]-p[0])*180/math.Pi)
			swerves[a*m+b] = math.NaN()
		}
	}
	for i := range n {
		entry := make([]int, m)
		for j := range entry {
			entry[j] = j
		}
		if s.breaks(i) {
			for j := 1; j < m; j++ { // the walk went on unlogged
				if cost[j-1] <= cost[j] {
					cost[j], entry[j] = cost[j-1], entry[j-1]
				}
			}
		}
		rest[i], from[i] = entry, make([]int, m)
		next := make([]float64, m)
		readings := s.readings(i)
		for b := range m {
			next[b] = math.Inf(1)
			for a := range b {
				if math.IsInf(cost[a], 1) || cost[a] >= next[b] {
					continue
				}
				c := &chords[a*m+b]
				least := float64(grossCost)
				for k := range readings {
					least = min(least, readings[k].cost(c))
				}
				v := cost[a] + least
				if v >= next[b] {
					continue
				}
				off := swerves[a*m+b]
				if math.IsNaN(off) {
					off = s.swerve(a, b)
					swerves[a*m+b] = off
				}
				z := off / (swerveShare*c.m + swerveM)
				if v += math.Min(z*z/2, grossCost); v < next[b] {
					next[b], from[i][b] = v, a
				}
			}
		}
		cost = next
	}
	if math.IsInf(cost[m-1], 1) {
		return nil, ErrShortTrack
	}
	ends := make([][2]int, n)
	for i, b := n-1, m-1; i >= 0; i-- {
		a := from[i][b]
		ends[i] = [2]int{a, b}
		b = rest[i][a]
	}
	return ends, nil
}

// breaks says whether the log breaks off before a leg.
func (s *scoring) breaks(i int) bool {
	for _, k := range s.log.Known {
		if k.After == i && k.Break {
			return true
		}
	}
	return false
}

// judge compares a leg with its stretch.
func (s *scoring) judge(i, a, b int) LegScore {
	leg, step := &s.log.Legs[i], s.r.Legs[i]
	out := LegScore{From: s.fixes[s.node[a]].Point, To: s.fixes[s.node[b]].Point, BearingErrorDeg: math.NaN()}
	var bearing earth.True
	out.TrackM, bearing, _ = earth.Inverse(out.From, out.To)
	out.TrackDeg = float64(bearing)
	out.DistanceErrorM = step.MapM - out.TrackM
	if out.TrackM > 0 {
		out.BearingErrorDeg = earth.Wrap180(float64(step.Bearing) - out.TrackDeg)
	}
	if leg.Lost() {
		return out
	}
	led, _ := earth.Direct(out.From, step.Bearing, step.MapM)
	out.MissM = earth.Distance(led, out.To)

	if !(leg.WalkedM > 0 && out.TrackM > 0) {
		return out
	}
	c := newChord(out.TrackM, earth.Wrap180(out.TrackDeg))
	sum, least := math.Inf(-1), math.Inf(1)
	for _, w := range s.readings(i) {
		v := w.cost(&c)
		sum = logSum(sum, -v)
		if w.kind != "" && v < least {
			least, out.Kind = v, w.kind
		}
	}
	// A leg that no slip explains is told to have none, however bad it is.
	if out.Probability = math.Exp(-least - sum); out.Probability < 0.5 || least > grossCost {
		out.Kind, out.Probability = "", 0
	}
	return out
}
