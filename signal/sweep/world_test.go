package sweep_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/geo/prob"
	"farhail/geo/terrain"
	"farhail/geo/walk"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/source"
	"farhail/signal/sweep"
)

// This file is a world in which the sums of the package are tried out: ground,
// people who get lost on it, parties who walk over it and look. It knows nothing of
// sweep widths and lateral range curves: whether somebody sees the person is rolled
// step by step from the chance of a glimpse (signal/sighting) at the distance in
// space, by the offset of the threshold that was drawn for the day and the watcher,
// and where the ground leaves a sight line from that step to the person (geo/los).

// A scene is who is looked for, in what light, among what.
type scene struct {
	name  string
	query sighting.Query
	// speedMS is how fast parties walk on the whole, clearM the mean clear line among
	// plants [m], 0 in the open, scanM how far to a side people look [m].
	speedMS, clearM, scanM float64
}

// sitting is a person in plain clothes who sits.
func sitting(behind, background, visibilityM, clutter float64) sighting.Query {
	a := air.Default(background)
	a.VisibilityM = visibilityM
	return sighting.Query{
		Source: source.Person{Posture: source.Sitting, Surface: source.Surface{Reflectance: source.MunsellFactor(4), Behind: behind}},
		Air:    a, Search: observer.WalkingSearch(), Clutter: clutter, EyeM: 1.6, SignalM: 0.5, Ground: sighting.LineClear,
	}
}

// Two scenes: a wood, where plants hide most, and a bare mountainside in haze, where
// the ground does.
func wood() scene {
	return scene{"wood", sitting(0.06, 300, 20e3, observer.ClutterForestFloor), 0.4, 20, 0}
}

func mountainside() scene {
	return scene{"mountainside", sitting(0.15, 3000, 5000, observer.ClutterForestFloor), 0.6, 0, sweep.ScanLimitM(5000)}
}

func (s scene) pass() sweep.Pass {
	return sweep.Pass{Query: s.query, SpeedMS: s.speedMS, Plants: sweep.Plants{MeanClearM: s.clearM}, ScanLimitM: s.scanM}
}

// Ground of a world in a plane, the origin in the middle of its north-west cell.
type ground struct {
	*grid.Heights
	eastM, northM float64 // of a cell
}

// madeUp is hilly ground.
func madeUp(seed uint64, cells int, cellM, heightM float64) ground {
	f := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 380_000, Y0: 4_720_000, DX: cellM, DY: cellM, Cols: cells, Rows: cells}
	return newGround(&grid.Heights{Frame: f, Z: geotest.Rough(seed, heightM).Cells(cells, cells, cellM)})
}

// andorra is real ground about a place, cells of one second of arc resampled from
// three.
func andorra(t testing.TB, middle orb.Point, halfM float64) ground {
	dir := filepath.Join(geotest.Shared(t), "data", "dem")
	d := halfM / 111_000
	box := orb.Bound{Min: orb.Point{middle.Lon() - d/math.Cos(middle.Lat()*math.Pi/180), middle.Lat() - d}}
	box.Max = orb.Point{2*middle.Lon() - box.Min.Lon(), middle.Lat() + d}
	ter, err := terrain.Load(os.DirFS(dir), []string{"bench-N42E001-1s-resampled.tif"}, box)
	require.NoError(t, err)
	return newGround(&ter.Heights)
}

func newGround(h *grid.Heights) ground {
	e, n := h.MetresAt(float64(h.Cols-1)/2, float64(h.Rows-1)/2)
	return ground{h, e, n}
}

func (g ground) cell(p sweep.Point) (col, row float64) {
	return p.EastM / g.eastM, -p.NorthM / g.northM
}

func (g ground) place(col, row float64) sweep.Point {
	return sweep.Point{EastM: col * g.eastM, NorthM: -row * g.northM}
}

// on reports whether a place is on the ground.
func (g ground) on(p sweep.Point) bool {
	col, row := g.cell(p)
	return g.Inside(col, row)
}

