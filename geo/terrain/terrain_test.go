package terrain

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/geo/geotest"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ascGrid writes a grid of cells of a tenth of a degree whose heights are four
// times the longitude, counted from 0 to 360, plus the latitude, all in tenths
// of a degree.
func ascGrid(west, south, cols, rows int) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcenter %g\nyllcenter %g\ncellsize 0.1\n", cols, rows, float64(west)/10, float64(south)/10)
	for r := range rows {
		for c := range cols {
			fmt.Fprintf(&b, "%d ", 4*((west+c+3600)%3600)+south+rows-1-r)
		}
	}
	return []byte(b.String())
}

func TestJoin(t *testing.T) {
	list := map[string][]byte{
		"a.asc": ascGrid(100, 400, 5, 4),
		"b.asc": ascGrid(105, 400, 3, 4), // abuts in the east
		"c.asc": ascGrid(102, 403, 4, 3), // overlaps both in the north
	}
	for _, names := range [][]string{{"a.asc", "b.asc", "c.asc"}, {"c.asc", "b.asc", "a.asc"}, {"."}} {
		got, err := Load(files(list), names, everything)
		require.NoError(t, err)
		assert.Equal(t, [2]int{8, 6}, [2]int{got.Cols, got.Rows})
		assert.InDelta(t, 10.0, got.X0, 1e-9)
		assert.InDelta(t, 40.5, got.Y0, 1e-9)
		for row := range got.Rows {
			for col := range got.Cols {
				want := float64(4*(100+col) + 405 - row)
				if row < 2 && (col < 2 || col > 5) {
					want = nan // no file reaches there
				}
				if z := got.At(col, row); z != want && !(math.IsNaN(z) && math.IsNaN(want)) {
					t.Fatalf("column %d, row %d: got %g, want %g", col, row, z, want)
				}
			}
		}
		assert.Equal(t, [3]int{8, 4, 0}, [3]int{got.Info.Voids, got.Info.Seam, got.Info.SeamDiffer})
	}
}

// TestJoinDiffers: where two files differ the first counts, and it is told.
func TestJoinDiffers(t *testing.T) {
	// The height at 10.4 E, 40.0 N is 4·104 + 400.
	other := strings.Replace(string(ascGrid(104, 400, 2, 1)), "816", "7", 1)
	list := map[string][]byte{"a.asc": ascGrid(100, 400, 5, 1), "b.asc": []byte(other)}
	for _, c := range []struct {
		names []string
		want  float64
	}{{[]string{"a.asc", "b.asc"}, 816}, {[]string{"b.asc", "a.asc"}, 7}} {
		got, err := Load(files(list), c.names, everything)
		require.NoError(t, err)
		assert.Equal(t, c.want, got.At(4, 0))
		assert.Equal(t, [2]int{1, 1}, [2]int{got.Info.Seam, got.Info.SeamDiffer})
		assert.Contains(t, strings.Join(got.Info.Notes, "; "), "1 of 1 cells that two files give differ")
	}
}

func TestJoinRefused(t *testing.T) {
	base := ascGrid(100, 400, 5, 4)
	text := string(base)
	utm := "ncols 1\nnrows 1\nxllcorner 400000\nyllcorner 4400000\ncellsize 30\n7\n"
	for name, c := range map[string]struct {
		other string
		says  string
	}{
		"other cells":     {strings.Replace(text, "cellsize 0.1", "cellsize 0.05", 1), "its cells are 0.05 by 0.05"},
		"half a cell off": {strings.Replace(text, "xllcenter 10", "xllcenter 10.05", 1), "0.50 of a cell beside"},
		"other CRS":       {utm, "EPSG:32631"},
	} {
		t.Run(name, func(t *testing.T) {
			list := map[string][]byte{"a.asc": base, "b.asc": []byte(c.other), "b.prj": []byte(`PROJCS["WGS_1984_UTM_Zone_31N"]`)}
			if name != "other CRS" {
				delete(list, "b.prj")
			}
			_, err := Load(files(list), []string{"a.asc", "b.asc"}, everything)
			require.ErrorIs(t, err, ErrMixed)
			assert.ErrorContains(t, err, c.says)
			assert.Contains(t, hintOf(t, err), "gdalwarp -t_srs EPSG:4326 -tr 0.1 0.1 -te ")
		})
	}
}

