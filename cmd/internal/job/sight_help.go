package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// A SightHelp is the one change that would help most: each input that somebody
// can change is changed by a stated step, and the largest gain in noticed wins,
// or where nothing gains there the largest in perceptible.
type SightHelp struct {
	SightStep
	Text  string      `json:"text"`
	Tried []SightStep `json:"tried"` // all of them, in the order in which equal gains win
}

// A SightStep is what one changed input comes to. It is empty, its numbers
// unknown, where nothing that was tried would help.
type SightStep struct {
	Input        string  `json:"input"`
	Step         string  `json:"step"`
	NoticedM     cli.Len `json:"noticed_m"` // with the step
	PerceptibleM cli.Len `json:"perceptible_m"`
	GainM        cli.Len `json:"gain_m"` // of noticed
	Gain         cli.Num `json:"gain"`   // noticed with the step over noticed without; null from 0
}

// Steps of the inputs. Own choice: what a party can do, or wait for.
const (
	eyeStepM, signalStepM = 10, 5
	darkGround            = 0.05 // luminance factor of dark plants
	snowGround            = 0.8
	highClothing          = "high" // of plan.Clothings
)

// A step changes one input of a request, which it does not share with others, or
// reports that it does not apply.
type step struct {
	input, text string
	change      func(r *SightRequest, was *SightResult) bool
}

// twice doubles a number that is given.
func twice(v *float64) bool { return times(v, 2) }

func times(v *float64, by float64) bool {
	if !(*v > 0) {
		return false
	}
	*v *= by
	return true
}

// twiceTheArea makes a thing larger by the root of 2 each way.
func twiceTheArea(width, height *float64) bool {
	return times(width, math.Sqrt2) && times(height, math.Sqrt2)
}

