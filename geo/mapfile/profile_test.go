package mapfile

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"farhail/geo/track"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// zigzag is a made-up line of n named points.
func zigzag(n int) track.Segment {
	s := make(track.Segment, n)
	for i := range s {
		s[i] = track.At(orb.Point{7 + float64(i)*1e-4, 46 + float64(i%7)*float64(i%3)*1e-5})
		s[i].Name = fmt.Sprint("P", i)
	}
	return s
}

func profile(t *testing.T, name string) Profile {
	for _, p := range Profiles() {
		if p.Name == name {
			return p
		}
	}
	require.Fail(t, "no profile "+name)
	return Profile{}
}

func TestFitTracks(t *testing.T) {
	g := &GPX{Tracks: []track.Track{{Name: "long", Segments: []track.Segment{zigzag(12345)}}}}
	for _, c := range []struct {
		profile string
		most    int
	}{{"points-250", 250}, {"points-500", 500}, {"points-2000", 2000}, {"points-10000", 10000}} {
		f := g.Fit(profile(t, c.profile))
		require.Len(t, f.Tracks, 1)
		s := f.Tracks[0].Segments[0]
		assert.Len(t, s, c.most)
		assert.Equal(t, "P0", s[0].Name, "the first point")
		assert.Equal(t, "P12344", s[len(s)-1].Name, "the last point")
		_, want := g.Tracks[0].Thin(c.most)
		assert.Equal(t, want, f.WorstOffsetM)
		assert.Positive(t, f.WorstOffsetM)
	}
	f := g.Fit(Profile{})
	assert.Equal(t, 12345, f.TrackPoints(), "no profile, no thinning")
	assert.Zero(t, f.WorstOffsetM)
	assert.Empty(t, f.Renamed)
	assert.Len(t, g.Tracks[0].Segments[0], 12345, "the file that was read stays as it is")
}

// TestFitManySegments: the ends of 300 segments are more than a track of 250
// points can hold, so it is split; nothing is left out for it.
func TestFitManySegments(t *testing.T) {
	var tr track.Track
	tr.Name = "many"
	for range 300 {
		tr.Segments = append(tr.Segments, zigzag(3), nil)
	}
	f := (&GPX{Tracks: []track.Track{tr}}).Fit(profile(t, "points-250"))
	require.Len(t, f.Tracks, 3)
	segments := 0
	for i, part := range f.Tracks {
		assert.LessOrEqual(t, part.Points(), 250)
		assert.Equal(t, fmt.Sprint("many ", i+1), part.Name)
		segments += len(part.Segments)
	}
	assert.Equal(t, 300, segments, "empty segments are left out")
}

func TestFitRoutes(t *testing.T) {
	g := &GPX{Routes: []track.Track{{Segments: []track.Segment{zigzag(260)}}, {Name: "short", Segments: []track.Segment{zigzag(250)}}}}
	f := g.Fit(Profile{RoutePoints: 250})
	require.Len(t, f.Routes, 3)
	a, b := f.Routes[0].Segments[0], f.Routes[1].Segments[0]
	assert.Len(t, a, 250)
	assert.Len(t, b, 11)
	assert.Equal(t, "P249", a[249].Name)
	assert.Equal(t, "P249", b[0].Name, "the joint is in both")
	assert.Equal(t, "P259", b[10].Name)
	assert.Equal(t, []string{"route 1 1", "route 1 2", "short"}, []string{f.Routes[0].Name, f.Routes[1].Name, f.Routes[2].Name})
	assert.Zero(t, f.WorstOffsetM, "routes are never thinned")

	g.Routes[0].Segments[0] = zigzag(499)
	f = g.Fit(Profile{RoutePoints: 250})
	require.Len(t, f.Routes, 3)
	assert.Len(t, f.Routes[1].Segments[0], 250, "499 = 250 + 249 + the joint")
}

func TestFitWaypoints(t *testing.T) {
	g := &GPX{Waypoints: zigzag(1200)}
	f := g.Fit(profile(t, "points-500"))
	assert.Len(t, f.Waypoints, 1200)
	require.Len(t, f.Problems, 1)
	assert.Contains(t, f.Problems[0].Text, "1200 waypoints, but units of this kind take 500: the last 700 may be lost")
	assert.Empty(t, g.Fit(Profile{}).Problems)
}

