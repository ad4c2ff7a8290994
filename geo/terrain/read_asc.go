package terrain

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"strconv"
	"strings"

	"farhail/geo/grid"
)

// ascKeys are the header words of an Esri ASCII grid, in any case; dx and dy
// stand for cellsize where cells are not square (a habit of raster tools).
var ascKeys = map[string]bool{
	"ncols": true, "nrows": true, "cellsize": true, "dx": true, "dy": true, "nodata_value": true,
	"xllcorner": true, "xllcenter": true, "yllcorner": true, "yllcenter": true,
}

// looksASC reports whether a file begins with a header word.
func looksASC(start []byte) bool {
	fields := strings.Fields(strings.TrimPrefix(string(start), bom))
	return len(fields) > 0 && ascKeys[strings.ToLower(fields[0])]
}

const bom = "\ufeff"

// asc is an Esri ASCII grid: a header of words and numbers, then the heights
// row by row from the north-west.
type asc struct {
	src      *source
	h        header
	body     place // where the heights begin
	noData   float64
	declared bool
}

func openASC(fsys fs.FS, s *source) (raster, error) {
	t := &asc{src: s}
	values, words, err := t.readHeader()
	if err != nil {
		return nil, err
	}
	f, err := ascFrame(s, values, words)
	if err != nil {
		return nil, err
	}
	// Every height takes a character and a blank.
	if int64(f.Cols) > s.size || int64(f.Rows) > s.size || int64(f.Cols)*int64(f.Rows) > (s.size+1)/2 {
		w := words["nrows"]
		return nil, w.fault(s.name, fmt.Sprintf("%d by %d heights cannot be in a file of %d bytes", f.Cols, f.Rows, s.size),
			"ncols or nrows is wrong, or the file was cut short")
	}
	t.h = header{file: s.name, kind: KindASCII, bytes: s.size, registration: "area", datum: notStated, scale: plainMetres}
	if words["xllcenter"].text != "" && words["yllcenter"].text != "" {
		t.h.registration = "point"
	}
	var note string
	if t.h.surface, note = surfaceFromName(s.name); note != "" {
		t.h.notes = append(t.h.notes, note)
	}
	t.noData, t.declared = values["nodata_value"], words["nodata_value"].text != ""
	if err := t.h.place(fsys, f); err != nil {
		return nil, err
	}
	if err := t.h.frame.Validate(); err != nil {
		return nil, words["ncols"].fault(s.name, err.Error(), "check the header's corner and cell size")
	}
	return t, nil
}

// readHeader reads the header's words and their numbers.
func (t *asc) readHeader() (map[string]float64, map[string]word, error) {
	values, words := map[string]float64{}, map[string]word{}
	sc := newScanner(t.src, place{line: 1, column: 1})
	for {
		key, err := sc.next()
		if err != nil {
			return nil, nil, t.ended(sc, key, err)
		}
		name := strings.ToLower(key.text)
		if !ascKeys[name] {
			if strings.ContainsAny(name[:1], "0123456789+-.") || name == "nan" {
				t.body = key.at
				return values, words, nil
			}
			return nil, nil, key.fault(t.src.name, fmt.Sprintf("unknown header word %q", key.text),
				"known are ncols, nrows, xllcorner or xllcenter, yllcorner or yllcenter, cellsize (or dx and dy), nodata_value")
		}
		if words[name].text != "" {
			return nil, nil, key.fault(t.src.name, fmt.Sprintf("%s stands twice", key.text), "keep one of them")
		}
		value, err := sc.next()
		if err != nil {
			return nil, nil, t.ended(sc, value, err)
		}
		v, err := strconv.ParseFloat(value.text, 64)
		if err != nil || name != "nodata_value" && (math.IsNaN(v) || math.IsInf(v, 0)) {
			return nil, nil, value.fault(t.src.name, fmt.Sprintf("%s is %q, not a number", key.text, value.text), numberHelp(value.text))
		}
		values[name], words[name] = v, value
	}
}

