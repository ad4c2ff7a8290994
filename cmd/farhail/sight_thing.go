package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// thingFlags are the flags of cloth, persons, symbols, reflectors and several
// fires as typed; NaN and "" are not given.
type thingFlags struct {
	onWord, cloth, lighting, posture, clothing, letter string
	person                                             bool
	clothWind, symbolLength, stroke                    float64
	reflector, reflectivity, headlamp                  float64
	fires, apart                                       float64
}

func (f *sightFlags) registerThing(cmd *cobra.Command) {
	words := func(list []string) string { return strings.Join(list, ", ") }
	cli.NumberOrWord(cmd, &f.on, &f.onWord, "on", plan.LuminanceFactor, plan.Grounds,
		fmt.Sprintf("what is behind a flag, a person, a symbol or smoke, a `ground` (%s) or its luminance factor (%g, for smoke that of --behind, when not given)", words(plan.Grounds), plan.DefaultBackground))
	cli.Choice(cmd, &f.cloth, "cloth", plan.Cloths, "", "colour of a cloth instead of --reflectance: "+words(plan.Cloths))
	cli.Quantity(cmd, &f.clothWind, "cloth-wind", cli.Speed.NotNegative(), "", "`speed` of the wind that spreads a flag which hangs; spread out without it")
	cli.Choice(cmd, &f.lighting, "lighting", plan.Lightings, "", "light on a flag, a person or a symbol: alike (when not given) as on what is behind it, in the shade before sunlit ground, in the sun before shaded ground, or upright under an overcast sky")
	cmd.Flags().BoolVar(&f.person, "person", false, "a person in the open")
	cli.Choice(cmd, &f.posture, "posture", plan.Postures, "", "how the person is met: "+words(plan.Postures)+" (standing when not given)")
	cli.Choice(cmd, &f.clothing, "clothing", plan.Clothings, "", "how the person's clothes stand out: high (fluorescent), medium (a plain strong colour, when not given) or low")
	cli.Choice(cmd, &f.letter, "symbol", plan.Letters, "", "a ground-to-air symbol of survivors, flat on the ground: "+words(plan.Letters))
	cli.Quantity(cmd, &f.symbolLength, "symbol-length", cli.Length.Positive(), "", fmt.Sprintf("`length` of the symbol (%gm when not given)", plan.DefaultSymbolM))
	cli.Quantity(cmd, &f.stroke, "stroke", cli.Length.Positive(), "", "`width` of the symbol's lines (a sixth of its length when not given)")
	cli.Quantity(cmd, &f.reflector, "reflector", plan.ReflectorArea, "", "a retroreflector of this `area` in the light of a lamp beside the eyes (100cm2)")
	cli.Quantity(cmd, &f.reflectivity, "reflectivity", plan.ReflectivityNumber, "", fmt.Sprintf("its `coefficient` of retroreflection in cd/(lx m2) (%d when not given)", plan.DefaultReflectivity))
	cli.Quantity(cmd, &f.headlamp, "headlamp", cli.Intensity.Positive(), "", fmt.Sprintf("`intensity` of that lamp (%dcd when not given)", plan.DefaultHeadlampCD))
	cli.Quantity(cmd, &f.fires, "fires", cli.Number.Between(plan.LeastFires, plan.MostFires), "", "`number` of such fires, 2 or 3 in a triangle: tells from how far they are told apart")
	cli.Quantity(cmd, &f.apart, "apart", cli.Length.Positive(), "", fmt.Sprintf("`distance` from fire to fire (%dm when not given)", plan.DefaultApartM))
}

// nameGround turns a ground that is named by --on into its luminance factor, and
// into what stands behind the signal.
func (f *sightFlags) nameGround() error {
	if f.onWord == "" {
		return nil
	}
	if f.behind != "" && f.behind != f.onWord {
		return &cli.UsageError{Message: "--behind and --on name two grounds", Text: "--behind", Advice: "keep one of them"}
	}
	f.on = job.GroundFactor(f.onWord)
	if !given(f.background) {
		f.behind = f.onWord
	}
	return nil
}

