package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/terrain"
)

const sightLong = `How far one signal is seen by one observer, and what limits it.

"perceptible" is at best: nine looks in ten by somebody told where to look.
"noticed" is for somebody who is not told: half of those who look over --sector
for --look see it; with --task pass, half of those who walk by at that distance,
and the sweep width is told. By night noticed is the least supported of them.
Give one signal: a light (--light, --lumens, --beam-distance, --beam-table, or
--standard for one that a rule describes), a flag (--flag), a person (--person), a
ground-to-air symbol (--symbol), a fire (--fire; its flame), smoke (--smoke; the
fuel burnt), a mirror (--mirror, with --sun or a time and place), a reflector
(--reflector) in the light of the eye's own lamp, or a sound (--whistle, --shout).
Where nothing is said, the visibility is 10 km and the background 0.001 cd/m2 for
lights, fires and reflectors (a clear night without moon) and 3000 cd/m2 for what
is seen by its contrast and mirrors (open country in sun); --at and --place take the light of sun and moon under --cloud
instead, --background states it.

--threshold and --contrast-threshold give one threshold to compare with a
published table: perceptible is where the light, or the contrast, equals it.
--flat leaves out the curve of the earth and with it the heights.

low, mid and high are 10, 50 and 90 % of 64 joint draws of visibility, threshold,
strength, refraction and eye height, which --seed fixes (1 when not given); of a
pass they are the width's own band. What would help most is found by changing one
input after the other by a stated step (help: in the JSON). --over makes a table
over one flag, -o draws margin and chance over distance.

--from is the eye, --toward the signal. With --terrain the line over the ground
decides: a blocked line gives 0 with the limit terrain, and the range over a
smooth earth is only told apart. --cover puts stems and leaves on that line where it
runs below the canopy, by the chance that it is clear: seen at best needs one half
of it, and the chance of noticing is multiplied by it, once.`

// sightFlags are the flags of the verb as typed; NaN, nil and "" are not given.
type sightFlags struct {
	light, lumens, beamDistance float64
	flash, every                float64
	beam, azimuth, tilt         float64
	rated, lit                  float64
	flagWidth, flagHeight       float64
	reflectance, on             float64
	fire, bed                   float64
	smoke, smokeYield, wind     float64
	stability, column           string

	visibility, refraction, radius float64
	background                     float64
	at                             time.Time
	place                          *coord.Position
	behind, cloud                  string
	eyeHeight, signalHeight        float64
	threshold, contrastThreshold   float64
	flat                           bool

	eyeFlags
	mirrorFlags
	thingFlags
	lampFlags
	measuredFlags

	over cli.Series
	out  string

	task, law, clutter              string
	look, sectorWidth, sectorHeight float64
	attention, speed, age           float64
	stems, stemWidth                float64
	leafArea, canopy                float64

	to           float64
	terrain      []string
	changes      groundFlags
	land         coverFlags
	behindClass  string           // that --behind cover found
	ground       *terrain.Terrain // read from the terrain
	from, toward *coord.Position
}

func newSight(app *cli.App) *cobra.Command {
	var f sightFlags
	cmd := app.Command(cli.Verb{
		Use:   "sight --light 100cd | --flag 0.5x0.5m | --fire 100kW | --smoke 10g/s … [flags]",
		Short: "how far one signal is seen, and what limits it",
		Long:  sightLong,
		Examples: []cli.Example{
			{Line: "farhail sight --light 100cd --visibility 5km", Answers: "a lamp of 100 candela on a hazy night"},
			{Line: "farhail sight --flag 0.5x0.5m --reflectance 0.4 --on 0.05 --to 2km", Answers: "an orange cloth on dark ground by day, and its contrast at 2 km"},
			{Line: "farhail sight --light 40cd --rated-time 12h --cold 60% --lit-for 8h", Answers: "whether a lamp that the cold takes two fifths of still burns after eight hours"},
			{Line: "farhail sight --symbol V --altitude 300m", Answers: "a ground-to-air symbol from an aircraft, and from where it is read"},
			{Line: "farhail sight --light 100cd --over visibility=1km,5km,20km", Answers: "the same lamp in three airs, one row each"},
			{Line: "farhail sight --light 100cd -o sight.svg", Answers: "its margin and chance drawn over distance, by day and night"},
		},
		Input: "a terrain file is wrong or does not reach as far as the line",
		Run:   func(ctx context.Context, _ []string) error { return f.run(ctx, app) },
	})
	f.registerSignal(cmd)
	f.registerObserver(cmd)
	f.registerEye(cmd)
	f.registerTask(cmd)
	f.registerMirror(cmd)
	f.registerThing(cmd)
	f.registerLamp(cmd)
	f.registerMeasured(cmd)
	f.registerOver(cmd)
	f.registerPlot(cmd)
	return cmd
}

