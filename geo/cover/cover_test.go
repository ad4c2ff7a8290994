package cover_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/geo/cover"
	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/mapfile"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tile is the frame of a 3 arc-second tile.
func tile() grid.Frame {
	return grid.Frame{X0: 1, Y0: 43, DX: 1. / 1200, DY: 1. / 1200, Cols: 1201, Rows: 1201}
}

// field is a frame of 20 m cells around a place, 60 by 40.
func field() grid.Frame {
	return grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 378000, Y0: 4712000, DX: 20, DY: 20, Cols: 60, Rows: 40}
}

// ring returns corners given by columns and rows as GeoJSON coordinates.
func ring(f grid.Frame, corners ...[2]float64) string {
	var b []string
	for _, c := range append(corners, corners[0]) {
		b = append(b, place(f, c))
	}
	return "[" + strings.Join(b, ",") + "]"
}

func place(f grid.Frame, c [2]float64) string {
	p := f.Point(c[0], c[1])
	return fmt.Sprintf("[%.8f,%.8f]", p.Lon(), p.Lat())
}

func box(f grid.Frame, c0, r0, c1, r1 float64) string {
	return ring(f, [2]float64{c0, r1}, [2]float64{c1, r1}, [2]float64{c1, r0}, [2]float64{c0, r0})
}

func line(f grid.Frame, places ...[2]float64) string {
	var b []string
	for _, c := range places {
		b = append(b, place(f, c))
	}
	return `"LineString","coordinates":[` + strings.Join(b, ",") + "]"
}

func polygon(rings ...string) string {
	return `"Polygon","coordinates":[` + strings.Join(rings, ",") + "]"
}

// osm returns a GeoJSON file of features: tags as JSON members and a geometry.
func osm(features ...[2]string) fstest.MapFS {
	var b []string
	for _, f := range features {
		b = append(b, `{"type":"Feature","properties":{`+f[0]+`},"geometry":{"type":`+f[1]+`}}`)
	}
	return fstest.MapFS{"a.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[` + strings.Join(b, ",\n") + "]}")}}
}

func read(t *testing.T, fsys fstest.MapFS) *cover.Map {
	t.Helper()
	m, err := cover.Read(fsys, []string{"a.geojson"}, orb.Bound{})
	require.NoError(t, err)
	return m
}

func landcover(t *testing.T, names ...string) *cover.Map {
	t.Helper()
	m, err := cover.Read(os.DirFS(filepath.Join(geotest.Shared(t), "data", "landcover")), names, orb.Bound{})
	require.NoError(t, err)
	return m
}

// of returns the sum of one class.
func of(list []cover.ClassArea, name string) cover.ClassArea {
	for _, a := range list {
		if a.Class.String() == name {
			return a
		}
	}
	return cover.ClassArea{}
}

func TestAndorraAreas(t *testing.T) {
	m := landcover(t, "andorra-landcover.geojson")
	sums := m.Sums()
	geotest.Check(t, "cover-andorra-areas", func(in []string) ([]any, error) {
		a := of(sums, in[0])
		return []any{a.N, a.AreaM2}, nil
	})
	assert.Equal(t, []cover.TagCount{{"leisure=nature_reserve", 2}, {"landuse=reservoir:bottom", 1}}, m.Unclassed)
	assert.Len(t, m.Areas, 234)
}

func TestAndorraCells(t *testing.T) {
	sums := landcover(t, "andorra-landcover.geojson").On(tile(), cover.Unknown).Sums()
	geotest.Check(t, "cover-andorra-cells", func(in []string) ([]any, error) {
		return []any{of(sums, in[0]).N}, nil
	})
}

func TestCORINECells(t *testing.T) {
	sums := landcover(t, "corine2018-eifel-cut.tif").Sums()
	geotest.Check(t, "cover-corine-cells", func(in []string) ([]any, error) {
		return []any{of(sums, in[0]).N}, nil
	})
	assert.Len(t, sums, 7)
}