// steps are the changes that are tried. A kind of signal that none of the
// first rows knows still has those of air and observer.
var steps = []step{
	{"beam", "turned to the eye", func(r *SightRequest, was *SightResult) bool {
		r.Signal.AzimuthDeg, r.Signal.TiltDeg = math.NaN(), math.NaN()
		return sighting.Limit(was.Limit) == sighting.Beam
	}},
	{"lit_for", "a fresh lamp", func(r *SightRequest, _ *SightResult) bool {
		lit := r.LitForS > 0
		r.LitForS = 0
		return lit
	}},
	{"intensity", "twice the light", func(r *SightRequest, _ *SightResult) bool {
		s := &r.Signal
		if s.Kind != plan.Light {
			return false
		}
		s.IntensityCD, s.FluxLM, s.BeamDistanceM = lamp(*s).IntensityCD, math.NaN(), math.NaN()
		return twice(&s.IntensityCD)
	}},
	{"flash", "flashes twice as long", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Light && 2*r.Signal.FlashS < r.Signal.PeriodS && twice(&r.Signal.FlashS)
	}},
	{"flag", "twice the area", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Flag && twiceTheArea(&r.Signal.FlagWidthM, &r.Signal.FlagHeightM)
	}},
	{"symbol_length", "twice the area", func(r *SightRequest, _ *SightResult) bool {
		if r.Signal.Kind != plan.Symbol {
			return false
		}
		times(&r.Signal.StrokeM, math.Sqrt2)
		return times(&r.Signal.LengthM, math.Sqrt2)
	}},
	{"reflector", "twice the area", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Reflector && twice(&r.Signal.ReflectorM2)
	}},
	{"headlamp", "twice the light", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Reflector && twice(&r.Signal.HeadlampCD)
	}},
	{"mirror", "twice the area", func(r *SightRequest, _ *SightResult) bool {
		if r.Mirror == nil {
			return false
		}
		m := *r.Mirror
		r.Mirror = &m
		return twiceTheArea(&m.WidthM, &m.HeightM)
	}},
	{"second_mirror", "a second mirror", func(r *SightRequest, _ *SightResult) bool {
		if r.Mirror == nil || r.Mirror.Second {
			return false
		}
		m := *r.Mirror
		m.Second, r.Mirror = true, &m
		return true
	}},
	{"fire", "twice the heat", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Fire && twice(&r.Signal.PowerW)
	}},
	{"smoke", "twice the fuel", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Smoke && twice(&r.Signal.FuelKGS)
	}},
	{"column", "smoke of the other colour", func(r *SightRequest, _ *SightResult) bool {
		s := &r.Signal
		if s.Kind != plan.Smoke {
			return false
		}
		other := source.Dark
		if source.Column(s.Column) == source.Dark {
			other = source.White
		}
		s.Column, s.SmokeYield = string(other), math.NaN()
		return true
	}},
	{"reflectance", "cloth twice as bright", func(r *SightRequest, _ *SightResult) bool {
		s := &r.Signal
		if math.IsNaN(s.Reflectance) {
			s.Reflectance = plan.DefaultReflectance
		}
		return s.Cloth == "" && 2*s.Reflectance <= 1 && (s.Kind == plan.Flag || s.Kind == plan.Symbol) && twice(&s.Reflectance)
	}},
	{"clothing", "fluorescent clothes", func(r *SightRequest, _ *SightResult) bool {
		s := &r.Signal
		plain := s.Kind == plan.Figure && s.Clothing != highClothing
		s.Clothing, s.Cloth, s.Reflectance = highClothing, "", math.NaN()
		return plain
	}},
	{"cloth_wind", "spread out", func(r *SightRequest, _ *SightResult) bool {
		hangs := r.Signal.Hangs
		r.Signal.Hangs = false
		return hangs
	}},
	{"on", "dark plants behind it", onGround(darkGround)},
	{"on", "snow behind it", onGround(snowGround)},
	{"visibility", "twice the visibility", func(r *SightRequest, _ *SightResult) bool { return twice(&r.VisibilityM) }},
	{"background", "half as bright behind it", func(r *SightRequest, was *SightResult) bool {
		if HasContrast(r.Signal.Kind) || r.Mirror != nil {
			return false // before a darker ground a sunlit thing changes too, and the sun itself makes a mirror
		}
		r.BackgroundCDM2 = float64(was.Inputs.BackgroundCDM2)
		return times(&r.BackgroundCDM2, 0.5)
	}},
	{"lights_about", "the lights about put out", func(r *SightRequest, _ *SightResult) bool {
		lit := r.LightsAbout != "" && r.LightsAbout != plan.LightsAbout[0]
		r.LightsAbout = plan.LightsAbout[0]
		return lit
	}},
	{"eye_height", fmt.Sprintf("the eye %d m higher", eyeStepM), func(r *SightRequest, _ *SightResult) bool {
		r.EyeM += eyeStepM
		return !r.Flat && !r.aloft()
	}},
	{"signal_height", fmt.Sprintf("the signal %d m higher", signalStepM), func(r *SightRequest, _ *SightResult) bool {
		r.Signal.HeightM += signalStepM
		return !r.Flat && r.Signal.Kind != plan.Smoke
	}},
	{"altitude", "the aircraft half as high", func(r *SightRequest, _ *SightResult) bool {
		return r.aloft() && times(&r.AltitudeM, 0.5)
	}},
	{"wind", "half the wind", func(r *SightRequest, _ *SightResult) bool {
		return r.Signal.Kind == plan.Smoke && times(&r.WindMS, 0.5)
	}},
	{"stems", "half as many trunks", func(r *SightRequest, _ *SightResult) bool { return times(&r.StemsPerM2, 0.5) }},
	{"leaf_area", "half the leaves", func(r *SightRequest, _ *SightResult) bool { return times(&r.LeafAreaIndex, 0.5) }},
	{"look", "twice the time to look", func(r *SightRequest, was *SightResult) bool {
		r.LookS = float64(was.Inputs.Looking.LookS)
		return scans(r) && twice(&r.LookS)
	}},
	{"sector", "half the sector", func(r *SightRequest, was *SightResult) bool {
		r.SectorWidthDeg = float64(was.Inputs.Looking.SectorWidthDeg)
		return scans(r) && times(&r.SectorWidthDeg, 0.5)
	}},
	{"attention", "twice the attention", func(r *SightRequest, was *SightResult) bool {
		r.Attention = float64(was.Inputs.Looking.Attention)
		return r.Task != TaskKnow && 2*r.Attention <= 1 && twice(&r.Attention)
	}},
	{"speed", "half the speed", func(r *SightRequest, was *SightResult) bool {
		r.SpeedMS = float64(was.Inputs.Looking.SpeedMS)
		return r.Task == TaskPass && times(&r.SpeedMS, 0.5)
	}},
	{"adapted", "eyes used to the dark", func(r *SightRequest, _ *SightResult) bool {
		unadapted := r.Unadapted
		r.Unadapted = false
		return unadapted
	}},
	{"glare", "the glare put out", func(r *SightRequest, _ *SightResult) bool {
		glare := r.GlareLx > 0 || r.OwnLampLM > 0
		r.GlareLx, r.OwnLampLM = 0, 0
		return glare
	}},
}