func (f *sightFlags) registerSignal(cmd *cobra.Command) {
	cli.Quantity(cmd, &f.light, "light", cli.Intensity.Positive(), "", "a light of this `intensity` (100cd)")
	cli.Quantity(cmd, &f.lumens, "lumens", cli.Flux.Positive().Bare(), "", "a light of this `flux`, spread over --beam or all round (300)")
	cli.Quantity(cmd, &f.beamDistance, "beam-distance", cli.Length.Positive(), "", "a lamp of this beam `distance` by ANSI/PLATO FL 1 (100m)")
	cli.Quantity(cmd, &f.flash, "flash", cli.Duration.Positive(), "", "length of a flash (0.1s); steady without it")
	cli.Quantity(cmd, &f.every, "every", cli.Period.Positive(), "", "`period` of the flashes (1s, 60/min, 1Hz)")
	cli.Quantity(cmd, &f.beam, "beam", cli.Direction.Positive().AtMost(360), "", "full `angle` of the beam (40deg); all round without it")
	cli.Quantity(cmd, &f.azimuth, "beam-azimuth", cli.Direction.Between(0, 360), "", "true `bearing` of the beam (120deg); at the eye without it")
	cli.Quantity(cmd, &f.tilt, "beam-tilt", cli.Direction.Between(-90, 90), "", "`angle` of the beam above the level (-5deg)")
	cli.Quantity(cmd, &f.rated, "rated-time", cli.Duration.Positive(), "", "`time` that the light burns (6h)")
	cli.Quantity(cmd, &f.lit, "lit-for", cli.Duration.NotNegative(), "", "`time` that it has burnt (3h)")
	cli.Size(cmd, &f.flagWidth, &f.flagHeight, "flag", cli.Length.Positive(), "", "a flag of this `size` (0.5x0.5m)")
	cli.Quantity(cmd, &f.reflectance, "reflectance", cli.Number.Between(0, 1.5), "", fmt.Sprintf("luminance factor of a flag, clothes or a symbol (%g for cloth when not given)", plan.DefaultReflectance))
	cli.Quantity(cmd, &f.fire, "fire", cli.Power.Positive(), "", "the flame of a fire of this `power` (100kW)")
	cli.Quantity(cmd, &f.bed, "bed", cli.Length.Positive(), "", fmt.Sprintf("`width` of the burning bed (%gm when not given)", plan.DefaultBedM))
	cli.Quantity(cmd, &f.smoke, "smoke", cli.MassRate.NotNegative(), "", "the smoke of a fire that burns this much fuel, a `rate` (10g/s)")
	cli.Quantity(cmd, &f.smokeYield, "smoke-yield", cli.Number.Between(0, 1), "", "smoke from fuel, a `share` by mass (0.05 white, 0.015 dark when not given)")
	cli.Quantity(cmd, &f.wind, "wind", cli.Speed.NotNegative(), "", fmt.Sprintf("`speed` of the wind that smoke drifts in (%gm/s when not given)", plan.DefaultWindMS))
	cli.Choice(cmd, &f.stability, "stability", job.Stabilities(), "", "how the air mixes, Pasquill's `class` A to F (D when not given)")
	cli.Choice(cmd, &f.column, "column", job.SmokeColumns(), "", "`colour` of the smoke: white or dark (white when not given)")
	cli.Quantity(cmd, &f.signalHeight, "signal-height", cli.Length.NotNegative(), "", fmt.Sprintf("`height` of the signal above ground (%gm when not given; a symbol lies on it, a parachute flare is %gm up)", plan.DefaultSignalHeightM, plan.UsualHeightM(plan.Light, plan.ParachuteFlare)))
}

