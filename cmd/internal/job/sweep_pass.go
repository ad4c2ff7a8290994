package job

import (
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
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

// unjudged says why no way tells whether somebody saw what was looked for: what is heard,
// a mirror, a beam from the air. Who looked for that is left out, and told.
type unjudged struct{ error }

// passing is [sweeping.passed] without what depends on speed.
func (w *sweeping) passing(target plan.Signal, at time.Time, by seer, ground cellKind, own plan.OwnWidth) (*sweep.Passing, SweptWidth, error) {
	p, _, told, err := w.passed(target, at, by, ground, own)
	return p, told, err
}

// passed returns how a target is seen on one kind of ground by somebody who passes
// at a time, zero for a clear day. A width that was measured wins, and keeps the shape of
// the model's curve: that of a clear day where the model sees nothing. The curve is
// nil where the width does not depend on the speed.
func (w *sweeping) passed(target plan.Signal, at time.Time, by seer, ground cellKind, own plan.OwnWidth) (*sweep.Passing, *sweep.Curve, SweptWidth, error) {
	told := SweptWidth{Ground: ground.name, From: ModelWidth}
	if target.Heard() {
		return nil, nil, told, unjudged{fmt.Errorf("%s is heard, not seen: nobody's ways tell how well it was listened for", target.Name)}
	}
	solve := func(at time.Time) (*sweep.Curve, error) {
		request, err := w.run.requestBy(target, at, by, true)
		if err != nil {
			return nil, err
		}
		p := ground.plants
		if by.aloft() {
			p = sweep.Plants{} // under the cover's trees nothing is looked for, see below
		}
		request.StemsPerM2, request.StemWidthM, request.LeafAreaIndex, request.CanopyM = p.StemsPerM2, p.StemWidthM, p.LeafAreaIndex, p.CanopyM
		c, err := request.lateral()
		if err != nil {
			return nil, unjudged{err}
		}
		return c, nil
	}
	c, err := solve(at)
	if err != nil {
		return nil, nil, told, err
	}
	width, bySpeed := c.WidthM, c
	if by.Fatigued {
		width *= fatigueFactor
		told.From += ", tired: 0.9 of it"
	}
	if !at.IsZero() && !alight(target, at) {
		width, bySpeed = 0, nil
		told.From = "not lit at that hour"
	}
	if by.aloft() && ground.cover {
		width, bySpeed = 0, nil
		told.From = "from an aircraft nothing is taken to be seen under plants"
	}
	told.ModelM = cli.Len(width)
	if m := (SightMeasured{own.WidthM, own.RangeM, own.Conspicuity}); m.given() {
		bySpeed = nil
		if width, told.From, err = m.width(); err != nil {
			return nil, nil, told, err
		}
		if c.WidthM == 0 {
			if c, err = solve(time.Time{}); err != nil {
				return nil, nil, told, err
			}
		}
	}
	told.SweepWidthM = cli.Len(width)
	if c.WidthM == 0 {
		width = math.NaN() // nothing is seen, and nothing was measured
	}
	p, err := c.Passing(width)
	return p, bySpeed, told, err
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
	targetM := w.run.standsM(o.target)
	lines := [2]*seenLines{}
	for side := range lines {
		if lines[side], err = w.seenLines(ctx, ways, targetM, reachM[side], side == 0); err != nil {
			return nil, err
		}
	}
	searched := make([]*sweep.Searched, len(w.kinds))
	stretches, err := o.stretches(ways)
	if err != nil {
		return nil, err
	}
	heights := make([][]float64, len(stretches))
	for i, s := range stretches {
		if o.parties[ways[s.way].party].plan.AltitudeM == 0 { // the ground below an aircraft counts as level
			heights[i] = w.groundM(s.points)
		}
	}
	for k, kind := range w.kinds {
		side := 0
		if kind.among {
			side = 1
		}
		spots := w.spots(kind)
		op := sweep.Operation{HeightsM: w.groundM(spots)}
		for i, s := range stretches {
			op.Ways = append(op.Ways, sweep.Way{Passing: s.passings[k], Points: s.points, HeightsM: heights[i], Watcher: ways[s.way].watcher})
		}
		if l := lines[side]; l != nil {
			op.Clear = func(way, leg, spot int) float64 {
				s := stretches[way]
				return l.clear(s.way, s.first+leg, kind.cells[spot/kind.spotsEach()])
			}
		}
		if searched[k], err = op.Search(ctx, spots); err != nil {
			return nil, err
		}
	}
	if !recorded {
		o.tellPaces(ways)
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

// spend adds up what each search area was given: how far people walked in it, and how
// much ground that swept by their widths.
func (w *sweeping) spend(o *operation) error {
	ways, err := w.ways(o, false, 0)
	if err != nil {
		return err
	}
	stretches, err := o.stretches(ways)
	if err != nil {
		return err
	}
	for _, s := range stretches {
		parts := len(w.areas) * len(w.kinds)
		for i, m := range sweep.LengthsM(s.points, leastStepM/2, parts, func(p sweep.Point) int {
			cell := w.cellAt(p)
			if cell < 0 || w.part[cell] < 0 {
				return -1
			}
			return int(w.part[cell])*len(w.kinds) + int(w.kind[cell])
		}) {
			area, kind := i/len(w.kinds), i%len(w.kinds)
			o.effortM[area] += m
			o.sweptM2[area] += m * s.passings[kind].WidthM
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
