package job

import (
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// HasContrast reports whether signals of a kind are seen by contrast, and not by
// their light.
func HasContrast(kind string) bool {
	switch kind {
	case plan.Flag, plan.Smoke, plan.Figure, plan.Symbol:
		return true
	}
	return false
}

// GroundFactor returns the luminance factor of one of SightBackgrounds.
func GroundFactor(name string) float64 { return air.Factor(air.Behind(name)) }

// surface returns how bright a thing is and what is behind it.
func surface(s plan.Signal) source.Surface {
	out := source.Surface{Reflectance: s.Reflectance, Behind: s.BackgroundReflectance, Lit: source.Lighting(s.Lit)}
	class := s.Clothing
	if s.Kind == plan.Figure && class == "" && s.Cloth == "" && math.IsNaN(s.Reflectance) {
		class = plan.Clothings[0]
	}
	for _, named := range []struct {
		tones []source.Tone
		name  string
	}{{source.Cloths, s.Cloth}, {source.Clothes, class}} {
		if t, ok := source.ToneOf(named.tones, named.name); ok {
			out.Reflectance, out.From = t.Factor, t.Source
		}
	}
	if math.IsNaN(out.Reflectance) {
		out.Reflectance, out.From = plan.DefaultReflectance, "own choice: orange cloth"
	}
	if s.Behind != "" {
		b := air.Behind(s.Behind)
		out.Behind, out.On = air.Factor(b), air.FactorSource(b)
	}
	if math.IsNaN(out.Behind) {
		out.Behind, out.On = plan.DefaultBackground, "own choice: dark plants"
	}
	return out
}

// namedGround returns the signal with the luminance factor of the ground that its
// plan names behind it, and that ground: open country where none is named.
func namedGround(s plan.Signal) (plan.Signal, string) {
	if s.Behind == "" {
		return s, string(air.Ground)
	}
	s.BackgroundReflectance = air.Factor(air.Behind(s.Behind))
	return s, s.Behind
}

// thing returns a flag, a person, a symbol or a reflector, or nil for another
// kind of signal.
func thing(s plan.Signal) source.Source {
	f := surface(s)
	switch s.Kind {
	case plan.Flag:
		return source.Flag{
			WidthM: s.FlagWidthM, HeightM: s.FlagHeightM,
			Reflectance: f.Reflectance, Behind: f.Behind, Lit: f.Lit, From: f.From, On: f.On,
			Loose: s.Hangs, WindMS: s.ClothWindMS,
		}
	case plan.Figure:
		return source.Person{Posture: source.Posture(s.Posture), Surface: f}
	case plan.Symbol:
		stroke := s.StrokeM
		if stroke == 0 {
			stroke = s.LengthM * source.StrokeShare
		}
		return source.Symbol{Letter: s.Letter, LengthM: s.LengthM, StrokeM: stroke, Surface: f}
	case plan.Reflector:
		return source.Reflector{AreaM2: s.ReflectorM2, Reflectivity: s.Reflectivity, LampCD: s.HeadlampCD}
	}
	return nil
}

// A SightSymbol is what a ground-to-air symbol says, and from where it is read.
type SightSymbol struct {
	Letter       string        `json:"letter"`
	Meaning      string        `json:"meaning"`
	LengthM      cli.Len       `json:"length_m"`
	StrokeM      cli.Len       `json:"stroke_m"`
	LegibleM     cli.Len       `json:"legible_m"`     // straight above it
	LegibleLimit string        `json:"legible_limit"` // size, stroke or contrast
	Aside        []SightHeight `json:"aside"`
}

// A SightHeight is how far aside a symbol is read from a height above it.
type SightHeight struct {
	HeightM cli.Len `json:"height_m"`
	GroundM cli.Len `json:"ground_m"` // 0: from nowhere at that height
}

// readHeightsM are the heights that a symbol is judged from [m], those of air
// search over land (IAMSAR volume II, table N-9; from memory).
var readHeightsM = []float64{150, 300}

// symbol tells from where a symbol is read: its kind must be recognised (Johnson),
// the width of its lines must be a minute of arc, and a piece as long as they are
// wide must stand out by its contrast.
func (r SightRequest) symbol(s source.Symbol, q sighting.Query, out *SightResult) error {
	q.Source = source.Flag{WidthM: s.StrokeM, HeightM: s.StrokeM, Reflectance: s.Reflectance, Behind: s.Behind, Lit: s.Lit}
	q.Ground, q.Aloft = sighting.NoCurvature, false
	patch, err := sighting.Solve(q)
	if err != nil {
		return err
	}
	t := &SightSymbol{Letter: s.Letter, Meaning: s.Meaning(), LengthM: cli.Len(s.LengthM), StrokeM: cli.Len(s.StrokeM)}
	best := math.Inf(1)
	for _, rule := range []struct {
		limit string
		m     float64
	}{
		{"size", observer.Recognition.DetailM(s.LengthM)},
		{"stroke", observer.ResolvedM(s.StrokeM, 1)},
		{"contrast", patch.Perceptible.LuminousM},
	} {
		if rule.m < best {
			best, t.LegibleLimit = rule.m, rule.limit
		}
	}
	t.LegibleM = cli.Len(best)
	heights := readHeightsM
	if r.aloft() && !slices.Contains(heights, r.AltitudeM) {
		heights = append([]float64{r.AltitudeM}, heights...)
	}
	for _, h := range heights {
		// At a slant d the symbol is foreshortened to h/d: s h / d^2 is what it was
		// at its best.
		t.Aside = append(t.Aside, SightHeight{cli.Len(h), cli.Len(math.Sqrt(max(best*h-h*h, 0)))})
	}
	out.Symbol = t
	out.Inputs.Factors = append(out.Inputs.Factors,
		SightFactor{"legible", Factor{Name: "pairs of lines across the symbol", Value: cli.Num(observer.Recognition.Cycles()), Source: "Johnson 1958, recognition by half of all observers; a pair at 2' of arc"}},
		SightFactor{"legible", Factor{Name: "width of the lines", Value: 1, Unit: "arcmin", Source: "acuity 1.0, ISO 8596"}})
	return nil
}

// The separations of two stars that eyes tell apart in the dark [arcmin], from
// memory: Epsilon Lyrae, 208", is at the limit of good eyes, Mizar and Alcor, 11.8',
// are two to all.
const (
	limitArcmin = 208.0 / 60
	sureArcmin  = 11.8
)

// A SightFires is from how far several fires are told apart: at best by good eyes,
// and by all. None is farther than a single fire is seen, or noticed.
type SightFires struct {
	Count               int     `json:"count"`
	ApartM              cli.Len `json:"apart_m"`
	TwoApartM           cli.Len `json:"two_apart_m"` // two of them, from any side of a triangle
	TwoApartNoticedM    cli.Len `json:"two_apart_noticed_m"`
	ThreeApartM         cli.Len `json:"three_apart_m"` // three, from half of all sides; null for two
	ThreeApartNoticedM  cli.Len `json:"three_apart_noticed_m"`
	ThreeApartBestSideM cli.Len `json:"three_apart_best_side_m"`
}

// fires tells from how far the fires of a signal are told apart.
//
// On level ground an equal triangle of side s is never narrower than s cos 30 deg.
// Its smaller gap is s sin a, a from 0 to 30 deg: s/2 from the best side, s sin 15
// deg or more from half of all. Two fires are s cos 45 deg apart or more from half
// of all sides. The width of the flames is taken off.
func (r SightRequest) fires(s plan.Signal, out *SightResult) {
	if s.Fires < 2 {
		return
	}
	told := func(share, arcmin float64, seen cli.Len) cli.Len {
		gap := max(s.ApartM*share-s.BedM, 0)
		return min(cli.Len(observer.ResolvedM(gap, 1/arcmin)), seen)
	}
	both := func(share float64) (best, noticed cli.Len) {
		return told(share, limitArcmin, out.PerceptibleM), told(share, sureArcmin, out.NoticedM)
	}
	unknown := cli.Len(math.NaN())
	t := &SightFires{Count: s.Fires, ApartM: cli.Len(s.ApartM), ThreeApartM: unknown, ThreeApartNoticedM: unknown, ThreeApartBestSideM: unknown}
	if s.Fires == 2 {
		t.TwoApartM, t.TwoApartNoticedM = both(math.Cos(math.Pi / 4))
	} else {
		t.TwoApartM, t.TwoApartNoticedM = both(math.Cos(math.Pi / 6))
		t.ThreeApartM, t.ThreeApartNoticedM = both(math.Sin(math.Pi / 12))
		t.ThreeApartBestSideM, _ = both(0.5)
	}
	out.Fires = t
	out.Inputs.Factors = append(out.Inputs.Factors,
		SightFactor{"apart", Factor{Name: "lights told apart at best", Value: limitArcmin, Unit: "arcmin", Source: "Epsilon Lyrae, at the limit of good eyes (from memory)"}},
		SightFactor{"apart", Factor{Name: "lights told apart by all", Value: sureArcmin, Unit: "arcmin", Source: "Mizar and Alcor (from memory)"}})
	out.Cautions = append(out.Cautions, "distances are those of one fire; where they are not told apart they add up and are seen a little farther")
}

// fireCautions are what whoever lights a fire must know.
func fireCautions() []string {
	return []string{
		"obey fire bans: signal fires have become wildfires; burn no rubber or plastic",
		"no flame under trees, on peat or in a wind of force 4 and more; none in a tent or shelter (carbon monoxide); have water at hand and put it out dead before you leave",
	}
}

// tellThing adds what a kind of signal has of its own.
func (r SightRequest) tellThing(found sighting.Result, q sighting.Query, out *SightResult) error {
	switch s := q.Source.(type) {
	case source.Light:
		r.tellLamp(s, q, out)
	case source.Symbol:
		return r.symbol(s, q, out)
	case source.Fire:
		out.Cautions = append(out.Cautions, fireCautions()...)
		r.fires(r.Signal, out)
	case source.Reflector:
		if p := float64(out.LuminousM); p > 0 {
			out.EffectiveCD = cli.Num(sighting.SentBackCD(found.Appearance, p, q.Air.Extinction()))
		}
	case source.Smoke:
		out.Smoke = &SightSmoke{TopM: cli.Len(s.TopM()), ShowsFromM: cli.Len(s.FromM), Plume: plume(s)}
		if s.FromM > 0 && q.Ground == sighting.LineClear {
			out.Cautions = append(out.Cautions, fmt.Sprintf("the ground hides the fire: only what is higher than %s above it shows of the smoke, and only that is counted", Distance(s.FromM)))
		}
	}
	return nil
}

// A SightSmoke is which part of a smoke shows: heights above its fire.
type SightSmoke struct {
	TopM       cli.Len   `json:"top_m"`
	ShowsFromM cli.Len   `json:"shows_from_m"`
	Plume      []SmokeAt `json:"plume"` // downwind; none in calm air, where the smoke stands
}
