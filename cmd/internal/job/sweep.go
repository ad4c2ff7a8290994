package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
)

// A Sweep is what searching has done, and what to do next.
type Sweep struct {
	// POS is the chance that all searches together would have found them, by what was
	// thought likely before each; null where nothing was searched.
	POS cli.Num `json:"pos"`
	// POSAsRecorded is the same with nothing taken out of the tracks; null where
	// nothing was.
	POSAsRecorded cli.Num `json:"pos_as_recorded"`
	OutsideBefore cli.Num `json:"outside_share_before"`
	OutsideAfter  cli.Num `json:"outside_share_after"`
	Mobile        cli.Num `json:"mobile"`
	Law           string  `json:"law"` // that the segments' coverage is judged by

	// Undone are the names of what the plan holds and was left out for this once.
	Undone []string `json:"undone"`

	Operations []*Operation    `json:"operations"`
	NotSeen    []Unseen        `json:"not_seen"`
	History    []SweepState    `json:"history"` // in the order of time, replayed
	Segments   []SweptSegment  `json:"segments"`
	Elsewhere  cli.Num         `json:"elsewhere_share_after"` // on the map, in no segment
	Next       []SweepTask     `json:"next"`
	Then       *SweepThen      `json:"then"` // what all of next buys; null without an effort
	Surface    *prob.Surface   `json:"-"`    // now
	POD        []float64       `json:"-"`    // by cell, of all operations together
	Searching  []SweepTrack    `json:"-"`
	Frame      grid.Frame      `json:"-"`
	Cells      []SweptCellKind `json:"ground"` // kinds of ground, by what hides a target there
}

// A SweepState is what one entry of the history has made of the surface.
type SweepState struct {
	Name         string     `json:"name"`
	At           *time.Time `json:"at"`
	Kind         string     `json:"kind"`          // search, not-seen or motion
	Expected     cli.Num    `json:"expected"`      // chance that the surface gave to what happened
	OutsideShare cli.Num    `json:"outside_share"` // after it
	EntropyBits  cli.Num    `json:"entropy_bits"`  // after it
}

// A SweptSegment is a search area with what all operations have done to it.
type SweptSegment struct {
	Name        string   `json:"name"`
	AreaM2      cli.Area `json:"area_m2"`
	SweepWidthM cli.Len  `json:"sweep_width_m"` // mean by effort; null where nobody went
	EffortM     cli.Len  `json:"effort_m"`      // that all people walked in it
	Coverage    cli.Num  `json:"coverage"`
	POD         cli.Num  `json:"pod"` // as it is printed, see pod_uncapped
	POABefore   cli.Num  `json:"poa_before"`
	POAAfter    cli.Num  `json:"poa_after"`

	PODUncapped cli.Num `json:"pod_uncapped"`
	Measured    bool    `json:"measured"` // every width was measured by the searchers: not capped
	LawPOD      cli.Num `json:"pod_law"`  // by the law, from coverage alone: a check
	GapReason   string  `json:"gap_reason"`
	Gap         string  `json:"gap"` // in words; "" within 0.1

	Shape orb.MultiPolygon `json:"-"`
	Point orb.Point        `json:"-"`
}

// A SweepTrack is a way as it counts, for maps.
type SweepTrack struct {
	Operation, Party string
	Paths            orb.MultiLineString
}

// SweepLaws lists the laws of coverage, the default first.
func SweepLaws() []string {
	var list []string
	for _, l := range sweep.CoverageLaws {
		list = append(list, string(l))
	}
	return list
}

// Coverage returns the coverage of a length of track by a sweep width over an area,
// and what a law makes of it. The caller has checked that all are above 0.
func Coverage(widthM, lengthM, areaM2 float64, law string) (coverage, pod float64, err error) {
	coverage = sweep.Coverage(widthM, lengthM, areaM2)
	pod, err = sweep.Law(law).Detection(coverage)
	return coverage, pod, err
}

// A sweeping is the work under way.
type sweeping struct {
	run     *run
	out     *Sweep
	before  *prob.Surface
	frame   grid.Frame
	local   *earth.Local
	centres []sweep.Point
	areaM2  []float64 // by cell
	part    []int32   // the segment of each cell, -1: none
	areas   []SearchArea
	law     sweep.Law
	kinds   []cellKind
	kind    []uint8 // of each cell
	ops     []*operation
}

// sweeps works out what has been searched, and the next effort.
func (r *run) sweeps(ctx context.Context) error {
	p := r.plan
	if len(p.Searched) == 0 && len(p.NotSeen) == 0 && p.Effort.Line == 0 {
		return nil
	}
	c := r.result.Chance
	if c == nil {
		r.leaveOut("what has been searched: the plan says nothing of where they are likely to be (likelihood:)")
		return nil
	}
	w, err := r.newSweeping(c)
	if err != nil {
		return err
	}
	for i := range p.Searched {
		o, err := w.operation(p.Searched[i], r.searchedTracks[i])
		if err != nil {
			return fmt.Errorf("operation %s: %w", p.Searched[i].Name, err)
		}
		w.ops = append(w.ops, o)
	}
	if err := w.learn(ctx); err != nil {
		return err
	}
	if err := w.segments(); err != nil {
		return err
	}
	if p.Effort.Line > 0 {
		var why unjudged
		if err := w.next(ctx, p.Effort); errors.As(err, &why) {
			r.leaveOut(fmt.Sprintf("the next effort: %v", why))
		} else if err != nil {
			return fmt.Errorf("the next effort: %w", err)
		}
	}
	r.result.Sweep = w.out
	return nil
}

