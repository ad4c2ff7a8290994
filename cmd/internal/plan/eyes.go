package plan

import (
	"errors"
	"math"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// The observers.
const (
	Eye         = "eye"
	Glasses     = "glasses"
	Aircraft    = "aircraft"
	Intensifier = "intensifier" // by thresholds of the user's own
)

// What those who look do, where they move.
const (
	Scan = "scan" // look over a sector from where they are
	Past = "pass" // move past
)

// Eyes is whose eyes look, and how. Zero and "" are the usual.
type Eyes struct {
	Observer                   string // Eye, Glasses or Intensifier
	Magnification, ObjectiveMM float64
	OnStand                    bool
	ThresholdLx                float64 // of the user's own: perceptible is where light or contrast equals it
	ThresholdContrast          float64

	AgeYears                        float64
	Unadapted                       bool    // not used to the dark
	GlareLx, GlareDeg               float64 // of a lamp in view: its light at the eye, and how far off the line it is
	OwnLampLM                       float64
	Law                             string // one of Laws
	Clutter                         string // one of Clutters
	SectorWidthDeg, SectorHeightDeg float64
	Attention                       float64 // share of the glimpses
	LookS                           float64 // time spent looking; not for a pass
}

// A Going is what those who move do while they look. Zero and "" are the usual.
type Going struct {
	Task     string  // Scan or Past; "": Scan on foot, Past in an aircraft
	SpeedMS  float64 // of a pass, and of an aircraft
	Fatigued bool    // reported by the crew: counts for a pass
}

// Passes reports whether they are judged as they go past.
func (g Going) Passes() bool { return g.Task == Past }

// The words of those who look, as signal/observer and cmd/internal/job have them:
// a plan is read without these.
var (
	Laws     = []string{"crumey-2014", "adrian-1989", "blackwell-1946", "koopman-1946", "icao-2005", "iala-2008", "wmo-2018", "taylor-1964"}
	Clutters = []string{"even", "open", "scrub", "forest"}
)

// Dimensions of those who look that the plan shares with the command line.
var (
	// GlassesSize is a magnification and a width of the front lens in mm.
	GlassesSize = cli.Number.Positive().Bare()
	// Years is an age that the seeing of eyes is known for.
	Years = cli.Number.Positive().AtMost(75)
	// Sector is what is looked over, about the horizon.
	Sector = cli.Direction.Positive().AtMost(360)
	// Share is a part of the whole.
	Share = cli.Number.Positive().AtMost(1)
)

// ParseGlare reads the light of a lamp at the eye and its angle from the line of
// sight ("0.1lx@30deg").
func ParseGlare(text string) (lx, deg float64, err error) {
	const advice = "write light and angle like 0.1lx@30deg, the angle from 0.1 to 100 degrees"
	light, angle, found := strings.Cut(text, "@")
	if !found {
		return math.NaN(), math.NaN(), &cli.QuantityError{Text: text, Message: "not a light and an angle", Advice: advice}
	}
	if lx, err = cli.ParseQuantity(light, cli.Illuminance.Positive()); err == nil {
		deg, err = cli.ParseQuantity(angle, cli.Direction.Between(0.1, 100))
	}
	if err != nil {
		return math.NaN(), math.NaN(), &cli.QuantityError{Text: text, Message: err.Error(), Advice: advice}
	}
	return lx, deg, nil
}

// eyes reads whose eyes look, and how. What is not said stays as it was, so that
// what holds for all is said once; the device starts anew where an observer is
// named.
func (r *reader) eyes(e *Eyes) func(ast.Node) {
	return func(n ast.Node) {
		b := r.block(n, "eyes",
			key{"observer", func(n ast.Node) {
				e.Magnification, e.ObjectiveMM, e.OnStand, e.ThresholdLx, e.ThresholdContrast = 0, 0, false, 0, 0
				r.word(&e.Observer, Eye, Glasses, Intensifier)(n)
			}, false},
			key{"optics", r.glasses(e), false},
			key{"on_stand", r.boolean(&e.OnStand), false},
			key{"threshold", r.quantity(&e.ThresholdLx, cli.Illuminance.Positive()), false},
			key{"contrast_threshold", r.quantity(&e.ThresholdContrast, cli.Number.Positive()), false},
			key{"age", r.quantity(&e.AgeYears, Years), false},
			key{"adapted", func(n ast.Node) {
				adapted := true
				r.boolean(&adapted)(n)
				e.Unadapted = !adapted
			}, false},
			key{"glare", r.glare(e), false},
			key{"own_lamp", r.quantity(&e.OwnLampLM, cli.Flux.Positive()), false},
			key{"law", r.word(&e.Law, Laws...), false},
			key{"clutter", r.word(&e.Clutter, Clutters...), false},
			key{"sector", r.sector(e), false},
			key{"attention", r.quantity(&e.Attention, Share), false},
			key{"look", r.quantity(&e.LookS, cli.Duration.Positive()), false},
		)
		r.eyesTogether(b, e)
	}
}

// eyesTogether checks what the keys of eyes say together.
func (r *reader) eyesTogether(b block, e *Eyes) {
	if e.Observer == "" && (b.has("optics") || b.has("on_stand")) {
		e.Observer = Glasses
	}
	threshold := e.ThresholdLx > 0 || e.ThresholdContrast > 0
	for _, f := range []struct {
		wrong              bool
		key, message, hint string
	}{
		{b.has("optics") && e.Observer != Glasses, "optics", "optics are field glasses", "add observer: glasses"},
		{b.has("on_stand") && e.Observer != Glasses, "on_stand", "a stand is for field glasses", "add observer: glasses"},
		{e.Observer == Glasses && threshold, "observer", "glasses and a fixed threshold both say what the eye needs", "keep one of them"},
		{e.Observer == Intensifier && !threshold, "observer", "an image intensifier without its threshold: no published one was found", "add threshold: … lx for lights, contrast_threshold: … for flags, as you measured it with your device"},
	} {
		if f.wrong {
			r.at(b, f.key, f.message, f.hint)
		}
	}
}

// goingKeys are the keys of those who move while they look.
func (r *reader) goingKeys(g *Going) []key {
	return []key{
		{"task", r.word(&g.Task, Scan, Past), false},
		{"speed", r.quantity(&g.SpeedMS, cli.Speed.Positive()), false},
		{"fatigue", r.boolean(&g.Fatigued), false},
	}
}

// going checks what they say together with the eyes; aloft is somebody in an
// aircraft, who passes unless it is said otherwise.
func (r *reader) going(b block, g *Going, e Eyes, aloft bool) {
	if aloft && g.Task == "" {
		g.Task = Past
	}
	if !g.Passes() {
		if b.has("speed") && !aloft {
			r.at(b, "speed", "a speed without its pass", "add task: pass")
		}
		if g.Fatigued {
			r.at(b, "fatigue", "fatigue counts for the width of a pass, without its effect here", "add task: pass")
		}
	}
	if b.has("task") && g.Passes() && e.LookS > 0 {
		r.at(b, "task", "a look does not count for somebody who passes", "remove look from the eyes, or the task")
	}
}

func (r *reader) glasses(e *Eyes) func(ast.Node) {
	return r.parsed("pair of glasses", func(s string) error {
		m, d, err := cli.ParseSize(s, GlassesSize)
		switch {
		case err != nil:
			return err
		case m < 1 || m > 60:
			return cli.WithHint(errors.New("a magnification outside 1 to 60"), "write magnification and front lens in mm like 7x50")
		}
		e.Magnification, e.ObjectiveMM = m, d
		return nil
	})
}

func (r *reader) sector(e *Eyes) func(ast.Node) {
	return r.parsed("sector", func(s string) error {
		w, h, err := cli.ParseSize(s, Sector)
		switch {
		case err != nil:
			return err
		case h > 180:
			return cli.WithHint(errors.New("a sector higher than 180 degrees"), "write width x height like 90x20 deg")
		}
		e.SectorWidthDeg, e.SectorHeightDeg = w, h
		return nil
	})
}

func (r *reader) glare(e *Eyes) func(ast.Node) {
	return r.parsed("glare", func(s string) error {
		lx, deg, err := ParseGlare(s)
		if err == nil {
			e.GlareLx, e.GlareDeg = lx, deg
		}
		return err
	})
}
