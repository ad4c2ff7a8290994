package terrain

import (
	"fmt"
	"io/fs"
	"math"
	"strconv"
	"strings"
)

// Compression schemes (TIFF 6.0, its Technical Note 2, and the registry).
const (
	packNone       = 1
	packLZW        = 5
	packDeflate    = 8
	packBits       = 32773
	packOldDeflate = 32946
	packZstd       = 50000
)

var packNames = map[int64]string{
	2: "CCITT", 3: "CCITT", 4: "CCITT", 6: "JPEG", 7: "JPEG", 34712: "JPEG 2000", 34887: "LERC", 34925: "LZMA",
	50001: "WebP", 50002: "JPEG XL",
}

// photometricPalette marks cells that are numbers of colours (TIFF 6.0 p. 37).
const photometricPalette = 3

// Sample formats (TIFF 6.0 p. 80).
const (
	formatUint  = 1
	formatInt   = 2
	formatFloat = 3
)

// tiff is a GeoTIFF with one band of heights.
type tiff struct {
	dir            *directory
	h              header
	pack           int64
	predictor      int64
	kind           sampleKind
	blockW, blockH int
	across, blocks int    // blocks beside each other, in all
	offsets, sizes uint16 // the tags that tell where they lie
	index          blockIndex
	noData         float64 // as a sample holds it
	declared       bool
	codes          bool // of classes are wanted, not heights
	europe         bool // the place is of EPSG:3035, which only codes may be
}

func openTIFF(fsys fs.FS, s *source) (raster, error) {
	// A mask may lie in a file beside (GDAL's GeoTIFF driver).
	if _, err := fs.Stat(fsys, s.name+".msk"); err == nil {
		return nil, masked(s.name)
	}
	t, err := newTIFF(s, false)
	if err != nil {
		return nil, err
	}
	return t, nil
}

