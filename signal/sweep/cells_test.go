package sweep

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
	"farhail/signal/observer"
	"farhail/signal/sighting"
)

var unmeasured = math.NaN()

func passing(t require.TestingT, c *Curve) *Passing {
	p, err := c.Passing(unmeasured)
	require.NoError(t, err)
	return p
}

func search(t require.TestingT, o Operation, centres []Point) []float64 {
	s, err := o.Search(context.Background(), centres)
	require.NoError(t, err)
	return s.POD()
}

// cubic is a curve with the rate k h / r^3 of Koopman's inverse cube law, seen all
// round, of a sweep width of 100 m.
func cubic() *Curve {
	c := &Curve{pass: Pass{SpeedMS: 10, NoOffset: true, Query: sighting.Query{Search: observer.Search{WidthDeg: 360}}}, endM: 1e5, WidthM: 100}
	kh := 10 * 100 * 100 / (8 * math.Pi) // W = 2 sqrt(2 pi k h / v)
	r := rates{endM: 1e5}
	for i := range 400 {
		r.ln = append(r.ln, math.Log(kh)-3*(math.Log(ratesNearestM)+float64(i)*ratesStep))
	}
	c.rates = []rates{r}
	return c
}

func TestWholePassIsTheCurve(t *testing.T) {
	for name, p := range passes() {
		c := solve(t, p)
		pass := passing(t, c)
		for _, x := range []float64{0, 1, 5, 20, 60, 200, 700} {
			whole := pass.Chance(x, 2*c.endM, -2*c.endM)
			assert.InDelta(t, c.Chance(x), whole, 0.002, "%s at %g m", name, x)
		}
	}
}

// A leg cut in two shows as much as the whole, and half of a symmetrical pass half of
// the hazard.
func TestLegsAddUp(t *testing.T) {
	p := passing(t, solve(t, passes()["flag"]))
	var whole, parts [offsets]float64
	p.add(&whole, level(30, 500, -200), 1)
	p.add(&parts, level(30, 500, 70), 1)
	p.add(&parts, level(30, 70, -200), 1)
	for i := range whole {
		assert.InDelta(t, whole[i], parts[i], 1e-9*(1+whole[i]))
	}
	cube := passing(t, cubic())
	var all, ahead [offsets]float64
	cube.add(&all, level(50, 1e4, -1e4), 1)
	cube.add(&ahead, level(50, 1e4, 0), 1)
	assert.InDelta(t, all[0]/2, ahead[0], 1e-9)
}

// The inverse cube law of finite legs in closed form: with sin of the angles to the
// ends, F = k h / (v x^2) (sin a + sin b).
func TestFiniteLegOfTheInverseCubeLaw(t *testing.T) {
	p := passing(t, cubic())
	for _, x := range []float64{10, 40, 150} {
		for _, leg := range [][2]float64{{100, -100}, {300, 20}, {10, -500}, {-5, -60}} {
			k := 100 * 100 / (8 * math.Pi * x * x)
			f := k * (leg[0]/math.Hypot(x, leg[0]) - leg[1]/math.Hypot(x, leg[1]))
			assert.InDelta(t, -math.Expm1(-f), p.Chance(x, leg[0], leg[1]), 2e-3, "%g m, %v", x, leg)
		}
	}
}

// A way that bends, against plain sums of small steps.
func TestBentWayAgainstSmallSteps(t *testing.T) {
	c := cubic()
	r := rand.New(rand.NewPCG(5, 5))
	for range 20 {
		way := []Point{{0, 0}}
		for range 6 {
			way = append(way, Point{400 * r.Float64(), 400 * r.Float64()})
		}
		at := Point{400 * r.Float64(), 400 * r.Float64()}
		f := 0.0
		for i := 1; i < len(way); i++ {
			dir, l := way[i-1].toward(way[i])
			const n = 20000
			for k := range n {
				p := way[i-1].plus((float64(k)+0.5)*l/n, dir)
				_, d := p.toward(at)
				f += 10 * 100 * 100 / (8 * math.Pi) / (d * d * d) * l / n / 10
			}
		}
		pod := search(t, Operation{Ways: []Way{{Passing: passing(t, c), Points: way}}}, []Point{at})
		assert.InDelta(t, -math.Expm1(-f), pod[0], 3e-3)
	}
}

// comb returns parallel ways over a square.
func comb(p *Passing, spacingM float64) []Way {
	var ways []Way
	for n := range 2*int(3000/spacingM) + 1 {
		x := (float64(n) - 3000/spacingM) * spacingM
		ways = append(ways, Way{Passing: p, Points: []Point{{x, -2e4}, {x, 2e4}}, Watcher: n})
	}
	return ways
}

