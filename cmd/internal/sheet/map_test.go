package sheet

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/geotest"
)

func written(t *testing.T, r *job.Result, o Options) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Write(t.Context(), &b, r, o))
	return b.Bytes()
}

func TestSheetHasTheSameBytes(t *testing.T) {
	first := written(t, demoResult(t), Options{})
	require.True(t, bytes.Equal(first, written(t, demoResult(t), Options{})), "two runs differ")
	assert.Less(t, len(first), 3_000_000, "a sheet that mail and weak networks take")
}

// BenchmarkWrite prints the demo's sheet.
func BenchmarkWrite(b *testing.B) {
	r, err := demo()
	require.NoError(b, err)
	for b.Loop() {
		require.NoError(b, Write(b.Context(), io.Discard, r, Options{}))
	}
}

// laidOut draws a map and returns it.
func laidOut(t *testing.T, r *job.Result, o Options) *mapPage {
	d := newDoc("", "", nil)
	m, err := d.mapPage(t.Context(), r, o, theme{"Map", overlay.Layers(r)})
	require.NoError(t, err)
	require.NotNil(t, m)
	return m
}

// clear requires that no label covers another or a symbol, and that none leaves the map.
func clear(t *testing.T, m *mapPage, texts ...string) {
	t.Helper()
	var got []string
	for i, l := range m.laid {
		got = append(got, l.text)
		assert.True(t, l.box.within(m.window), "%s leaves the map", l.text)
		for _, o := range m.laid[:i] {
			assert.False(t, l.box.overlaps(o.box), "%s covers %s", l.text, o.text)
		}
		for _, s := range m.taken {
			assert.False(t, l.box.overlaps(s), "%s covers a symbol", l.text)
		}
	}
	for _, text := range texts {
		assert.Contains(t, got, text)
	}
}

func TestNoLabelsOverlap(t *testing.T) {
	for _, o := range []Options{{A4, 25_000}, {Letter, 25_000}, {A4, 10_000}, {A3, 25_000}, {}, {A4, 100_000}} {
		m := laidOut(t, demoResult(t), o)
		clear(t, m, "sheepfold gate 15:40", "end of the log")
		for i, s := range m.taken {
			for _, other := range m.taken[:i] {
				assert.False(t, s.overlaps(other), "two symbols on each other at %v", o)
			}
		}
	}
}

func TestNoLabelsOverlapOnSteepGround(t *testing.T) {
	r := planned(t, andorra)
	clear(t, laidOut(t, r, Options{A4, 25_000}), "ford 15:00", "path above the river 14:00", "East lookout", "West lookout", "16:00 usual")
	clear(t, laidOut(t, r, Options{}), "ford 15:00")
}

// dots are a page at 254 to the inch, 10 to the millimetre.
type dots struct {
	w, h int
	rgb  []byte
}

func (d dots) at(x, y int) (r, g, b int) {
	i := 3 * (y*d.w + x)
	return int(d.rgb[i]), int(d.rgb[i+1]), int(d.rgb[i+2])
}

