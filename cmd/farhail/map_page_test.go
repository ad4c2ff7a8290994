package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"farhail/geo/coord"
	"farhail/geo/geotest"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A browser is a page open in Chromium, with what it complained of and asked for.
type browser struct {
	ctx  context.Context
	mu   sync.Mutex
	said []string // console messages and exceptions
	sent []string // addresses asked for
}

// openPage opens a file in Chromium and waits until its map is drawn.
func openPage(t *testing.T, file string, width, height int) *browser {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(geotest.Tool(t, "chromium")), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.WindowSize(width, height))
	alone, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, closed := chromedp.NewContext(alone)
	t.Cleanup(closed)
	ctx, late := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(late)
	b := &browser{ctx: ctx}
	require.NoError(t, chromedp.Listen(ctx, b.hear))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	b.do(t, chromedp.EmulateViewport(int64(width), int64(height)), chromedp.Navigate("file://"+file), chromedp.Poll[chromedp.Void]("window.farhail !== undefined"))
	return b
}

// hear keeps what the page complains of and asks for.
func (b *browser) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		b.said = append(b.said, fmt.Sprint(e.Type, e.Args))
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, fmt.Sprint(*e.ExceptionDetails))
	case *log.EventEntryAdded:
		b.said = append(b.said, e.Entry.Text)
	case *network.EventRequestWillBeSent:
		b.sent = append(b.sent, e.Request.URL)
	}
}

func (b *browser) do(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	require.NoError(t, chromedp.Do(b.ctx, steps...))
}

// eval runs an expression in the page after its next drawing.
func eval[T any](t *testing.T, b *browser, expression string) T {
	t.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](
		`new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done(`+expression+`))))`, chromedp.EvalAwaitPromise))
	require.NoError(t, err, expression)
	return value
}

// silent asserts that the page complained of nothing and asked for nothing but itself.
func (b *browser) silent(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	assert.Empty(t, b.said, "console")
	require.NotEmpty(t, b.sent, "the page itself is asked for")
	for _, address := range b.sent {
		assert.True(t, strings.HasPrefix(address, "file://") && strings.HasSuffix(address, "/map.html") || strings.HasPrefix(address, "data:") || strings.HasPrefix(address, "blob:null"), address)
	}
}

// keep writes a picture of the page where FARHAIL_PICTURES names a folder, for whoever wants to look.
func (b *browser) keep(t *testing.T, name string) {
	t.Helper()
	folder := os.Getenv("FARHAIL_PICTURES")
	if folder == "" {
		return
	}
	picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(folder, name+".png"), picture, 0o644))
}

// TestMapPage opens the demo's map in Chromium and uses it.
func TestMapPage(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	geotest.Tool(t, "chromium")
	folder := filepath.Join(t.TempDir(), "demo")
	require.Equal(t, 0, run(context.Background(), []string{"demo", "-q", "-o", folder}, strings.NewReader(""), io.Discard, io.Discard))
	file := filepath.Join(folder, "map.html")
	info, err := os.Stat(file)
	require.NoError(t, err)
	assert.Less(t, info.Size(), int64(2e6), "bytes")
	b := openPage(t, file, 1280, 860)
	t.Run("reads what was computed", func(t *testing.T) { pageReads(t, b, folder) })
	t.Run("labels apart", func(t *testing.T) { pageLabels(t, b) })
	t.Run("by hand", func(t *testing.T) { pageByHand(t, b) })
	t.Run("hostile plan on a zone's edge", func(t *testing.T) { hostilePage(t, b) })
	b.silent(t)
}

// A reading is what the page tells of a place.
type reading struct {
	MGRS     string   `json:"mgrs"`
	UTM      string   `json:"utm"`
	DDM      string   `json:"ddm"`
	DMS      string   `json:"dms"`
	Decimal  string   `json:"decimal"`
	Easting  float64  `json:"easting"`
	Northing float64  `json:"northing"`
	HeightM  *float64 `json:"height_m"`
	Log10    *float64 `json:"margin_log10"`
}

