package sheet

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// holds reports whether a box holds a place, by turning the place back.
func (b box) holds(x, y float64) bool {
	sin, cos := math.Sincos(b.angle * math.Pi / 180)
	dx, dy := x-b.x, y-b.y
	return math.Abs(dx*cos-dy*sin) < b.w/2 && math.Abs(dx*sin+dy*cos) < b.h/2
}

// TestBoxesOverlap: places that two boxes share are the proof that they overlap; boxes
// that are said to overlap share one, or touch.
func TestBoxesOverlap(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	both := 0
	for range 400 {
		a := box{10 * rng.Float64(), 10 * rng.Float64(), 1 + 6*rng.Float64(), 1 + 3*rng.Float64(), 180 * rng.Float64()}
		b := box{10 * rng.Float64(), 10 * rng.Float64(), 1 + 6*rng.Float64(), 1 + 3*rng.Float64(), 180 * rng.Float64()}
		shared := false
		for i := range 160 {
			for j := range 160 {
				x, y := -4+18*float64(i)/159, -4+18*float64(j)/159
				shared = shared || a.holds(x, y) && b.holds(x, y)
			}
		}
		require.Equal(t, a.overlaps(b), b.overlaps(a))
		if shared {
			both++
			require.True(t, a.overlaps(b), "%v %v", a, b)
		} else if a.overlaps(b) { // by less than the places are apart
			a.w, a.h = a.w-0.3, a.h-0.3
			require.False(t, a.overlaps(b), "%v %v", a, b)
		}
	}
	require.Greater(t, both, 50)
}

// TestPlaceKeepsTheFirst: who comes first has the place, and who finds none is told.
func TestPlaceKeepsTheFirst(t *testing.T) {
	d := blank()
	at := func(x, y float64) spot { return spot{x: x, y: y} }
	list := []label{
		{text: "first", face: bold, pt: 8, spots: []spot{at(50, 50)}},
		{text: "second", face: bold, pt: 8, spots: []spot{at(51, 51), at(50, 60)}},
		{text: "third", face: bold, pt: 8, spots: []spot{at(49, 50), at(300, 50)}},
	}
	got, out := d.place(list, []box{{x: 10, y: 10, w: 5, h: 5}}, area{0, 0, 210, 297})
	require.Len(t, got, 2)
	assert.Equal(t, spot{x: 50, y: 60}, got[1].spot)
	require.Equal(t, []int{2}, out)
}

// TestHatchFillsTheArea: parallels a gap apart are as long together as the area over the
// gap, all of them lie in it, and a hole stays free.
func TestHatchFillsTheArea(t *testing.T) {
	square := orb.Ring{{10, 10}, {60, 10}, {60, 50}, {10, 50}, {10, 10}}
	hole := orb.Ring{{20, 20}, {20, 40}, {40, 40}, {40, 20}, {20, 20}}
	for _, angle := range []float64{0, 30, 45, 90, 135} {
		lines := hatched(orb.MultiPolygon{{square, hole}}, angle, 0.5)
		sum := 0.0
		for _, line := range lines {
			sum += lengthOf(line)
			mid := between(line[0], line[1], 0.5)
			assert.True(t, mid[0] > 9.99 && mid[0] < 60.01 && mid[1] > 9.99 && mid[1] < 50.01, "%v at %g", mid, angle)
			assert.False(t, mid[0] > 20.01 && mid[0] < 39.99 && mid[1] > 20.01 && mid[1] < 39.99, "in the hole: %v at %g", mid, angle)
		}
		assert.InEpsilon(t, (50*40-20*20)/0.5, sum, 0.03, "%g", angle)
	}
	up := hatched(orb.MultiPolygon{{square}}, 45, 5)[0]
	assert.InDelta(t, -1, (up[1][1]-up[0][1])/(up[1][0]-up[0][0]), 1e-9, "45 degrees rise to the right, y runs down the page")
}

func TestChoose(t *testing.T) {
	window := func(paper Paper, lying bool, _ int) area {
		w, h := pageSize(paper, lying)
		return area{0, 0, w - 40, h - 100}
	}
	box := func(km, up float64) gridBox {
		return gridBox{500_000, 5_000_000, 500_000 + 1000*km, 5_000_000 + 1000*up, true}
	}
	small := box(1, 1)
	for _, c := range []struct {
		name  string
		whole gridBox
		core  gridBox
		o     Options
		paper Paper
		scale int
		lying bool
		cut   bool
	}{
		{"a walk", box(1.5, 1.5), small, Options{}, A4, 10_000, false, false},
		{"taller than wide", box(3, 4.5), small, Options{}, A4, 25_000, false, false},
		{"wider than tall", box(11, 4.5), small, Options{}, A4, 50_000, true, false},
		{"only large paper holds it", box(20, 25), small, Options{}, A3, 100_000, false, false},
		{"but A4 was asked for", box(20, 25), box(3, 4.5), Options{Paper: A4}, A4, 25_000, false, true},
		{"nothing holds it", box(80, 80), box(3, 4.5), Options{}, A4, 25_000, false, true},
		{"at a scale that is too large", box(20, 25), box(3, 4.5), Options{Scale: 25_000}, A4, 25_000, false, true},
		{"not even the planning area", box(80, 80), box(60, 60), Options{Paper: Letter}, Letter, 100_000, false, true},
	} {
		f := plot{zone: 31, home: orb.Point{3, 45}, whole: c.whole, core: c.core}.choose(c.o, window)
		assert.Equal(t, fit{paper: c.paper, scale: c.scale, lying: c.lying, cut: c.cut}, fit{paper: f.paper, scale: f.scale, lying: f.lying, cut: f.cut}, c.name)
	}
}