// heightM returns the height of the ground; the half cell around the outer centres
// has theirs.
func (g ground) heightM(p sweep.Point) float64 { return g.SampleCell(g.within(p)) }

func (g ground) within(p sweep.Point) (col, row float64) {
	col, row = g.cell(p)
	return min(max(col, 0), float64(g.Cols-1)), min(max(row, 0), float64(g.Rows-1))
}

// station is a place a height above the ground.
func (g ground) station(p sweep.Point, m float64) los.Station {
	col, row := g.within(p)
	return los.Station{Col: col, Row: row, HeightM: m}
}

// tobler is how pace depends on slope: Tobler's function off paths.
func tobler(slope float64) float64 {
	rule, _ := walk.Named("tobler-off")
	return rule.MapPace(slope)
}

// wander walks like somebody who does not know where they are: turns once a minute,
// slower up and down, back from the edge of the ground. It returns where they are at
// each minute.
func (g ground) wander(r *rand.Rand, from sweep.Point, seconds float64) []sweep.Point {
	const everyS = 60
	heading, pace := 2*math.Pi*r.Float64(), math.Exp(prob.DefaultPaceSpread*r.NormFloat64())
	at := from
	list := []sweep.Point{at}
	for ; seconds > 0; seconds -= everyS {
		heading += turnSD * r.NormFloat64()
		ahead := plus(at, 10, heading)
		step := min(everyS, seconds) * pace / tobler((g.heightM(ahead)-g.heightM(at))/10)
		if next := plus(at, step, heading); g.on(next) {
			at = next
		} else {
			heading += math.Pi
		}
		list = append(list, at)
	}
	return list
}

// turnSD is the standard deviation of a lost person's turn in a minute [rad].
const turnSD = 0.8

func plus(p sweep.Point, m, heading float64) sweep.Point {
	return sweep.Point{EastM: p.EastM + m*math.Sin(heading), NorthM: p.NorthM + m*math.Cos(heading)}
}

// lost is where somebody has come who has wandered for so long.
func (g ground) lost(r *rand.Rand, from sweep.Point, seconds float64) sweep.Point {
	way := g.wander(r, from, seconds)
	return way[len(way)-1]
}

// eyes hold the chance of a glimpse by the offset of the threshold [log10] and the
// distance, on a grid of their own.
type eyes struct {
	ln  [][]float64
	end []float64 // of each offset: the logarithm of the distance beyond which nothing is found
}

const (
	eyesFrom, eyesStep = -2.5, 0.1 // of the offset
	eyesNearM, eyesLn  = 0.5, 0.05 // of the distance, and of its logarithm
)

func newEyes(t testing.TB, q sighting.Query) *eyes {
	w, err := q.Watch()
	require.NoError(t, err)
	e := &eyes{}
	for u := eyesFrom; u < 2.8; u += eyesStep {
		raised := w.Raised(u)
		end := math.Log(max(raised.FarthestM(), eyesNearM))
		var line []float64
		for i := 0; len(line) < 2 || eyesNearM*math.Exp(eyesLn*float64(i-1)) < 30e3; i++ {
			c := raised.GlimpseChance(eyesNearM * math.Exp(eyesLn*float64(i)))
			if c < 1e-12 && len(line) > 1 {
				break
			}
			line = append(line, math.Log(max(c, 1e-30)))
		}
		e.ln, e.end = append(e.ln, line), append(e.end, end)
	}
	return e
}

// chance returns the chance of a glimpse. Between the last of a line and where nothing is
// found any more it goes on as it fell before.
func (e *eyes) chance(u, distM float64) float64 {
	x := min(max((u-eyesFrom)/eyesStep, 0), float64(len(e.ln)-1))
	i := min(int(x), len(e.ln)-2)
	fx, ln := x-float64(i), math.Log(max(distM, eyesNearM))
	if ln > (1-fx)*e.end[i]+fx*e.end[i+1] {
		return 0
	}
	y := (ln - math.Log(eyesNearM)) / eyesLn
	at := func(line []float64) float64 {
		k := min(int(y), len(line)-2)
		return line[k] + (line[k+1]-line[k])*(y-float64(k))
	}
	return math.Exp((1-fx)*at(e.ln[i]) + fx*at(e.ln[i+1]))
}

