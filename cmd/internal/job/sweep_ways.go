package job

import (
	"cmp"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/track"
	"farhail/signal/sweep"
)

// A walkedWay is what one person of a party walked.
type walkedWay struct {
	party, watcher int
	eyeM           float64 // above the ground
	points         []sweep.Point
	speeds         []float64 // of each leg [m/s], 0 where the track does not tell
}

// Steps of ways between the places that sight lines begin at [m].
const leastStepM, mostStepM = 25, 250

// stepM returns how far apart those places are for a distance that matters: short
// beside it, but no shorter than what the terrain tells apart. Without terrain every
// line is clear, and a leg may be of any length.
func (w *sweeping) stepM(farM float64) float64 {
	h := w.run.heights
	if h == nil {
		return math.Inf(1)
	}
	east, north := h.Metres(h.Rows / 2)
	return max(min(max(farM/20, leastStepM), mostStepM), eyeStepCells*min(east, north))
}

// ways returns the parallel ways of all people of an operation, in steps that are
// short beside the distance that matters.
func (w *sweeping) ways(o *operation, recorded bool, farM float64) ([]walkedWay, error) {
	stepM := w.stepM(farM)
	var all partyWays
	for n, p := range o.parties {
		tracks := p.clean
		if recorded {
			tracks = p.raw
		}
		side, err := w.abreast(p.plan, tracks, max(receiverM, farM/100), stepM)
		if err != nil {
			return nil, err
		}
		all.add(n, p.plan.People, side)
	}
	return all.ways, nil
}

// partyWays gathers the ways of several parties, whose people are numbered through.
type partyWays struct {
	ways     []walkedWay
	watchers int
}

// add takes in the ways of the people of party n.
func (a *partyWays) add(n, people int, ways []walkedWay) {
	for _, way := range ways {
		way.party, way.watcher = n, a.watchers+way.watcher
		a.ways = append(a.ways, way)
	}
	a.watchers += people
}

// abreast returns the parallel ways of a party's people along tracks, in steps, its
// first person's as those of watcher 0. Tracks are straightened first within a distance
// [m], 0: not.
func (w *sweeping) abreast(by plan.SearchedBy, tracks []track.Track, withinM, stepM float64) ([]walkedWay, error) {
	var ways []walkedWay
	for _, s := range segmentsOf(tracks) {
		line, err := w.plane(s)
		if err != nil {
			return nil, err
		}
		kept := straightened(line, withinM)
		straight := make([]sweep.Point, len(kept))
		for k, i := range kept {
			straight[k] = line[i]
		}
		speeds := speedsOf(s, kept)
		side, err := (sweep.Line{People: by.People, SpacingM: by.SpacingM, Carrier: by.Carrier}).Ways(straight)
		if err != nil {
			return nil, err
		}
		for i, way := range side {
			walked := inSteps(i, way, speeds, stepM)
			walked.eyeM = cmp.Or(by.AltitudeM, w.run.plan.Looking.EyeHeightM)
			ways = append(ways, walked)
		}
	}
	return ways, nil
}

func (w *sweeping) plane(s track.Segment) ([]sweep.Point, error) {
	line := make([]sweep.Point, len(s))
	for i, f := range s {
		var err error
		if line[i], err = w.point(f.Point); err != nil {
			return nil, err
		}
	}
	return line, nil
}

// speedsOf returns the speed between fixes of a segment that were kept, along the
// straight line [m/s]: 0 where the clock does not tell it.
func speedsOf(s track.Segment, kept []int) []float64 {
	speeds := make([]float64, max(len(kept)-1, 0))
	for k := range speeds {
		from, to := s[kept[k]], s[kept[k+1]]
		known := !from.Time.IsZero() && !to.Time.IsZero()
		for i := kept[k] + 1; known && i <= kept[k+1]; i++ {
			took := s[i].Time.Sub(s[i-1].Time).Seconds()
			known = s[i].Time.IsZero() || s[i-1].Time.IsZero() || took >= 0 && took <= pauseS
		}
		if took := to.Time.Sub(from.Time).Seconds(); known && took > 0 {
			speeds[k] = track.Segment{from, to}.LengthM() / took
		}
	}
	return speeds
}

// receiverM is how far off a hand receiver's fixes lie [m]: own choice. Parallel ways
// would make loops of it.
const receiverM = 5.0

// straightened returns which points of a way to keep, so that the others lie within a
// distance of the straight line past them [m], 0: all. What a receiver records every
// second has no more legs than it needs.
func straightened(way []sweep.Point, withinM float64) []int {
	var kept []int
	for first := 0; first < len(way); {
		kept = append(kept, first)
		next := first + 1
		for withinM > 0 && next+1 < len(way) && next-first < mostJoined && within(way[first:next+2], withinM) {
			next++
		}
		first = next
	}
	return kept
}

// mostJoined is how many points one leg may stand for.
const mostJoined = 300