// figureOf returns a class's figure by the words of a check file.
func figureOf(in []string, pick func(cover.Traits) cover.Figure) ([]any, error) {
	c, ok := cover.Named(in[0])
	if !ok {
		return nil, fmt.Errorf("no class %s", in[0])
	}
	f := pick(c.Traits())
	return []any{map[string]float64{"value": f.Value, "low": f.Low, "high": f.High}[in[1]]}, nil
}

func TestTimeFactors(t *testing.T) {
	geotest.Check(t, "cover-time-factors", func(in []string) ([]any, error) {
		return figureOf(in, func(t cover.Traits) cover.Figure { return t.TimeFactor })
	})
}

func TestLeafArea(t *testing.T) {
	geotest.Check(t, "cover-leaf-area", func(in []string) ([]any, error) {
		return figureOf(in, func(t cover.Traits) cover.Figure { return t.LeafArea })
	})
}

// TestTraits: every figure of every class says where it is from, and lies in its
// span; names and classes belong together.
func TestTraits(t *testing.T) {
	require.Len(t, cover.Classes(), 10)
	for _, c := range cover.Classes() {
		named, ok := cover.Named(c.String())
		assert.True(t, ok && named == c, c)
		traits := c.Traits()
		assert.Equal(t, c, traits.Class)
		assert.NotEmpty(t, traits.Clutter)
		for i, f := range []cover.Figure{traits.TimeFactor, traits.CanopyM, traits.StemsPerHa, traits.StemWidthM, traits.LeafArea} {
			assert.NotEmpty(t, f.Source, "%v, figure %d", c, i)
			assert.False(t, f.Value < f.Low || f.Value > f.High || f.Value < 0, "%v, figure %d", c, i)
		}
		assert.False(t, traits.TimeFactor.Value < 1, "nothing is quicker than a good path")
		assert.NotEmpty(t, traits.Behind)
		assert.Equal(t, c.Wooded(), traits.StemsPerHa.Value > 0)
	}
	assert.Empty(t, cover.Unknown.Traits().Behind)
	assert.Equal(t, cover.Unknown, cover.Class(99).Traits().Class)
	assert.Equal(t, "class 99", cover.Class(99).String())
	_, ok := cover.Named("unknown")
	assert.False(t, ok)
	// The square root of the energy factor of hard-packed snow, 1.60.
	assert.InDelta(t, math.Sqrt(1.6), cover.Snow.Traits().TimeFactor.Value, 0.006)
}

func tagged(pairs ...string) cover.Tagger {
	return func(key string) string {
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i] == key {
				return pairs[i+1]
			}
		}
		return ""
	}
}

func TestClassOf(t *testing.T) {
	for _, c := range []struct {
		tags []string
		want cover.Class
	}{
		{[]string{"landuse", "forest"}, cover.Wood},
		{[]string{"landuse", "forest", "leaf_type", "needleleaved"}, cover.Conifer},
		{[]string{"natural", "wood", "leaf_type", "broadleaved"}, cover.Wood},
		{[]string{"natural", "wood", "wood", "coniferous"}, cover.Conifer},
		{[]string{"landcover", "trees", "leaf_type", "mixed"}, cover.Wood},
		{[]string{"natural", "scree"}, cover.Bare},
		{[]string{"natural", "water", "water", "river"}, cover.Water},
		{[]string{"waterway", "riverbank"}, cover.Water},
		{[]string{"landuse", "reservoir"}, cover.Water},
		{[]string{"natural", "glacier", "landuse", "meadow"}, cover.Snow},
		{[]string{"landuse", "residential", "natural", "wood"}, cover.Wood}, // what grows before what it is for
		{[]string{"building", "yes"}, cover.Built},
		{[]string{"building", "no", "landuse", "meadow"}, cover.Grass},
		{[]string{"leisure", "nature_reserve"}, cover.Unknown},
		{[]string{"landuse", "military"}, cover.Unknown},
		{[]string{"highway", "pedestrian"}, cover.Unknown},
		{nil, cover.Unknown},
	} {
		assert.Equal(t, c.want, cover.ClassOf(tagged(c.tags...)), "%v", c.tags)
	}
}