// A step is a piece of somebody's way.
type step struct {
	at, dir  sweep.Point // its middle, and ahead
	eyeM     float64     // height of the eyes
	atS      float64     // when
	glimpses float64     // that are spent on looking
}

// A watcher is one person of a party.
type watcher struct {
	steps []step
	boxes []box // of so many steps each
}

const boxSteps = 32

type box struct {
	west, south, east, north float64
	glimpses                 float64 // of a step, at most
	seconds                  float64
}

// distM returns how far a place is from the box.
func (b box) distM(p sweep.Point) float64 {
	return math.Hypot(max(0, b.west-p.EastM, p.EastM-b.east), max(0, b.south-p.NorthM, p.NorthM-b.north))
}

// stepM is the length of a step: among plants a line is clear or blocked over one
// window, the package's own figure; in the open it is short enough for everything to
// stay as it is.
func (s scene) stepM() float64 {
	if s.clearM > 0 {
		return sweep.WindowM
	}
	return 10
}

// A track is a way with a fix at least every legM, and how fast each leg was walked.
type track struct {
	points []sweep.Point
	speeds []float64 // by leg [m/s]
}

const legM = 30

// track walks a way: at a pace that depends on the slope, and on the whole at the speed
// of the scene.
func (g ground) track(s scene, way []sweep.Point) track {
	t := track{points: []sweep.Point{way[0]}}
	var paceM, lengthM float64
	for i := 1; i < len(way); i++ {
		a, b := way[i-1], way[i]
		l := math.Hypot(b.EastM-a.EastM, b.NorthM-a.NorthM)
		if l == 0 {
			continue
		}
		n := math.Ceil(l / legM)
		for k := 1.0; k <= n; k++ {
			from := t.points[len(t.points)-1]
			to := sweep.Point{EastM: a.EastM + k/n*(b.EastM-a.EastM), NorthM: a.NorthM + k/n*(b.NorthM-a.NorthM)}
			pace := tobler((g.heightM(to) - g.heightM(from)) / (l / n))
			t.points, t.speeds = append(t.points, to), append(t.speeds, 1/pace)
			paceM, lengthM = paceM+pace*l/n, lengthM+l/n
		}
	}
	for i := range t.speeds {
		t.speeds[i] *= s.speedMS * paceM / lengthM
	}
	return t
}

// watcher walks a track and looks.
func (g ground) watcher(s scene, t track, startS float64) watcher {
	var w watcher
	now := startS
	for i, speed := range t.speeds {
		a, b := t.points[i], t.points[i+1]
		e, n := b.EastM-a.EastM, b.NorthM-a.NorthM
		l := math.Hypot(e, n)
		pieces := math.Ceil(l / s.stepM())
		dir, seconds := sweep.Point{EastM: e / l, NorthM: n / l}, l/pieces/speed
		for k := range int(pieces) {
			f := (float64(k) + 0.5) / pieces
			at := sweep.Point{EastM: a.EastM + f*e, NorthM: a.NorthM + f*n}
			w.steps = append(w.steps, step{at, dir, g.heightM(at) + s.query.EyeM, now, s.query.Search.Glimpses(seconds)})
			now += seconds
		}
	}
	w.box()
	return w
}

// box puts boxes around the steps.
func (w *watcher) box() {
	w.boxes = nil
	for i := 0; i < len(w.steps); i += boxSteps {
		b := box{west: math.Inf(1), south: math.Inf(1), east: math.Inf(-1), north: math.Inf(-1)}
		part := w.steps[i:min(i+boxSteps, len(w.steps))]
		for _, st := range part {
			b.west, b.east = min(b.west, st.at.EastM), max(b.east, st.at.EastM)
			b.south, b.north = min(b.south, st.at.NorthM), max(b.north, st.at.NorthM)
			b.glimpses = max(b.glimpses, st.glimpses)
		}
		b.seconds = part[len(part)-1].atS - part[0].atS
		w.boxes = append(w.boxes, b)
	}
}