// scans reports whether sector and look count.
func scans(r *SightRequest) bool { return r.Task == "" || r.Task == TaskScan }

// onGround puts a thing that is seen by its contrast before another ground.
func onGround(factor float64) func(*SightRequest, *SightResult) bool {
	return func(r *SightRequest, _ *SightResult) bool {
		if !HasContrast(r.Signal.Kind) {
			return false
		}
		r.Signal.BackgroundReflectance, r.Signal.Behind = factor, ""
		return true
	}
}

// help finds the change that would help most. Nothing is told where the ground
// of a plan decides, of the passes of a plan, which take long, or where users
// measured the width themselves.
func (r SightRequest) help(was *SightResult) *SightHelp {
	if r.clear || r.ofPlan && r.Task == TaskPass || r.Measured.given() {
		return nil
	}
	var tried []SightStep
	for _, s := range steps {
		changed := r
		if !s.change(&changed, was) {
			continue
		}
		now, _, err := changed.judge()
		if err != nil {
			continue // beyond what the input may be, like a law's darkest background
		}
		tried = append(tried, stepOf(s.input, s.text, was, now))
	}
	return best(tried, was)
}

func stepOf(input, text string, was, now *SightResult) SightStep {
	ratio := float64(now.NoticedM) / float64(was.NoticedM)
	if was.NoticedM == 0 {
		ratio = math.NaN()
	}
	return SightStep{
		Input: input, Step: text, NoticedM: now.NoticedM, PerceptibleM: now.PerceptibleM,
		GainM: now.NoticedM - was.NoticedM, Gain: cli.Num(ratio),
	}
}

// leastGain is the gain that counts, as a share of the distance reached. Own
// choice: below, a sentence about it would mislead.
const leastGain = 0.005

// best returns the step of the largest gain, the first of equals.
func best(tried []SightStep, was *SightResult) *SightHelp {
	unknown := cli.Len(math.NaN())
	h := &SightHelp{SightStep: SightStep{NoticedM: unknown, PerceptibleM: unknown, GainM: unknown, Gain: cli.Num(math.NaN())}, Tried: tried}
	largest := func(reached func(SightStep) cli.Len, from cli.Len) bool {
		most := cli.Len(0)
		for _, s := range tried {
			if gain := reached(s) - from; gain > leastGain*reached(s) && gain > most*(1+1e-9) {
				h.SightStep, most = s, gain
			}
		}
		return most > 0
	}
	switch {
	case largest(func(s SightStep) cli.Len { return s.NoticedM }, was.NoticedM):
		h.Text = fmt.Sprintf("most would help: %s, noticed to %s", h.Step, Distance(float64(h.NoticedM)))
		if !math.IsNaN(float64(h.Gain)) {
			h.Text += fmt.Sprintf(", %s times as far", cli.Significant(float64(h.Gain)))
		}
	case largest(func(s SightStep) cli.Len { return s.PerceptibleM }, was.PerceptibleM):
		h.Text = fmt.Sprintf("nothing that was tried brings it farther to be noticed; most would help to be seen at best: %s, to %s", h.Step, Distance(float64(h.PerceptibleM)))
	default:
		h.Text = "no single change that was tried would help"
	}
	return h
}

// help finds what would help a sound most.
func (r SoundRequest) help(was *SightResult) *SightHelp {
	const threeDB = 3.0103 // twice the power
	var tried []SightStep
	for _, s := range []struct {
		input, text string
		change      func(r *SoundRequest) bool
	}{
		{"whistle", "twice the power", func(r *SoundRequest) bool { r.LevelDB += threeDB; return true }},
		{"noise", "half the noise", func(r *SoundRequest) bool { r.NoiseDB -= threeDB; return true }},
		{"tone", "an octave lower", func(r *SoundRequest) bool { r.ToneHz /= 2; return !r.Shout }},
		{"foliage", "half the foliage", func(r *SoundRequest) bool { return times(&r.FoliageM, 0.5) }},
	} {
		changed := r
		if !s.change(&changed) {
			continue
		}
		if now, err := changed.judge(); err == nil {
			tried = append(tried, stepOf(s.input, s.text, was, now))
		}
	}
	return best(tried, was)
}
