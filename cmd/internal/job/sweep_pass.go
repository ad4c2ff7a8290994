package job

import (
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/track"
	"farhail/signal/sweep"
)

// lateral returns the lateral range curve of a pass.
func (r SightRequest) lateral() (*sweep.Curve, error) {
	out := &SightResult{Kind: r.Signal.Kind}
	q, err := r.ask(out)
	if err != nil {
		return nil, err
	}
	if err := passable(q); err != nil {
		return nil, err
	}
	p := r.passOf(q, float64(out.Inputs.Looking.SpeedMS))
	return solvePass(&p)
}

// searcher is somebody who passes, with the plan's eye height.
func (r *run) searcher(eyes plan.Eyes, speedMS float64, fatigued bool) seer {
	eyes.LookS = 0 // a look does not count for somebody who passes
	return seer{Eyes: eyes, Going: plan.Going{Task: plan.Past, SpeedMS: speedMS, Fatigued: fatigued}, eyeM: r.plan.Looking.EyeHeightM}
}

// passing returns how a target is seen on one kind of ground by somebody who passes
// at a time, zero for a clear day. A width that was measured wins, and keeps the shape of
// the model's curve: that of a clear day where the model sees nothing.
func (w *sweeping) passing(target plan.Signal, at time.Time, by seer, ground cellKind, own plan.OwnWidth) (*sweep.Passing, SweptWidth, error) {
	told := SweptWidth{Ground: ground.name, From: ModelWidth}
	if target.Heard() {
		return nil, told, fmt.Errorf("%s is heard, not seen: nobody's ways tell how well it was listened for", target.Name)
	}
	solve := func(at time.Time) (*sweep.Curve, error) {
		request, err := w.run.requestBy(target, at, by, true)
		if err != nil {
			return nil, err
		}
		p := ground.plants
		request.StemsPerM2, request.StemWidthM, request.LeafAreaIndex, request.CanopyM = p.StemsPerM2, p.StemWidthM, p.LeafAreaIndex, p.CanopyM
		return request.lateral()
	}
	c, err := solve(at)
	if err != nil {
		return nil, told, err
	}
	width := c.WidthM
	if by.Fatigued {
		width *= fatigueFactor
		told.From += ", tired: 0.9 of it"
	}
	if !at.IsZero() && !alight(target, at) {
		width = 0
		told.From = "not lit at that hour"
	}
	told.ModelM = cli.Len(width)
	if m := (SightMeasured{own.WidthM, own.RangeM, own.Conspicuity}); m.given() {
		if width, told.From, err = m.width(); err != nil {
			return nil, told, err
		}
		if c.WidthM == 0 {
			if c, err = solve(time.Time{}); err != nil {
				return nil, told, err
			}
		}
	}
	told.SweepWidthM = cli.Len(width)
	if c.WidthM == 0 {
		width = math.NaN() // nothing is seen, and nothing was measured
	}
	p, err := c.Passing(width)
	return p, told, err
}

// leastPass is the chance of a whole pass below which its distance does not
// matter. Own choice: what lies beyond adds less than 3 % to the width of an inverse
// cube law.
const leastPass = 0.002

// rangeM returns the lateral distance beyond which a passing hardly finds anything [m].
func rangeM(p *sweep.Passing) float64 {
	const far = 1e7
	out := 1.0
	for p.Chance(out, far, -far) >= leastPass && out < far {
		out *= 1.1
	}
	return out
}

// searchOf works out what an operation has seen, along its clean tracks or, to compare,
// as they were recorded.
func (w *sweeping) searchOf(ctx context.Context, o *operation, recorded bool) ([]*sweep.Searched, error) {
	reachM := [2]float64{} // on ground without plants, among plants
	for k, kind := range w.kinds {
		for _, p := range o.parties {
			if w := p.passings[k]; w.WidthM > 0 && len(kind.cells) > 0 {
				side := 0
				if kind.among {
					side = 1
				}
				reachM[side] = max(reachM[side], rangeM(w))
			}
		}
	}
	farM := max(reachM[0], reachM[1])
	ways, err := w.ways(o, recorded, farM)
	if err != nil {
		return nil, err
	}
	eyeM, targetM := w.run.plan.Looking.EyeHeightM, w.run.standsM(o.target)
	lines := [2]*seenLines{}
	for side := range lines {
		if lines[side], err = w.seenLines(ctx, ways, eyeM, targetM, reachM[side], side == 0); err != nil {
			return nil, err
		}
	}
	searched := make([]*sweep.Searched, len(w.kinds))
	heights := make([][]float64, len(ways))
	for i, way := range ways {
		heights[i] = w.groundM(way.points)
	}
	for k, kind := range w.kinds {
		side := 0
		if kind.among {
			side = 1
		}
		spots := w.spots(kind)
		op := sweep.Operation{HeightsM: w.groundM(spots)}
		for i, way := range ways {
			op.Ways = append(op.Ways, sweep.Way{Passing: o.parties[way.party].passings[k], Points: way.points, HeightsM: heights[i], Watcher: way.watcher})
		}
		if l := lines[side]; l != nil {
			op.Clear = func(way, leg, spot int) float64 { return l.clear(way, leg, kind.cells[spot/kind.spotsEach()]) }
		}
		if searched[k], err = op.Search(ctx, spots); err != nil {
			return nil, err
		}
	}
	o.told.RangeM = cli.Len(farM)
	return searched, nil
}

// groundM returns the height of the ground at places [m], NaN where it is not known, nil
// without terrain.
func (w *sweeping) groundM(places []sweep.Point) []float64 {
	h := w.run.heights
	if h == nil {
		return nil
	}
	list := make([]float64, len(places))
	for i, p := range places {
		list[i] = h.SampleCell(h.Cell(w.local.Inverse(p.EastM, p.NorthM)))
	}
	return list
}