// TestNorthsAddUp: bearings from map to compass and back, worked by hand from true =
// grid + convergence = magnetic + declination.
func TestNorthsAddUp(t *testing.T) {
	day := time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		convergence, declination float64
		want                     []string
	}{
		{0.72, -5.3, []string{"0.72° east", "5.3° west", "Map to compass: add 6.0°", "Compass to map: subtract 6.0°"}}, // grid 100 is true 100.72, magnetic 106.02
		{2.26, 4.6, []string{"2.26° east", "4.6° east", "Map to compass: subtract 2.3°", "Compass to map: add 2.3°"}},
		{-1, 2, []string{"1.00° west", "2.0° east", "Map to compass: subtract 3.0°"}},
	} {
		text := strings.Join(northWords(c.convergence, c.declination, &job.Compass{Date: &day, DeclinationDeg: cli.Num(c.declination), DeclinationErrorDeg: 0.4, YearlyDeg: -0.2, Model: "WMM2025"}), " ")
		for _, want := range append(c.want, "24 NOV 2026", "moves 0.20° west a year") {
			assert.Contains(t, text, want)
		}
	}
	assert.Contains(t, strings.Join(northWords(1, math.NaN(), nil), " "), "not known: the plan gives no day")
}

func TestFigures(t *testing.T) {
	for metres, want := range map[float64][2]string{577_000: {"5", "77"}, 5_096_000: {"50", "96"}, 500_500: {"5", "00.5"}, 99_000: {"", "99"}, 5_100_000: {"51", "00"}} {
		small, large := gridParts(metres)
		assert.Equal(t, want, [2]string{small, large})
	}
	assert.Equal(t, "20°00'W", degreesText(-20, 0))
	assert.Equal(t, "179°30'W", degreesText(180.5, 0))
	assert.Equal(t, "46°00'30\"N", degreesText(46+30./3600, 1))
	assert.Equal(t, "0°15'S", degreesText(-0.25, 1))
	assert.Equal(t, "1:25 000", scaleText(25_000))
	assert.Equal(t, "1:100 000", scaleText(100_000))
}

// TestSymbolsStandClear: whatever stands on one place, every letter can be read.
func TestSymbolsStandClear(t *testing.T) {
	look := overlay.Look{WidthMM: 4}
	place := orb.Point{50, 50}
	var list []symbol
	for range 5 {
		list = append(list, symbol{place: place, at: place, look: look})
	}
	got := settle(list)
	require.Len(t, got, 5)
	assert.Equal(t, place, got[0].at, "the last drawn keeps its place")
	for i, s := range got {
		for _, o := range got[:i] {
			assert.False(t, s.box().overlaps(o.box()))
		}
	}
}

// TestBothGridsAtAZonesEdge: 12 E parts zones 32 and 33; 9 E, 3 E and the coast of Norway
// have their own rules (32V is wider), which geo/coord keeps.
func TestBothGridsAtAZonesEdge(t *testing.T) {
	for _, c := range []struct {
		at   orb.Point
		zone int
		want []int
	}{
		{orb.Point{11.99, 49.3}, 32, []int{32, 33}},
		{orb.Point{12.01, 49.3}, 33, []int{33, 32}},
		{orb.Point{11.5, 49.3}, 32, []int{32}},
		{orb.Point{3.0, 60.0}, 31, []int{31, 32}},
		{orb.Point{6.0, 60.0}, 32, []int{32}},
		{orb.Point{6.0, 50.0}, 32, []int{32, 31}},
	} {
		d := blank()
		q := newProjection(c.zone, false, 25_000, area{20, 20, 190, 200}, 0, 0)
		e, n := q.tm.Forward(c.at)
		p := newProjection(c.zone, false, 25_000, area{20, 20, 190, 200}, e, n)
		assert.Equal(t, c.want, p.zones(), "%v", c.at)
		labels := d.grid(p)
		if len(c.want) > 1 {
			assert.NotEmpty(t, labels, "the neighbour's figures at %v", c.at)
		} else {
			assert.Empty(t, labels)
		}
	}
}

func TestThemes(t *testing.T) {
	names := func(layers ...string) []string {
		var list []string
		for _, m := range themes(layersOf(layers...)) {
			list = append(list, m.name)
		}
		return list
	}
	assert.Equal(t, []string{"Map"}, names(overlay.Starts, overlay.Seen, overlay.Rings))
	assert.Equal(t, []string{"Map"}, names(overlay.Starts, overlay.Likely, overlay.Rings))
	assert.Equal(t, []string{"Search map", "Signal map"}, names(overlay.Starts, overlay.Seen, overlay.Likely))
}

func layersOf(ids ...string) []layer.Layer {
	var list []layer.Layer
	for _, id := range ids {
		list = append(list, layer.Layer{ID: id, Features: []layer.Feature{layer.New("thing", orb.Point{1, 45})}})
	}
	return list
}
