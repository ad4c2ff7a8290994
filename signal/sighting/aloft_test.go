package sighting

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/source"
)

// aloft is an aircraft above a light of some candela.
func aloft(cd, altitudeM float64) Query {
	a := air.Default(air.NightBackgroundCDM2)
	a.HazeHeightM = air.DefaultHazeHeightM
	return Query{
		Source: source.Light{IntensityCD: cd}, Air: a, View: source.View{Azimuth: earth.True(math.NaN())},
		EyeM: altitudeM, SignalM: 1.5, Aloft: true,
	}
}

func TestAloft(t *testing.T) {
	geotest.Check(t, "sighting-aloft", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		q := aloft(x[0], x[2])
		q.Air.VisibilityM, q.Air.HazeHeightM = x[1], x[3]
		q.Observer.FixedLx = x[4]
		r, err := Solve(q)
		return []any{r.Perceptible.LuminousM, r.Perceptible.DistanceM}, err
	})
}

// A cloud base between ends everything, whatever the light.
func TestAloftCloud(t *testing.T) {
	q := aloft(1e6, 800)
	q.Air.CloudBaseM = 500
	r, err := Solve(q)
	require.NoError(t, err)
	assert.Equal(t, 0.0, r.Perceptible.DistanceM)
	assert.Equal(t, Cloud, r.Noticed.Limit)
	s, err := At(q, 2000)
	require.NoError(t, err)
	assert.Equal(t, Cloud, s.Hidden)
	assert.Equal(t, 0.0, s.ChancePerGlimpse)
}

// Beams: a level one passes under an aircraft that is near, one that points up
// reaches it only from below, at most to 300 / tan 70 deg.
func TestAloftBeam(t *testing.T) {
	q := aloft(100, 300)
	all, err := Solve(q)
	require.NoError(t, err)

	level := q
	level.Source = source.Light{IntensityCD: 100, Beam: source.Beam{WidthDeg: 40}}
	r, err := Solve(level)
	require.NoError(t, err)
	assert.InEpsilon(t, all.Perceptible.DistanceM, r.Perceptible.DistanceM, 1e-9, "far off the aircraft is low enough for a level beam")
	near, err := At(level, 500)
	require.NoError(t, err)
	assert.Equal(t, Beam, near.Hidden, "37 degrees up")

	up := q
	up.Source = source.Light{IntensityCD: 100, Beam: source.Beam{WidthDeg: 40, TiltDeg: 90}}
	r, err = Solve(up)
	require.NoError(t, err)
	assert.InEpsilon(t, 298.5/math.Tan(70*math.Pi/180), r.Perceptible.DistanceM, 1e-4)
	assert.Equal(t, Beam, r.Perceptible.Limit)
	assert.Equal(t, r.Perceptible.DistanceM, r.Noticed.DistanceM)

	down := q
	down.Source = source.Light{IntensityCD: 100, Beam: source.Beam{WidthDeg: 40, TiltDeg: -45}}
	r, err = Solve(down)
	require.NoError(t, err)
	assert.Equal(t, 0.0, r.Perceptible.DistanceM)
	assert.Equal(t, Beam, r.Perceptible.Limit)
}

