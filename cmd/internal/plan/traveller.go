package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
	"farhail/geo/walk"
)

func (r *reader) traveller(n ast.Node, t *Traveller, named *names) {
	b := r.block(n, "traveller", append([]key{
		{"log", r.path(&t.Log, true), false},
		{"log_sigma_distance", r.quantity(&t.SigmaDistance, cli.Percent.Between(0, 1)), false},
		{"log_sigma_bearing", r.quantity(&t.SigmaBearingDeg, cli.Direction.Between(0, 90)), false},
		{"scale_bias", r.quantity(&t.ScaleBias, cli.Percent.Between(0, 1)), false},
		{"bearing_bias", r.quantity(&t.BearingBiasDeg, cli.Direction.Between(0, 90)), false},
		{"track", r.path(&t.Track, true), false},
		{"rule", func(n ast.Node) {
			t.RuleLine, _ = place(n)
			var names []string
			for _, rule := range walk.Rules() {
				names = append(names, rule.Name)
			}
			r.word(&t.Rule, names...)(n)
		}, false},
		{"trails", r.paths(&t.Trails, "trails", true), false},
		{"barriers", r.paths(&t.Barriers, "barriers", true), false},
		{"handrails", r.paths(&t.Handrails, "handrails", true), false},
		{"walkers", func(n ast.Node) { r.walkers(n, &t.Walkers) }, false},
		{"after", r.quantities(&t.After, "after", cli.Duration.Positive()), false},
		{"signals", func(n ast.Node) { r.signals(n, &t.Signals, named) }, false},
	}, append(r.footingKeys(&t.Footing), r.pauseKeys(&t.Pauses)...)...)...)
	t.Line = b.line
	if err := t.Pauses.Check(); err != nil {
		r.report(b.line, b.column, "", err.Error(), "is it the mass of the load alone")
	}
	t.LogErrorsStated = LogErrorsStated{b.has("log_sigma_distance"), b.has("log_sigma_bearing"), b.has("scale_bias"), b.has("bearing_bias")}
}

func (r *reader) walkers(n ast.Node, w *Walkers) {
	factor := cli.Number.Positive()
	b := r.block(n, "walkers",
		key{"slow", r.quantity(&w.Slow, factor), false},
		key{"usual", r.quantity(&w.Usual, factor), false},
		key{"fast", r.quantity(&w.Fast, factor), false},
	)
	if w.Slow > w.Usual || w.Usual > w.Fast {
		r.report(b.line, b.column, "", fmt.Sprintf("walkers out of order: slow %g, usual %g, fast %g", w.Slow, w.Usual, w.Fast), "slow is the least factor of the rule's speed, fast the greatest")
	}
}

func (r *reader) signals(n ast.Node, signals *[]Signal, named *names) {
	r.list(n, "signals", func(n ast.Node) { *signals = append(*signals, r.signal(n, named)) })
}

// blankSignal is a signal of which nothing is known.
func blankSignal() Signal {
	nan := math.NaN()
	return Signal{
		HeightM:     nan,
		IntensityCD: nan, FluxLM: nan, BeamDistanceM: nan,
		FlashS: nan, PeriodS: nan, BeamDeg: nan, AzimuthDeg: nan, TiltDeg: nan, RatedS: nan,
		FlagWidthM: nan, FlagHeightM: nan, Reflectance: nan, BackgroundReflectance: nan,
		PowerW: nan, BedM: nan,
		FuelKGS: nan, SmokeYield: nan,
		Glass: Glass{TowardAzDeg: nan, TowardElDeg: nan},
		Sound: Sound{ToneHz: DefaultToneHz, NoiseDB: DefaultNoiseDB},
	}
}

