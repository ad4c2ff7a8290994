package plot

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func figure() Figure {
	return Figure{
		Title: "a < b & c", XLabel: "distance (m)", XMin: 10, XMax: 1000, Log: true, Notes: []string{"a note"},
		XText: func(x float64) string { return plain(x) + " m" },
		Panels: []Panel{{
			YLabel: "chance", YMin: 0, YMax: 1,
			Lines:  []Line{{Name: "day", X: []float64{1, 10, 100, 200, 1000}, Y: []float64{1, 1, 0.5, math.NaN(), 1e9}}, {Name: "night", Style: 1, Thin: true, X: []float64{10, 20}, Y: []float64{0, 1}}},
			Levels: []Level{{0.5, "half"}}, Walls: []Level{{300, "wall"}, {20, "near"}, {40, ""}},
			Marks: []Mark{{100, 0.5, 0, "here"}, {101, 0.5, 1, "and here"}, {990, 0.5, 0, "at the right edge"}, {5000, 0.5, 0, "outside"}},
		}, {YLabel: "b", YMin: -3, YMax: 12, Lines: []Line{{Fill: true, X: []float64{10, 20, 30, 1000}, Y: []float64{1, 2, math.NaN(), 3}}}}},
	}
}

func draw(t *testing.T, f Figure) string {
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.String()
}

func TestWrite(t *testing.T) {
	svg := draw(t, figure())
	assert.Equal(t, svg, draw(t, figure()), "the same bytes")
	for d := xml.NewDecoder(strings.NewReader(svg)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err, "well-formed")
	}
	assert.Contains(t, svg, "a &lt; b &amp; c")
	assert.NotContains(t, svg, "NaN")
	assert.Equal(t, 1, strings.Count(svg, `fill="#E6E6E6"`))
	assert.NotContains(t, svg, "outside")
	assert.NotContains(t, svg, "></text>")
	for _, s := range []string{">100 m<", ">half<", ">wall<", ">and here<", ">night<", ">-2<", ">a note<", `stroke-dasharray="9 4"`} {
		assert.Contains(t, svg, s)
	}
	// The value outside the axis and the NaN each break the line: 10 to 100 m, then 1 km.
	assert.Contains(t, svg, `d="M78.0 66.0L427.0 186.0M776.0`)
}

// x and y of known points: the axis' ends, and the middle of two decades.
func TestPlaces(t *testing.T) {
	d := drawing{f: figure()}
	assert.InDelta(t, left, d.x(10), 1e-9)
	assert.InDelta(t, (left+width-right)/2, d.x(100), 1e-9)
	assert.InDelta(t, width-right, d.x(1000), 1e-9)
	d.f.Log = false
	assert.InDelta(t, (left+width-right)/2, d.x(505), 1e-9)
	p := Panel{YMin: -1, YMax: 1}
	assert.InDelta(t, 100+panelHeight/2, p.y(0, 100), 1e-9)
}

func TestTicks(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		want   []float64
	}{
		{0, 1, []float64{0, 0.2, 0.4, 0.6, 0.8, 1}},
		{-2, 4, []float64{-2, -1, 0, 1, 2, 3, 4}},
		{0, 95, []float64{0, 20, 40, 60, 80}},
	} {
		assert.InDeltaSlice(t, tt.want, ticks(tt.lo, tt.hi), 1e-9)
	}
	for hi := 1.0; hi < 1e4; hi *= 1.1 {
		n := len(ticks(0, hi))
		assert.True(t, n >= 4 && n <= 11, "%d ticks to %g", n, hi)
	}
	assert.Equal(t, "0", plain(-1e-15))
	assert.False(t, math.Signbit(ticks(0, 1)[0]), "no -0")
}

func TestCheck(t *testing.T) {
	for word, spoil := range map[string]func(*Figure){
		"horizontal": func(f *Figure) { f.XMin = 0 },
		"no panel":   func(f *Figure) { f.Panels = nil },
		"vertical":   func(f *Figure) { f.Panels[1].YMax = math.NaN() },
		"line":       func(f *Figure) { f.Panels[0].Lines[0].X = nil },
		"mark":       func(f *Figure) { f.Panels[0].Marks[0].Style = 9 },
	} {
		f := figure()
		spoil(&f)
		assert.ErrorContains(t, f.Write(io.Discard), word)
	}
}

// Names keep clear of each other, of marks and of the panel's edges.
func TestFreePlace(t *testing.T) {
	panel := box{0, 500, 0, 200}
	taken := []box{}
	for i, tt := range []struct {
		x, y   float64
		anchor string
	}{
		{100, 100, "start"}, // above to the right
		{100, 100, "end"},   // below to the left
		{100, 100, "start"}, // below to the right
		{100, 100, "end"},   // above to the left
		{100, 100, "start"}, // one line farther off
		{450, 100, "end"},   // no room to the right
		{450, 199, "end"},   // nor below
	} {
		b, anchor, x := freePlace(tt.x, tt.y, 80, panel, taken)
		assert.Equal(t, tt.anchor, anchor, "%d", i)
		assert.Contains(t, []float64{b.x1, b.x2}, x)
		for _, o := range taken {
			assert.False(t, b.meets(o), "%d", i)
		}
		assert.True(t, b.x1 >= 0 && b.x2 <= 500 && b.y1 >= 0 && b.y2 <= 200)
		taken = append(taken, b)
	}
	_, anchor, _ := freePlace(10, 10, 600, panel, nil)
	assert.Equal(t, "start", anchor, "no room at all")
}
