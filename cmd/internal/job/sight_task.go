package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/sweep"
)

// The tasks of an observer.
const (
	TaskScan = "scan" // stands and looks over a sector
	TaskKnow = "know" // is told where to look
	TaskPass = "pass" // walks past
)

// SightTasks lists the tasks, the usual first.
func SightTasks() []string { return []string{TaskScan, TaskKnow, TaskPass} }

// SightLaws lists the threshold laws, the usual first.
func SightLaws() []string {
	var list []string
	for _, l := range observer.Laws {
		list = append(list, string(l))
	}
	return list
}

// Clutters are the words for what else is behind a flag, with its contrast at
// the flag's own scale.
var clutters = []struct {
	word     string
	contrast float64
}{
	{"even", observer.ClutterSky}, {"open", observer.ClutterOpenGround},
	{"scrub", observer.ClutterScrub}, {"forest", observer.ClutterForestFloor},
}

// SightClutters lists what else can be behind a flag.
func SightClutters() []string {
	var list []string
	for _, c := range clutters {
		list = append(list, c.word)
	}
	return list
}

// passSpeedMS is how fast a party searches on foot where nobody states it: 2
// km/h, own choice.
const passSpeedMS = 2 / 3.6

// A SightTask is who looks, and how. Zero and "" are the usual.
type SightTask struct {
	Task                            string
	LookS                           float64
	SectorWidthDeg, SectorHeightDeg float64
	Attention                       float64
	SpeedMS                         float64 // of a pass
	Law                             string
	AgeYears                        float64
	Clutter                         string
	// Plants that a party passes among.
	StemsPerM2, StemWidthM, LeafAreaIndex, CanopyM float64
}

func (k SightTask) plants() sweep.Plants {
	return sweep.Plants{StemsPerM2: k.StemsPerM2, StemWidthM: k.StemWidthM, LeafAreaIndex: k.LeafAreaIndex, CanopyM: k.CanopyM}
}

// SightLooking is how the observer looks, with what is usual filled in.
type SightLooking struct {
	Task            string  `json:"task"`
	SectorWidthDeg  cli.Num `json:"sector_width_deg"`
	SectorHeightDeg cli.Num `json:"sector_height_deg"`
	LookS           cli.Num `json:"look_s"`
	Attention       cli.Num `json:"attention"`
	SpeedMS         cli.Num `json:"speed_m_s"` // null but for a pass
	Clutter         string  `json:"clutter"`
	ClearLineM      cli.Len `json:"clear_line_m"` // mean, among plants; null in the open
	Law             string  `json:"law"`
}

// unknownBand is the band of distances that terrain decides: where a ridge ends
// them, no draw of the air tells how far off they are.
var unknownBand = SightBand{cli.Len(math.NaN()), cli.Len(math.NaN()), cli.Len(math.NaN())}

// SightBand is one end of the distances' band: 10 or 90 % of joint draws of
// visibility, thresholds, strength, refraction and eye height.
type SightBand struct {
	NoticedM     cli.Len `json:"noticed_m"`
	PerceptibleM cli.Len `json:"perceptible_m"`
	SweepWidthM  cli.Len `json:"sweep_width_m"`
}

// look puts the task into the query, and tells it.
func (k SightTask) look(q *sighting.Query) (SightLooking, error) {
	s := observer.DefaultSearch()
	clutter := "even"
	speed := math.NaN()
	if k.Task == TaskPass {
		s = observer.WalkingSearch()
		speed = passSpeedMS
		if k.SpeedMS > 0 {
			speed = k.SpeedMS
		}
		if !q.Source.Toward(q.View).Point() {
			clutter = "open" // the ground that widths were fitted on
		}
	}
	for _, set := range []struct {
		given float64
		to    *float64
	}{{k.LookS, &s.LookS}, {k.SectorWidthDeg, &s.WidthDeg}, {k.SectorHeightDeg, &s.HeightDeg}, {k.Attention, &s.Attention}} {
		if set.given != 0 {
			*set.to = set.given
		}
	}
	if k.Clutter != "" {
		clutter = k.Clutter
	}
	known := false
	for _, c := range clutters {
		if c.word == clutter {
			q.Clutter, known = c.contrast, true
		}
	}
	if !known {
		return SightLooking{}, fmt.Errorf("clutter cannot be %q", clutter)
	}
	q.Search, q.Told = s, k.Task == TaskKnow
	q.Observer.Law, q.Observer.AgeYears = observer.Law(k.Law), k.AgeYears
	task := k.Task
	if task == "" {
		task = TaskScan
	}
	clear := k.plants().ClearM()
	if math.IsInf(clear, 1) {
		clear = math.NaN()
	}
	return SightLooking{
		Task: task, SectorWidthDeg: cli.Num(s.WidthDeg), SectorHeightDeg: cli.Num(s.HeightDeg),
		LookS: cli.Num(s.LookS), Attention: cli.Num(s.Attention), SpeedMS: cli.Num(speed),
		Clutter: clutter, ClearLineM: cli.Len(clear), Law: observer.Law(k.Law).Name(),
	}, nil
}

