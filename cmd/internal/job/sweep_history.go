package job

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/prob"
	"farhail/signal/sweep"
)

// A learnt is an entry of the history with what it rests on.
type learnt struct {
	entry     prob.Entry
	kind      string // search, not-seen or motion
	operation *operation
}

// Kinds of entries of the history.
const (
	learntSearch  = "search"
	learntNotSeen = "not-seen"
	learntMotion  = "motion"
)

// learn works out what every operation has seen and what was not seen, and replays
// all of it in the order of time. Leaving an entry out of the plan undoes it.
func (w *sweeping) learn(ctx context.Context) error {
	for _, o := range w.ops {
		if err := w.solve(o); err != nil {
			return fmt.Errorf("operation %s: %w", o.plan.Name, err)
		}
	}
	w.ops = slices.DeleteFunc(w.ops, func(o *operation) bool { return len(o.parties) == 0 })
	w.settleSpots()
	sortByTime(w.ops, func(o *operation) time.Time { return o.at })
	cut := false
	for _, o := range w.ops {
		var err error
		if o.searched, err = w.searchOf(ctx, o, false); err != nil {
			return fmt.Errorf("operation %s: %w", o.plan.Name, err)
		}
		if err := w.spend(o); err != nil {
			return fmt.Errorf("operation %s: %w", o.plan.Name, err)
		}
		w.shown(o)
		cut = cut || o.cut
	}
	list, err := w.entries(ctx)
	if err != nil {
		return err
	}
	after, states, err := w.replay(list)
	if err != nil {
		return err
	}
	w.out.Surface, w.out.OutsideAfter = after, cli.Num(after.Outside)
	w.out.POD = together(list, len(w.centres))
	w.out.POS = found(list, states)
	for i, s := range states {
		w.out.History = append(w.out.History, SweepState{
			Name: s.Name, At: instant(list[i].entry.At, w.run.result.Plan.location), Kind: list[i].kind,
			Expected: cli.Num(s.Expected), OutsideShare: cli.Num(s.Outside), EntropyBits: cli.Num(s.EntropyBits),
		})
	}
	if cut {
		return w.asRecorded(ctx, list)
	}
	return nil
}

// sortByTime puts a list in the order of time. What has none comes right after what
// stands before it.
func sortByTime[T any](list []T, at func(T) time.Time) {
	type timed struct {
		item T
		at   time.Time
	}
	all := make([]timed, len(list))
	var last time.Time
	for i, item := range list {
		if t := at(item); !t.IsZero() {
			last = t
		}
		all[i] = timed{item, last}
	}
	slices.SortStableFunc(all, func(a, b timed) int { return a.at.Compare(b.at) })
	for i, t := range all {
		list[i] = t.item
	}
}

// solve finds how the target of an operation is seen by each party on each ground. A party
// for whom nothing tells that does not count.
func (w *sweeping) solve(o *operation) error {
	o.told.Target, o.told.Shown = o.plan.LookedFor, 1
	if o.target.Kind != plan.Figure {
		o.told.Shown = cli.Num(o.plan.Shown)
		if math.IsNaN(o.plan.Shown) {
			w.run.warn(fmt.Sprintf("operation %s is not used: nobody has said how likely %s was shown", o.plan.Name, o.plan.LookedFor), "add shown: 60 %, the chance that somebody able to showed it then")
		}
	}
	if o.target.Name == plan.AnyPerson && o.target.Line == 0 {
		o.told.Target = "somebody lying in clothes of a plain colour (own choice, the safe side)"
	}
	var judged []*searchedParty
	for _, p := range o.parties {
		told := &o.told.Parties[p.told]
		err := w.solveFor(o, p, told)
		var why unjudged
		if errors.As(err, &why) {
			told.Why, told.Widths = why.Error(), []SweptWidth{}
			w.run.warn(fmt.Sprintf("%s, %s does not count: %v", o.plan.Name, told.Name, why), "looked_for: person counts what they would have seen of the traveller")
			continue
		}
		if err != nil {
			return err
		}
		judged = append(judged, p)
	}
	o.parties = judged
	return nil
}

// solveFor finds how the target of an operation is seen by one party on each ground.
func (w *sweeping) solveFor(o *operation, p *searchedParty, told *SweptParty) error {
	by := w.run.searcher(p.plan.Eyes, p.speedMS, p.plan.Fatigued)
	if p.plan.AltitudeM > 0 {
		by.altitudeM, by.eyeM = p.plan.AltitudeM, p.plan.AltitudeM
	}
	for _, kind := range w.kinds {
		passing, bySpeed, width, err := w.passed(o.target, o.at, by, kind, o.plan.Own)
		if err != nil {
			return err
		}
		if !p.byLeg {
			bySpeed = nil
		}
		p.passings, p.paces.curves = append(p.passings, passing), append(p.paces.curves, bySpeed)
		if len(kind.cells) > 0 {
			told.Widths = append(told.Widths, width)
		}
	}
	p.paces.meanMS, p.paces.tired, p.paces.known[paceEach] = p.speedMS, 1, p.passings
	if by.Fatigued {
		p.paces.tired = fatigueFactor
	}
	if len(told.Widths) > 0 && slices.MaxFunc(told.Widths, func(a, b SweptWidth) int { return cmp.Compare(a.SweepWidthM, b.SweepWidthM) }).SweepWidthM < 1 {
		w.run.warn(fmt.Sprintf("%s, %s: at that hour the model sees next to nothing of %s", o.plan.Name, told.Name, o.plan.LookedFor), "give the width: that you measured with your lamps")
	}
	return nil
}