// How thresholds differ, as doc and design state it: the offset of a pass has a
// standard deviation of 0.29, in equal parts of the variance of target and day and
// of the watcher.
var daySD, watcherSD = 0.29 / math.Sqrt2, 0.29 / math.Sqrt2

// A truth is how things are, which may be otherwise than those believe who plan.
type truth struct {
	scene
	eyes             *eyes
	raised           float64 // every threshold, by a power of ten
	daySD, watcherSD float64
}

func asBelieved(t testing.TB, s scene) truth {
	return truth{scene: s, eyes: newEyes(t, s.query), daySD: daySD, watcherSD: watcherSD}
}

// A person is somebody who is looked for.
type person struct {
	place sweep.Point
	moves []sweep.Point // minute by minute, nil: stays
	eye   *los.Eye      // made when it is needed
}

func (p *person) at(s float64) sweep.Point {
	if p.moves == nil {
		return p.place
	}
	return p.moves[min(int(s/60), len(p.moves)-1)]
}

// foundS returns when a watcher sees the person first, +Inf for never.
func (tr truth) foundS(r *rand.Rand, g ground, p *person, w watcher, offset float64) float64 {
	reach := tr.reachM()
	for i := range w.boxes {
		slack := 0.0
		if p.moves != nil { // nobody gets farther in the time of a box
			slack = 2.5 * (w.boxes[i].seconds + 60)
		}
		if w.boxes[i].distM(p.at(w.steps[i*boxSteps].atS)) > reach+slack {
			continue
		}
		// What no step of the box exceeds: skip as many as would not show anything even
		// with that, and accept the next in proportion to its own chance.
		most := tr.chance(offset, max(0, w.boxes[i].distM(p.at(w.steps[i*boxSteps].atS))-slack), w.boxes[i].glimpses)
		for k := i*boxSteps + skip(r, most); k < min((i+1)*boxSteps, len(w.steps)); k += 1 + skip(r, most) {
			if tr.sees(r, g, p, w.steps[k], offset, most) {
				return w.steps[k].atS
			}
		}
	}
	return math.Inf(1)
}

// reachM is beyond what nobody sees the person.
func (tr truth) reachM() float64 {
	if tr.clearM > 0 {
		return 15 * tr.clearM
	}
	if tr.scanM > 0 {
		return 6000
	}
	return math.Inf(1)
}

// chance returns the chance that one step at a distance shows the person: that the
// line is clear of plants, and that one of so many glimpses meets them.
func (tr truth) chance(offset, distM, glimpses float64) float64 {
	clear := 1.0
	if tr.clearM > 0 {
		clear = math.Exp(-distM / tr.clearM)
	}
	return clear * -math.Expm1(glimpses*math.Log1p(-tr.eyes.chance(offset, distM)))
}

// never is more steps than a box has.
const never = 1e6

// skip returns how many trials of a chance fail before the first that does not.
func skip(r *rand.Rand, chance float64) int {
	if chance <= 0 {
		return never
	}
	return int(min(math.Log(1-r.Float64())/math.Log1p(-chance), never))
}