func TestLineOf(t *testing.T) {
	for _, c := range []struct {
		tags []string
		want cover.LineKind
	}{
		{[]string{"waterway", "river"}, cover.River},
		{[]string{"waterway", "river", "intermittent", "yes"}, cover.Stream},
		{[]string{"waterway", "river", "tunnel", "culvert"}, cover.OtherLine},
		{[]string{"waterway", "stream"}, cover.Stream},
		{[]string{"waterway", "stream", "tunnel", "no"}, cover.Stream},
		{[]string{"waterway", "dam"}, cover.OtherLine},
		{[]string{"natural", "coastline"}, cover.SeaShore},
		{[]string{"natural", "cliff"}, cover.Cliff},
		{[]string{"natural", "ridge"}, cover.OtherLine},
		{[]string{"highway", "path"}, cover.Trail},
		{[]string{"highway", "motorway"}, cover.OtherLine},
		{[]string{"highway", "proposed"}, cover.OtherLine},
	} {
		assert.Equal(t, c.want, cover.LineOf(tagged(c.tags...)), "%v", c.tags)
	}
}

func TestFromCORINE(t *testing.T) {
	want := map[int]cover.Class{
		111: cover.Built, 131: cover.Bare, 141: cover.Grass, 211: cover.Crops, 231: cover.Grass, 311: cover.Wood, 312: cover.Conifer, 313: cover.Wood,
		321: cover.Grass, 322: cover.Scrub, 332: cover.Bare, 335: cover.Snow, 412: cover.Wetland, 512: cover.Water, 523: cover.Water,
		0: cover.Unknown, 48: cover.Unknown, 113: cover.Unknown, 999: cover.Unknown,
	}
	for code, class := range want {
		assert.Equal(t, class, cover.FromCORINE(code), "%d", code)
	}
	known := 0
	for code := range 1000 {
		if cover.FromCORINE(code) != cover.Unknown {
			known++
		}
	}
	assert.Equal(t, 44, known)
}

// TestOverlaps: the smallest polygon counts whatever the order of the file, of two
// alike the later one; a hole shows what is below; what nobody maps is unknown, or
// what the user says.
func TestOverlaps(t *testing.T) {
	f := field()
	features := [][2]string{
		{`"landuse":"forest"`, polygon(box(f, 4.5, 4.5, 40.5, 30.5), box(f, 10.5, 20.5, 14.5, 24.5))},
		{`"natural":"water"`, polygon(box(f, 20.5, 10.5, 24.5, 14.5))},
		{`"natural":"scrub"`, polygon(box(f, 30.5, 10.5, 34.5, 14.5))},
		{`"natural":"scree"`, polygon(box(f, 30.5, 10.5, 34.5, 14.5))},
		{`"landuse":"meadow"`, polygon(box(f, 1.5, 1.5, 50.5, 35.5))},
	}
	for _, order := range [][]int{{0, 1, 2, 3, 4}, {4, 1, 0, 2, 3}, {1, 2, 3, 4, 0}} {
		var list [][2]string
		for _, i := range order {
			list = append(list, features[i])
		}
		g := read(t, osm(list...)).On(f, cover.Unknown)
		at := func(col, row float64) cover.Class { return g.At(f.Point(col, row)) }
		assert.Equal(t, cover.Wood, at(6, 6))
		assert.Equal(t, cover.Water, at(22, 12))
		assert.Equal(t, cover.Bare, at(32, 12), "the later of two alike")
		assert.Equal(t, cover.Grass, at(12, 22), "through the hole")
		assert.Equal(t, cover.Unknown, at(55, 2))
		assert.Equal(t, cover.Unknown, g.At(f.Point(70, 2)), "outside")
		sums := g.Sums()
		assert.Equal(t, 36*26-16-16-16, of(sums, "wood").N)
		assert.Equal(t, 49*34-36*26+16, of(sums, "grass").N)
		all := 0.0
		for _, s := range sums {
			all += s.AreaM2
		}
		assert.InEpsilon(t, f.AreaM2(0)*float64(f.Cols*f.Rows), all, 1e-9)
	}
	g := read(t, osm(features...)).On(f, cover.Scrub)
	assert.Equal(t, cover.Scrub, g.At(f.Point(55, 2)), "by the user's word")
}