func TestFitJumps(t *testing.T) {
	s := track.Segment{track.At(orb.Point{7.5, 46.5}), track.At(orb.Point{}), track.At(orb.Point{7.5, 46.5001})}
	f := (&GPX{Tracks: []track.Track{{Segments: []track.Segment{s}}}}).Fit(Profile{})
	assert.Equal(t, 2, f.TrackPoints())
	require.Len(t, f.Problems, 1)
	assert.Contains(t, f.Problems[0].Text, "track 1: 1 jump left out")
}

func TestShorten(t *testing.T) {
	cases := []struct {
		name     string
		in, want []string
	}{
		{"short ones stay", []string{"a", "b", "", ""}, []string{"a", "b", "", ""}},
		{"cut", []string{"Long name of a hut"}, []string{"Long name"}},
		{"cut to the same", []string{"shelter north", "shelter nope", "shelter no"}, []string{"shelter-2", "shelter-3", "shelter no"}},
		{"equal", []string{"hut", "hut", "HUT"}, []string{"hut", "hut-2", "HUT-3"}},
		{"a number that is taken", []string{"hut", "hut-2", "hut"}, []string{"hut", "hut-2", "hut-3"}},
		{"letters of other scripts count once each", []string{"山小屋山小屋山小屋山小屋"}, []string{"山小屋山小屋山小屋山"}},
		{"a mark stays on its letter", []string{"123456789e\u0301"}, []string{"123456789"}},
		{"blanks", []string{" hut ", "   "}, []string{"hut", "   "}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := append([]string(nil), c.in...)
			var p []*string
			for i := range got {
				p = append(p, &got[i])
			}
			changed := shorten(p, 10)
			assert.Equal(t, c.want, got)
			n := 0
			for i := range got {
				if got[i] != c.in[i] {
					assert.Equal(t, Rename{c.in[i], got[i]}, changed[n])
					n++
				}
			}
			assert.Len(t, changed, n)
		})
	}
}

// TestShortenProperty: whatever the names, they end short and all different, and
// a thousand equal ones take no long search.
func TestShortenProperty(t *testing.T) {
	check := func(t require.TestingT, names []string) {
		var p []*string
		for i := range names {
			p = append(p, &names[i])
		}
		shorten(p, 10)
		seen := map[string]bool{}
		for _, n := range names {
			if strings.TrimSpace(n) == "" {
				continue
			}
			require.LessOrEqual(t, utf8.RuneCountInString(n), 10)
			require.False(t, seen[strings.ToLower(n)], "%q twice", n)
			seen[strings.ToLower(n)] = true
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		check(t, rapid.SliceOf(rapid.SampledFrom([]string{"", "hut", "HUT", "hut-2", "hut-3", "shelter north", "shelter nope", "x\u0301y", "é", "12345678-2", "123456789012"})).Draw(t, "names"))
	})
	many := make([]string, 20_000)
	for i := range many {
		many[i] = "the same name"
	}
	check(t, many)
}

// TestFitWrites: what was fitted is a valid file and reads back within the
// limits.
func TestFitWrites(t *testing.T) {
	g := &GPX{Name: "all", Waypoints: zigzag(20), Routes: []track.Track{{Name: "way", Segments: []track.Segment{zigzag(600)}}},
		Tracks: []track.Track{{Name: "a long track name", Segments: []track.Segment{zigzag(900), nil, zigzag(3)}}}}
	p := profile(t, "points-500")
	f := g.Fit(p)
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	require.Empty(t, schemaFaults(b.Bytes()))
	xmllint(t, b.Bytes())
	back := read(t, b.String())
	assert.Equal(t, 500, back.TrackPoints())
	for _, r := range back.Routes {
		assert.LessOrEqual(t, r.Points(), p.RoutePoints)
	}
	assert.Equal(t, "a long track n", "a long track n"[:p.NameLength])
	assert.Equal(t, "a long track n", back.Tracks[0].Name)
	again := back.Fit(p)
	assert.Zero(t, again.WorstOffsetM)
	assert.Empty(t, again.Renamed)
}