func (f *sightFlags) registerObserver(cmd *cobra.Command) {
	cli.Quantity(cmd, &f.visibility, "visibility", cli.Length.Positive(), "10km", "meteorological optical range, the `distance` that leaves 5 % of a beam")
	cli.Quantity(cmd, &f.refraction, "refraction", cli.Number.Between(-0.99, 0.99), fmt.Sprint(earth.DefaultRefraction), "`coefficient` k of the sight line's curve")
	cli.Quantity(cmd, &f.radius, "earth-radius", cli.Length.Positive(), fmt.Sprintf("%.1fm", earth.MeanRadiusM), "`radius` of the earth")
	cli.Quantity(cmd, &f.background, "background", cli.Luminance.NotNegative(), "", "`luminance` behind the signal (0.001cd/m2)")
	cli.Instant(cmd, &f.at, "at", "`time` whose sun and moon light the background (2026-12-21T11:00:00Z)")
	cli.Position(cmd, &f.place, "place", "`position` whose sun and moon light the background; the signal's when not given")
	cli.Choice(cmd, &f.behind, "behind", append(job.SightBackgrounds(), byCover), "", "what stands behind the signal: "+strings.Join(job.SightBackgrounds(), ", ")+"; "+byCover+" for what --cover has where the signal stands; in full sun without --at")
	cli.Choice(cmd, &f.cloud, "cloud", job.Clouds(), "", "the sky over that light: clear, broken or overcast; clear when not given")
	cli.Quantity(cmd, &f.eyeHeight, "eye-height", cli.Length.NotNegative(), fmt.Sprintf("%gm", plan.DefaultEyeHeightM), "`height` of the eye above ground")
	cli.Quantity(cmd, &f.threshold, "threshold", cli.Illuminance.Positive(), "", "a fixed `illuminance` for lights and fires (2e-7lx)")
	cli.Quantity(cmd, &f.contrastThreshold, "contrast-threshold", cli.Number.Positive(), "", "a fixed `contrast` for flags and smoke (0.05)")
	cmd.Flags().BoolVar(&f.flat, "flat", false, "leave out the curve of the earth and the heights")
	cli.Quantity(cmd, &f.to, "to", cli.Length.Positive(), "", "also tell what reaches the eye at this `distance`")
	cli.Files(cmd, &f.terrain, "terrain", "terrain `file` or folder between --from and --toward")
	f.changes.add(cmd)
	f.land.add(cmd)
	cli.Position(cmd, &f.from, "from", "`position` of the eye")
	cli.Position(cmd, &f.toward, "toward", "`position` of the signal")
}

func (f *sightFlags) run(ctx context.Context, app *cli.App) error {
	if f.standard == "list" {
		return listStandards(app)
	}
	if err := f.checkPlot(); err != nil {
		return err
	}
	if f.over.Flag != "" {
		return f.table(ctx, app)
	}
	result, request, err := f.judge(ctx, app)
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := f.draw(request, result); err != nil {
			return err
		}
	}
	return app.Print(result, func(w cli.Text) { f.print(w, result) })
}

// judge turns the flags into the question and answers it. What the reader must
// know of the answer is told as notes.
func (f *sightFlags) judge(ctx context.Context, app *cli.App) (*job.SightResult, job.SightRequest, error) {
	var request job.SightRequest
	for _, step := range []func() error{f.nameCover, f.nameGround, f.knownStandard, f.check, f.readGlare} {
		if err := step(); err != nil {
			return nil, request, err
		}
	}
	ask := func() (*job.SightResult, error) { return job.Hear(f.soundRequest()) }
	if !f.sounds() {
		var err error
		if request, err = f.request(ctx, app.Zone); err != nil {
			return nil, request, err
		}
		if err = f.putCover(app, &request); err != nil {
			return nil, request, err
		}
		request.Seed = plan.DefaultSeed
		if app.SeedGiven {
			request.Seed = app.Seed
		}
		ask = func() (*job.SightResult, error) { return job.Sight(request) }
	}
	result, err := ask()
	if err != nil {
		return nil, request, sightError(err)
	}
	if f.ground != nil {
		for _, n := range job.GroundNotes(f.ground, job.Spot{Name: "the eye", Point: *request.From}, job.Spot{Name: "the signal", Point: *request.Toward}) {
			app.Note(n)
		}
	}
	for _, text := range result.Cautions {
		app.Warn(text, "")
	}
	return result, request, nil
}