// TestShapesOverCodes: polygons lie on top of a raster, which fills the rest; what
// the raster does not reach stays unknown.
func TestShapesOverCodes(t *testing.T) {
	f := grid.Frame{X0: 6.85, Y0: 50.55, DX: 0.001, DY: 0.001, Cols: 100, Rows: 80}
	dir := filepath.Join(geotest.Shared(t), "data", "landcover")
	data, err := os.ReadFile(filepath.Join(dir, "corine2018-eifel-cut.tif"))
	require.NoError(t, err)
	fsys := osm([2]string{`"natural":"glacier"`, polygon(box(f, 10.5, 10.5, 20.5, 20.5))})
	fsys["c.tif"] = &fstest.MapFile{Data: data}
	m, err := cover.Read(fsys, []string{"c.tif", "a.geojson"}, f.Bound())
	require.NoError(t, err)
	g := m.On(f, cover.Unknown)
	assert.Equal(t, 100, of(g.Sums(), "snow").N)
	assert.Zero(t, of(g.Sums(), "unknown").N)
	codes, err := terrain.LoadCodes(fsys, "c.tif", orb.Bound{})
	require.NoError(t, err)
	for i, c := range g.Class {
		if p := f.Point(float64(i%f.Cols), float64(i/f.Cols)); c != cover.Snow {
			require.Equal(t, cover.FromCORINE(codes.At(p)), c)
		}
	}
	away, err := cover.Read(fsys, []string{"c.tif"}, orb.Point{1, 42}.Bound())
	require.NoError(t, err)
	assert.NotEmpty(t, away.Problems, "a raster elsewhere is told")
}

// TestScreen: woods stand their height above the ground, and unknown ground has
// what it is given.
func TestScreen(t *testing.T) {
	f := field()
	g := read(t, osm([2]string{`"landuse":"forest"`, polygon(box(f, 9.5, 9.5, 19.5, 19.5))}, [2]string{`"natural":"scrub"`, polygon(box(f, 29.5, 9.5, 39.5, 19.5))})).On(f, cover.Unknown)
	h := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i := range h.Z {
		h.Z[i] = 100
	}
	at := func(screen []float32, col, row int) float64 { return float64(screen[row*f.Cols+col]) }
	s := g.Screen(h, cover.Canopies(12, 0))
	assert.Equal(t, []float64{112, 101.5, 100}, []float64{at(s, 12, 12), at(s, 32, 12), at(s, 2, 2)})
	s = g.Screen(h, cover.Canopies(math.NaN(), 7))
	assert.Equal(t, []float64{120, 101.5, 107}, []float64{at(s, 12, 12), at(s, 32, 12), at(s, 2, 2)})
	assert.True(t, math.IsNaN(at(g.Screen(h, cover.Canopies(12, math.NaN())), 2, 2)))
}

