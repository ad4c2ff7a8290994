package mapfile

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// winding is a made-up way of n points, some 10 m apart, that bends over sideM.
func winding(n int, sideM float64) orb.LineString {
	l := make(orb.LineString, n)
	for i := range l {
		l[i] = orb.Point{7 + float64(i)*1.3e-4, 46 + sideM/111_200*math.Sin(float64(i)/5)}
	}
	return l
}

// farthestOffM is how far the points of a line lie from another at most, in a plane.
func farthestOffM(t *testing.T, line, other orb.LineString) float64 {
	t.Helper()
	local := earth.NewLocal(line[0])
	flat := func(l orb.LineString) orb.LineString {
		out := make(orb.LineString, len(l))
		for i, p := range l {
			e, n, err := local.Forward(p)
			require.NoError(t, err)
			out[i] = orb.Point{e, n}
		}
		return out
	}
	plain, worst := flat(other), 0.0
	for _, p := range flat(line) {
		worst = max(worst, planar.DistanceFrom(plain, p))
	}
	return worst
}

func lineOf(g orb.Geometry) orb.LineString {
	if m, ok := g.(orb.MultiLineString); ok {
		var all orb.LineString
		for _, l := range m {
			all = append(all, l...)
		}
		return all
	}
	return g.(orb.LineString)
}

func TestFitLayers(t *testing.T) {
	way, ring, tacks := winding(700, 8), winding(1300, 200), winding(900, 0)
	for i := range tacks {
		tacks[i][1] += float64(i%2) * 1e-3
	}
	layers := []layer.Layer{
		{ID: "site", Features: []layer.Feature{
			layer.New("orange flag, noon", orb.Point{7, 46}), layer.New("Orange flag, night", orb.Point{7, 46.1}), layer.New("two", orb.MultiPoint{{1, 2}, {3, 4}}),
		}},
		{ID: "ring", Features: []layer.Feature{layer.New("usual walker", ring), layer.New("", ring[:3])}},
		{ID: "next-way", Features: []layer.Feature{layer.New("to the wood", way), layer.New("around", tacks)}},
	}
	p, ok := ProfileNamed("points-250")
	require.True(t, ok)
	f, err := FitLayers(layers, p, "next-way")
	require.NoError(t, err)
	require.Len(t, f.Layers, 3)

	var names []string
	for _, s := range f.Layers[0].Features {
		names = append(names, s.Name)
	}
	assert.Equal(t, []string{"orange fla", "Orange f-2", "two", "two-2"}, names, "ten characters, and unlike each other without regard to case")

	rings := f.Layers[1].Features
	require.Len(t, rings, 2)
	assert.Len(t, lineOf(rings[0].Geometry), 250)
	assert.Equal(t, "ring", rings[1].Name)
	off := farthestOffM(t, ring, lineOf(rings[0].Geometry))
	assert.Greater(t, off, 0.5)

	// The way bends by 8 m and is thinned; the other turns by 100 m at each point and is split, whole.
	ways := f.Layers[2].Features
	require.Len(t, ways, 9)
	assert.Len(t, lineOf(ways[0].Geometry), 125)
	off = max(off, farthestOffM(t, way, lineOf(ways[0].Geometry)))
	points := 0
	for i, w := range ways[1:] {
		l := lineOf(w.Geometry)
		points += len(l)
		assert.Equal(t, fmt.Sprint("around ", i+1), w.Name)
		assert.LessOrEqual(t, len(l), 125)
		if i > 0 {
			before := lineOf(ways[i].Geometry)
			assert.Equal(t, before[len(before)-1], l[0], "a part begins where the one before ends")
		}
	}
	assert.Equal(t, 900+7, points)
	assert.InDelta(t, off, f.WorstOffsetM, 0.01*off, "the offset that is stated")
	assert.Equal(t, 2, f.Thinned)
	assert.Equal(t, 1, f.Split)
	assert.Empty(t, f.Problems)

	// A limit of one's own.
	p.RoutePoints = 50
	f, err = FitLayers(layers, p, "next-way")
	require.NoError(t, err)
	for _, w := range f.Layers[2].Features {
		assert.LessOrEqual(t, len(lineOf(w.Geometry)), 50)
	}

	// Without limits all stays.
	f, err = FitLayers(layers, Profile{}, "next-way")
	require.NoError(t, err)
	assert.Zero(t, f.WorstOffsetM)
	assert.Len(t, lineOf(f.Layers[1].Features[0].Geometry), 1300)
	assert.Equal(t, "Orange flag, night", f.Layers[0].Features[1].Name)

	_, err = FitLayers([]layer.Layer{{ID: "a", Features: []layer.Feature{layer.New("x", orb.LineString{{math.NaN(), 1}, {2, 3}})}}}, p)
	require.ErrorIs(t, err, ErrPosition)
}

// TestFitLayersTooMany: what a unit may lose is told, and stays in the file.
func TestFitLayersTooMany(t *testing.T) {
	many := layer.Layer{ID: "a"}
	for i := range 30 {
		many.Features = append(many.Features, layer.New("way", winding(3, float64(i))))
	}
	p, _ := ProfileNamed("points-500")
	f, err := FitLayers([]layer.Layer{many}, p)
	require.NoError(t, err)
	require.Len(t, f.Problems, 1)
	assert.Contains(t, f.Problems[0].Text, "30 tracks, but units of this kind take 15: the last 15 may be lost")
	assert.Len(t, f.Layers[0].Features, 30)
	f, err = FitLayers([]layer.Layer{many}, p, "a")
	require.NoError(t, err)
	assert.Contains(t, f.Problems[0].Text, "30 routes, but units of this kind take 20")
}