// within reports whether all points lie near the line from the first to the last, and
// follow it.
func within(points []sweep.Point, m float64) bool {
	a, b := points[0], points[len(points)-1]
	east, north := b.EastM-a.EastM, b.NorthM-a.NorthM
	length := math.Hypot(east, north)
	if length == 0 {
		return false
	}
	along := 0.0
	for _, p := range points[1 : len(points)-1] {
		dx, dy := p.EastM-a.EastM, p.NorthM-a.NorthM
		t := (dx*east + dy*north) / length
		if math.Abs(dx*north-dy*east)/length > m || t < along-m || t > length+m {
			return false
		}
		along = max(along, t)
	}
	return true
}

// inSteps returns somebody's way with points no farther apart than a step [m].
func inSteps(watcher int, way sweep.Side, speeds []float64, stepM float64) walkedWay {
	out := walkedWay{watcher: watcher, points: slices.Clone(way.Points[:min(1, len(way.Points))])}
	for i := 1; i < len(way.Points); i++ {
		last, p := way.Points[i-1], way.Points[i]
		east, north := p.EastM-last.EastM, p.NorthM-last.NorthM
		n := max(1, int(math.Ceil(math.Hypot(east, north)/stepM)))
		for k := 1; k <= n; k++ {
			at := p
			if k < n {
				f := float64(k) / float64(n)
				at = sweep.Point{EastM: last.EastM + f*east, NorthM: last.NorthM + f*north}
			}
			out.points, out.speeds = append(out.points, at), append(out.speeds, speeds[way.Of[i-1]])
		}
	}
	return out
}

// paceStep is how far apart the speeds are at which passings are worked out, as a factor;
// paceEach of them lie to either side of the party's mean, a factor 3.8. Own choice.
const (
	paceStep = 1.25
	paceEach = 6
)

// paces are how somebody's passings depend on the speed of each leg.
type paces struct {
	meanMS float64
	curves []*sweep.Curve                   // by kind of ground; nil where speed does not matter
	tired  float64                          // what fatigue leaves of a width
	known  [2*paceEach + 1][]*sweep.Passing // by step of speed and kind of ground
}

// step returns the step of a speed, the middle one where it is not known.
func (p *paces) step(speedMS float64) int {
	if speedMS <= 0 {
		return paceEach
	}
	n := int(math.Round(math.Log(speedMS/p.meanMS) / math.Log(paceStep)))
	return min(max(n, -paceEach), paceEach) + paceEach
}

// passings returns the passings at a step of speed, by kind of ground.
func (p *paces) passings(step int) ([]*sweep.Passing, error) {
	if p.known[step] != nil {
		return p.known[step], nil
	}
	list := slices.Clone(p.known[paceEach])
	for k, c := range p.curves {
		if c == nil {
			continue
		}
		other, err := c.AtSpeed(p.meanMS * math.Pow(paceStep, float64(step-paceEach)))
		if err != nil {
			return nil, err
		}
		if list[k], err = other.Passing(p.tired * other.WidthM); err != nil {
			return nil, err
		}
	}
	p.known[step] = list
	return list, nil
}

// A stretch is a part of somebody's way that they went at one speed.
type stretch struct {
	way, first int // the way, and where in it the stretch begins
	points     []sweep.Point
	passings   []*sweep.Passing // by kind of ground
}

// stretches cuts ways into stretches of one speed each.
func (o *operation) stretches(ways []walkedWay) ([]stretch, error) {
	var list []stretch
	for n, way := range ways {
		p := &o.parties[way.party].paces
		for first := 0; first < len(way.speeds); {
			step := p.step(way.speeds[first])
			last := first + 1
			for last < len(way.speeds) && p.step(way.speeds[last]) == step {
				last++
			}
			passings, err := p.passings(step)
			if err != nil {
				return nil, err
			}
			list = append(list, stretch{n, first, way.points[first : last+1], passings})
			first = last
		}
	}
	return list, nil
}

// tellPaces tells how slow and how fast parties went whose legs count at their own
// speeds.
func (o *operation) tellPaces(ways []walkedWay) {
	type leg struct{ speedMS, lengthM float64 }
	for n, p := range o.parties {
		var legs []leg
		total := 0.0
		for _, way := range ways {
			for i, speed := range way.speeds {
				if way.party == n && p.byLeg && speed > 0 {
					m := math.Hypot(way.points[i+1].EastM-way.points[i].EastM, way.points[i+1].NorthM-way.points[i].NorthM)
					legs, total = append(legs, leg{speed, m}), total+m
				}
			}
		}
		slices.SortFunc(legs, func(a, b leg) int { return cmp.Compare(a.speedMS, b.speedMS) })
		at := func(share float64) cli.Num {
			sum := 0.0
			for _, l := range legs {
				if sum += l.lengthM; sum >= share*total {
					return cli.Num(l.speedMS)
				}
			}
			return cli.Num(math.NaN())
		}
		told := &o.told.Parties[p.told]
		told.SlowMS, told.FastMS = at(0.1), at(0.9)
	}
}