// Exact parallel tracks with the inverse cube law: erf(C sqrt(pi)/2) on the mean
// over the ground (Koopman 1946, chapter 3).
func TestParallelTracks(t *testing.T) {
	p := passing(t, cubic())
	geotest.Check(t, "sweep-parallel", func(in []string) ([]any, error) {
		spacing := 100 / geotest.Numbers(t, in)[0]
		var centres []Point
		const n = 41
		for i := range n {
			centres = append(centres, Point{(float64(i)+0.5)/n*spacing - spacing/2, 0})
		}
		sum := 0.0
		for _, pod := range search(t, Operation{Ways: comb(p, spacing)}, centres) {
			sum += pod / n
		}
		return []any{sum}, nil
	})
}

// Tracks at random places: 1 - e^(-C), the law of random search.
func TestRandomTracks(t *testing.T) {
	c := solve(t, func() Pass { p := forest(4, 12); p.NoOffset = true; return p }())
	p := passing(t, c)
	r := rand.New(rand.NewPCG(8, 8))
	const side, inside, n = 4000.0, 2000.0, 400
	var ways []Way
	length := 0.0
	for i := range n {
		// Lines of random direction and place cover a square evenly.
		θ, off := 2*math.Pi*r.Float64(), (r.Float64()-0.5)*side*math.Sqrt2
		dir := Point{math.Sin(θ), math.Cos(θ)}
		mid := Point{}.plus(off, dir.right())
		ways = append(ways, Way{Passing: p, Points: []Point{mid.plus(-side, dir), mid.plus(side, dir)}, Watcher: i})
		in := LengthsM(ways[i].Points, 5, 1, func(q Point) int {
			if math.Abs(q.EastM) < inside/2 && math.Abs(q.NorthM) < inside/2 {
				return 0
			}
			return -1
		})
		length += in[0]
	}
	var centres []Point
	for i := range 60 {
		for j := range 60 {
			centres = append(centres, Point{(float64(i)+0.5)/60*inside - inside/2, (float64(j)+0.5)/60*inside - inside/2})
		}
	}
	mean := 0.0
	for _, pod := range search(t, Operation{Ways: ways}, centres) {
		mean += pod / float64(len(centres))
	}
	want, err := Random.Detection(Coverage(c.WidthM, length, inside*inside))
	require.NoError(t, err)
	assert.InDelta(t, want, mean, 0.02)
}

func TestWatchersAndOperations(t *testing.T) {
	c := solve(t, forest(0.4, 12))
	p := passing(t, c)
	at := []Point{{8, 0}}
	line := []Point{{0, -2000}, {0, 2000}}
	one := Operation{Ways: []Way{{Passing: p, Points: line, Watcher: 0}}}
	two := Operation{Ways: []Way{{Passing: p, Points: line, Watcher: 0}, {Passing: p, Points: line, Watcher: 1}}}
	twice := Operation{Ways: []Way{{Passing: p, Points: line, Watcher: 0}, {Passing: p, Points: line, Watcher: 0}}}
	assert.InDelta(t, c.Chance(8), search(t, one, at)[0], 0.002)
	assert.InDelta(t, c.ChanceOfSeveral(8, 2), search(t, two, at)[0], 0.002)
	assert.Less(t, search(t, twice, at)[0], search(t, two, at)[0], "who missed it once misses it again")
	assert.Greater(t, search(t, twice, at)[0], search(t, one, at)[0])

	first, err := one.Search(context.Background(), at)
	require.NoError(t, err)
	nowhere, err := Operation{}.Search(context.Background(), at)
	require.NoError(t, err)
	alone, again := first.POD()[0], Together(first, first)[0]
	assert.InDelta(t, alone, Together(first, nowhere)[0], 1e-6)
	assert.Less(t, again, 1-(1-alone)*(1-alone), "independent operations would add more")
	assert.Greater(t, again, search(t, two, at)[0], "a new day is more than one more watcher")
}

func TestOrderOfWaysDoesNotMatter(t *testing.T) {
	p := passing(t, solve(t, forest(4, 12)))
	a, b := []Point{{0, 0}, {300, 50}}, []Point{{50, 200}, {80, -90}}
	at := []Point{{40, 20}, {100, 10}, {70, -30}}
	ab := search(t, Operation{Ways: []Way{{Passing: p, Points: a, Watcher: 0}, {Passing: p, Points: b, Watcher: 1}}}, at)
	ba := search(t, Operation{Ways: []Way{{Passing: p, Points: b, Watcher: 1}, {Passing: p, Points: a, Watcher: 0}}}, at)
	assert.Equal(t, ab, ba)
}