// TestBox: only what a box needs is kept, so that every position in it samples
// as it does in the whole.
func TestBox(t *testing.T) {
	list := map[string][]byte{
		"west.asc": ascGrid(1790, -160, 10, 20), // ends at 179.9 E
		"east.asc": ascGrid(-1800, -160, 10, 20),
		"far.asc":  ascGrid(100, 400, 5, 5),
	}
	both, err := Load(files(list), []string{"west.asc", "east.asc"}, everything)
	require.NoError(t, err)
	require.Equal(t, [2]int{20, 20}, [2]int{both.Cols, both.Rows}, "joined over the 180th meridian")
	for name, box := range map[string]orb.Bound{
		"west of the meridian":  {Min: orb.Point{179.2, -15.5}, Max: orb.Point{179.7, -15.1}},
		"over it, turned":       {Min: orb.Point{179.75, -15.5}, Max: orb.Point{-179.55, -14.9}},
		"over it, beyond 180":   {Min: orb.Point{179.75, -15.5}, Max: orb.Point{180.45, -14.9}},
		"a point":               {Min: orb.Point{-179.95, -15}, Max: orb.Point{-179.95, -15}},
		"reaching out of it":    {Min: orb.Point{178.2, -17}, Max: orb.Point{179.3, -15.1}},
		"all of it and further": {Min: orb.Point{170, -30}, Max: orb.Point{200, 30}},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Load(files(list), []string{"west.asc", "east.asc"}, box)
			require.NoError(t, err)
			sampled := 0
			b := unwrap(box)
			for i := range 21 {
				for j := range 21 {
					p := orb.Point{b.Min.Lon() + float64(i)/20*(b.Max.Lon()-b.Min.Lon()), b.Min.Lat() + float64(j)/20*(b.Max.Lat()-b.Min.Lat())}
					want, z := both.Sample(p), got.Sample(p)
					if math.IsNaN(want) {
						require.True(t, math.IsNaN(z))
						continue
					}
					sampled++
					require.InDelta(t, want, z, 1e-6)
				}
			}
			assert.Positive(t, sampled)
		})
	}
	// Files outside the box are not joined, so their cells may be others.
	list["odd.asc"] = []byte(strings.Replace(string(ascGrid(300, 400, 5, 5)), "cellsize 0.1", "cellsize 0.3", 1))
	got, err := Load(files(list), []string{"."}, orb.Bound{Min: orb.Point{10.1, 40.1}, Max: orb.Point{10.2, 40.2}})
	require.NoError(t, err)
	assert.Equal(t, []string{"far.asc"}, got.Info.Files)
	assert.InDelta(t, 4, got.Cols, 1, "two centres and one around, by rounding one more")
	assert.InDelta(t, 4, got.Rows, 1)

	_, err = Load(files(list), []string{"."}, orb.Bound{Min: orb.Point{-71.5, -33.5}, Max: orb.Point{-70.9, -33.2}})
	require.ErrorIs(t, err, ErrOutside)
	assert.Equal(t, "it needs the tiles S34W072 S34W071", hintOf(t, err))
	_, err = Load(files(map[string][]byte{"readme.txt": []byte("hello")}), []string{"."}, everything)
	require.ErrorIs(t, err, ErrOutside)
	_, err = Load(files(map[string][]byte{"readme.txt": []byte("hello")}), []string{"readme.txt"}, everything)
	require.ErrorIs(t, err, ErrUnsupported, "a file named is not passed over")
	_, err = Load(files(nil), nil, everything)
	require.ErrorIs(t, err, ErrOutside)
}

func TestMissing(t *testing.T) {
	// 10 to 10.4 E and 40 to 40.9 N of one tile, half of the next.
	list := map[string][]byte{"a.asc": ascGrid(100, 400, 15, 11)}
	got, err := Load(files(list), []string{"a.asc"}, orb.Bound{Min: orb.Point{10.2, 40.2}, Max: orb.Point{11.3, 40.8}})
	require.NoError(t, err)
	assert.Empty(t, got.Info.Missing)
	got, err = Load(files(list), []string{"a.asc"}, orb.Bound{Min: orb.Point{10.2, 40.2}, Max: orb.Point{11.8, 41.2}})
	require.NoError(t, err)
	assert.Equal(t, []string{"N40E011", "N41E010", "N41E011"}, got.Info.Missing)
}

// TestMissingBetween: tiles that lie corner to corner leave two out, which are told
// without a box too.
func TestMissingBetween(t *testing.T) {
	list := map[string][]byte{"a.asc": ascGrid(100, 400, 11, 11), "b.asc": ascGrid(110, 410, 11, 11)}
	got, err := Load(files(list), []string{"a.asc", "b.asc"}, everything)
	require.NoError(t, err)
	assert.Equal(t, []string{"N40E011", "N41E010"}, got.Info.Missing)
	assert.Equal(t, 21*21-2*121+1, got.Info.Voids)
	got, err = Load(files(list), []string{"a.asc"}, everything)
	require.NoError(t, err)
	assert.Empty(t, got.Info.Missing)
}

