package terrain

import (
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestASCHeaders(t *testing.T) {
	lonLat := grid.Frame{X0: 10.05, Y0: 50.15, DX: 0.1, DY: 0.1, Cols: 3, Rows: 2}
	const heights = "\n1 2 3\n4 5 6\n"
	cases := []struct {
		name, header string
		want         grid.Frame
	}{
		{"corner", "ncols 3\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1", lonLat},
		{"centre", "ncols 3\nnrows 2\nxllcenter 10.05\nyllcenter 50.05\ncellsize 0.1", lonLat},
		{"corner and centre mixed", "ncols 3\nnrows 2\nxllcorner 10\nyllcenter 50.05\ncellsize 0.1", lonLat},
		{"capitals, any order, tabs", "CELLSIZE\t0.1\nNROWS 2\nNCOLS 3\nYLLCORNER 50\nXLLCORNER 10\nNODATA_VALUE -1", lonLat},
		{"carriage returns", "ncols 3\r\nnrows 2\r\nxllcorner 10\r\nyllcorner 50\r\ncellsize 0.1\r", lonLat},
		{"byte order mark", "\ufeffncols 3\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1", lonLat},
		{"one line", "ncols 3 nrows 2 xllcorner 10 yllcorner 50 cellsize 1e-1", lonLat},
		{"dx and dy", "ncols 3\nnrows 2\nxllcorner 10\nyllcorner 50\ndx 0.1\ndy 0.2",
			grid.Frame{X0: 10.05, Y0: 50.3, DX: 0.1, DY: 0.2, Cols: 3, Rows: 2}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := loadOne("a.asc", []byte(c.header+heights))
			require.NoError(t, err)
			assert.InDelta(t, c.want.X0, got.X0, 1e-12)
			assert.InDelta(t, c.want.Y0, got.Y0, 1e-12)
			got.X0, got.Y0 = c.want.X0, c.want.Y0
			assert.Equal(t, c.want, got.Frame)
			equalHeights(t, []float64{1, 2, 3, 4, 5, 6}, got.Z)
			assert.Equal(t, KindASCII, got.Info.Kind)
			assert.Contains(t, got.Info.Notes[0], "WGS84", "an assumption is told")
		})
	}
}

func TestASCValues(t *testing.T) {
	head := "ncols 4\nnrows 1\nxllcorner 10\nyllcorner 50\ncellsize 0.1\n"
	cases := []struct {
		name, noData, values string
		want                 []float64
		undeclared           int
	}{
		{"plain", "", "1 -2 3.5 4e2", []float64{1, -2, 3.5, 400}, 0},
		{"no newline at the end, many blanks", "", "1\t \n2\n\n3   4", []float64{1, 2, 3, 4}, 0},
		{"declared", "nodata_value -1\n", "1 -1 -1.0 4", []float64{1, nan, nan, 4}, 0},
		{"the format's default is a void", "", "1 -9999 3 4", []float64{1, nan, 3, 4}, 1},
		{"nan", "NODATA_value nan\n", "1 nan NaN 4", []float64{1, nan, nan, 4}, 0},
		{"another fill", "nodata_value 0\n", "0 -32768 3 4", []float64{nan, nan, 3, 4}, 1},
		{"long numbers", "", "1234567.125e-3 0000000000000000012 -0 -0.5", []float64{1234.567125, 12, 0, -0.5}, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := loadOne("a.asc", []byte(head+c.noData+c.values))
			require.NoError(t, err)
			equalHeights(t, c.want, got.Z)
			assert.Equal(t, c.undeclared, got.Info.Undeclared)
		})
	}
}

