package overlay

import (
	"slices"
	"strconv"
	"testing"

	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
)

// okabeIto is the palette of Okabe and Ito (2008), "Color Universal Design", red, green
// and blue; from memory.
var okabeIto = []string{"0 0 0", "230 159 0", "86 180 233", "0 158 115", "240 228 66", "0 114 178", "213 94 0", "204 121 167"}

func TestKeyIsToldApartWithoutColour(t *testing.T) {
	seen := map[string]string{}
	for _, k := range looks {
		rgb := strconv.Itoa(int(k.Colour.R)) + " " + strconv.Itoa(int(k.Colour.G)) + " " + strconv.Itoa(int(k.Colour.B))
		assert.Contains(t, okabeIto, rgb, k.Layer)
		assert.Equal(t, uint8(255), k.Colour.A, k.Layer)
		assert.Positive(t, k.WidthMM, k.Layer)
		if k.Shape == Dot {
			continue // named by a label each
		}
		grey := k
		grey.Layer, grey.Note, grey.Colour = "", "", black
		text := assert.ObjectsAreEqual // two looks without colour must differ
		for _, other := range looks {
			if other.Layer == k.Layer || other.Shape == Dot {
				continue
			}
			plain := other
			plain.Layer, plain.Note, plain.Colour = "", "", black
			assert.False(t, text(grey, plain), "%s and %s look the same in grey", k.Layer, other.Layer)
		}
		assert.Empty(t, seen[k.Layer])
		seen[k.Layer] = "once"
	}
}

func TestKeyOrder(t *testing.T) {
	at := layer.New("a", orb.Point{1, 2})
	ring := layer.New("r", orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}})
	way := layer.New("w", orb.LineString{{0, 0}, {1, 1}})
	list := Key([]layer.Layer{
		{ID: Starts, Title: "Starts", Features: []layer.Feature{at}},
		{ID: Sites, Title: "Sites", Features: []layer.Feature{at}},
		{ID: Seen, Title: "nothing"},
		{ID: "new", Title: "New", Features: []layer.Feature{way}},
		{ID: Log, Title: "Log", Features: []layer.Feature{way}},
		{ID: Rings, Title: "Rings", Features: []layer.Feature{ring}},
		{ID: Likely, Title: "Likely", Features: []layer.Feature{ring}},
	})
	var ids []string
	for _, k := range list {
		ids = append(ids, k.Layer)
		assert.NotEmpty(t, k.Title)
	}
	assert.Equal(t, []string{Likely, Rings, Log, "new", Sites, Starts}, ids, "areas below lines below points, and nothing that is empty")
	assert.Equal(t, Line, list[3].Shape, "of what the key does not know, by its geometry")
}

// Every layer of a result has a look of its own.
func TestKeyKnowsTheLayers(t *testing.T) {
	known := func(id string) bool { return slices.ContainsFunc(looks, func(k Look) bool { return k.Layer == id }) }
	for _, id := range []string{
		Starts, StartErr, Log, LogEnd, LogErr, Home, Rings, Exits, Way, Sights, Sites, Seen, Blind, Links, Lookouts, Parties, Aircraft, Likely, Areas,
		Searched, Swept, Next, NextWays, Begin, Hidden, Hazards, Dangers, Meant,
	} {
		assert.True(t, known(id), id)
	}
}

func TestLookFor(t *testing.T) {
	start := Look{Layer: Starts}
	assert.Nil(t, start.For(layer.New("a", nil, layer.P("superseded_by", ""))).DashMM)
	assert.NotNil(t, start.For(layer.New("a", nil, layer.P("superseded_by", "b"))).DashMM, "dashed when superseded")

	ring := func(walker string) []float64 {
		return Look{Layer: Rings, DashMM: []float64{4, 1.2}}.For(layer.New("", nil, layer.P("walker", walker))).DashMM
	}
	assert.NotEqual(t, ring("slow"), ring("usual"))
	assert.NotEqual(t, ring("usual"), ring("fast"))
	assert.NotEqual(t, ring("slow"), ring("fast"))

	likely := func(share float64) uint8 {
		return Look{Layer: Likely}.For(layer.New("", nil, layer.P("share", share))).Fill
	}
	assert.Greater(t, likely(0.5), likely(0.9), "the denser ground is the darker")

	ellipse := func(share float64) []float64 {
		return Look{Layer: LogErr, DashMM: []float64{2, 1}}.For(layer.New("", nil, layer.P("share", share))).DashMM
	}
	assert.NotEqual(t, ellipse(0.5), ellipse(0.95))
}

func TestLetters(t *testing.T) {
	site := func(x float64) layer.Feature { return layer.New("", orb.Point{x, 0}) }
	assert.Equal(t, []string{"A", "B", "A"}, Letters(layer.Layer{ID: Sites, Features: []layer.Feature{site(1), site(2), site(1)}}), "one letter a place")
	assert.Equal(t, []string{"L", "P"}, Letters(layer.Layer{ID: Starts, Features: []layer.Feature{
		layer.New("", nil, layer.P("key", "L")), layer.New("", nil, layer.P("key", "P")),
	}}))
	assert.Equal(t, []string{""}, Letters(layer.Layer{ID: LogEnd, Features: []layer.Feature{site(1)}}))
	sites := []layer.Layer{{ID: Sites, Features: []layer.Feature{layer.New("site 1", orb.Point{1, 0})}}}
	assert.Equal(t, "A site 1", Lettered(sites)[0].Features[0].Name)
	assert.Equal(t, "site 1", sites[0].Features[0].Name, "what was handed in stays")
	for n, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 52: "BA", 701: "ZZ", 702: "AAA"} {
		assert.Equal(t, want, letterOf(n))
	}
}