// thingFaults lists what can be wrong with these flags for a kind of signal.
func (f *sightFlags) thingFaults(kind string) []flagFault {
	cloth := kind == plan.Flag || kind == plan.Figure || kind == plan.Symbol
	const leave, keep = "leave it out", "keep one of them"
	return []flagFault{
		{!cloth && given(f.reflectance), "--reflectance", "is for flags, persons and symbols", leave},
		{!job.HasContrast(kind) && given(f.on), "--on", "is for flags, persons, symbols and smoke", leave},
		{!cloth && f.cloth != "", "--cloth", "is for flags, persons and symbols", leave},
		{!cloth && f.lighting != "", "--lighting", "is for flags, persons and symbols", leave},
		{f.cloth != "" && given(f.reflectance), "--cloth", "and --reflectance both say how bright the cloth is", keep},
		{kind != plan.Flag && given(f.clothWind), "--cloth-wind", "is for flags", leave},
		{kind != plan.Figure && f.posture != "", "--posture", "is for a person", "add --person"},
		{kind != plan.Figure && f.clothing != "", "--clothing", "is for a person", "add --person"},
		{f.clothing != "" && (f.cloth != "" || given(f.reflectance)), "--clothing", "and the cloth both say how bright the clothes are", keep},
		{kind != plan.Symbol && given(f.symbolLength), "--symbol-length", "is for a symbol", "add --symbol V"},
		{kind != plan.Symbol && given(f.stroke), "--stroke", "is for a symbol", "add --symbol V"},
		{kind != plan.Reflector && given(f.reflectivity), "--reflectivity", "is for a reflector", "add --reflector 100cm2"},
		{kind != plan.Reflector && given(f.headlamp), "--headlamp", "is the lamp that a reflector is found by", "add --reflector 100cm2"},
		{kind != plan.Fire && given(f.fires), "--fires", "is for fires", "add --fire 100kW, the power of one"},
		{given(f.fires) && f.fires != float64(int(f.fires)), "--fires", "is not a whole number", "give 2 or 3"},
		{given(f.apart) && !given(f.fires), "--apart", "needs the number of fires", "add --fires 3"},
	}
}

// thing turns the flags into what the signal is beside its kind.
func (f *sightFlags) thing(kind string) plan.Thing {
	t := plan.Thing{
		Cloth: f.cloth, Lit: f.lighting, Hangs: given(f.clothWind), ClothWindMS: or(f.clothWind, 0), Posture: f.posture, Clothing: f.clothing,
		Letter: f.letter, LengthM: or(f.symbolLength, plan.DefaultSymbolM), StrokeM: or(f.stroke, 0),
		ReflectorM2: f.reflector, Reflectivity: or(f.reflectivity, plan.DefaultReflectivity), HeadlampCD: or(f.headlamp, plan.DefaultHeadlampCD),
		Fires: int(or(f.fires, 0)), ApartM: or(f.apart, plan.DefaultApartM),
	}
	if kind == plan.Figure && t.Posture == "" {
		t.Posture = plan.Postures[0]
	}
	// The ground that is named says where its factor is from.
	switch {
	case f.onWord != "":
		t.Behind = f.onWord
	case !given(f.on) && f.behind != "" && f.behind != "sky":
		t.Behind = f.behind
	}
	return t
}

// printThing writes what a symbol says, where fires are told apart, and what shows
// of a smoke.
func printThing(w cli.Text, s *job.SightResult) {
	if t := s.Symbol; t != nil {
		fmt.Fprintf(w, "  %s: %s; read from up to %s straight above it, by its %s\n", t.Letter, t.Meaning, w.Distance(float64(t.LegibleM)), t.LegibleLimit)
		for _, a := range t.Aside {
			if a.GroundM > 0 {
				fmt.Fprintf(w, "  read from %s above the ground up to %s aside\n", w.Distance(float64(a.HeightM)), w.Distance(float64(a.GroundM)))
			} else {
				fmt.Fprintf(w, "  not read from %s above the ground\n", w.Distance(float64(a.HeightM)))
			}
		}
	}
	if t := s.Fires; t != nil {
		fmt.Fprintf(w, "  told apart as two from %s, at best %s", w.Distance(float64(t.TwoApartNoticedM)), w.Distance(float64(t.TwoApartM)))
		if t.Count > 2 {
			fmt.Fprintf(w, "; as three, from half of all sides, %s, at best %s", w.Distance(float64(t.ThreeApartNoticedM)), w.Distance(float64(t.ThreeApartM)))
		}
		fmt.Fprintln(w)
	}
	switch t := s.Smoke; {
	case t == nil || !(t.ShowsFromM > 0):
	case t.ShowsFromM >= t.TopM:
		fmt.Fprintf(w, "  the ground hides the fire and its smoke, which stands up to %s above it; what is over %s would show\n", w.Distance(float64(t.TopM)), w.Distance(float64(t.ShowsFromM)))
	default:
		fmt.Fprintf(w, "  the ground hides the fire; of its smoke shows what is %s to %s above it\n", w.Distance(float64(t.ShowsFromM)), w.Distance(float64(t.TopM)))
	}
}