// entries lists what was learnt, the oldest first, with the motion in between.
func (w *sweeping) entries(ctx context.Context) ([]learnt, error) {
	var list []learnt
	for i, o := range w.ops {
		pod := w.alone(i)
		list = append(list, learnt{prob.Entry{Name: o.plan.Name, At: o.at, Input: prob.Search{POD: pod}}, learntSearch, o})
	}
	for _, n := range w.run.plan.NotSeen {
		e, ok, err := w.unseen(ctx, n)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", n.Name, err)
		}
		if ok {
			list = append(list, learnt{e, learntNotSeen, nil})
		}
	}
	sortByTime(list, func(l learnt) time.Time { return l.entry.At })
	until := w.run.plan.Effort.From // the surface is carried on to the next effort
	return w.withMotion(ctx, list, until)
}

// withMotion puts the motion of the mobile between entries whose times are known,
// from the moment that the likelihood is for on.
func (w *sweeping) withMotion(ctx context.Context, list []learnt, until time.Time) ([]learnt, error) {
	if w.run.plan.Mobile == 0 {
		return list, nil
	}
	speed, err := w.run.result.Chance.speeds()
	if err != nil {
		return nil, err
	}
	move := func(from, to time.Time) learnt {
		d := prob.Diffusion{SpeedMS: speed, Seconds: to.Sub(from).Seconds(), Straight: prob.Straightness(plan.DefaultTurnSDDeg)}
		return learnt{prob.Entry{Name: "moved on by chance for " + Duration(d.Seconds), At: to, Input: prob.Motion{
			Mobile: w.run.plan.Mobile,
			Carry:  func(s *prob.Surface) (*prob.Surface, error) { return d.Carry(ctx, s) },
		}}, learntMotion, nil}
	}
	var out []learnt
	last := w.run.plan.Likelihood.At
	if last.IsZero() {
		last = w.run.plan.AsOf
	}
	for _, l := range list {
		if at := l.entry.At; at.After(last) {
			out = append(out, move(last, at))
			last = at
		}
		out = append(out, l)
	}
	if until.After(last) {
		out = append(out, move(last, until))
	}
	return out, nil
}

func (w *sweeping) replay(list []learnt) (*prob.Surface, []prob.State, error) {
	h := prob.History{Start: w.before}
	for _, l := range list {
		h = h.With(l.entry)
	}
	return h.Replay()
}

// found returns the chance that all searches together would have found them.
func found(list []learnt, states []prob.State) cli.Num {
	missed, any := 1.0, false
	for i, l := range list {
		if l.kind == learntSearch {
			missed *= states[i].Expected
			any = true
		}
	}
	if !any {
		return cli.Num(math.NaN())
	}
	return cli.Num(1 - missed)
}

// alone returns by cell what an operation adds to those for the same target before it:
// the chance that it detects what they missed. Misses in common make that less than
// it would be by itself.
func (w *sweeping) alone(n int) []float64 {
	pod := make([]float64, len(w.centres))
	for k, kind := range w.kinds {
		var before []*sweep.Searched
		for _, o := range w.ops[:n] {
			if o.plan.LookedFor == w.ops[n].plan.LookedFor {
				before = append(before, o.searched[k])
			}
		}
		was, now := kind.byCell(sweep.Together(before...)), kind.byCell(sweep.Together(append(before, w.ops[n].searched[k])...))
		for i, cell := range kind.cells {
			missed := 1.0
			if was != nil {
				missed = 1 - was[i]
			}
			if missed > 0 {
				pod[cell] = min(max(1-(1-now[i])/missed, 0), 1)
			}
			if shown := w.ops[n].shown(); w.ops[n].target.Kind != plan.Figure {
				// As with a signal that was not seen, no cell keeps less than that.
				pod[cell] = min(shown*pod[cell], 1-prob.LeastLikelihood)
			}
		}
	}
	return pod
}

// byCell returns the means over the spots of each cell.
func (k cellKind) byCell(spots []float64) []float64 {
	each := k.spotsEach()
	if each == 1 || spots == nil {
		return spots
	}
	cells := make([]float64, len(spots)/each)
	for i, p := range spots {
		cells[i/each] += p / float64(each)
	}
	return cells
}

// together returns by cell the chance that all searches together detect somebody there
// who stays: by target with misses in common, targets apart.
func together(list []learnt, cells int) []float64 {
	missed := make([]float64, cells)
	for i := range missed {
		missed[i] = 1
	}
	for _, l := range list {
		if s, ok := l.entry.Input.(prob.Search); ok {
			for cell, p := range s.POD {
				missed[cell] *= 1 - p
			}
		}
	}
	for i, m := range missed {
		missed[i] = 1 - m
	}
	return missed
}

// asRecorded works out what the tracks would have found with nothing taken out.
func (w *sweeping) asRecorded(ctx context.Context, list []learnt) error {
	clean := make([][]*sweep.Searched, len(w.ops))
	for i, o := range w.ops {
		clean[i] = o.searched
		if !o.cut {
			continue
		}
		var err error
		if o.searched, err = w.searchOf(ctx, o, true); err != nil {
			return fmt.Errorf("operation %s: %w", o.plan.Name, err)
		}
	}
	raw := slices.Clone(list)
	for i, l := range raw {
		for n, o := range w.ops {
			if l.operation == o {
				raw[i].entry.Input = prob.Search{POD: w.alone(n)}
			}
		}
	}
	_, states, err := w.replay(raw)
	if err != nil {
		return err
	}
	w.out.POSAsRecorded = found(raw, states)
	for i, o := range w.ops {
		o.searched = clean[i]
	}
	return nil
}
