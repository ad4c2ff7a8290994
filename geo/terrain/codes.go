package terrain

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"

	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// Codes is a grid of numbers that stand for classes, such as a GeoTIFF of ground
// cover holds. They are no heights: nothing is ever interpolated between them.
type Codes struct {
	File string
	CRS  string // such as "EPSG:3035"

	cols, rows     int
	x0, y0, dx, dy float64 // of the north-west cell's centre, in the file's coordinates
	place          func(orb.Point) (x, y float64)
	areaM2         func(row int) float64 // of a cell
	code           []uint16              // 0: none
}

// LoadCodes reads the codes of a GeoTIFF, from 1 to 65535; 0 and no-data are
// none. With a box only the cells in it and one around are kept; the zero box
// means everything. Besides longitude and latitude and UTM the coordinates may be
// ETRS89 / LAEA Europe (EPSG:3035), in which European land cover is published. A
// raster that farhail wrote, one in metres of something and one with fractions
// are refused. Errors are *FileError, or wrap those of fsys; that of a box
// without cells wraps ErrOutside.
func LoadCodes(fsys fs.FS, name string, box orb.Bound) (*Codes, error) {
	s, err := openSource(context.Background(), fsys, name)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	start := make([]byte, 4)
	if _, err := s.ReadAt(start, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if !bytes.HasPrefix(start, []byte("II")) && !bytes.HasPrefix(start, []byte("MM")) {
		return nil, &FileError{File: name, At: 0, Kind: ErrUnsupported, Text: "not a GeoTIFF of classes",
			Help: "classes of ground cover are read from GeoTIFF; gdal_translate turns other formats into it"}
	}
	t, err := newTIFF(s, true)
	if err != nil {
		return nil, err
	}
	c, w := codesOf(t), whole(t.h.frame)
	if box != (orb.Bound{}) {
		if w = c.window(box); w.empty() {
			return nil, &FileError{File: name, At: -1, Kind: ErrOutside, Text: "no cells in the area asked for", Help: "give the file of that area"}
		}
	}
	if n := w.cells(); n > MaxCells || n > anyRoom && n > s.size*maxPacking {
		return nil, &FileError{File: name, At: -1, Kind: ErrTooLarge, Text: fmt.Sprintf("%d cells from a file of %d bytes", n, s.size), Help: "cut the file to the area: gdal_translate -projwin"}
	}
	return c, c.read(t, w)
}

func codesOf(t *tiff) *Codes {
	f := t.h.frame
	c := &Codes{File: t.h.file, CRS: f.CRS.String(), x0: f.X0, y0: f.Y0, dx: f.DX, dy: f.DY, cols: f.Cols, rows: f.Rows}
	if t.europe {
		c.CRS, c.place = "EPSG:3035", earth.EuropeLAEA().Forward
		c.areaM2 = func(int) float64 { return f.DX * f.DY } // equal areas
		return c
	}
	c.place = func(p orb.Point) (x, y float64) { return f.XY(f.Cell(p)) }
	c.areaM2 = f.AreaM2
	return c
}

// window returns the cells around a box of longitude and latitude, whose sides
// may be curved in the file's coordinates.
func (c *Codes) window(box orb.Bound) window {
	const steps = 16
	west, east, north, south := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := range steps + 1 {
		u := float64(i) / steps
		lon, lat := box.Min.Lon()+u*(box.Max.Lon()-box.Min.Lon()), box.Min.Lat()+u*(box.Max.Lat()-box.Min.Lat())
		for _, p := range []orb.Point{{lon, box.Min.Lat()}, {lon, box.Max.Lat()}, {box.Min.Lon(), lat}, {box.Max.Lon(), lat}} {
			x, y := c.place(p)
			col, row := (x-c.x0)/c.dx, (c.y0-y)/c.dy
			west, east, north, south = min(west, col), max(east, col), min(north, row), max(south, row)
		}
	}
	if !(west < 1e9 && east > -1e9 && north < 1e9 && south > -1e9) {
		return window{}
	}
	// A side bends by less than a cell between two of its steps unless the box is
	// of hundreds of kilometres; two are for that.
	const around = 3
	clip := func(v float64, n int) int { return int(min(max(v, 0), float64(n))) }
	return window{clip(west-around, c.cols), clip(north-around, c.rows), clip(east+around, c.cols), clip(south+around, c.rows)}
}

// read takes the codes of a window.
func (c *Codes) read(t *tiff, w window) error {
	c.code = make([]uint16, w.cells())
	areaM2 := c.areaM2
	c.areaM2 = func(row int) float64 { return areaM2(row + w.row0) }
	c.x0, c.y0 = c.x0+float64(w.col0)*c.dx, c.y0-float64(w.row0)*c.dy
	c.cols, c.rows = w.col1-w.col0, w.row1-w.row0
	var wrong float32
	_, err := t.read(w, func(col, row int, z []float32) {
		at := (row-w.row0)*c.cols + col - w.col0
		for i, v := range z {
			switch {
			case v != v:
			case v < 0 || v > math.MaxUint16 || v != float32(uint16(v)):
				wrong = v
			default:
				c.code[at+i] = uint16(v)
			}
		}
	})
	if err == nil && wrong != 0 {
		err = &FileError{File: c.File, At: -1, Kind: ErrUnsupported, Text: fmt.Sprintf("a cell holds %g, which is no code of a class", wrong), Help: "is this a file of heights? give it with --terrain"}
	}
	return err
}

// At returns the code of the cell that a position lies in, 0 for none and
// outside.
func (c *Codes) At(p orb.Point) int {
	x, y := c.place(p)
	col, row := math.Round((x-c.x0)/c.dx), math.Round((c.y0-y)/c.dy)
	if !(col >= 0 && row >= 0 && col < float64(c.cols) && row < float64(c.rows)) {
		return 0
	}
	return int(c.code[int(row)*c.cols+int(col)])
}

// CodeArea is how much ground bears a code.
type CodeArea struct {
	Code, Cells int
	AreaM2      float64
}

// Areas returns the codes of the grid with their ground, by code; 0 is the
// ground without one.
func (c *Codes) Areas() []CodeArea {
	sums := map[int]*CodeArea{}
	for row := range c.rows {
		m2 := c.areaM2(row)
		for _, code := range c.code[row*c.cols : (row+1)*c.cols] {
			a := sums[int(code)]
			if a == nil {
				a = &CodeArea{Code: int(code)}
				sums[int(code)] = a
			}
			a.Cells++
			a.AreaM2 += m2
		}
	}
	var list []CodeArea
	for _, a := range sums {
		list = append(list, *a)
	}
	slices.SortFunc(list, func(a, b CodeArea) int { return cmp.Compare(a.Code, b.Code) })
	return list
}