// TestLoadUntil: reading stops with its context, before the first byte or in the
// middle of the heights, whatever the kind of file.
func TestLoadUntil(t *testing.T) {
	hgt := make([]byte, 2*1201*1201)
	for name, data := range map[string][]byte{"a.asc": ascGrid(100, 400, 150, 110), "N41E001.hgt": hgt} {
		ctx, cancel := context.WithCancel(context.Background())
		_, err := LoadUntil(ctx, endingFS{files(map[string][]byte{name: data}), 3, cancel}, []string{name}, everything)
		require.ErrorIs(t, err, context.Canceled, name)
		_, err = LoadUntil(ctx, files(map[string][]byte{name: data}), []string{name}, everything)
		require.ErrorIs(t, err, context.Canceled, name)
		_, err = Load(files(map[string][]byte{name: data}), []string{name}, everything)
		require.NoError(t, err, name)
	}
}

// endingFS ends a context at the n-th read of a file.
type endingFS struct {
	fs.FS
	reads  int
	cancel func()
}

func (e endingFS) Open(name string) (fs.File, error) {
	f, err := e.FS.Open(name)
	if err != nil {
		return nil, err
	}
	return &endingFile{f, e}, nil
}

type endingFile struct {
	fs.File
	endingFS
}

func (f *endingFile) ReadAt(p []byte, at int64) (int, error) {
	if f.reads--; f.reads <= 0 {
		f.cancel()
	}
	return f.File.(io.ReaderAt).ReadAt(p, at)
}

// TestTooLarge: the size is refused before memory is taken.
func TestTooLarge(t *testing.T) {
	list := map[string][]byte{"a.asc": ascGrid(-1700, -850, 2, 2), "b.asc": ascGrid(1700, 850, 2, 2)}
	for name, data := range list {
		list[name] = []byte(strings.Replace(string(data), "cellsize 0.1", "cellsize 0.001", 1))
	}
	_, err := Load(files(list), []string{"a.asc", "b.asc"}, everything)
	require.ErrorIs(t, err, ErrTooLarge)
	assert.Contains(t, hintOf(t, err), "gdalwarp -tr")
}

// TestWithoutRandomAccess: a file system that only streams serves too.
func TestWithoutRandomAccess(t *testing.T) {
	got, err := Load(streams{files(map[string][]byte{"a.asc": ascGrid(100, 400, 5, 4)})}, []string{"a.asc"}, everything)
	require.NoError(t, err)
	assert.Equal(t, 803.0, got.At(0, 0))
}

type streams struct{ fs.FS }

func (s streams) Open(name string) (fs.File, error) {
	f, err := s.FS.Open(name)
	if err != nil {
		return nil, err
	}
	return struct{ fs.File }{f}, nil
}

func TestTilesFor(t *testing.T) {
	box := func(w, s, e, n float64) orb.Bound { return orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}} }
	for name, c := range map[string]struct {
		box  orb.Bound
		want string
	}{
		"in one":                      {box(1.2, 42.3, 1.7, 42.9), "N42E001"},
		"one in full":                 {box(1, 42, 2, 43), "N42E001"},
		"four":                        {box(1.9, 41.9, 2.1, 42.1), "N41E001 N41E002 N42E001 N42E002"},
		"south and west":              {box(-70.5, -33.2, -70.1, -32.9), "S34W071 S33W071"},
		"about zero":                  {box(-0.1, -0.1, 0.1, 0.1), "S01W001 S01E000 N00W001 N00E000"},
		"over the meridian, turned":   {box(179.5, 10.2, -179.5, 10.4), "N10E179 N10W180"},
		"over the meridian, beyond":   {box(179.5, 10.2, 180.5, 10.4), "N10E179 N10W180"},
		"a point on a corner":         {box(7, 46, 7, 46), "N46E007"},
		"a point, south and west":     {box(-77.75, -12.25, -77.75, -12.25), "S13W078"},
		"below the equator":           {box(10.25, -0.25, 10.25, -0.25), "S01E010"},
		"above the equator":           {box(10.25, 0.25, 10.25, 0.25), "N00E010"},
		"west of Greenwich":           {box(-0.25, 0.25, -0.25, 0.25), "N00W001"},
		"on whole degrees":            {box(-77, -12, -77, -12), "S12W077"},
		"on the 180th meridian":       {box(180, 10, 180, 10), "N10W180"},
		"north pole":                  {box(7.2, 89.5, 7.3, 90), "N89E007"},
		"infinite gives none":         {box(math.Inf(-1), 0, math.Inf(1), 1), ""},
		"latitude that is no number":  {box(7, nan, 8, nan), ""},
		"longitude that is no number": {box(nan, 7, nan, 8), ""},
	} {
		assert.Equal(t, c.want, strings.Join(TilesFor(c.box), " "), name)
	}
}