// pageReads reads heights and margins through the page at all samples of
// result.json, and positions against geo/coord.
func pageReads(t *testing.T, b *browser, folder string) {
	raw, err := os.ReadFile(filepath.Join(folder, "result.json"))
	require.NoError(t, err)
	var result struct {
		Map struct {
			Margins []struct {
				Site    string
				Samples []struct {
					Lat, Lon    float64
					HeightM     *float64 `json:"height_m"`
					MarginLog10 *float64 `json:"margin_log10"`
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal(raw, &result))
	steps := eval[struct{ Height, Margin float64 }](t, b,
		`(({ground, margins}) => ({Height: ground.step_m, Margin: margins.step_log10}))(JSON.parse(document.getElementById("sheet").textContent))`)
	require.Contains(t, eval[string](t, b, "document.body.innerText"), fmt.Sprintf("Heights stand in steps of %g m", steps.Height))
	require.Contains(t, eval[string](t, b, "document.body.innerText"), fmt.Sprintf("Margins stand in steps of %g", steps.Margin))

	read, seen := 0, 0
	for i, m := range result.Map.Margins {
		at, err := json.Marshal(m.Samples)
		require.NoError(t, err)
		list := eval[[]*reading](t, b, fmt.Sprintf("(farhail.choose(%d), %s.map((s) => farhail.at(s.Lon, s.Lat)))", i, at))
		require.Len(t, list, len(m.Samples))
		for j, got := range list {
			want := m.Samples[j]
			require.NotNil(t, got, "%s at %v %v", m.Site, want.Lat, want.Lon)
			nearTo(t, want.HeightM, got.HeightM, steps.Height/2+0.01, "height of %v %v", want.Lat, want.Lon)
			nearTo(t, want.MarginLog10, got.Log10, steps.Margin/2+1e-6, "margin of %s at %v %v", m.Site, want.Lat, want.Lon)
			read++
			if want.MarginLog10 != nil {
				seen++
			}
			p := orb.Point{want.Lon, want.Lat}
			u, err := coord.UTMOf(p, 0)
			require.NoError(t, err)
			assert.InDelta(t, u.EastingM, got.Easting, 0.03, "the page states 0.02 m for a look-up")
			assert.InDelta(t, u.NorthingM, got.Northing, 0.03)
			samePlace(t, p, 2, got.MGRS, got.UTM)
			samePlace(t, p, 2, got.Decimal, got.DDM)
			samePlace(t, p, 4, got.DMS)
		}
	}
	require.Greater(t, read, 200)
	require.Greater(t, seen, 100, "samples that see a signal")
}

// hostilePage opens the page of a plan whose texts would be scripts, on the edge of two zones
// and without terrain: they stay texts, and both grids are read.
func hostilePage(t *testing.T, b *browser) {
	const evil = `</script><script>window.broken=1</script><img src=x onerror="window.broken=1">`
	folder := t.TempDir()
	text, err := json.Marshal(evil)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(folder, "plan.yaml"), fmt.Appendf(nil, `version: 1
title: %[1]s
zone: UTC
as_of: 2026-03-01 20:00
starts:
  - {name: %[1]s, kind: last-known, position: "46.3 11.99", error: 50 m, time: 2026-03-01 10:00, source: %[1]s}
looking:
  lookouts:
    - {name: %[1]s, position: "46.31 12.02", from: 2026-03-01 20:00, until: 2026-03-01 23:00}
`, text), 0o644))
	out := filepath.Join(folder, "out")
	require.Equal(t, 0, run(context.Background(), []string{"plan", filepath.Join(folder, "plan.yaml"), "-q", "-o", out}, strings.NewReader(""), io.Discard, io.Discard))
	b.do(t, chromedp.Navigate("file://"+filepath.Join(out, "map.html")), chromedp.Poll[chromedp.Void]("window.farhail !== undefined"))
	assert.Equal(t, evil, eval[string](t, b, `document.querySelector("h1").textContent`))
	assert.True(t, eval[bool](t, b, "window.broken === undefined"))
	for _, c := range []struct {
		lat, lon float64
		zone     string
	}{{46.3, 11.99, "32T"}, {46.31, 12.02, "33T"}} {
		got := eval[reading](t, b, fmt.Sprintf("farhail.at(%v, %v)", c.lon, c.lat))
		assert.True(t, strings.HasPrefix(got.MGRS, c.zone), got.MGRS)
		samePlace(t, orb.Point{c.lon, c.lat}, 2, got.MGRS, got.UTM, got.Decimal)
		assert.Nil(t, got.HeightM)
	}
	names := 0
	for _, l := range labelsApart(t, b) {
		if l.Text == evil {
			names++
		}
	}
	assert.Positive(t, names, "it is written on the map, as text")
}

func nearTo(t *testing.T, want, got *float64, within float64, what string, about ...any) {
	t.Helper()
	if want == nil || got == nil {
		assert.Equal(t, want == nil, got == nil, what, about)
		return
	}
	assert.InDelta(t, *want, *got, within, what, about)
}

// samePlace asserts that what the page writes reads back as the position.
func samePlace(t *testing.T, want orb.Point, withinM float64, written ...string) {
	t.Helper()
	for _, text := range written {
		got, err := coord.Parse(text)
		require.NoError(t, err, text)
		const metresPerDegree = 111_300
		d := math.Hypot((got.Point.Lon()-want.Lon())*math.Cos(want.Lat()*math.Pi/180), got.Point.Lat()-want.Lat()) * metresPerDegree
		assert.LessOrEqual(t, d, withinM, "%s for %v", text, want)
	}
}

type labelBox struct {
	Text                     string
	Left, Top, Right, Bottom float64
}

// pageLabels: no two labels overlap and none leaves the frame, on a phone and on a desk, at
// every scale.
func pageLabels(t *testing.T, b *browser) {
	for _, size := range []struct {
		name          string
		width, height int64
		least         int // labels when all of the map is shown
	}{{"phone", 360, 740, 12}, {"desk", 1280, 860, 30}} {
		b.do(t, chromedp.EmulateViewport(size.width, size.height))
		eval[any](t, b, `(document.getElementById("zoom-all").click(), null)`)
		assert.LessOrEqual(t, eval[float64](t, b, "document.documentElement.scrollWidth"), float64(size.width), "nothing is wider than the screen")
		assert.GreaterOrEqual(t, len(labelsApart(t, b)), size.least, size.name)
		b.keep(t, size.name)
		for range 4 {
			eval[any](t, b, `(document.getElementById("zoom-in").click(), null)`)
			labelsApart(t, b)
		}
		eval[any](t, b, `(document.getElementById("zoom-all").click(), null)`)
	}
}

func labelsApart(t *testing.T, b *browser) []labelBox {
	t.Helper()
	list := eval[[]labelBox](t, b, "farhail.labels()")
	frame := eval[struct{ Width, Height float64 }](t, b, "farhail.frame()")
	for i, l := range list {
		assert.True(t, l.Left >= 0 && l.Top >= 0 && l.Right <= frame.Width && l.Bottom <= frame.Height, "%v leaves the frame %v", l, frame)
		for _, m := range list[:i] {
			assert.False(t, l.Left < m.Right && m.Left < l.Right && l.Top < m.Bottom && m.Top < l.Bottom, "%v lies over %v", l, m)
		}
	}
	return list
}

// pageByHand uses the page as people do: keys, pointer, key lines.
func pageByHand(t *testing.T, b *browser) {
	has := func(text string) bool {
		for _, l := range labelsApart(t, b) {
			if l.Text == text {
				return true
			}
		}
		return false
	}

	// The key by keyboard: each line has a name, and the space bar hides and shows its layer.
	names := eval[[]string](t, b, `[...document.querySelectorAll("#key input")].map((i) => i.labels[0].textContent.trim())`)
	require.Greater(t, len(names), 10)
	assert.NotContains(t, names, "")
	require.True(t, has("West spur"))
	b.do(t, chromedp.Focus(chromedp.CSS(`#key input[data-layer="lookout"]`)), chromedp.KeyEvent(" "))
	assert.False(t, has("West spur"), "hidden by the space bar")
	b.do(t, chromedp.KeyEvent(" "))
	assert.True(t, has("West spur"), "shown again")
	b.do(t, chromedp.Click(chromedp.CSS(`#key input[data-layer="start"]`)))
	assert.False(t, has("sheepfold gate"), "hidden by a click")
	b.do(t, chromedp.Click(chromedp.CSS(`#key input[data-layer="start"]`)))

	// The map by keyboard.
	grid := func() string { return eval[string](t, b, `document.getElementById("read-grid").textContent`) }
	scale := func() float64 { return eval[struct{ PerPoint float64 }](t, b, "farhail.frame()").PerPoint }
	b.do(t, chromedp.Focus(chromedp.CSS("#map")))
	before, wide := grid(), scale()
	b.do(t, chromedp.KeyEvent("+"), chromedp.KeyEvent(kb.ArrowUp), chromedp.KeyEvent(kb.ArrowLeft))
	assert.InDelta(t, wide/1.5, scale(), 1e-9)
	assert.NotEqual(t, before, grid())
	spoken := eval[string](t, b, `document.getElementById("said").textContent`)
	assert.Contains(t, spoken, grid())
	assert.Contains(t, spoken, "height")
	b.keep(t, "keys")
	b.do(t, chromedp.KeyEvent("0"))
	assert.InDelta(t, wide, scale(), 1e-9)

	// The pointer: what is drawn at a start is found there, and reads its grid reference.
	at := eval[[]float64](t, b, `(({left, top}, [x, y]) => [left + x, top + y])(document.getElementById("map").getBoundingClientRect(), farhail.at(-20.01161, 46.00751).point)`)
	b.do(t, chromedp.MouseClickXY(at[0], at[1]))
	found := eval[string](t, b, `document.getElementById("facts").innerText`)
	assert.Contains(t, found, "sheepfold gate")
	assert.Contains(t, found, "27T WL 765")

	// The margin of a site, another site, dim red, a profile.
	b.do(t, chromedp.Click(chromedp.CSS(`#key input[data-layer="margin"]`)), chromedp.SetValue(chromedp.CSS("#site"), "3"))
	eval[any](t, b, `(document.getElementById("site").dispatchEvent(new Event("change")), null)`)
	b.keep(t, "margin")
	b.do(t, chromedp.Click(chromedp.CSS("#profile")), chromedp.MouseClickXY(at[0]-60, at[1]-90), chromedp.MouseClickXY(at[0]+150, at[1]+60))
	words := eval[string](t, b, `document.getElementById("section-words").textContent`)
	assert.Regexp(t, `^\d\.\d\d km from 1 to 2; ground from \d+ m to \d+ m\.$`, words)
	b.keep(t, "profile")
	b.do(t, chromedp.Click(chromedp.CSS("#red")))
	assert.True(t, eval[bool](t, b, `document.documentElement.classList.contains("red")`))
	b.keep(t, "red")
}