// pass judges a party that walks past the signal: noticed is the distance to
// the side at which half of all passes see it, and the sweep width follows.
func (k SightTask) pass(q sighting.Query, out *SightResult) error {
	if out.SightLine != nil || q.Ground == sighting.LineBlocked || q.Ground == sighting.LineUnknown {
		return fmt.Errorf("a pass is over open ground: it does not go with a line over terrain")
	}
	p := sweep.Pass{Query: q, SpeedMS: float64(out.Inputs.Looking.SpeedMS), Plants: k.plants()}
	point := q.Source.Toward(q.View).Point()
	if !point {
		p.ScanLimitM = sweep.ScanLimitM(q.Air.VisibilityM)
	}
	c, err := p.Solve()
	if err != nil {
		return err
	}
	out.SweepWidthM = cli.Len(c.WidthM)
	out.LuminousNoticedM = cli.Len(c.HalfM)
	amongPlants := k.plants() != (sweep.Plants{})
	noticed := min(c.HalfM, float64(out.PerceptibleM))
	switch {
	case noticed < float64(out.PerceptibleM) && amongPlants:
		out.LimitNoticed = string(sighting.Vegetation)
	case noticed < float64(out.PerceptibleM):
		w, err := q.Watch()
		if err != nil {
			return err
		}
		out.LimitNoticed = string(w.Limit(noticed))
	default:
		out.LimitNoticed = out.Limit
	}
	out.NoticedM = cli.Len(noticed)
	out.Why = why(out)
	band := func(by float64) SightBand {
		return SightBand{cli.Len(min(noticed*by, float64(out.PerceptibleM))), cli.Len(math.NaN()), cli.Len(c.WidthM * by)}
	}
	out.Low, out.High = band(1/c.Band), band(c.Band)
	out.Inputs.Factors = append(out.Inputs.Factors,
		SightFactor{"sweep", Factor{Name: "offset of the threshold, standard deviation", Value: cli.Num(sweep.OffsetSD), Unit: "log10", Source: "own choice: half of it is the target's and the day's, half the watcher's"}},
		SightFactor{"sweep", Factor{Name: "band of the width", Value: cli.Num(c.Band), Source: "either way; fits to published widths"}},
		SightFactor{"sweep", Factor{Name: "chance on the path itself", Value: cli.Num(c.OnTrack)}})
	if amongPlants {
		out.Inputs.Factors = append(out.Inputs.Factors, SightFactor{"sweep", Factor{Name: "window of a clear line", Value: sweep.WindowM, Unit: "m", Source: "own estimate, 1 to 4"}})
	}
	if !point {
		out.Inputs.Factors = append(out.Inputs.Factors, SightFactor{"sweep", Factor{Name: "scan limit to a side", Value: cli.Num(p.ScanLimitM), Unit: "m", Source: "nobody looks for unlit things past the range that they expect; fitted to air search over land"}})
		if c.WidthM > 2*confirmedM {
			out.Cautions = append(out.Cautions, "no trial confirms widths of unlit things beyond 1 km to a side")
		}
	}
	out.Cautions = append(out.Cautions, "a width that you measured yourselves (1.8, 1.6 or 1.1 times the detection range, for bright, middling and dull things) wins over this one")
	return nil
}

// confirmedM is how far trials of unlit things reach [m].
const confirmedM = 1000

// bands tells how far the two distances may be off.
func (r SightRequest) bands(q sighting.Query, out *SightResult) error {
	b, err := q.Bands(sighting.UsualSpread(q.Source.Kind()), r.Seed)
	if err != nil {
		return err
	}
	low, high := out.Low, out.High
	out.Low = SightBand{cli.Len(b.Noticed.Low), cli.Len(b.Perceptible.Low), unknownBand.SweepWidthM}
	out.High = SightBand{cli.Len(b.Noticed.High), cli.Len(b.Perceptible.High), unknownBand.SweepWidthM}
	if r.Task == TaskPass {
		out.Low.NoticedM, out.Low.SweepWidthM = low.NoticedM, low.SweepWidthM
		out.High.NoticedM, out.High.SweepWidthM = high.NoticedM, high.SweepWidthM
	}
	return nil
}
