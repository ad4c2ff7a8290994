package sweep

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// object is a target of an area and a contrast.
type object struct{ areaM2, contrast float64 }

func (object) Kind() source.Kind        { return source.KindFlag }
func (o object) String() string         { return fmt.Sprintf("%g m2, contrast %g", o.areaM2, o.contrast) }
func (object) Check() error             { return nil }
func (object) Factors() []source.Factor { return nil }
func (o object) Toward(source.View) source.Appearance {
	return source.Appearance{AreaM2: o.areaM2, Contrast: o.contrast}
}

const (
	nm   = 1852.0
	foot = 0.3048
	knot = nm / 3600
)

// scene is a query in the open, without the earth's curve.
func scene(o object, backgroundCDM2, visibilityM, clutter float64) sighting.Query {
	a := air.Default(backgroundCDM2)
	a.VisibilityM = visibilityM
	return sighting.Query{Source: o, Air: a, Ground: sighting.NoCurvature, Clutter: clutter}
}

func watch(t require.TestingT, q sighting.Query) sighting.Watch {
	w, err := q.Watch()
	require.NoError(t, err)
	return w
}

func solve(t require.TestingT, p Pass) *Curve {
	c, err := p.Solve()
	require.NoError(t, err)
	return c
}

// The pilot's field of Andrews' model: 200 degrees, 35 up and 20 down, of
// which the middle is here level: 3.2 sr. A third of the glimpses.
func pilot() observer.Search {
	return observer.Search{WidthDeg: 200, HeightDeg: 54.57, LookS: 60, Attention: 1. / 3, GlimpseS: observer.GlimpseS}
}

// forest is a walk through a forest past an object of 0.35 m2.
func forest(contrast, clearM float64) Pass {
	return Pass{Query: scene(object{0.35, contrast}, 300, 20e3, observer.ClutterForestFloor), SpeedMS: 0.4, Plants: Plants{MeanClearM: clearM}}
}

// flight is an aircraft over open land.
func flight(o object, heightM, visibilityM, speedMS, clutter, limitM float64) Pass {
	q := scene(o, 3000, visibilityM, clutter)
	q.EyeM = heightM
	return Pass{Query: q, SpeedMS: speedMS, Abeam: true, Grazing: true, ScanLimitM: limitM}
}

// walkIn is the detection range that somebody finds who walks straight at an
// object of known place: the mean distance of its first sight.
func walkIn(t *testing.T, p Pass) float64 {
	w := watch(t, p.Query)
	clear := p.Plants.ClearM()
	const n = 4000
	ds := 14 * clear / n
	seen, sum := 0.0, 0.0
	for i := n - 1; i >= 0; i-- {
		d := ds * (float64(i) + 0.5)
		seen += math.Exp(-d/clear) * observer.Seen(w.V(d)) * ds / WindowM
		sum += -math.Expm1(-seen) * ds
	}
	return sum
}

// score prints model against published, and holds what is asserted.
type score struct {
	t     *testing.T
	lines []string
}

// line notes a model's figure beside the published one, and asserts the ratio
// of the two; most below least: it is a known misfit, kept in view.
func (s *score) line(name string, model, published, least, most float64) {
	s.lines = append(s.lines, fmt.Sprintf("%-58s %10.4g  %10.4g  %6.2f  (%.2f to %.2f)", name, model, published, model/published, least, most))
	assert.True(s.t, model/published >= least && model/published <= most, "%s: model %g, published %g", name, model, published)
}

func (s *score) say(format string, a ...any) { s.lines = append(s.lines, fmt.Sprintf(format, a...)) }

// TestScore holds the one set of parameters against published searches. The
// bands are what was stated when the set was chosen; nothing is tuned to the
// lines marked U. "Misfit" lines are wrong by more than the bands of the
// package and stay here so that they are not forgotten.
func TestScore(t *testing.T) {
	for _, misses := range []struct {
		name     string
		noOffset bool
	}{{"misses independent", true}, {"misses correlated", false}} {
		if misses.noOffset && testing.Short() {
			continue
		}
		s := &score{t: t}
		s.say("%s:%50s %10s  %10s  %6s", misses.name, "", "model", "published", "ratio")
		s.pilots()
		s.forests(misses.noOffset)
		s.gloves(misses.noOffset)
		s.flights(misses.noOffset)
		s.wrecks(misses.noOffset)
		s.speeds(misses.noOffset)
		s.shapes(misses.noOffset)
		t.Log("\n" + strings.Join(s.lines, "\n"))
	}
}

