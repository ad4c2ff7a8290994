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
	OnLine                                         float64 // stems and leaves on the line between two places
}

func (k SightTask) plants() sweep.Plants {
	return sweep.Plants{StemsPerM2: k.StemsPerM2, StemWidthM: k.StemWidthM, LeafAreaIndex: k.LeafAreaIndex, CanopyM: k.CanopyM, OnLine: k.OnLine}
}

// clearLine returns the chance that no plant stands in a line as long as toM, or
// else as noticedM [m]; NaN where no plants are told, unless it is told that there
// are none.
func (k SightTask) clearLine(told bool, toM, noticedM float64) cli.Num {
	if k.plants() == (sweep.Plants{}) && !told {
		return cli.Num(math.NaN())
	}
	if math.IsNaN(toM) {
		toM = noticedM
	}
	return cli.Num(k.plants().Clear(toM))
}

// SightLooking is how the observer looks, with what is usual filled in. What does
// not count for the task or the law is null.
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
	Searched        bool    `json:"-"` // noticed is by sector, look and lobe
}

// unknownBand is the band of distances that terrain decides: where a ridge ends
// them, no draw of the air tells how far off they are.
var unknownBand = SightBand{cli.Len(math.NaN()), cli.Len(math.NaN()), cli.Len(math.NaN())}

// SightBand is one point of the distances' band: 10, 50 or 90 % of joint draws of
// visibility, thresholds, strength, refraction and eye height. That of a pass
// is the width's own, from fits to published widths.
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
		if q.Aloft {
			speed = passAircraftMS
		}
		if k.SpeedMS > 0 {
			speed = k.SpeedMS
		}
	}
	if q.Aloft {
		s = observer.AirSearch()
	}
	if !q.Source.Toward(q.View).Point() && (k.Task == TaskPass || q.Aloft || q.HorizonRatio > 0) {
		clutter = "open" // what is behind is ground, the one clutter that widths were fitted on
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
	if task != TaskPass {
		q.Plants = k.plants() // of a pass the sweep counts them along its way
	}
	if !observer.Law(k.Law).HasLobe() || task == TaskKnow {
		nan := math.NaN()
		s.WidthDeg, s.HeightDeg, s.LookS, s.Attention = nan, nan, nan, nan // they do not count
	}
	if task == TaskPass {
		s.LookS = math.NaN()
	}
	clear := k.plants().ClearM()
	if math.IsInf(clear, 1) {
		clear = math.NaN()
	}
	return SightLooking{
		Task: task, SectorWidthDeg: cli.Num(s.WidthDeg), SectorHeightDeg: cli.Num(s.HeightDeg),
		LookS: cli.Num(s.LookS), Attention: cli.Num(s.Attention), SpeedMS: cli.Num(speed),
		Clutter: clutter, ClearLineM: cli.Len(clear), Law: observer.Law(k.Law).Name(), Searched: observer.Law(k.Law).HasLobe(),
	}, nil
}

// bands tells how far the distances may be off. Those of a pass are its own.
func (r SightRequest) bands(q sighting.Query, out *SightResult) error {
	b, err := q.Bands(sighting.UsualSpread(q.Source.Kind()), r.Seed)
	if err != nil {
		return err
	}
	fill := func(to *SightBand, noticed, perceptible float64) {
		to.PerceptibleM = cli.Len(perceptible)
		if r.Task != TaskPass {
			to.NoticedM, to.SweepWidthM = cli.Len(noticed), unknownBand.SweepWidthM
		}
	}
	fill(&out.Low, b.Noticed.Low, b.Perceptible.Low)
	fill(&out.Mid, b.Noticed.Mid, b.Perceptible.Mid)
	fill(&out.High, b.Noticed.High, b.Perceptible.High)
	draws := drawsOf(r.Seed)
	out.Inputs.Draws = &draws
	return nil
}

// SightDraws says what low, mid and high are.
type SightDraws struct {
	Count       int    `json:"count"` // of joint draws of the inputs
	Seed        uint64 `json:"seed"`
	LowPercent  int    `json:"low_percent"`
	MidPercent  int    `json:"mid_percent"`
	HighPercent int    `json:"high_percent"`
}

func drawsOf(seed uint64) SightDraws {
	return SightDraws{Count: sighting.Draws, Seed: seed, LowPercent: 10, MidPercent: 50, HighPercent: 90}
}