// sightAdvice names the flags that an error of the model is about, by the word that
// begins it. A word of the program's own inside is not printed.
var sightAdvice = []struct {
	word   string
	inside bool
	advice string
}{
	{"observer", true, "change --law, --background, --age or the threshold"},
	{"sighting", true, "change --lights-about, --clutter or the heights"},
	{"search", true, "change --sector, --look or --attention"},
	{"sweep", true, "change --task, --speed or --sector"},
	{"air", true, "change --visibility, --refraction, --earth-radius or --background"},
	{"fire", false, "change --fire or --bed"},
	{"smoke", false, "change --smoke, --smoke-yield or --wind"},
	{"symbol", false, "change --symbol-length or --stroke"},
	{"hearing", false, "change --noise or --foliage"},
	{"whistle", false, "change --whistle or --tone"},
}

// sightError tells an error of the model, and which flags it is about.
func sightError(err error) error {
	message, advice := err.Error(), "farhail sight --help lists the flags and their units"
	for _, a := range sightAdvice {
		if rest, ok := strings.CutPrefix(message, a.word+": "); ok {
			advice = a.advice
			if a.inside {
				message = rest
			}
			break
		}
	}
	return &cli.UsageError{Message: message, Advice: advice}
}

// print writes the answer for people.
func (f *sightFlags) print(w cli.Text, s *job.SightResult) {
	if f.sounds() {
		f.printSound(w, s)
		return
	}
	printSight(w, s)
}

func given(v float64) bool { return !math.IsNaN(v) }

// kind returns what kind of signal was asked for, or says that it was not one.
func (f *sightFlags) kind() (string, error) {
	kind, count := "", 0
	for _, s := range []struct {
		kind  string
		given bool
	}{
		{plan.Light, given(f.light)}, {plan.Light, given(f.lumens)}, {plan.Light, given(f.beamDistance)},
		{plan.Light, f.standard != ""}, {plan.Light, len(f.beamTable) > 0},
		{plan.Flag, given(f.flagWidth)}, {plan.Fire, given(f.fire)}, {plan.Smoke, given(f.smoke)},
		{job.KindMirror, given(f.mirrorWidth)}, {"sound", f.sounds()},
		{plan.Figure, f.person}, {plan.Symbol, f.letter != ""}, {plan.Reflector, given(f.reflector)},
	} {
		if s.given {
			kind = s.kind
			count++
		}
	}
	switch {
	case count == 0:
		return "", &cli.UsageError{Message: "no signal given", Advice: "give one of --light 100cd, --lumens 300, --beam-distance 100m, --standard NAME, --flag 0.5x0.5m, --fire 100kW, --smoke 10g/s, --mirror 76x127mm, --whistle 115dB, --shout, --person, --symbol V, --reflector 100cm2"}
	case count > 1:
		return "", &cli.UsageError{Message: "more than one signal given", Advice: "ask for one at a time"}
	}
	return kind, nil
}