// Higher is no farther over the ground for a light whose range the eye ends in
// even air, and clearer with thinning haze; distances along the line and over
// the ground belong to each other.
func TestAloftSenses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := aloft(math.Pow(10, rapid.Float64Range(-1, 5).Draw(t, "log cd")), rapid.Float64Range(10, 3000).Draw(t, "altitude"))
		q.Air.VisibilityM = math.Pow(10, rapid.Float64Range(3, 5).Draw(t, "log MOR"))
		r, err := Solve(q)
		if err != nil {
			t.Fatal(err)
		}
		p := r.Perceptible
		if r.Noticed.DistanceM > p.DistanceM {
			t.Fatalf("noticed %g, perceptible %g", r.Noticed.DistanceM, p.DistanceM)
		}
		if p.Limit != Horizon && p.DistanceM > 0 && math.Abs(q.AlongM(p.DistanceM)-p.LuminousM) > 1e-6*p.LuminousM {
			t.Fatalf("over the ground %g, along %g", p.DistanceM, p.LuminousM)
		}
		even := q
		even.Air.HazeHeightM = 0
		thick, err := Solve(even)
		if err != nil {
			t.Fatal(err)
		}
		if thick.Perceptible.LuminousM > p.LuminousM {
			t.Fatal("even haze shows farther than haze that thins")
		}
		higher := even
		higher.EyeM *= 1.3
		up, err := Solve(higher)
		if err != nil {
			t.Fatal(err)
		}
		if thick.Perceptible.Limit != Horizon && up.Perceptible.DistanceM > thick.Perceptible.DistanceM*(1+1e-9) {
			t.Fatal("higher shows farther over the ground in even haze")
		}
	})
}

func TestAtAloft(t *testing.T) {
	q := aloft(100, 300)
	_, err := At(q, 200)
	assert.ErrorContains(t, err, "above the signal")
	r, err := Solve(q)
	require.NoError(t, err)
	s, err := At(q, q.AlongM(r.Perceptible.DistanceM))
	require.NoError(t, err)
	assert.InDelta(t, 0, s.MarginLog10, 1e-9)
}

func TestDuntley(t *testing.T) {
	geotest.Check(t, "sighting-duntley", func(in []string) ([]any, error) {
		x := geotest.Numbers(t, in)
		q := base()
		q.Source = source.Flag{WidthM: 1, HeightM: 1, Reflectance: 0.1 * (1 + x[0]), Behind: 0.1}
		q.Air.BackgroundCDM2, q.Air.VisibilityM, q.HorizonRatio = 3000, x[1], x[3]
		s, err := At(q, x[2])
		return []any{s.ApparentContrast}, err
	})
	for _, k := range []float64{0, 0.3, 1, 3, 20} {
		for _, share := range []float64{1e-6, 0.1, 0.7, 1} {
			assert.InEpsilon(t, share, contrastLeft(hazeFor(share, k), k), 1e-9)
		}
	}
}

// A brighter horizon takes from an area and not from a light, and the solver's
// distance is where the margin is none.
func TestHorizonRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := base()
		q.Ground = NoCurvature
		q.Source = source.Flag{WidthM: 1, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05}
		q.Air.BackgroundCDM2 = 3000
		q.Air.VisibilityM = math.Pow(10, rapid.Float64Range(2.5, 5).Draw(t, "log MOR"))
		q.HorizonRatio = math.Pow(10, rapid.Float64Range(-0.5, 1.5).Draw(t, "log ratio"))
		r, err := Solve(q)
		if err != nil {
			t.Fatal(err)
		}
		s, err := At(q, r.Perceptible.DistanceM)
		if err != nil || math.Abs(s.MarginLog10) > 1e-6 {
			t.Fatalf("margin %g at perceptible, %v", s.MarginLog10, err)
		}
		q.HorizonRatio *= rapid.Float64Range(1.01, 3).Draw(t, "more")
		brighter, err := Solve(q)
		if err != nil {
			t.Fatal(err)
		}
		if brighter.Perceptible.DistanceM > r.Perceptible.DistanceM || brighter.Noticed.DistanceM > r.Noticed.DistanceM {
			t.Fatal("a brighter horizon shows farther")
		}
	})
}