// sees rolls one step: whether a line between plants is clear, whether a glimpse
// meets the person, and whether ground is in between.
func (tr truth) sees(r *rand.Rand, g ground, p *person, st step, offset, most float64) bool {
	at := p.at(st.atS)
	e, n := at.EastM-st.at.EastM, at.NorthM-st.at.NorthM
	if e*st.dir.EastM+n*st.dir.NorthM <= 0 { // behind them: the sector is 180 degrees
		return false
	}
	if tr.scanM > 0 && math.Abs(e*st.dir.NorthM-n*st.dir.EastM) > tr.scanM {
		return false
	}
	up := g.heightM(at) + tr.query.SignalM - st.eyeM
	if r.Float64()*most >= tr.chance(offset, math.Hypot(math.Hypot(e, n), up), st.glimpses) {
		return false
	}
	if p.moves != nil {
		return los.Line(g.Heights, g.station(st.at, tr.query.EyeM), g.station(at, tr.query.SignalM), los.DefaultOptions()).State == los.Seen
	}
	if p.eye == nil {
		eye, err := los.NewEye(g.Heights, g.station(at, tr.query.SignalM), los.DefaultOptions())
		if err != nil {
			return false
		}
		p.eye = eye
	}
	return p.eye.State(g.station(st.at, tr.query.EyeM)) == los.Seen
}

// A day is the offsets that were drawn for it.
func (tr truth) offsets(r *rand.Rand, watchers int) []float64 {
	list := make([]float64, watchers)
	day := tr.raised + tr.daySD*r.NormFloat64()
	for i := range list {
		list[i] = day + tr.watcherSD*r.NormFloat64()
	}
	return list
}

// clear is what the package is told of the ground: whether the line from the middle
// of each leg to each place is free.
func (g ground) clear(s scene, ways []sweep.Way, places []sweep.Point) func(way, leg, cell int) float64 {
	eyes := make([]*los.Eye, len(places))
	for i, p := range places {
		eyes[i], _ = los.NewEye(g.Heights, g.station(p, s.query.SignalM), los.DefaultOptions())
	}
	return func(way, leg, cell int) float64 {
		a, b := ways[way].Points[leg], ways[way].Points[leg+1]
		mid := sweep.Point{EastM: (a.EastM + b.EastM) / 2, NorthM: (a.NorthM + b.NorthM) / 2}
		if eyes[cell] != nil && eyes[cell].State(g.station(mid, s.query.EyeM)) == los.Seen {
			return 1
		}
		return 0
	}
}

// predicted returns the chances of detection that the package works out for people at
// places who stay, from the tracks of the watchers: with the speed of each leg, to
// a tenth or so, or with the mean speed of all.
func (g ground) predicted(t testing.TB, s scene, tracks []track, places []sweep.Point, ownSpeeds bool) []float64 {
	heights := func(points []sweep.Point) (list []float64) {
		for _, p := range points {
			list = append(list, g.heightM(p))
		}
		return list
	}
	passings := map[int]*sweep.Passing{}
	passing := func(speed float64) *sweep.Passing {
		k := 0
		if ownSpeeds {
			k = int(math.Round(math.Log(speed/s.speedMS) / speedStep))
		}
		if passings[k] == nil {
			p := s.pass()
			p.SpeedMS *= math.Exp(speedStep * float64(k))
			curve, err := p.Solve()
			require.NoError(t, err)
			passings[k], err = curve.Passing(math.NaN())
			require.NoError(t, err)
		}
		return passings[k]
	}
	var ways []sweep.Way
	for i, tr := range tracks {
		for k, speed := range tr.speeds {
			a, b := tr.points[k], tr.points[k+1]
			slope := (g.heightM(b) - g.heightM(a)) / math.Hypot(b.EastM-a.EastM, b.NorthM-a.NorthM)
			p := passing(speed * math.Hypot(1, slope))
			if n := len(ways); k > 0 && ways[n-1].Passing == p {
				ways[n-1].Points = append(ways[n-1].Points, b)
				continue
			}
			ways = append(ways, sweep.Way{Passing: p, Points: []sweep.Point{a, b}, Watcher: i})
		}
	}
	for i := range ways {
		ways[i].HeightsM = heights(ways[i].Points)
	}
	searched, err := sweep.Operation{Ways: ways, HeightsM: heights(places), Clear: g.clear(s, ways, places)}.Search(context.Background(), places)
	require.NoError(t, err)
	return searched.POD()
}

const speedStep = 0.2 // of the logarithm