// check refuses flags that do not go together.
func (f *sightFlags) check() error {
	kind, err := f.kind()
	if err != nil {
		return err
	}
	area := job.HasContrast(kind)
	return refuse(slices.Concat(f.eyeFaults(), f.taskFaults(area), f.mirrorFaults(kind), f.thingFaults(kind), f.lampFaults(kind), f.measuredFaults(), f.coverFaults(), []flagFault{
		{kind != plan.Light && given(f.flash), "--flash", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.every), "--every", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.beam), "--beam", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.azimuth), "--beam-azimuth", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.tilt), "--beam-tilt", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.rated), "--rated-time", "is for lights", "leave it out"},
		{kind != plan.Light && given(f.lit), "--lit-for", "is for lights", "leave it out"},
		{kind != plan.Fire && given(f.bed), "--bed", "is for fires", "leave it out"},
		{kind != plan.Smoke && given(f.smokeYield), "--smoke-yield", "is for smoke", "leave it out"},
		{kind != plan.Smoke && given(f.wind), "--wind", "is for smoke", "leave it out"},
		{kind != plan.Smoke && f.stability != "", "--stability", "is for smoke", "leave it out"},
		{kind != plan.Smoke && f.column != "", "--column", "is for smoke", "leave it out"},
		{area && given(f.threshold), "--threshold", "is an illuminance, for lights and fires", "give --contrast-threshold for a " + kind},
		{!area && given(f.contrastThreshold), "--contrast-threshold", "is for flags, persons, symbols and smoke", "give --threshold for a light, a fire or a reflector"},
		{given(f.every) && !given(f.flash), "--every", "needs the length of a flash", "add --flash 0.1s"},
		{given(f.azimuth) && !f.hasBeam(), "--beam-azimuth", "needs the width of the beam", "add --beam 40deg"},
		{given(f.tilt) && !f.hasBeam(), "--beam-tilt", "needs the width of the beam", "add --beam 40deg"},
		{given(f.azimuth) && f.toward == nil, "--beam-azimuth", "needs to know where the eye is", "add --from and --toward, the positions of the eye and the signal"},
		{given(f.lit) && !f.limited(), "--lit-for", "needs the time that the light burns", "add --rated-time 6h"},
		{given(f.background) && !f.at.IsZero(), "--at", "and --background both state what is behind the signal", "give one of them"},
		{!f.at.IsZero() && f.place == nil && f.toward == nil, "--at", "needs a place", "add --place POSITION"},
		{f.at.IsZero() && f.place != nil, "--place", "needs a time", "add --at 2026-12-21T11:00:00Z"},
		{f.at.IsZero() && f.behind != "" && !area, "--behind", "needs a time and a place", "add --at and --place, or state --background"},
		{given(f.background) && f.behind != "" && kind != plan.Smoke, "--behind", "and --background both state what is behind the signal", "give one of them"},
		{f.at.IsZero() && f.cloud != "", "--cloud", "needs a time and a place", "add --at and --place, or state --background"},
		{(f.from == nil) != (f.toward == nil), "--from", "and --toward go together", "give both, the eye and the signal"},
		{len(f.terrain) > 0 && f.from == nil, "--terrain", "needs both ends of the line", "add --from and --toward"},
		{len(f.terrain) == 0 && len(f.changes.Spots) > 0, "--spots", "sets heights into a terrain", "add --terrain"},
		{len(f.terrain) == 0 && f.changes.FillVoids != 0, "--fill-voids", "fills holes of a terrain", "add --terrain"},
		{len(f.terrain) > 0 && f.flat, "--flat", "leaves out the ground that --terrain asks for", "give one of them"},
		{f.from != nil && f.toward != nil && f.from.Point == f.toward.Point, "--toward", "is the same position as --from", "give two positions"},
	}))
}

// request turns the flags into the question, and reads the terrain.
func (f *sightFlags) request(ctx context.Context, zone *time.Location) (job.SightRequest, error) {
	kind, err := f.kind()
	if err != nil {
		return job.SightRequest{}, err
	}
	r := job.SightRequest{
		Signal: plan.Signal{
			Kind: kind, HeightM: or(f.signalHeight, plan.UsualHeightM(kind, f.standard)), Lamp: f.lamp(),
			IntensityCD: f.light, FluxLM: f.lumens, BeamDistanceM: f.beamDistance,
			FlashS: or(f.flash, 0), PeriodS: or(f.every, 0),
			BeamDeg: f.beam, AzimuthDeg: f.azimuth, TiltDeg: f.tilt, RatedS: or(f.rated, 0), LitFrom: f.litFrom,
			FlagWidthM: f.flagWidth, FlagHeightM: f.flagHeight,
			Reflectance: f.reflectance, BackgroundReflectance: f.on, Thing: f.thing(kind),
			PowerW: f.fire, BedM: or(f.bed, plan.DefaultBedM),
			FuelKGS: f.smoke, SmokeYield: f.smokeYield,
			Stability: cmp.Or(f.stability, plan.DefaultStability), Column: cmp.Or(f.column, plan.DefaultColumn),
		},
		WindMS:      or(f.wind, plan.DefaultWindMS),
		LightsAbout: f.lightsAbout,
		LitForS:     f.litForS(),
		VisibilityM: f.visibility, Refraction: f.refraction, EarthRadiusM: f.radius,
		BackgroundCDM2: f.background, At: f.at, Behind: f.behind, Cloud: f.cloud,
		EyeM: f.eyeHeight, ThresholdLx: f.threshold, ThresholdContrast: f.contrastThreshold, Flat: f.flat,
		ToM: f.to, From: point(f.from), Toward: point(f.toward), Place: point(f.place),
		SightTask: f.sightTask(), SightEye: f.sightEye(), Mirror: f.mirrorRequest(), Measured: f.measured(),
	}
	r.BehindStated = f.behind != "" && !given(f.background)
	if r.Place == nil {
		r.Place = r.Toward
	}
	if zone != nil && !r.At.IsZero() {
		r.At = r.At.In(zone)
	}
	if r.Behind == "" {
		r.Behind = job.SightBackgrounds()[0]
	}
	if r.Cloud == "" {
		r.Cloud = job.Clouds()[0]
	}
	if len(f.terrain) > 0 {
		t, _, err := f.changes.load(ctx, f.terrain, lineBox(*r.From, *r.Toward), *r.From, *r.Toward)
		if err != nil {
			return r, err
		}
		f.ground, r.Heights = t, &t.Heights
	}
	return r, nil
}