func TestASCFaults(t *testing.T) {
	const good = "ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1\n1 2\n3 4\n"
	swap := func(old, new string) string { return strings.Replace(good, old, new, 1) }
	cases := []struct {
		name, text   string
		line, column int
		word, says   string
	}{
		{"a letter", swap("3 4", "3 x"), 7, 3, "x", "not a height"},
		{"a decimal comma", swap("1 2", "1,5 2"), 6, 1, "1,5", "not a height"},
		{"comma in the header", swap("0.1", "0,1"), 5, 10, "0,1", "not a number"},
		{"an umlaut, counted as one character", swap("1 2", "ü1 x"), 6, 1, "ü1", ""},
		{"unknown word", swap("cellsize", "zellgroesse"), 5, 1, "zellgroesse", "unknown header word"},
		{"twice", swap("nrows 2", "ncols 2"), 2, 1, "ncols", "twice"},
		{"no columns", swap("ncols 2\n", ""), 1, 1, "", "no ncols"},
		{"no corner", swap("xllcorner 10\n", ""), 1, 1, "", "no xllcorner"},
		{"no size", swap("cellsize 0.1\n", ""), 1, 1, "", "cell size"},
		{"half a column", swap("ncols 2", "ncols 1.5"), 1, 7, "1.5", "not a count"},
		{"minus rows", swap("nrows 2", "nrows -2"), 2, 7, "-2", "not a count"},
		{"more than the file can hold", swap("ncols 2", "ncols 9999999"), 2, 7, "2", "cannot be in a file"},
		{"too few", swap("3 4\n", "3\n"), 8, 1, "", "ends before"},
		{"too many", good + "5", 8, 1, "5", "more heights"},
		{"only a header word", "ncols", 1, 6, "", "ends before"},
		{"a word without end", swap("3 4", "3 "+strings.Repeat("4", 100)), 7, 3, "", "longer than any number"},
		{"off the Earth", swap("yllcorner 50", "yllcorner 89.9"), 0, 0, "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := loadOne("a.asc", []byte(c.text))
			require.Error(t, err)
			if c.line == 0 {
				return
			}
			var e *TextError
			require.ErrorAs(t, err, &e)
			file, line, column := e.Where()
			assert.Equal(t, "a.asc", file)
			assert.Equal(t, [2]int{c.line, c.column}, [2]int{line, column}, "%v", err)
			assert.ErrorContains(t, err, c.says)
			if c.word != "" {
				assert.Equal(t, c.word, e.Offending())
			}
			require.ErrorIs(t, err, ErrFormat)
			assert.ErrorContains(t, err, fmt.Sprintf("a.asc:%d:%d: ", c.line, c.column))
		})
	}
	_, err := loadOne("a.asc", []byte(swap("1 2", "1,5 2")))
	assert.Contains(t, hintOf(t, err), "decimal sign")
}

// TestASCCoordinates: a .prj file beside the grid names its coordinates.
func TestASCCoordinates(t *testing.T) {
	grids := map[string]string{
		"metres":  "ncols 1\nnrows 1\nxllcorner 400000\nyllcorner 4700000\ncellsize 30\n7\n",
		"degrees": "ncols 1\nnrows 1\nxllcorner 10\nyllcorner 50\ncellsize 0.1\n7\n",
	}
	cases := []struct {
		name, grid, prj string
		want            grid.CRS
		ok              bool
	}{
		{"nothing said, degrees", "degrees", "", grid.CRS{}, true},
		{"nothing said, metres", "metres", "", grid.CRS{}, false},
		// The words that Esri's and GDAL's writers use.
		{"Esri UTM", "metres", `PROJCS["WGS_1984_UTM_Zone_31N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984"]]]`, grid.CRS{Zone: 31}, true},
		{"WKT UTM south", "metres", `PROJCS["WGS 84 / UTM zone 19S",GEOGCS["WGS 84"]]`, grid.CRS{Zone: 19, South: true}, true},
		{"WKT 2", "metres", `PROJCRS["WGS 84 / UTM zone 31N",BASEGEOGCRS["WGS 84"]]`, grid.CRS{Zone: 31}, true},
		{"ETRS89", "metres", `PROJCS["ETRS_1989_UTM_Zone_32N",GEOGCS["GCS_ETRS_1989"]]`, grid.CRS{Zone: 32}, true},
		{"NAD83", "metres", `PROJCS["NAD83 / UTM zone 13N",GEOGCS["NAD83"]]`, grid.CRS{Zone: 13}, true},
		{"geographic", "degrees", `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984"]]`, grid.CRS{}, true},
		{"another projection", "metres", `PROJCS["RGF93 / Lambert-93",GEOGCS["RGF93"]]`, grid.CRS{}, false},
		{"another datum's zone", "metres", `PROJCS["ED50 / UTM zone 31N",GEOGCS["ED50"]]`, grid.CRS{}, false},
		{"no such zone", "metres", `PROJCS["WGS 84 / UTM zone 61N",GEOGCS["WGS 84"]]`, grid.CRS{}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			list := map[string][]byte{"dem/a.asc": []byte(grids[c.grid])}
			if c.prj != "" {
				list["dem/a.prj"] = []byte(c.prj)
			}
			// By the folder: the .prj file in it is passed over.
			got, err := Load(files(list), []string{"dem"}, everything)
			if !c.ok {
				require.ErrorIs(t, err, ErrUnsupported)
				assert.Contains(t, hintOf(t, err), "EPSG:326ZZ")
				return
			}
			require.NoError(t, err)
			assert.Equal(t, c.want, got.CRS)
			assert.Equal(t, 7.0, got.At(0, 0))
		})
	}
}