// TestSlower: a rule of paths takes the factors as they stand, a rule off paths
// what is left of them; unknown ground and water are the rule's own.
func TestSlower(t *testing.T) {
	paths := cover.Slower(1, nil)
	assert.Equal(t, []float64{2, 1.25, 1, 1}, []float64{paths[cover.Wood], paths[cover.Grass], paths[cover.Unknown], paths[cover.Water]})
	assert.InDelta(t, 1, cover.Slower(1.4, nil)[cover.Conifer], 0, "a rule off paths was measured in woods")
	assert.InDelta(t, 1.79/1.4, cover.Slower(1.4, nil)[cover.Wetland], 1e-12)
	off := cover.Slower(1.6, map[cover.Class]float64{cover.Wood: 4, cover.Water: 8})
	assert.InDelta(t, 2.5, off[cover.Wood], 1e-12)
	assert.InDelta(t, 5, off[cover.Water], 1e-12)
	assert.InDelta(t, 1.25/1.6, off[cover.Grass], 1e-12)
	g := &cover.Grid{Frame: field(), Class: []cover.Class{cover.Wood, cover.Unknown}}
	assert.Equal(t, []float32{2, 1}, g.Factors(paths))
}

// TestRefused: what tells nothing of the ground.
func TestRefused(t *testing.T) {
	f := field()
	_, err := cover.Read(osm([2]string{`"amenity":"pub"`, polygon(box(f, 1, 1, 5, 5))}), []string{"a.geojson"}, orb.Bound{})
	require.ErrorIs(t, err, cover.ErrNoCover)
	_, err = cover.Read(fstest.MapFS{"a.geojson": {Data: []byte(`{"type":`)}}, []string{"a.geojson"}, orb.Bound{})
	require.ErrorIs(t, err, mapfile.ErrTruncated)
	_, err = cover.Read(fstest.MapFS{}, []string{"a.geojson"}, orb.Bound{})
	require.Error(t, err)
	_, err = cover.Read(os.DirFS(filepath.Join(geotest.Shared(t), "data", "dem")), []string{"jacksboro-fault.tif"}, orb.Bound{})
	require.ErrorIs(t, err, cover.ErrNoCover, "a terrain is no ground cover")
}

// TestTagsInOneText: what ogr2ogr gathers in other_tags counts as tags do.
func TestTagsInOneText(t *testing.T) {
	f := field()
	m := read(t, osm(
		[2]string{`"natural":null,"other_tags":"\"landuse\"=>\"forest\",\"note\"=>\"a \\\"b\\\", c\",\"leaf_type\"=>\"needleleaved\""`, polygon(box(f, 1, 1, 9, 9))},
		[2]string{`"name":"Riu","other_tags":"\"waterway\"=>\"river\",\"width\"=>\"12 m\""`, line(f, [2]float64{1, 1}, [2]float64{30, 30})},
		[2]string{`"waterway":"river","other_tags":"\"width\"=>\"wide\",\"tun"`, line(f, [2]float64{1, 1}, [2]float64{30, 30})},
	))
	require.Len(t, m.Areas, 1)
	assert.Equal(t, cover.Conifer, m.Areas[0].Class)
	require.Len(t, m.Lines, 2)
	assert.Equal(t, "Riu", m.Lines[0].Name)
	assert.InDelta(t, 12, m.Lines[0].WidthM, 0)
	assert.True(t, math.IsNaN(m.Lines[1].WidthM))
}

// TestOrderOfFeatures: maps whose features are shuffled cover the cells alike,
// since no two polygons are of one size.
func TestOrderOfFeatures(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	f := field()
	kinds := []string{`"landuse":"forest"`, `"natural":"water"`, `"landuse":"meadow"`, `"natural":"scree"`}
	var list [][2]string
	for i := range 30 {
		c, r := rng.Float64()*50, rng.Float64()*30
		list = append(list, [2]string{kinds[i%4], polygon(box(f, c, r, c+1+9*rng.Float64(), r+1+9*rng.Float64()))})
	}
	want := read(t, osm(list...)).On(f, cover.Unknown)
	for range 5 {
		rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		require.Equal(t, want.Class, read(t, osm(list...)).On(f, cover.Unknown).Class)
	}
}