// Rate per solid angle and transmission of aircraft seen by pilots, 17 000
// /sr/s when not alerted (Andrews, MIT LL ATC-151, 1989, read second-hand).
// The rate should not depend on the range.
func (s *score) pilots() {
	area := 35 * foot * foot
	q := scene(object{area, -0.8}, 5000, 20*nm, 0)
	q.Search = pilot()
	w := watch(s.t, q)
	perSR := func(r float64) float64 {
		d := r * nm
		return w.Rate(d) / (area / (d * d) * math.Exp(-math.Log(20)*r/20))
	}
	for _, r := range []float64{0.5, 1, 1.27, 2, 3, 3.78} {
		least := 0.85
		if r > 2 {
			least = 0.7 // the law is one for targets above 3 minutes of arc
		} else {
			assert.InEpsilon(s.t, perSR(1.27), perSR(r), 0.1, "constant from 0.5 to 2 NM")
		}
		s.line(fmt.Sprintf("U pilots not alerted, /sr/s at %.2f NM (F at 1.27)", r), perSR(r), 17000, least, 1.15)
	}
	alerted := q
	alerted.Search = observer.Search{WidthDeg: 90, HeightDeg: 45, LookS: 60, Attention: 1, GlimpseS: observer.GlimpseS}
	d := 1.27 * nm
	s.line("U pilots alerted to 90 x 45 deg, /sr/s at 1.27 NM", watch(s.t, alerted).Rate(d)/(area/(d*d)*math.Exp(-math.Log(20)*1.27/20)), 140000, 0.7, 1.4)
	lobe := observer.ConeDeg(w.LobeSR(d))
	s.line("U most likely radius of a sighting, deg (SAR Manual)", lobe, 5, 0.9, 1.1)
	// Where the aircraft is no longer perceptible, the search ends. ATC-151 ends at the
	// eye's resolution of 1 minute of arc, r = 1.1284 sqrt(A) / 1'.
	s.line("U where the search for the aircraft ends, NM", w.FarthestM()/nm, 3.78, 0.95, 1.05)
	// Nominal case of ATC-151: closing at 380 kt from afar to 1.27 NM. The published
	// chance has that end too; without one it would be 0.068, and the model's 0.055.
	sum, step := 0.0, 2.0
	for x := 1.27 * nm; x < 10*nm; x += step {
		sum += w.Rate(x) * step
	}
	s.line("U chance of seeing it in the nominal approach", 1-math.Exp(-sum/(380*knot)), 0.0570, 0.85, 1.15)

	// Morris, Human Factors 47 (2005): chance at four closing speeds, 12.5 s
	// before; hazards relative to that at 200 kt. Between solid angle alone and
	// the published fall.
	morris := q
	morris.Source = object{100 * foot * foot, -0.8}
	morris.Search.Attention = 1
	mw := watch(s.t, morris)
	hazard := func(kt float64) float64 {
		sum := 0.0
		for x := 12.5 * kt * knot; x < 20e3; x += 5 {
			sum += mw.Rate(x) * 5
		}
		return sum / (kt * knot)
	}
	s.line("U closing speed, hazard at 200 kt", hazard(200), 2.41, 0.8, 1.2)
	for _, m := range []struct{ kt, published float64 }{{300, 3.58}, {400, 7.33}, {500, 14.8}} {
		s.line(fmt.Sprintf("U closing speed, hazard 200 kt over %.0f kt (misfit)", m.kt), hazard(200)/hazard(m.kt), m.published, 0.6, 1)
	}
}

// Sweep width over detection range in forests: Koester et al. 2014.
func (s *score) forests(noOffset bool) {
	for _, class := range []struct {
		name                string
		contrast, published float64
	}{{"high", 4, 1.773}, {"medium", 1.5, 1.556}, {"low", 0.4, 1.135}} {
		mean := 0.0
		for _, clear := range []float64{8, 12, 20} {
			p := forest(class.contrast, clear)
			p.NoOffset = noOffset
			width, rd := solve(s.t, p).WidthM, walkIn(s.t, p)
			s.say("    forest %s, mean clear line %2.0f m: W %5.1f m, Rd %4.1f m, W/Rd %.2f", class.name, clear, width, rd, width/rd)
			mean += math.Log(width/rd) / 3
		}
		s.line(fmt.Sprintf("F forest W/Rd %s", class.name), math.Exp(mean), class.published, 1/ForestBand, ForestBand)
	}
}

// Gloves on a track, two people: orange 0.99, grey 0.52 (14 teams, read
// second-hand).
func (s *score) gloves(noOffset bool) {
	for _, g := range []struct {
		name                            string
		contrast, published, least, top float64
	}{{"orange", 4, 0.99, 0.97, 1.02}, {"grey (misfit)", 0.4, 0.52, 1, 1.4}} {
		q := scene(object{0.02, g.contrast}, 300, 20e3, observer.ClutterForestFloor)
		q.EyeM = 1.5
		c := solve(s.t, Pass{Query: q, SpeedMS: 1, Plants: Plants{MeanClearM: 20}, NoOffset: noOffset})
		p := 0.0
		const n = 20
		for i := range n {
			p += c.ChanceOfSeveral(0.4+0.8*(float64(i)+0.5)/n, 2) / n
		}
		s.line("U glove on the track, two people, "+g.name, p, g.published, g.least, g.top)
	}
}