// TestASCUnreadable: a file system's error comes through.
func TestASCUnreadable(t *testing.T) {
	s := &source{ReaderAt: broken{}, name: "a.asc", size: 100}
	_, err := openASC(files(nil), s)
	require.ErrorIs(t, err, iotest.ErrTimeout)
	_, err = Load(files(nil), []string{"none.asc"}, everything)
	require.ErrorIs(t, err, fs.ErrNotExist)
}

type broken struct{}

func (broken) ReadAt([]byte, int64) (int, error) { return 0, iotest.ErrTimeout }

// FuzzASC: no panic, and a grid that is read is the same after it is written
// and read again.
func FuzzASC(f *testing.F) {
	f.Add("ncols 2\nnrows 2\nxllcorner 10\nyllcorner 50\ncellsize 0.1\n1 2\n3 -4.5e1\n")
	f.Add("NCOLS 1 NROWS 1 xllcenter 7 yllcenter -3 dx 0.5 dy .25 nodata_value 0\n0")
	f.Add("ncols 1\nnrows 1\nxllcorner 1\nyllcorner 1\ncellsize nan\n1")
	f.Add("\ufeffncols 3\r\nnrows 1\r\nxllcorner 0\r\nyllcorner 0\r\ncellsize 1\r\nnan -9999 1e300")
	f.Fuzz(func(t *testing.T, text string) {
		s := &source{ReaderAt: strings.NewReader(text), name: "a.asc", size: int64(len(text))}
		if !looksASC([]byte(text[:min(len(text), 512)])) {
			return
		}
		r, err := openASC(files(nil), s)
		if err != nil {
			return
		}
		first, err := readAll(r)
		if err != nil {
			return
		}
		fr := r.head().frame
		var b strings.Builder
		g := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
		fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcenter %s\nyllcenter %s\ndx %s\ndy %s\nnodata_value -9999\n",
			fr.Cols, fr.Rows, g(fr.X0), g(fr.Y0-float64(fr.Rows-1)*fr.DY), g(fr.DX), g(fr.DY))
		for _, z := range first {
			if z != z {
				z = -9999
			}
			b.WriteString(strconv.FormatFloat(float64(z), 'g', -1, 32) + " ")
		}
		again, err := openASC(files(nil), &source{ReaderAt: strings.NewReader(b.String()), name: "b.asc", size: int64(b.Len())})
		require.NoError(t, err, "%s", b.String())
		second, err := readAll(again)
		require.NoError(t, err)
		sameCells(t, first, second)
		require.InDelta(t, fr.Y0, again.head().frame.Y0, 1e-9*math.Max(1, math.Abs(fr.Y0)))
	})
}

// readAll reads all cells of a file.
func readAll(r raster) ([]float32, error) {
	f := r.head().frame
	z := make([]float32, f.Cols*f.Rows)
	_, err := r.read(whole(f), func(col, row int, line []float32) { copy(z[row*f.Cols+col:], line) })
	return z, err
}