func TestMeasuredWidthWins(t *testing.T) {
	c := solve(t, forest(4, 12))
	p, err := c.Passing(30)
	require.NoError(t, err)
	width := 0.0
	for i := range 2000 {
		width += 2 * 0.05 * p.Chance(float64(i)*0.05+0.025, 1e4, -1e4)
	}
	assert.InEpsilon(t, 30, width, 0.01)
	assert.Equal(t, 30.0, p.WidthM)
	assert.Equal(t, 0.99, PrintedPOD(0.99, true))
	assert.Equal(t, 0.95, PrintedPOD(0.99, false))
	_, err = c.Passing(-1)
	require.Error(t, err)
	_, err = (&Curve{}).Passing(10)
	require.Error(t, err)
}

func TestWhatIsHiddenIsNotSearched(t *testing.T) {
	p := passing(t, solve(t, forest(4, 12)))
	o := Operation{Ways: []Way{{Passing: p, Points: []Point{{0, -50}, {0, 50}}}}, Clear: func(_, _, cell int) float64 {
		return float64(cell) / 2
	}}
	pod := search(t, o, []Point{{5, 0}, {5, 0}, {5, 0}, {5000, 0}})
	assert.Zero(t, pod[0])
	assert.Greater(t, pod[1], 0.0)
	assert.Greater(t, pod[2], pod[1])
	assert.Zero(t, pod[3])
	_, err := Operation{Ways: []Way{{}}}.Search(context.Background(), nil)
	require.Error(t, err)
	_, err = Operation{Ways: []Way{{Passing: p, Points: []Point{{0, 0}, {math.NaN(), 0}}}}}.Search(context.Background(), nil)
	require.Error(t, err)
}

// Up a slope of 45 degrees things are farther off, and legs longer, by the root of 2
// than on the map: the same as on a level map so much longer.
func TestSlopesAreLonger(t *testing.T) {
	allRound := forest(4, 12)
	allRound.Query.Search = observer.WalkingSearch()
	allRound.Query.Search.WidthDeg = 360
	p := passing(t, solve(t, allRound))
	up := func(points []Point) (m []float64) {
		for _, q := range points {
			m = append(m, q.NorthM)
		}
		return m
	}
	long := func(points []Point) (list []Point) {
		for _, q := range points {
			list = append(list, Point{q.EastM, q.NorthM * math.Sqrt2})
		}
		return list
	}
	way, at := []Point{{0, -40}, {10, 30}, {-20, 60}}, []Point{{15, 0}, {5, 20}, {-30, -10}, {0, 50}}
	sloping, err := Operation{HeightsM: up(at), Ways: []Way{{Passing: p, Points: way, HeightsM: up(way)}}}.Search(context.Background(), at)
	require.NoError(t, err)
	level := search(t, Operation{Ways: []Way{{Passing: p, Points: long(way)}}}, long(at))
	onMap := search(t, Operation{Ways: []Way{{Passing: p, Points: way}}}, at)
	for i, pod := range sloping.POD() {
		assert.InDelta(t, level[i], pod, 1e-6)
		assert.NotEqual(t, onMap[i], pod)
	}
	nan := math.NaN()
	unknown, err := Operation{HeightsM: []float64{nan, nan, nan, nan}, Ways: []Way{{Passing: p, Points: way, HeightsM: []float64{0, nan, nan}}}}.Search(context.Background(), at)
	require.NoError(t, err)
	assert.Equal(t, onMap, unknown.POD())
	for _, bad := range []Operation{
		{HeightsM: []float64{1}, Ways: []Way{{Passing: p, Points: way}}},
		{HeightsM: up(at), Ways: []Way{{Passing: p, Points: way, HeightsM: []float64{1}}}},
	} {
		_, err := bad.Search(context.Background(), at)
		require.Error(t, err)
	}
}

// Who looks ahead sees nothing more of what is abeam on the map, however high the way
// leads and wherever along it the nearest place is.
func TestAbeamIsOnTheMap(t *testing.T) {
	p := passing(t, solve(t, forest(4, 12)))
	pod := func(endM float64) float64 {
		s, err := Operation{HeightsM: []float64{-15}, Ways: []Way{{
			Passing: p, Points: []Point{{0, -50}, {0, endM}}, HeightsM: []float64{-40, 0.8 * endM},
		}}}.Search(context.Background(), []Point{{20, 0}})
		require.NoError(t, err)
		return s.POD()[0]
	}
	assert.InDelta(t, pod(0), pod(40), 1e-4)
	assert.Less(t, pod(-15), pod(0))
}