// TestSlope: a plane's slope is known; at 42.5 N on the ground, not in degrees
// of the grid.
func TestSlope(t *testing.T) {
	utm := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 20, Cols: 5, Rows: 5}
	geographic := grid.Frame{X0: 1, Y0: 42.5, DX: 1.0 / 1200, DY: 1.0 / 1200, Cols: 5, Rows: 5}
	for name, f := range map[string]grid.Frame{"UTM": utm, "geographic": geographic} {
		for _, s := range [][2]float64{{0, 0}, {0.3, 0}, {0, -0.5}, {0.4, 0.7}} {
			east, north := f.Metres(2)
			h := &grid.Heights{Frame: f, Z: make([]float32, 25)}
			for row := range 5 {
				for col := range 5 {
					h.Row(row)[col] = float32(s[0]*east*float64(col) - s[1]*north*float64(row))
				}
			}
			want := math.Atan(math.Hypot(s[0], s[1])) * 180 / math.Pi
			assert.InDelta(t, want, SlopeDeg(h, 2, 2), 1e-4, "%s %v", name, s)
			assert.True(t, math.IsNaN(SlopeDeg(h, 0, 2)), "at the edge")
			assert.True(t, math.IsNaN(SlopeDeg(h, 2, 4)), "at the edge")
			h.Row(1)[1] = float32(nan)
			assert.True(t, math.IsNaN(SlopeDeg(h, 2, 2)), "beside a void")
			assert.False(t, math.IsNaN(SlopeDeg(h, 3, 3)))
		}
	}
	// Horn's weights on a single peak of height 1 in the north-east: 1/8 of a
	// cell each way.
	h := &grid.Heights{Frame: utm, Z: geotest.Plane(0, 0, 0).Cells(5, 5, 30)}
	h.Row(1)[3] = 1
	east, north := utm.Metres(2)
	assert.InDelta(t, math.Atan(math.Hypot(1/(8*east), 1/(8*north)))*180/math.Pi, SlopeDeg(h, 2, 2), 1e-9)
}

// TestSlopeAt60N: 10 m a cell eastward on 1 arc-second cells of 15.500 m are
// 32.83 degrees or 64.5 %, worked out by hand from the ellipsoid; one length of a
// degree for both directions would give 17.95, cells taken for metres 89.998.
func TestSlopeAt60N(t *testing.T) {
	const n, d = 5, 1.0 / 3600
	h := &grid.Heights{Frame: grid.Frame{X0: 10, Y0: 60 + 2*d, DX: d, DY: d, Cols: n, Rows: n}, Z: make([]float32, n*n)}
	for i := range h.Z {
		h.Z[i] = float32(10 * (i % n))
	}
	east, _ := h.Metres(2)
	assert.InDelta(t, 15.500, east, 0.001)
	got := SlopeDeg(h, 2, 2)
	assert.InDelta(t, 32.83, got, 0.01)
	assert.InDelta(t, 64.5, SlopePercent(got), 0.05)
}