func (r *run) newSweeping(c *Chance) (*sweeping, error) {
	nan := cli.Num(math.NaN())
	f := c.Surface.Frame
	w := &sweeping{
		run: r, before: c.Surface, frame: f, local: earth.NewLocal(f.Point(float64(f.Cols-1)/2, float64(f.Rows-1)/2)),
		part: c.labels, areas: c.SearchAreas, law: r.law,
		out: &Sweep{
			POS: nan, POSAsRecorded: nan, OutsideBefore: c.OutsideShare, Mobile: cli.Num(r.plan.Mobile), Law: string(r.law),
			Undone: []string{}, Operations: []*Operation{}, NotSeen: []Unseen{}, History: []SweepState{}, Segments: []SweptSegment{}, Next: []SweepTask{},
			Frame: f, Elsewhere: c.Elsewhere,
		},
	}
	w.centres, w.areaM2 = make([]sweep.Point, f.Cols*f.Rows), make([]float64, f.Cols*f.Rows)
	for i := range w.centres {
		at, err := w.point(f.Point(float64(i%f.Cols), float64(i/f.Cols)))
		if err != nil {
			return nil, err
		}
		w.centres[i], w.areaM2[i] = at, f.AreaM2(i/f.Cols)
	}
	w.ground()
	return w, nil
}

// point puts a position into the plane of the search.
func (w *sweeping) point(p orb.Point) (sweep.Point, error) {
	east, north, err := w.local.Forward(p)
	return sweep.Point{EastM: east, NorthM: north}, err
}

// cellAt returns the cell that a place lies in, -1 for none.
func (w *sweeping) cellAt(p sweep.Point) int {
	col, row := w.frame.Cell(w.local.Inverse(p.EastM, p.NorthM))
	c, r := int(math.Round(col)), int(math.Round(row))
	if c < 0 || r < 0 || c >= w.frame.Cols || r >= w.frame.Rows {
		return -1
	}
	return r*w.frame.Cols + c
}

// target returns what was looked for by its name in the plan.
func (r *run) target(name string) plan.Signal {
	for _, s := range r.plan.Traveller.Signals {
		if s.Name == name {
			return s
		}
	}
	return plan.SomebodyLying()
}

// segments sums up what all operations did to each search area.
func (w *sweeping) segments() error {
	if len(w.ops) == 0 && len(w.out.NotSeen) == 0 {
		w.onlyAreas()
		return nil
	}
	swept, effort := make([]float64, len(w.areas)), make([]float64, len(w.areas))
	measured := make([]bool, len(w.areas))
	for i := range measured {
		measured[i] = true
	}
	for _, o := range w.ops {
		for i := range w.areas {
			swept[i] += o.sweptM2[i]
			effort[i] += o.effortM[i]
			if o.reaches[i] && !o.measured() {
				measured[i] = false
			}
		}
	}
	// The area swept stands for width times length, since widths differ.
	list, err := sweep.Segments(len(w.areas), w.part, w.areaM2, w.before.Mass, w.out.POD, swept, 1, w.law)
	if err != nil {
		return err
	}
	after := w.shares(w.out.Surface)
	for i, s := range list {
		_, reason := s.Gap()
		a := w.areas[i]
		seg := SweptSegment{
			Name: a.Name, AreaM2: cli.Area(s.AreaM2), SweepWidthM: cli.Len(swept[i] / effort[i]), EffortM: cli.Len(effort[i]),
			Coverage: cli.Num(s.Coverage), POD: cli.Num(sweep.PrintedPOD(s.POD, measured[i])), POABefore: cli.Num(s.POA), POAAfter: cli.Num(after[i]),
			PODUncapped: cli.Num(s.POD), Measured: measured[i] && effort[i] > 0, LawPOD: cli.Num(s.LawPOD), GapReason: string(reason),
			Shape: a.Shape, Point: orb.Point{float64(a.Lon), float64(a.Lat)},
		}
		seg.Gap = gapWords(reason, w.law)
		w.out.Segments = append(w.out.Segments, seg)
	}
	return nil
}

// onlyAreas lists the search areas where nobody has searched yet.
func (w *sweeping) onlyAreas() {
	for _, a := range w.areas {
		w.out.Segments = append(w.out.Segments, SweptSegment{
			Name: a.Name, AreaM2: a.AreaM2, SweepWidthM: cli.Len(math.NaN()), POABefore: a.Share, POAAfter: a.Share,
			Shape: a.Shape, Point: orb.Point{float64(a.Lon), float64(a.Lat)},
		})
	}
}

// shares returns how much of a surface lies in each search area, and keeps what lies
// in none.
func (w *sweeping) shares(s *prob.Surface) []float64 {
	in := make([]float64, len(w.areas))
	elsewhere := 0.0
	for i, p := range w.part {
		if p >= 0 {
			in[p] += s.Mass[i]
		} else {
			elsewhere += s.Mass[i]
		}
	}
	w.out.Elsewhere = cli.Num(elsewhere)
	return in
}

// gapWords explains in a sentence why the cells tell something else than the law.
func gapWords(reason sweep.Reason, law sweep.Law) string {
	name := string(law)
	switch reason {
	case sweep.Aimed:
		return "above the law of " + name + " coverage: the ways lie where they are likelier to be"
	case sweep.Astray:
		return "below the law of " + name + " coverage: the ways lie where they are less likely to be"
	case sweep.Overlapped:
		return "below the law of " + name + " coverage: ways run over ground that was seen already, or ground and plants hide what they pass"
	case sweep.Spread:
		return "above the law of " + name + " coverage: the ways are spread more evenly than at random, or see in from outside"
	}
	return ""
}