// Glasses: told where to look, farther; to find, a small flag by day less far
// than by eye, since the lobe covers a 49th of the scene.
func TestGlassesCanNoticeLess(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	q.Source = source.Flag{WidthM: 0.5, HeightM: 0.5, Reflectance: 0.4, Behind: 0.05}
	q.Air.BackgroundCDM2 = 3000
	eye, err := Solve(q)
	require.NoError(t, err)
	q.Observer.Optics = observer.Optics{Magnification: 7, ObjectiveMM: 50}
	armed, err := Solve(q)
	require.NoError(t, err)
	assert.Greater(t, armed.Perceptible.DistanceM, 1.8*eye.Perceptible.DistanceM)
	assert.Less(t, armed.Noticed.DistanceM, eye.Noticed.DistanceM)
	// Over a sector that their field fills, glasses find farther.
	q.Search = observer.DefaultSearch()
	q.Search.WidthDeg, q.Search.HeightDeg = 15, 7
	narrow, err := Solve(q)
	require.NoError(t, err)
	q.Observer.Optics = observer.Optics{}
	byEye, err := Solve(q)
	require.NoError(t, err)
	assert.Greater(t, narrow.Noticed.DistanceM, byEye.Noticed.DistanceM)
}

// A light by night: the floor of practice moves with what the glasses gain.
func TestGlassesByNight(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	q.Source = source.Light{IntensityCD: 1}
	q.Air.VisibilityM = 1e7
	eye, err := Solve(q)
	require.NoError(t, err)
	q.Observer.Optics = observer.Optics{Magnification: 7, ObjectiveMM: 50}
	armed, err := Solve(q)
	require.NoError(t, err)
	// 20 times the light held by hand: four and a half times as far in clear air.
	assert.InEpsilon(t, math.Sqrt(20), armed.Perceptible.LuminousM/eye.Perceptible.LuminousM, 0.05)
	assert.LessOrEqual(t, armed.Noticed.LuminousM/eye.Noticed.LuminousM, math.Sqrt(20))
}

func TestTaylorChain(t *testing.T) {
	q := base()
	q.Ground = NoCurvature
	q.Source = source.Light{IntensityCD: 100}
	q.Air.BackgroundCDM2 = 10
	q.Observer.Law = observer.Taylor1964
	r, err := Solve(q)
	require.NoError(t, err)
	lab := observer.CrumeyPointLx(10)
	assert.InEpsilon(t, 1.50*1.9*lab, r.Perceptible.ThresholdLx, 1e-9)
	assert.InEpsilon(t, 1.64*1.31*1.19*1.9*lab, r.Noticed.ThresholdLx, 1e-9)
	s, err := At(q, r.Perceptible.DistanceM)
	require.NoError(t, err)
	assert.InDelta(t, 0, s.MarginLog10, 1e-9)
	assert.True(t, math.IsNaN(s.ChancePerGlimpse), "no lobe")
	// Every factor is listed once and they multiply to the threshold.
	product := 1.0
	for _, f := range r.Noticed.Factors {
		product *= f.Value
	}
	assert.InEpsilon(t, r.Noticed.ThresholdLx, product, 1e-9)
}

// With glare, glasses, age and eyes not used to the dark the listed factors
// still make the threshold, each once.
func TestFactorsMakeTheThreshold(t *testing.T) {
	q := base()
	q.Source = source.Light{IntensityCD: 100}
	q.Air.BackgroundCDM2 = 1e-4
	q.Observer = observer.Observer{
		AgeYears: 60, Unadapted: true, VeilCDM2: 3e-4,
		Optics: observer.Optics{Magnification: 8, ObjectiveMM: 30},
	}
	r, err := Solve(q)
	require.NoError(t, err)
	product, names := 1.0, map[string]bool{}
	for _, f := range r.Perceptible.Factors {
		assert.False(t, names[f.Name], "%s is listed once", f.Name)
		names[f.Name] = true
		switch f.Name {
		case "laboratory threshold", "field factor F", "age 60", "eyes not used to the dark", "visibility ratio V":
			product *= f.Value
		case "light of a small signal through 8x30":
			product /= f.Value
		}
	}
	assert.InEpsilon(t, r.Perceptible.ThresholdLx, product, 1e-9)
	for _, name := range []string{"veil of glare", "background through the glasses", "field of the glasses"} {
		assert.True(t, names[name], name)
	}
}