// lineBox returns a box around a sight line with room for its curve on the map, in
// one piece over the 180th meridian.
func lineBox(a, b orb.Point) orb.Bound {
	b[0] = a[0] + earth.Wrap180(b[0]-a[0])
	box := orb.MultiPoint{a, b}.Bound()
	return box.Pad(0.02 + 0.02*math.Hypot(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]))
}

func or(v, otherwise float64) float64 {
	if given(v) {
		return v
	}
	return otherwise
}

func point(p *coord.Position) *orb.Point {
	if p == nil {
		return nil
	}
	return &p.Point
}

// printSight writes the answer for people: noticed first.
func printSight(w cli.Text, s *job.SightResult) {
	in := s.Inputs
	fmt.Fprintf(w, "%s\n", s.Signal)
	fmt.Fprintf(w, "  noticed      %-9s %s\n", w.Distance(float64(s.NoticedM)), noticedBy(w.Words, s))
	best := "at best: told where to look, nine looks in ten"
	if s.Fixed {
		best = "by the threshold given"
	}
	fmt.Fprintf(w, "  perceptible  %-9s %s\n", w.Distance(float64(s.PerceptibleM)), best)
	fmt.Fprint(w, "  by light, air and eye ")
	if given(float64(s.LuminousNoticedM)) {
		fmt.Fprintf(w, "%s noticed, ", w.Distance(float64(s.LuminousNoticedM)))
	}
	fmt.Fprintf(w, "%s perceptible", w.Distance(float64(s.LuminousM)))
	if given(float64(s.GeographicM)) {
		fmt.Fprintf(w, "; smooth earth %s", w.Distance(float64(s.GeographicM)))
	}
	fmt.Fprintln(w)
	printBand(w, s)
	printWidth(w, s)
	if l := s.SightLine; l != nil {
		fmt.Fprintf(w, "  line of %s over the ground, least gap %s\n", w.Distance(float64(l.LineM)), w.Length(float64(l.ClearanceM), 1))
	}
	printPlants(w, s)
	if at := s.SightAt; at != nil {
		fmt.Fprintf(w, "  at %s ", w.Distance(float64(at.ToM)))
		if given(float64(at.IlluminanceLx)) {
			fmt.Fprintf(w, "%.3g lx", float64(at.IlluminanceLx))
		} else {
			fmt.Fprintf(w, "contrast %.3g", float64(at.ApparentContrast))
		}
		if given(float64(s.MarginLog10)) {
			fmt.Fprintf(w, ", %.3g times what perceptible needs", math.Pow(10, float64(s.MarginLog10)))
		} else {
			fmt.Fprint(w, " along a clear line, which this is not")
		}
		fmt.Fprintln(w)
	}
	if who := in.Who.Words(); who != "" {
		fmt.Fprintf(w, "  seen by %s\n", w.Sentence(who))
	}
	printMirror(w, s.Mirror)
	printThing(w, s)
	printLamp(w, s.Lamp, float64(in.LitForS))
	fmt.Fprintf(w, "  %s\n", w.Sentence(s.Why))
	printHelp(w, s)
	fmt.Fprintf(w, "  taken: visibility %s, background %s cd/m2 (%s), eye %s and signal %s above ground, refraction %g\n",
		w.Distance(float64(in.VisibilityM)), figures(float64(in.BackgroundCDM2)), in.BackgroundFrom,
		short(w.Words, float64(in.EyeHeightM)), short(w.Words, float64(in.SignalHeightM)), float64(in.Refraction))
}

// short writes a height above ground as briefly as it was given.
func short(w cli.Words, m float64) string {
	if w.Units == cli.Imperial {
		return w.Length(m, 1)
	}
	return figures(m) + " m"
}

// figures writes a number with three figures and no exponent above 100.
func figures(v float64) string {
	if v >= 100 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3g", v)
}