// newTIFF reads what a file says of its cells: heights, or codes of classes.
func newTIFF(s *source, codes bool) (*tiff, error) {
	d, images, err := readDirectory(s)
	if err != nil {
		return nil, err
	}
	if d.masked {
		return nil, masked(s.name)
	}
	t := &tiff{dir: d, codes: codes, h: header{file: s.name, kind: KindGeoTIFF, bytes: s.size}}
	if images > 1 {
		t.h.notes = append(t.h.notes, fmt.Sprintf("the file holds %d images; the first is read", images))
	}
	var note string
	if t.h.surface, note = surfaceFromName(s.name); note != "" {
		t.h.notes = append(t.h.notes, note)
	}
	for _, step := range []func() error{t.readLayout, t.readBlocks, t.readPlace, t.readValues} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// masked returns the error for a file whose cells count only where a mask says so.
func masked(name string) error {
	return unsupported(name, "run: gdalwarp -dstnodata -32768 "+name+" out.tif", "a mask tells which cells count, and masks are not read")
}

// readLayout reads how samples are stored.
func (t *tiff) readLayout() error {
	name := t.dir.src.name
	var width, length, bands, fill, colours int64
	for _, v := range []struct {
		tag    uint16
		absent int64
		to     *int64
	}{
		{tagImageWidth, 0, &width}, {tagImageLength, 0, &length}, {tagSamplesPerPixel, 1, &bands}, {tagFillOrder, 1, &fill},
		{tagPhotometric, 1, &colours},
		{tagBitsPerSample, 1, &t.kind.bits}, {tagSampleFormat, formatUint, &t.kind.format},
		{tagCompression, packNone, &t.pack}, {tagPredictor, 1, &t.predictor},
	} {
		var err error
		if *v.to, err = t.dir.one(v.tag, v.absent); err != nil {
			return err
		}
	}
	if width < 1 || length < 1 || width > 1<<24 || length > 1<<24 {
		return malformed(name, t.dir.at, "an image of %d by %d cells", width, length)
	}
	t.h.frame.Cols, t.h.frame.Rows = int(width), int(length)
	switch {
	case bands != 1:
		return notHeights(name, "run: gdal_translate -b 1 "+name+" out.tif", "%d bands; heights have one", bands)
	case colours == photometricPalette && !t.codes:
		return notHeights(name, "give a file of heights", "its cells are colours of a palette, not heights")
	case t.kind.bits == 8:
		t.h.doubt = "its cells are of 8 bits, which mostly hold classes or a picture"
	}
	if !sampleKinds[t.kind] {
		return unsupported(name, "run: gdal_translate -ot Float32 "+name+" out.tif", "samples are %v", t.kind)
	}
	repack := "run: gdal_translate -co COMPRESS=DEFLATE " + name + " out.tif"
	switch t.pack {
	case packNone, packLZW, packDeflate, packOldDeflate, packBits, packZstd:
	default:
		if packNames[t.pack] != "" {
			return unsupported(name, repack, "%s compression is not read", packNames[t.pack])
		}
		return unsupported(name, repack, "compression scheme %d is not read", t.pack)
	}
	switch {
	case t.pack == packNone || t.pack == packBits:
		t.predictor = 1 // a predictor belongs to LZW, deflate and zstd
	case t.predictor < 1 || t.predictor > 3 || t.predictor == 3 && t.kind.format != formatFloat:
		return unsupported(name, repack, "predictor %d with samples of %v is not read", t.predictor, t.kind)
	}
	if fill != 1 {
		return unsupported(name, repack, "fill order %d (bits turned round in each byte) is not read", fill)
	}
	return nil
}

// readBlocks reads how the grid is cut into strips or tiles, and checks that
// there are lists of where they lie.
func (t *tiff) readBlocks() error {
	name, f := t.dir.src.name, t.h.frame
	t.offsets, t.sizes = tagStripOffsets, tagStripByteCounts
	w, h := int64(f.Cols), int64(f.Rows)
	var err error
	if _, tiled := t.dir.fields[tagTileWidth]; tiled {
		t.offsets, t.sizes = tagTileOffsets, tagTileByteCounts
		if w, err = t.dir.one(tagTileWidth, 0); err != nil {
			return err
		}
		if h, err = t.dir.one(tagTileLength, 0); err != nil {
			return err
		}
	} else if h, err = t.dir.one(tagRowsPerStrip, h); err != nil {
		return err
	} else {
		h = min(h, int64(f.Rows)) // 2^32 - 1 means one strip
	}
	if w < 1 || h < 1 || w > 1<<24 || h > 1<<24 {
		return malformed(name, t.dir.at, "%ss of %d by %d cells", t.blockWord(), w, h)
	}
	if w*t.kind.bits/8 > maxStride {
		return &FileError{File: name, At: t.dir.at, Kind: ErrTooLarge, Text: fmt.Sprintf("%ss of %d cells in a row; at most %d bytes are taken", t.blockWord(), w, maxStride),
			Help: "run: gdal_translate -co TILED=YES -co COMPRESS=DEFLATE " + name + " out.tif"}
	}
	t.blockW, t.blockH = int(w), int(h)
	across, down := (int64(f.Cols)+w-1)/w, (int64(f.Rows)+h-1)/h
	for _, tag := range []uint16{t.offsets, t.sizes} {
		if listed := t.dir.fields[tag].count; listed < across*down {
			return malformed(name, t.dir.at, "%d %ss are listed, %d needed", listed, t.blockWord(), across*down)
		}
	}
	t.across, t.blocks = int(across), int(across*down)
	return nil
}

// readPlace reads where the cells lie.
func (t *tiff) readPlace() error {
	name := t.dir.src.name
	keys, err := t.dir.geoKeys()
	if err != nil {
		return err
	}
	crs, note, ok := keys.crs()
	if t.codes && !ok {
		t.europe = keys.europe()
	}
	if !ok && !t.europe {
		if len(keys) == 0 {
			return unsupported(name, "run: gdal_translate -a_srs EPSG:4326 -a_ullr WEST NORTH EAST SOUTH "+name+" out.tif", "the TIFF does not say where it lies")
		}
		return unsupported(name, warpHelp(name), "coordinates that are neither WGS84 longitude and latitude nor a UTM zone%s", keys.named())
	}
	if note != "" {
		t.h.notes = append(t.h.notes, note)
	}
	x, y, dx, dy, err := t.corner()
	if err != nil {
		return err
	}
	f := &t.h.frame
	f.CRS, f.DX, f.DY = crs, dx, dy
	t.h.registration = "area"
	f.X0, f.Y0 = x+dx/2, y-dy/2
	// Raster space counts from the cell's corner where a cell is an area, from
	// its centre where it is a point (GeoTIFF 1.1, section 7.1.2).
	switch keys.number(keyRasterType) {
	case 1:
	case 2:
		t.h.registration = "point"
		f.X0, f.Y0 = x, y
	default:
		t.h.notes = append(t.h.notes, "the file does not say whether its place is that of a cell's corner or centre; taken as the corner")
	}
	sound := *f
	if t.europe {
		sound.CRS.Zone = 32 // metres of about the same range
	}
	if err := sound.Validate(); err != nil {
		return malformed(name, t.dir.at, "%v", err)
	}
	if t.h.datum, t.h.scale, err = keys.datumAndUnit(name); err != nil {
		return err
	}
	return nil
}

// named returns what the keys call the coordinates, for a message.
func (k geoKeys) named() string {
	for _, id := range []int64{keyProjectedType, keyGeographicType} {
		if c := k.code(id); c != 0 {
			return fmt.Sprintf(" (EPSG:%d)", c)
		}
	}
	for _, id := range []int64{keyPCSCitation, keyCitation, keyGeogCitation} {
		if s, ok := k[id].(string); ok && s != "" {
			return fmt.Sprintf(" (%.60q)", s)
		}
	}
	return ""
}

// corner returns the coordinates of raster place (0, 0) and the cell size.
func (t *tiff) corner() (x, y, dx, dy float64, err error) {
	name := t.dir.src.name
	rotated := func() error { return unsupported(name, warpHelp(name), "the grid is rotated or not north-up") }
	m, err := t.dir.floats(tagTransformation)
	if err != nil {
		return 0, 0, 0, 0, err
	}
	if m != nil {
		if len(m) != 16 {
			return 0, 0, 0, 0, malformed(name, t.dir.fields[tagTransformation].at, "the transformation has %d numbers, not 16", len(m))
		}
		if m[1] != 0 || m[4] != 0 || m[0] <= 0 || m[5] >= 0 {
			return 0, 0, 0, 0, rotated()
		}
		return m[3], m[7], m[0], -m[5], nil
	}
	scale, err := t.dir.floats(tagPixelScale)
	if err != nil {
		return 0, 0, 0, 0, err
	}
	tie, err := t.dir.floats(tagTiepoint)
	if err != nil {
		return 0, 0, 0, 0, err
	}
	switch {
	case len(scale) < 2 || len(tie) < 6:
		return 0, 0, 0, 0, unsupported(name, warpHelp(name), "the TIFF gives no corner and cell size")
	case len(tie) > 6:
		return 0, 0, 0, 0, unsupported(name, warpHelp(name), "several tie points")
	case scale[0] <= 0 || scale[1] <= 0:
		return 0, 0, 0, 0, rotated()
	}
	return tie[3] - tie[0]*scale[0], tie[4] + tie[1]*scale[1], scale[0], scale[1], nil
}

// readValues reads what the stored numbers mean.
func (t *tiff) readValues() error {
	name := t.dir.src.name
	text, err := t.dir.text(tagGDALMetadata)
	if err != nil {
		return err
	}
	if err := t.h.applyMetadata(text); err != nil {
		return err
	}
	if text, err = t.dir.text(tagGDALNoData); err != nil {
		return err
	}
	if text = strings.TrimSpace(text); text == "" {
		return nil
	}
	var ok bool
	if t.noData, ok = parseNoData(text); !ok {
		return unsupported(name, "run: gdal_translate -a_nodata -32768 "+name+" out.tif", "the no-data value %.40q is not a number", text)
	}
	t.noData, t.declared = t.kind.as(t.noData), true
	return nil
}

// parseNoData reads the text of GDAL_NODATA. Besides numbers it holds what C
// libraries print for NaN and the infinities: nan, -nan, nan(ind), 1.#QNAN,
// -1.#IND, inf, 1.#INF. A number beyond float64 is an infinity.
func parseNoData(text string) (v float64, ok bool) {
	v, err := strconv.ParseFloat(text, 64)
	if err == nil || math.IsInf(v, 0) {
		return v, true
	}
	word, negative := strings.CutPrefix(strings.ToLower(text), "-")
	switch {
	case strings.HasPrefix(word, "nan"), strings.HasPrefix(word, "1.#qnan"), strings.HasPrefix(word, "1.#snan"), strings.HasPrefix(word, "1.#ind"):
		return math.NaN(), true
	case strings.HasPrefix(word, "1.#inf") && negative:
		return math.Inf(-1), true
	case strings.HasPrefix(word, "1.#inf"):
		return math.Inf(1), true
	}
	return 0, false
}

func (t *tiff) head() *header { return &t.h }

func (t *tiff) read(w window, put func(col, row int, z []float32)) (int, error) {
	b := newBlock(t)
	z := make([]float32, min(t.blockW, w.col1-w.col0))
	undeclared := 0
	for by := w.row0 / t.blockH; by*t.blockH < w.row1; by++ {
		for bx := w.col0 / t.blockW; bx*t.blockW < w.col1; bx++ {
			in := window{bx * t.blockW, by * t.blockH, (bx + 1) * t.blockW, (by + 1) * t.blockH}.meet(w)
			// A strip at the lower edge holds fewer rows; tiles are always whole.
			rows := t.blockH
			if t.offsets == tagStripOffsets {
				rows = min(rows, t.h.frame.Rows-by*t.blockH)
			}
			if err := b.open(by*t.across+bx, rows, in.row0-by*t.blockH, in.row1-in.row0); err != nil {
				return 0, err
			}
			for row := in.row0; row < in.row1; row++ {
				if err := b.next(); err != nil {
					return 0, err
				}
				line := z[:in.col1-in.col0]
				undeclared += b.heights(line, in.col0-bx*t.blockW)
				put(in.col0, row, line)
			}
		}
	}
	return undeclared, nil
}

// String names a kind of sample for a message.
func (k sampleKind) String() string {
	word := map[int64]string{formatUint: "unsigned whole numbers", formatInt: "whole numbers", formatFloat: "floating-point numbers",
		5: "complex whole numbers", 6: "complex numbers"}[k.format]
	if word == "" {
		word = fmt.Sprintf("numbers of format %d", k.format)
	}
	return fmt.Sprintf("%s of %d bits", word, k.bits)
}