// ascFrame makes the frame that a header describes, without its CRS.
func ascFrame(s *source, values map[string]float64, words map[string]word) (grid.Frame, error) {
	var f grid.Frame
	missing := func(what string) error {
		return word{at: place{line: 1, column: 1}}.fault(s.name, "the header has no "+what, "add it; the file may have been cut")
	}
	for key, n := range map[string]*int{"ncols": &f.Cols, "nrows": &f.Rows} {
		w := words[key]
		if w.text == "" {
			return f, missing("ncols or nrows")
		}
		if v := values[key]; v != math.Trunc(v) || v < 1 || v > 1e7 {
			return f, w.fault(s.name, fmt.Sprintf("%s is %q, not a count", key, w.text), "give a whole number above 0")
		}
		*n = int(values[key])
	}
	f.DX, f.DY = values["cellsize"], values["cellsize"]
	if words["cellsize"].text == "" {
		f.DX, f.DY = values["dx"], values["dy"]
	}
	if f.DX <= 0 || f.DY <= 0 {
		return f, missing("cell size above 0 (cellsize, or dx and dy)")
	}
	// Corner and centre may be mixed.
	switch {
	case words["xllcenter"].text != "":
		f.X0 = values["xllcenter"]
	case words["xllcorner"].text != "":
		f.X0 = values["xllcorner"] + f.DX/2
	default:
		return f, missing("xllcorner or xllcenter")
	}
	switch {
	case words["yllcenter"].text != "":
		f.Y0 = values["yllcenter"]
	case words["yllcorner"].text != "":
		f.Y0 = values["yllcorner"] + f.DY/2
	default:
		return f, missing("yllcorner or yllcenter")
	}
	f.Y0 += float64(f.Rows-1) * f.DY
	return f, nil
}

// place gives the header its frame with the coordinates named in a .prj file
// beside the grid, else longitude and latitude where the numbers can be that.
func (h *header) place(fsys fs.FS, f grid.Frame) error {
	prj := strings.TrimSuffix(h.file, path.Ext(h.file)) + ".prj"
	text, err := readSmall(fsys, prj)
	switch {
	case err == nil:
		crs, note, ok := crsFromWKT(text)
		if !ok {
			return unsupported(prj, warpHelp(h.file), "neither WGS84 longitude and latitude nor a UTM zone")
		}
		f.CRS = crs
		if note != "" {
			h.notes = append(h.notes, note)
		}
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("reading %s: %w", prj, err)
	case math.Abs(f.X0) > 360 || math.Abs(f.Y0) > 90 || f.DX > 1:
		return unsupported(h.file, "run: gdal_translate -a_srs EPSG:326ZZ "+h.file+" out.tif (ZZ the zone, 327ZZ in the south)",
			"the grid is in metres and names no UTM zone")
	default:
		h.notes = append(h.notes, "the file names no coordinates; taken as WGS84 longitude and latitude")
	}
	h.frame = f
	return nil
}

// readSmall reads a file of at most 64 KiB.
func readSmall(fsys fs.FS, name string) (string, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return "", err
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, 64<<10))
	return string(b), err
}

func (t *asc) head() *header { return &t.h }

func (t *asc) read(w window, put func(col, row int, z []float32)) (int, error) {
	sc := newScanner(t.src, t.body)
	z := make([]float32, t.h.frame.Cols)
	undeclared := 0
	for row := range t.h.frame.Rows {
		wanted := row >= w.row0 && row < w.row1
		for i := range z {
			value, err := sc.next()
			if err != nil {
				return 0, t.ended(sc, value, err)
			}
			v, ok := number(value.raw)
			if !ok {
				return 0, value.fault(t.src.name, fmt.Sprintf("%q is not a height", value.raw), numberHelp(string(value.raw)))
			}
			z[i] = float32(v)
			if t.declared && v == t.noData || math.IsNaN(v) {
				z[i] = float32(math.NaN())
			} else if isFill(v, z[i]) {
				z[i] = float32(math.NaN())
				if wanted && i >= w.col0 && i < w.col1 {
					undeclared++
				}
			}
		}
		if wanted {
			put(w.col0, row, z[w.col0:w.col1])
		}
	}
	if extra, err := sc.next(); err != io.EOF {
		return 0, extra.fault(t.src.name, "more heights than ncols times nrows", "ncols or nrows is wrong")
	}
	return undeclared, nil
}

// ended turns the scanner's error into one of the file.
func (t *asc) ended(sc *scanner, w word, err error) error {
	switch {
	case errors.Is(err, io.EOF):
		return word{at: sc.at}.fault(t.src.name, "the file ends before the last height", "it was cut short; fetch it again")
	case errors.Is(err, errLongWord):
		return w.fault(t.src.name, "a word is longer than any number", "this is no Esri ASCII grid")
	}
	return fmt.Errorf("reading %s: %w", t.src.name, err)
}