// TestFitLayersKeepsItsWord: whatever goes in, no track or route has more points than the
// profile takes, and no name is long or there twice.
func TestFitLayersKeepsItsWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(Profiles()).Draw(t, "profile")
		p.RoutePoints = rapid.IntRange(2, 300).Draw(t, "route limit")
		var layers []layer.Layer
		for _, id := range []string{"track", "route"} {
			l := layer.Layer{ID: id}
			for range rapid.IntRange(0, 4).Draw(t, "features") {
				var g orb.MultiLineString
				for range rapid.IntRange(1, 3).Draw(t, "parts") {
					g = append(g, winding(rapid.IntRange(1, 900).Draw(t, "points"), rapid.Float64Range(0, 400).Draw(t, "bend")))
				}
				l.Features = append(l.Features, layer.New(rapid.StringMatching(`[abAB é]{0,16}`).Draw(t, "name"), g))
			}
			layers = append(layers, l)
		}
		f, err := FitLayers(layers, p, "route")
		require.NoError(t, err)
		for i, most := range []int{p.TrackPoints, p.RoutePoints} {
			seen := map[string]bool{}
			for _, w := range f.Layers[i].Features {
				require.LessOrEqual(t, len(lineOf(w.Geometry)), most)
				name := strings.ToLower(w.Name)
				require.NotEmpty(t, name)
				require.False(t, seen[name], name)
				seen[name] = true
				require.LessOrEqual(t, utf8.RuneCountInString(w.Name), p.NameLength)
			}
		}
	})
}

// TestGPXForAHandheld: texts and routes are written as the profile takes them, and the
// file is valid.
func TestGPXForAHandheld(t *testing.T) {
	site := layer.New("flag", orb.Point{7, 46}, layer.P("question", "passive"), layer.P("signal", "orange flag"), layer.P("gain_person_s", 1234.0))
	var many layer.Layer
	for i := range 210 {
		many.Features = append(many.Features, layer.New(fmt.Sprint("p", i), orb.Point{7, 46}, layer.P("n", i)))
	}
	p, _ := ProfileNamed("points-500")
	layers := []layer.Layer{
		{ID: "site", Features: []layer.Feature{site}}, many,
		{ID: "next-way", Features: []layer.Feature{layer.New("to the wood", winding(700, 8), layer.P("way_m", 900.0))}},
		{ID: "ring", Features: []layer.Feature{layer.New("ring", orb.Polygon{{{7, 46}, {8, 46}, {8, 47}, {7, 46}}})}},
	}
	f, err := FitLayers(layers, p, "next-way")
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteGPX(&b, f.Layers, GPXOptions{Name: "N", Description: "Estimates.", Profile: p, Routes: []string{"next-way"}}))
	assert.Empty(t, schemaFaults(b.Bytes()))
	text := b.String()
	assert.Contains(t, text, "<desc>question: passive&#xA;signal: orange flag</desc>", "whole lines of 50 characters at most")
	assert.Equal(t, 200, strings.Count(text, "<desc>n: ")+1, "200 waypoints keep a text, the flag among them")
	assert.Equal(t, 1, strings.Count(text, "<rte>"))
	assert.Equal(t, 125, strings.Count(text, "<rtept "))
	assert.Equal(t, 1, strings.Count(text, "<trk>"))
	assert.Contains(t, text, "<desc>Estimates.</desc>")
	read, err := ReadGPX(&b, "t.gpx")
	require.NoError(t, err)
	assert.Len(t, read.Routes, 1)
	assert.Len(t, read.Waypoints, 211)
	xmllint(t, []byte(text))
}

func TestWholeLines(t *testing.T) {
	for _, c := range []struct {
		in   string
		most int
		want string
	}{
		{"a: 1\nb: 2", 9, "a: 1\nb: 2"},
		{"a: 1\nb: 2", 8, "a: 1"},
		{"a: 1\nb: 2\nc: 3", 9, "a: 1\nb: 2"},
		{"a: 1\nb: 2\nc: 3", 10, "a: 1\nb: 2"},
		{"a: 1\nb: 2\nc: 3", 4, "a: 1"},
		{"much too long", 4, "much"},
		{"é: 1\né: 2", 5, "é: 1"},
	} {
		assert.Equal(t, c.want, wholeLines(c.in, c.most), "%q %d", c.in, c.most)
	}
}

// TestProfilesAgainstPrint holds the limits against what was read of units.
func TestProfilesAgainstPrint(t *testing.T) {
	geotest.Check(t, "handheld", func(in []string) ([]any, error) {
		p, ok := ProfileNamed(in[0])
		if !ok {
			return nil, fmt.Errorf("no profile %q", in[0])
		}
		switch in[1] {
		case "track points":
			return []any{float64(p.TrackPoints)}, nil
		case "tracks":
			return []any{float64(p.Tracks)}, nil
		case "texts":
			return []any{float64(p.Texts)}, nil
		}
		return nil, fmt.Errorf("no limit %q", in[1])
	})
}