func TestLinesAbreast(t *testing.T) {
	track := []Point{{0, 0}, {0, 100}, {0, 100}, {100, 100}, {0, 100}}
	ways, err := Line{People: 3, SpacingM: 10}.Ways(track)
	require.NoError(t, err)
	require.Len(t, ways, 3)
	// Going north the left is west; the corner to the east lies outside for the left
	// one and inside for the right one; after the turn back all keep to their side.
	for i, want := range [][]Point{
		{{-10, 0}, {-10, 110}, {100, 110}, {100, 90}, {0, 90}},
		{{0, 0}, {0, 100}, {100, 100}, {0, 100}},
		{{10, 0}, {10, 90}, {100, 90}, {100, 110}, {0, 110}},
	} {
		require.Len(t, ways[i].Points, len(want))
		for k, p := range want {
			_, off := ways[i].Points[k].toward(p)
			assert.Less(t, off, 1e-9, "person %d, point %d: %v", i, k, ways[i].Points[k])
		}
	}
	// Legs go with those of the track, of which the second has no length; the turn back
	// of the outer people has a leg more.
	assert.Equal(t, []int{0, 2, 3, 3}, ways[0].Of)
	assert.Equal(t, []int{0, 2, 3}, ways[1].Of)
	assert.InDelta(t, 300, LengthsM(ways[1].Points, 5, 1, func(Point) int { return 0 })[0], 1e-9)
	first, err := Line{People: 3, SpacingM: 10, Carrier: 1}.Ways(track)
	require.NoError(t, err)
	assert.Equal(t, ways[1], first[0])
	for _, bad := range []Line{{}, {People: 2}, {People: 2, SpacingM: 5, Carrier: 3}} {
		_, err := bad.Ways(track)
		require.Error(t, err, "%+v", bad)
	}
	alone, err := Line{People: 1}.Ways([]Point{{1, 1}})
	require.NoError(t, err)
	assert.Equal(t, []Side{{Points: []Point{{1, 1}}}}, alone)
	east := func(p Point) int { return map[bool]int{true: 1, false: -1}[p.EastM > 0.01] }
	assert.InDelta(t, 200, LengthsM(ways[1].Points, 5, 2, east)[1], 1e-9)
}

func TestWays(t *testing.T) {
	p := passing(t, cubic())
	points := func(s string) (list []Point) {
		for _, pair := range strings.Split(s, ",") {
			v := geotest.Numbers(t, strings.Split(pair, ":"))
			list = append(list, Point{v[0], v[1]})
		}
		return list
	}
	geotest.Check(t, "sweep-ways", func(in []string) ([]any, error) {
		return []any{search(t, Operation{Ways: []Way{{Passing: p, Points: points(in[0]), Watcher: 0}}}, points(in[1]))[0]}, nil
	})
}

func TestAtLeastOne(t *testing.T) {
	geotest.Check(t, "sweep-together", func(in []string) ([]any, error) {
		var watchers [][]float64
		for _, v := range list(t, in[0]) {
			var by []float64
			for _, u := range Offsets() {
				by = append(by, 1-math.Exp2(-math.Pow(v*math.Pow(10, -u), 2.5)))
			}
			watchers = append(watchers, by)
		}
		p, err := AtLeastOne(watchers)
		return []any{p}, err
	})
	c := solve(t, forest(0.4, 12))
	by := c.chances(8)
	for n := 1; n <= 3; n++ {
		var watchers [][]float64
		for range n {
			watchers = append(watchers, by[:])
		}
		got, err := AtLeastOne(watchers)
		require.NoError(t, err)
		assert.InDelta(t, c.ChanceOfSeveral(8, n), got, 1e-12)
	}
	require.Len(t, Offsets(), offsets)
	assert.Zero(t, Offsets()[offsetEach])
	_, err := AtLeastOne([][]float64{{0.5}})
	require.Error(t, err)
}

func BenchmarkSearchOfThreeParties(b *testing.B) {
	p := passing(b, solve(b, forest(4, 12)))
	r := rand.New(rand.NewPCG(1, 1))
	var ways []Way
	for party := range 3 {
		at, heading := Point{6000 * r.Float64(), 6000 * r.Float64()}, 2*math.Pi*r.Float64()
		track := []Point{at}
		for range 500 {
			heading += 0.5 * r.NormFloat64()
			at = at.plus(20, Point{math.Sin(heading), math.Cos(heading)})
			track = append(track, at)
		}
		lines, err := Line{People: 6, SpacingM: 20}.Ways(track)
		require.NoError(b, err)
		for i, l := range lines {
			ways = append(ways, Way{Passing: p, Points: l.Points, Watcher: party*6 + i})
		}
	}
	var centres []Point
	for row := range 700 {
		for col := range 700 {
			centres = append(centres, Point{float64(col) * 30, float64(row) * 30})
		}
	}
	for b.Loop() {
		search(b, Operation{Ways: ways}, centres)
	}
}