// TestHillshade: shades that are known on paper.
func TestHillshade(t *testing.T) {
	const side = 7
	shade := func(f grid.Frame, eastSlope, northSlope, azimuth, altitude, exaggeration float64) float32 {
		east, north := f.Metres(3)
		h := &grid.Heights{Frame: f, Z: make([]float32, side*side)}
		for i := range h.Z {
			h.Z[i] = float32(eastSlope*east*float64(i%side) - northSlope*north*float64(i/side))
		}
		list, err := Hillshade(t.Context(), h, azimuth, altitude, exaggeration)
		require.NoError(t, err)
		require.True(t, list[3] != list[3], "at the edge")
		return list[3*side+3]
	}
	utm := grid.Frame{CRS: grid.CRS{Zone: 31}, X0: 500000, Y0: 4700000, DX: 30, DY: 20, Cols: side, Rows: side}
	north := grid.Frame{X0: 10, Y0: 72, DX: 1.0 / 1200, DY: 1.0 / 3600, Cols: side, Rows: side}
	root := math.Sqrt(0.5)
	for _, f := range []grid.Frame{utm, north} {
		assert.InDelta(t, root, shade(f, 0, 0, 315, 45, 1), 1e-6, "level ground by the light's height")
		assert.InDelta(t, 1, shade(f, 1, 0, 270, 45, 1), 1e-5, "a slope of 45 degrees that faces west, square to the light")
		assert.InDelta(t, 1, shade(f, 0, -1, 0, 45, 1), 1e-5, "and north")
		assert.InDelta(t, 1, shade(f, 0, -0.5, 0, 45, 2), 1e-5, "and by twice its height")
		assert.InDelta(t, 0, shade(f, 1, 0, 90, 45, 1), 1e-5, "grazed")
		assert.Zero(t, shade(f, 1, 0, 90, 30, 1), "turned away")
		assert.InDelta(t, root, shade(f, 1, 0, 0, 90, 1), 1e-5, "from above, by the slope")
	}
}

func TestSlopePercent(t *testing.T) {
	for _, c := range []struct{ deg, percent, tolerance float64 }{{0, 0, 0}, {30, 57.735, 0.001}, {45, 100, 1e-9}, {30.11, 58, 0.01}, {-45, -100, 1e-9}} {
		assert.InDelta(t, c.percent, SlopePercent(c.deg), c.tolerance)
	}
	assert.True(t, math.IsNaN(SlopePercent(nan)))
}

// TestVoidInSample: one void corner of four makes the height unknown: never the
// -12021.75 m of the plain mean, never 0.
func TestVoidInSample(t *testing.T) {
	head := "ncols 2\nnrows 2\nxllcenter 1\nyllcenter 42\ncellsize 0.001\n"
	for name, c := range map[string]struct {
		text string
		want float64
		note bool
	}{
		"declared":           {head + "NODATA_value -32768\n420 430\n-32768 440\n", nan, false},
		"undeclared":         {head + "420 430\n-32768 440\n", nan, true},
		"the other mark":     {head + "420 430\n32767 440\n", nan, true},
		"all of them":        {head + "NODATA_value -32768\n-32768 -32768\n-32768 -32768\n", nan, false},
		"none":               {head + "420 430\n450 440\n", (420*0.75+430*0.25)*0.5 + (450*0.75+440*0.25)*0.5, false},
		"zero is no void":    {head + "0 0\n0 0\n", 0, false},
		"a void of this one": {head + "NODATA_value 0\n420 430\n0 440\n", nan, false},
	} {
		got, err := loadOne("a.asc", []byte(c.text))
		require.NoError(t, err, name)
		z := got.SampleCell(0.25, 0.5)
		if math.IsNaN(c.want) {
			assert.True(t, math.IsNaN(z), name)
			assert.True(t, math.IsNaN(got.SampleCell(0, 1)), name)
		} else {
			assert.InDelta(t, c.want, z, 0.01, name)
		}
		assert.Equal(t, c.note, strings.Contains(strings.Join(got.Info.Notes, "; "), "fill value"), name)
	}
}

func TestAtSeaLevel(t *testing.T) {
	got, err := loadOne("a.asc", []byte("ncols 6\nnrows 3\nxllcenter 1\nyllcenter 42\ncellsize 0.001\nNODATA_value -1\n"+
		"0 0 0 0 5 0\n0 0 0 -1 5 0\n0 0 0 0 5 0\n"))
	require.NoError(t, err)
	for col, want := range []bool{true, true, false, false, false, false} {
		assert.Equal(t, want, got.AtSeaLevel(float64(col), 1), "column %d", col)
	}
	assert.False(t, got.AtSeaLevel(-1, 1))
}

// TestErrors: the methods that the command line finds.
func TestErrors(t *testing.T) {
	e := &FileError{File: "a.tif", At: 12, Text: "bad", Help: "fetch it again", Kind: ErrFormat}
	assert.Equal(t, "a.tif: byte 12: bad", e.Error())
	file, line, column := e.Where()
	assert.Equal(t, "a.tif 0 0", fmt.Sprint(file, " ", line, " ", column))
	assert.Equal(t, int64(12), e.Offset())
	assert.Equal(t, "no place", (&FileError{At: -1, Text: "no place"}).Error())
	_, err := fstest.MapFS{}.Open("x")
	require.ErrorIs(t, err, fs.ErrNotExist)
}