// spotsEach is how many spots of a cell are looked at.
func (k cellKind) spotsEach() int { return k.fine * k.fine }

// mostFine is how many spots across a cell are looked at, at most.
const mostFine = 4

// settleSpots chooses how many spots of each cell are looked at, so that lanes that
// are narrower than a cell count as such: two to the narrowest sweep width on that
// ground.
func (w *sweeping) settleSpots() {
	east, north := w.frame.Metres(w.frame.Rows / 2)
	for k := range w.kinds {
		narrow := math.Inf(1)
		for _, o := range w.ops {
			for _, p := range o.parties {
				if width := p.passings[k].WidthM; width > 0 {
					narrow = min(narrow, width)
				}
			}
		}
		w.kinds[k].fine = min(max(int(math.Ceil(2*max(east, north)/narrow)), 1), mostFine)
	}
}

// spots returns the spots of all cells of a kind of ground, cell by cell.
func (w *sweeping) spots(kind cellKind) []sweep.Point {
	list := make([]sweep.Point, 0, len(kind.cells)*kind.spotsEach())
	for _, cell := range kind.cells {
		east, north := w.frame.Metres(cell / w.frame.Cols)
		for i := range kind.spotsEach() {
			col, row := float64(i%kind.fine)+0.5, float64(i/kind.fine)+0.5
			list = append(list, sweep.Point{
				EastM:  w.centres[cell].EastM + (col/float64(kind.fine)-0.5)*east,
				NorthM: w.centres[cell].NorthM + (0.5-row/float64(kind.fine))*north,
			})
		}
	}
	return list
}

// A walkedWay is what one person of a party walked.
type walkedWay struct {
	party, watcher int
	points         []sweep.Point
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
	var ways []walkedWay
	watchers := 0
	for n, p := range o.parties {
		tracks := p.clean
		if recorded {
			tracks = p.raw
		}
		side, err := w.abreast(p.plan, tracks, max(receiverM, farM/100), stepM)
		if err != nil {
			return nil, err
		}
		for _, way := range side {
			ways = append(ways, walkedWay{n, watchers + way.watcher, way.points})
		}
		watchers += p.plan.People
	}
	return ways, nil
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
		if withinM > 0 {
			line = straightened(line, withinM)
		}
		side, err := (sweep.Line{People: by.People, SpacingM: by.SpacingM, Carrier: by.Carrier}).Ways(line)
		if err != nil {
			return nil, err
		}
		for i, way := range side {
			ways = append(ways, walkedWay{watcher: i, points: inSteps(way, stepM)})
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

// receiverM is how far off a hand receiver's fixes lie [m]: own choice. Parallel ways
// would make loops of it.
const receiverM = 5.0

// straightened returns a way without the points that lie within a distance of the
// straight line past them [m]: what a receiver records every second has no more legs
// than it needs.
func straightened(way []sweep.Point, withinM float64) []sweep.Point {
	var out []sweep.Point
	for first := 0; first < len(way); {
		out = append(out, way[first])
		next := first + 1
		for next+1 < len(way) && next-first < mostJoined && within(way[first:next+2], withinM) {
			next++
		}
		first = next
	}
	return out
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

// inSteps returns a way with points no farther apart than a step.
func inSteps(way []sweep.Point, stepM float64) []sweep.Point {
	var out []sweep.Point
	for i, p := range way {
		if i > 0 {
			last := way[i-1]
			east, north := p.EastM-last.EastM, p.NorthM-last.NorthM
			n := max(1, int(math.Ceil(math.Hypot(east, north)/stepM)))
			for k := 1; k < n; k++ {
				f := float64(k) / float64(n)
				out = append(out, sweep.Point{EastM: last.EastM + f*east, NorthM: last.NorthM + f*north})
			}
		}
		out = append(out, p)
	}
	return out
}

// spend adds up what each search area was given: how far people walked in it, and how
// much ground that swept by their widths.
func (w *sweeping) spend(o *operation) error {
	ways, err := w.ways(o, false, 0)
	if err != nil {
		return err
	}
	for _, way := range ways {
		passings := o.parties[way.party].passings
		parts := len(w.areas) * len(w.kinds)
		for i, m := range sweep.LengthsM(way.points, leastStepM/2, parts, func(p sweep.Point) int {
			cell := w.cellAt(p)
			if cell < 0 || w.part[cell] < 0 {
				return -1
			}
			return int(w.part[cell])*len(w.kinds) + int(w.kind[cell])
		}) {
			area, kind := i/len(w.kinds), i%len(w.kinds)
			o.effortM[area] += m
			o.sweptM2[area] += m * passings[kind].WidthM
		}
	}
	for k, s := range o.searched {
		for i, pod := range s.POD() {
			if cell := w.kinds[k].cells[i/w.kinds[k].spotsEach()]; pod > leastPass && w.part[cell] >= 0 {
				o.reaches[w.part[cell]] = true
			}
		}
	}
	return nil
}

// shown returns the ways of an operation for maps.
func (w *sweeping) shown(o *operation) {
	for _, p := range o.parties {
		t := SweepTrack{Operation: o.plan.Name, Party: p.plan.Name}
		for _, s := range segmentsOf(p.clean) {
			if line := lineOf(s); len(line) > 1 {
				t.Paths = append(t.Paths, line)
			}
		}
		if len(t.Paths) > 0 {
			w.out.Searching = append(w.out.Searching, t)
		}
	}
}