// signal reads one signal.
func (r *reader) signal(n ast.Node, named *names) Signal {
	s := blankSignal()
	b := r.block(n, "a signal", append(append(r.thingKeys(&s), r.lampKeys(&s)...),
		key{"name", r.name(&s.Name, named), true},
		key{"height", r.quantity(&s.HeightM, cli.Length.NotNegative()), false},

		key{"light", r.quantity(&s.IntensityCD, cli.Intensity.Positive()), false},
		key{"lumens", r.quantity(&s.FluxLM, cli.Flux.Bare().Positive()), false},
		key{"beam_distance", r.quantity(&s.BeamDistanceM, cli.Length.Positive()), false},
		key{"flash", r.quantity(&s.FlashS, cli.Duration.Positive()), false},
		key{"every", r.quantity(&s.PeriodS, cli.Period.Positive()), false},
		key{"beam", r.quantity(&s.BeamDeg, cli.Direction.Positive().AtMost(360)), false},
		key{"azimuth", r.quantity(&s.AzimuthDeg, cli.Direction.Between(0, 360)), false},
		key{"tilt", r.quantity(&s.TiltDeg, cli.Direction.Between(-90, 90)), false},
		key{"rated_time", r.quantity(&s.RatedS, cli.Duration.Positive()), false},
		key{"lit_from", r.time(&s.LitFrom), false},

		key{"flag", r.size(&s.FlagWidthM, &s.FlagHeightM), false},
		key{"reflectance", r.quantity(&s.Reflectance, cli.Number.Between(0, 1.5)), false},

		key{"fire", r.quantity(&s.PowerW, cli.Power.Positive()), false},
		key{"bed", r.quantity(&s.BedM, cli.Length.Positive()), false},

		key{"smoke", r.quantity(&s.FuelKGS, cli.MassRate.Positive()), false},
		key{"yield", r.quantity(&s.SmokeYield, cli.Number.Between(0, 1)), false},
		key{"stability", r.word(&s.Stability, "A", "B", "C", "D", "E", "F"), false},
		key{"column", r.word(&s.Column, "white", "dark"), false},

		key{"mirror", r.size(&s.MirrorWidthM, &s.MirrorHeightM), false},
		key{"mirror_reflectivity", r.quantity(&s.MirrorReflectivity, MirrorShare), false},
		key{"mirror_sweep", r.quantity(&s.MirrorSweepDegS, cli.TurnRate.Positive()), false},
		key{"second_mirror", r.boolean(&s.SecondMirror), false},
		key{"toward", r.aim(&s.TowardAzDeg, &s.TowardElDeg), false},

		key{"whistle", r.quantity(&s.SoundDB, WhistleLevel), false},
		key{"shout", r.quantity(&s.SoundDB, WhistleLevel), false},
		key{"tone", r.quantity(&s.ToneHz, ToneRange), false},
		key{"noise", r.quantity(&s.NoiseDB, NoiseLevel), false},
		key{"foliage", r.quantity(&s.FoliageM, cli.Length.NotNegative()), false},
	)...)
	s.Line = b.line
	switch r.oneOf(b, "a signal", "light", "lumens", "beam_distance", "beam_table", "standard", "flag", "fire", "smoke", "mirror", "whistle", "shout", "posture", "symbol", "reflector") {
	case "light", "lumens", "beam_distance", "beam_table", "standard":
		s.Kind = Light
		r.light(b, &s)
		r.lamp(b, &s)
	case "flag":
		s.Kind = Flag
		s.Reflectance = or(s.Reflectance, DefaultReflectance)
		s.BackgroundReflectance = or(s.BackgroundReflectance, DefaultBackground)
	case "fire":
		s.Kind = Fire
		s.BedM = or(s.BedM, DefaultBedM)
	case "smoke":
		s.Kind = Smoke
		s.Stability = cmp.Or(s.Stability, DefaultStability)
		s.Column = cmp.Or(s.Column, DefaultColumn)
	case "mirror":
		s.Kind = Mirror
	case "whistle":
		s.Kind = Whistle
	case "shout":
		s.Kind = Shout
	case "posture":
		s.Kind = Figure
	case "symbol":
		s.Kind = Symbol
	case "reflector":
		s.Kind = Reflector
	}
	s.HeightM = or(s.HeightM, UsualHeightM(s.Kind, s.Standard))
	r.thing(b, &s)
	r.onlyOf(b, s.Kind)
	return s
}

// light checks what the keys of a light say together.
func (r *reader) light(b block, s *Signal) {
	if b.has("lumens") && !b.has("beam") {
		r.at(b, "lumens", "lumens without the beam they fill", "add beam: 40 deg, or 360 deg for a bare lamp")
	}
	switch flash, every := b.has("flash"), b.has("every"); {
	case flash && !every:
		r.at(b, "flash", "a flash without its period", "add every: 1 s")
	case every && !flash:
		r.at(b, "every", "a period without its flash", "add flash: 0.1 s")
	case s.FlashS > s.PeriodS:
		r.at(b, "flash", "a flash longer than its period", "for a steady light remove flash and every")
	case flash && s.flashSpanS() >= s.PeriodS:
		r.at(b, "flash", fmt.Sprintf("a flash of %g s with its pulses, not shorter than its period of %g s", s.flashSpanS(), s.PeriodS), "for a steady light remove flash and every")
	}
	if b.has("lit_from") && !s.Limited() {
		r.at(b, "lit_from", "lit_from without rated_time", "add rated_time: 6 h, how long the lamp burns")
	}
	if (b.has("azimuth") || b.has("tilt")) && !b.has("beam") && !b.has("beam_table") && !b.has("standard") {
		at := "azimuth"
		if !b.has(at) {
			at = "tilt"
		}
		r.at(b, at, "a direction without the beam it points", "add beam: 40 deg")
	}
}

// keysOfKind lists the keys that only signals of some kinds have.
var keysOfKind = []struct {
	kinds []string
	keys  []string
}{
	{[]string{Light}, append([]string{"flash", "every", "beam", "azimuth", "tilt", "rated_time", "lit_from"}, lampKeyNames()...)},
	{[]string{Flag, Figure, Symbol}, []string{"reflectance", "cloth", "lighting"}},
	{[]string{Flag, Figure, Symbol, Smoke}, []string{"on"}},
	{[]string{Flag}, []string{"cloth_wind"}},
	{[]string{Figure}, []string{"clothing"}},
	{[]string{Symbol}, []string{"length", "stroke"}},
	{[]string{Reflector}, []string{"reflectivity", "headlamp"}},
	{[]string{Fire}, []string{"bed", "fires", "apart"}},
	{[]string{Smoke}, []string{"yield", "stability", "column"}},
	{[]string{Mirror}, []string{"mirror_reflectivity", "mirror_sweep", "second_mirror", "toward"}},
	{[]string{Whistle}, []string{"tone"}},
	{[]string{Whistle, Shout}, []string{"noise", "foliage"}},
}

// onlyOf reports keys of other kinds than the signal's.
func (r *reader) onlyOf(b block, kind string) {
	if kind == "" {
		return
	}
	for _, of := range keysOfKind {
		for _, k := range of.keys {
			if !slices.Contains(of.kinds, kind) && b.has(k) {
				r.at(b, k, fmt.Sprintf("%q belongs to a %s, this is a %s", k, strings.Join(of.kinds, " or "), kind), "remove it")
			}
		}
	}
}

// or returns the default where a value was not given.
func or(v, byDefault float64) float64 {
	if math.IsNaN(v) {
		return byDefault
	}
	return v
}