// raster rasterises the first page.
func raster(t *testing.T, pdf []byte) dots {
	tool := geotest.Tool(t, "pdftoppm")
	cmd := exec.Command(tool, "-r", "254", "-f", "1", "-l", "1", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	var d dots
	var most int
	_, err = fmt.Sscanf(string(out[:min(len(out), 40)]), "P6\n%d %d\n%d\n", &d.w, &d.h, &most)
	require.NoError(t, err)
	require.Equal(t, 255, most)
	d.rgb = out[len(out)-3*d.w*d.h:]
	return d
}

// gridColumns returns the middles of the upright lines of the grid's blue on a page:
// columns of dots that are blue for more than a third of the map.
func gridColumns(d dots, w area) []float64 {
	var list []float64
	var sum, weight float64
	for x := int(10 * w.x0); x <= int(10*w.x1)+1; x++ {
		n := 0
		for y := int(10 * w.y0); y < int(10*w.y1); y++ {
			if r, _, b := d.at(x, y); b-r > 60 {
				n++
			}
		}
		if float64(n) > 10*w.h()/3 && x <= int(10*w.x1) {
			sum, weight = sum+float64(n)*(float64(x)+0.5), weight+float64(n)
			continue
		}
		if weight > 0 {
			list = append(list, sum/weight)
		}
		sum, weight = 0, 0
	}
	return list
}

// longestRun returns the longest level run of dark dots below a height of the page.
func longestRun(d dots, below int) int {
	best := 0
	for y := below; y < d.h; y++ {
		run := 0
		for x := range d.w {
			if r, g, b := d.at(x, y); r < 100 && g < 100 && b < 100 {
				run++
				best = max(best, run)
			} else {
				run = 0
			}
		}
	}
	return best
}

// TestAMillimetreIsAMillimetre measures the printed page: the grid stands as far apart as
// the scale says, and the scale bar is as long as what it stands for.
func TestAMillimetreIsAMillimetre(t *testing.T) {
	for _, c := range []struct {
		o      Options
		w, h   int     // of the page [dots]
		gridMM float64 // between lines: the metres of a grid square over the scale
		barMM  float64 // the whole scale bar
	}{
		{Options{A4, 25_000}, 2100, 2970, 40, 50},     // 1 km, 5 x 250 m
		{Options{A4, 50_000}, 2100, 2970, 20, 50},     // 1 km, 5 x 500 m
		{Options{Letter, 20_000}, 2159, 2794, 50, 50}, // 1 km, 5 x 200 m
	} {
		d := newDoc("", "", nil)
		m, err := d.mapPage(t.Context(), demoResult(t), c.o, theme{"Map", overlay.Layers(demoResult(t))})
		require.NoError(t, err)
		var pdf bytes.Buffer
		require.NoError(t, d.write(&pdf))
		page := raster(t, pdf.Bytes())
		require.InDelta(t, c.w, page.w, 1, "%v", c.o)
		require.InDelta(t, c.h, page.h, 1, "%v", c.o)
		lines := gridColumns(page, m.window)
		require.GreaterOrEqual(t, len(lines), 3, "%v", c.o)
		for i := 1; i < len(lines); i++ {
			assert.InDelta(t, 10*c.gridMM, lines[i]-lines[i-1], 1, "grid line %d at %v", i, c.o)
		}
		assert.InDelta(t, 10*c.gridMM*float64(len(lines)-1), lines[len(lines)-1]-lines[0], 1, "all of the grid at %v", c.o)
		assert.InDelta(t, 10*c.barMM, longestRun(page, int(10*(m.window.y1+aboveMap))), 3, "scale bar at %v", c.o)
	}
}

func TestSheetSays(t *testing.T) {
	tool := geotest.Tool(t, "pdftotext")
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, os.WriteFile(file, written(t, demoResult(t), Options{A4, 50_000}), 0o600))
	out, err := exec.Command(tool, "-f", "1", "-l", "1", "-layout", file, "-").Output()
	require.NoError(t, err)
	text := strings.Join(strings.Fields(string(out)), " ")
	for _, want := range []string{
		"EXAMPLE, NOT A REAL SEARCH", "Map 1:50 000", "Walker overdue in the Askel valley", "Scale 1:50 000", "then measure 20 mm",
		"UTM zone 27T on WGS84", "square WL", "27T WL 7652 9535", "point scale 0.99967", "Magnetic north lies", "24 NOV 2026 (WMM2025", "a year",
		"Contours every", "datum unknown", "Your emergency number: 112", "No field trial has been run", "not safe paths", "The police or the incident controller direct a search",
		"S last seen", "Lookouts", "sheepfold gate 15:40", "16:40 usual", "headlamp 21:00", "as of 24 NOV 2026 19:00", "farhail test", "page 1 of", "20°00'W", "46°00'N",
	} {
		assert.Contains(t, text, want)
	}
	hash := demoResult(t).Plan.Hash
	require.Len(t, hash, 8)
	assert.Contains(t, text, "Plan "+hash)
}

func TestNoPlaceNoMap(t *testing.T) {
	r := &job.Result{Program: "farhail test"}
	require.NotEmpty(t, written(t, r, Options{}), "a sheet of text is written all the same")
	d := newDoc("", "", nil)
	m, err := d.mapPage(t.Context(), r, Options{}, theme{"Map", overlay.Layers(r)})
	require.NoError(t, err)
	assert.Nil(t, m)
}

// TestPlacesLieWhereTheGridHasThem: a start lies at its own grid coordinates, worked out
// by geo/coord and not by the map.
func TestPlacesLieWhereTheGridHasThem(t *testing.T) {
	r := demoResult(t)
	d := newDoc("", "", nil)
	place, ok := newPlot(r, overlay.Layers(r))
	require.True(t, ok)
	f := place.choose(Options{A4, 25_000}, func(Paper, bool, int) area { return area{20, 30, 190, 210} })
	p := newProjection(place.zone, place.south, f.scale, f.window, f.east, f.north)
	_ = d
	at := p.xy(r.Starts[0].Point)
	// 27T WL 7652 9535 is a square of 10 m that the start lies in.
	e, n := p.coordinates(at)
	assert.InDelta(t, 576_525, e, 5)
	assert.InDelta(t, 5_095_355, n, 5)
	back := p.position(at)
	assert.InDelta(t, r.Starts[0].Point.Lon(), back.Lon(), 1e-9)
	assert.InDelta(t, r.Starts[0].Point.Lat(), back.Lat(), 1e-9)
	assert.InDelta(t, 40, p.grid(577_000, 5_095_000)[0]-p.grid(576_000, 5_095_000)[0], 1e-9)
	assert.InDelta(t, 40, p.grid(577_000, 5_095_000)[1]-p.grid(577_000, 5_096_000)[1], 1e-9)
	assert.False(t, math.IsNaN(at[0]))
}