// Widths over land from 150 and 300 m in 6 and 20 km of visibility: IAMSAR
// volume II, table N-9 (from memory), km.
func (s *score) flights(noOffset bool) {
	sum := 0.0
	for _, r := range []struct {
		name                         string
		o                            object
		heightM, visKM, w, low, high float64
	}{
		{"person", object{0.5, 1}, 150, 6, 0.7, 0.5, 2}, {"person", object{0.5, 1}, 150, 20, 0.9, 0.5, 2},
		{"person", object{0.5, 1}, 300, 6, 0.7, 0.5, 2}, {"person", object{0.5, 1}, 300, 20, 0.9, 0.5, 2},
		{"vehicle", object{7, 1}, 150, 6, 1.7, 1 / AirBand, AirBand}, {"vehicle", object{7, 1}, 150, 20, 2.4, 1 / AirBand, AirBand},
		{"vehicle", object{7, 1}, 300, 6, 1.9, 1 / AirBand, AirBand}, {"vehicle", object{7, 1}, 300, 20, 2.6, 1 / AirBand, AirBand},
		{"light aircraft", object{20, 1.2}, 150, 6, 1.9, 1 / AirBand, AirBand}, {"light aircraft", object{20, 1.2}, 150, 20, 2.6, 1 / AirBand, AirBand},
		{"light aircraft", object{20, 1.2}, 300, 6, 1.9, 1 / AirBand, AirBand}, {"light aircraft", object{20, 1.2}, 300, 20, 2.8, 1 / AirBand, AirBand},
	} {
		p := flight(r.o, r.heightM, r.visKM*1000, 45, observer.ClutterOpenGround, ScanLimitM(r.visKM*1000))
		p.NoOffset = noOffset
		w := solve(s.t, p).WidthM / 1000
		sum += math.Pow(math.Log(w/r.w), 2) / 12
		s.line(fmt.Sprintf("F air, %s, %.0f m up, %.0f km, W km", r.name, r.heightM, r.visKM), w, r.w, r.low, r.high)
	}
	s.say("    all twelve: within a factor %.2f (root mean square)", math.Exp(math.Sqrt(sum)))
}

// Widths of a small aircraft's wreck on flat open ground, from a table of
// detection by spacing that is random search throughout (US Civil Air Patrol
// reference text, table 6-2; W = -S ln(1 - POD)), NM. The model is too high by
// up to 2.6.
func (s *score) wrecks(noOffset bool) {
	for _, r := range []struct{ feet, visMI, w float64 }{
		{500, 4, 0.72}, {700, 4, 0.81}, {1000, 4, 0.91}, {1000, 3, 0.77}, {1000, 2, 0.50}, {1000, 1, 0.28},
	} {
		for _, clutter := range []float64{observer.ClutterOpenGround, observer.ClutterScrub} {
			p := flight(object{10, 1}, r.feet*foot, r.visMI*1609*1.5, 46, clutter, r.visMI*1609/3)
			p.NoOffset = noOffset
			s.line(fmt.Sprintf("U wreck, %.0f ft, %.0f mi, clutter %.3g, W NM (misfit)", r.feet, r.visMI, clutter), solve(s.t, p).WidthM/nm, r.w, 1, 2.7)
		}
	}
}

// "Speeds to 120 kt do not change the width much" (US National SAR Manual).
func (s *score) speeds(noOffset bool) {
	for _, o := range []struct {
		name   string
		object object
	}{{"person", object{0.5, 1}}, {"vehicle", object{7, 1}}} {
		var w []float64
		for _, kt := range []float64{60, 120} {
			p := flight(o.object, 150, 20e3, kt*knot, observer.ClutterOpenGround, ScanLimitM(20e3))
			p.NoOffset = noOffset
			w = append(w, solve(s.t, p).WidthM)
		}
		s.line(fmt.Sprintf("U speed, %s from the air, W at 120 over 60 kt (misfit)", o.name), w[1]/w[0], 1, 0.5, 1)
	}
}

// Shape of the lateral curve: half-normal in forests, as published curves are;
// from the air flatter than the inverse cube law has it.
func (s *score) shapes(noOffset bool) {
	for _, f := range []struct {
		name           string
		contrast, most float64
	}{{"high", 4, 0.12}, {"low", 0.4, 0.12}} {
		p := forest(f.contrast, 12)
		p.NoOffset = noOffset
		c := solve(s.t, p)
		sigma := c.WidthM / math.Sqrt(2*math.Pi)
		normal, cube := 0.0, 0.0
		for x := 0.5; x < 4*sigma; x += 0.5 {
			chance := c.Chance(x)
			normal = max(normal, math.Abs(chance-math.Exp(-x*x/2/sigma/sigma)))
			cube = max(cube, math.Abs(chance+math.Expm1(-c.WidthM*c.WidthM/(4*math.Pi*x*x))))
		}
		s.say("    forest %s, farthest from the half-normal curve %.2f, from the inverse cube %.2f", f.name, normal, cube)
		assert.Less(s.t, normal, f.most, f.name)
		assert.Less(s.t, normal, cube, f.name)
	}
	p := flight(object{0.5, 1}, 150, 20e3, 45, observer.ClutterOpenGround, ScanLimitM(20e3))
	p.NoOffset = noOffset
	c := solve(s.t, p)
	s.line("U air, person, chance at W/10 (inverse cube; misfit)", c.Chance(c.WidthM/10), 1, 0.3, 0.7)
}
