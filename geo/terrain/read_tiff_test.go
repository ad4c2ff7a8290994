package terrain

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"farhail/geo/grid"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var nan = math.NaN()

func TestTIFFSamples(t *testing.T) {
	cases := []struct {
		name         string
		format, bits uint16
		values, want []float64
	}{
		{"uint8", formatUint, 8, []float64{0, 1, 200, 255, 7, 8}, []float64{0, 1, 200, 255, 7, 8}},
		{"int8", formatInt, 8, []float64{0, -1, 100, -128, 7, 8}, []float64{0, -1, 100, -128, 7, 8}},
		{"uint16", formatUint, 16, []float64{0, 1, 200, 8848, 7, 9999}, []float64{0, 1, 200, 8848, 7, 9999}},
		{"int16", formatInt, 16, []float64{0, -400, 200, 8848, -32768, 8}, []float64{0, -400, 200, 8848, nan, 8}},
		{"uint32", formatUint, 32, []float64{0, 1, 200, 8848, 4294967295, 8}, []float64{0, 1, 200, 8848, nan, 8}},
		{"int32", formatInt, 32, []float64{0, -400, 200, 8848, -9999, 8}, []float64{0, -400, 200, 8848, nan, 8}},
		{"float32", formatFloat, 32, []float64{0.5, -400, nan, 8848, -3.4e38, 8}, []float64{0.5, -400, nan, 8848, nan, 8}},
		{"float64", formatFloat, 64, []float64{0.25, -400, nan, 8848, math.Inf(-1), 8}, []float64{0.25, -400, nan, 8848, nan, 8}},
	}
	for _, c := range cases {
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			for _, deflate := range []bool{false, true} {
				t.Run(fmt.Sprintf("%s %v deflate %v", c.name, order, deflate), func(t *testing.T) {
					spec := tiffSpec{order: order, big: deflate, cols: 3, rows: 2, format: c.format, bits: c.bits, values: c.values, deflate: deflate}
					got, err := loadOne("a.tif", spec.write(t))
					require.NoError(t, err)
					equalHeights(t, c.want, got.Z)
					assert.Equal(t, grid.Frame{X0: 10.05, Y0: 49.95, DX: 0.1, DY: 0.1, Cols: 3, Rows: 2}, got.Frame)
					assert.Equal(t, KindGeoTIFF, got.Info.Kind)
				})
			}
		}
	}
}

// TestTIFFNoData: every way to say that a cell has no height.
func TestTIFFNoData(t *testing.T) {
	cases := []struct {
		name, noData string
		format, bits uint16
		values, want []float64
		undeclared   int
	}{
		{"+32767 declared", "32767", formatInt, 16, []float64{1, 32767}, []float64{1, nan}, 0},
		{"-32767 declared, -32768 not", "-32767", formatInt, 16, []float64{-32767, -32768}, []float64{nan, nan}, 1},
		{"-32768 undeclared", "", formatInt, 16, []float64{1, -32768}, []float64{1, nan}, 1},
		{"0 declared", "0", formatInt, 16, []float64{0, 5}, []float64{nan, 5}, 0},
		{"decimal text", "-9999.0", formatInt, 16, []float64{-9999, 5}, []float64{nan, 5}, 0},
		{"nan", "nan", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"NaN undeclared", "", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"lowest float32, written as float64", "-3.40282346638528898e+38", formatFloat, 32, []float64{-math.MaxFloat32, 5}, []float64{nan, 5}, 0},
		{"a tenth, which float32 rounds", "-0.1", formatFloat, 32, []float64{-0.1, 5}, []float64{nan, 5}, 0},
		{"blanks around", " -1 ", formatInt, 16, []float64{-1, 5}, []float64{nan, 5}, 0},
		{"infinite", "-inf", formatFloat, 32, []float64{math.Inf(-1), 5}, []float64{nan, 5}, 0},
		// Words that C libraries print for numbers that are none.
		{"minus nan", "-nan", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"nan of another library", "-nan(ind)", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"old nan", "-1.#IND", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"old quiet nan", "1.#QNAN", formatFloat, 32, []float64{nan, 5}, []float64{nan, 5}, 0},
		{"old infinity", "-1.#INF", formatFloat, 32, []float64{math.Inf(-1), 5}, []float64{nan, 5}, 0},
		{"nan in a grid of whole numbers", "nan", formatInt, 16, []float64{0, 5}, []float64{0, 5}, 0},
		{"lowest float64 in a float32 grid", "-1.7976931348623157e+308", formatFloat, 32, []float64{math.Inf(-1), 5}, []float64{nan, 5}, 0},
		{"lowest float64", "-1.7976931348623157e+308", formatFloat, 64, []float64{-math.MaxFloat64, 5}, []float64{nan, 5}, 0},
		{"shortened lowest float32", "-3.40282e+38", formatFloat, 32, []float64{-math.MaxFloat32, 5}, []float64{nan, 5}, 1},
		{"beyond the sample", "-99999", formatInt, 16, []float64{-999, 5}, []float64{-999, 5}, 0},
		{"unsigned", "65535", formatUint, 16, []float64{65535, 5}, []float64{nan, 5}, 0},
		{"a sign", "+9000", formatInt, 16, []float64{9000, 5}, []float64{nan, 5}, 0},
	}
	for _, text := range []string{"none", "9999,0", "0x10p", "-", "--1", "1 2"} {
		_, err := loadOne("a.tif", tiffSpec{cols: 1, rows: 1, format: formatInt, bits: 16, values: []float64{1}, extra: []entry{{tagGDALNoData, text}}}.write(t))
		require.ErrorIs(t, err, ErrUnsupported, text)
		assert.Contains(t, hintOf(t, err), "a_nodata")
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			spec := tiffSpec{cols: 2, rows: 1, format: c.format, bits: c.bits, values: c.values}
			if c.noData != "" {
				spec.extra = []entry{{tagGDALNoData, c.noData}}
			}
			got, err := loadOne("a.tif", spec.write(t))
			require.NoError(t, err)
			equalHeights(t, c.want, got.Z)
			assert.Equal(t, c.undeclared, got.Info.Undeclared)
			if c.undeclared > 0 {
				assert.Contains(t, strings.Join(got.Info.Notes, "; "), "fill value")
			}
		})
	}
}

func TestTIFFScale(t *testing.T) {
	item := func(role, value string) string {
		return fmt.Sprintf(`<Item name="x" sample="0" role=%q>%s</Item>`, role, value)
	}
	cases := []struct {
		name, metadata string
		keys           []uint16 // further GeoTIFF keys
		want           float64  // of the stored 1000
		unit           string
	}{
		{"plain", "", nil, 1000, "m"},
		{"decimetres", item("scale", "0.1"), nil, 100, "m"},
		{"offset", item("offset", "-50") + item("scale", "2"), nil, 1950, "m"},
		{"unit in metadata", item("unittype", "ft"), nil, 304.8, "ft"},
		{"another band's", `<Item name="x" sample="1" role="scale">7</Item>`, nil, 1000, "m"},
		{"unrelated", `<Item name="DataType">Generic</Item>`, nil, 1000, "m"},
		// EPSG 9002 international foot, 9003 US survey foot.
		{"unit in keys", "", []uint16{keyVerticalUnits, 0, 1, 9002}, 304.8, "ft"},
		{"US survey feet", "", []uint16{keyVerticalUnits, 0, 1, 9003}, 1200000.0 / 3937, "ft"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			spec := tiffSpec{cols: 1, rows: 1, format: formatInt, bits: 16, values: []float64{1000}}
			if c.metadata != "" {
				spec.extra = append(spec.extra, entry{tagGDALMetadata, "<GDALMetadata>" + c.metadata + "</GDALMetadata>"})
			}
			if c.keys != nil {
				keys := append([]uint16{1, 1, 0, 3, keyModelType, 0, 1, 2, keyGeographicType, 0, 1, 4326}, c.keys...)
				spec.extra = append(spec.extra, entry{tagGeoKeys, keys})
			}
			got, err := loadOne("a.tif", spec.write(t))
			require.NoError(t, err)
			assert.InDelta(t, c.want, got.At(0, 0), 1e-4)
			assert.Equal(t, c.unit, got.Info.Unit)
		})
	}
}

// TestTIFFPlace: every way to say where the cells lie.
func TestTIFFPlace(t *testing.T) {
	keys := func(list ...uint16) entry {
		return entry{tagGeoKeys, append([]uint16{1, 1, 0, uint16(len(list) / 4)}, list...)}
	}
	utm := func(list ...uint16) []entry {
		return []entry{keys(append([]uint16{keyModelType, 0, 1, 1}, list...)...),
			{tagPixelScale, []float64{30, 30, 0}}, {tagTiepoint, []float64{0, 0, 0, 400000, 4700000, 0}}}
	}
	tm := func(lon, scale, falseNorth float64) []entry {
		return append(utm(keyGeographicType, 0, 1, 4326, keyProjectedType, 0, 1, userDefined, keyProjection, 0, 1, userDefined, keyTransformation, 0, 1, 1,
			keyNatOriginLon, tagGeoDoubles, 1, 0, keyNatOriginLat, tagGeoDoubles, 1, 1, keyScaleNatOrigin, tagGeoDoubles, 1, 2,
			keyFalseEasting, tagGeoDoubles, 1, 3, keyFalseNorthing, tagGeoDoubles, 1, 4),
			entry{tagGeoDoubles, []float64{lon, 0, scale, 500000, falseNorth}})
	}
	area := grid.Frame{X0: 400015, Y0: 4699985, DX: 30, DY: 30, Cols: 1, Rows: 1}
	zone := func(z int, south bool) grid.Frame {
		f := area
		f.CRS = grid.CRS{Zone: z, South: south}
		return f
	}
	lonLat := grid.Frame{X0: 10.05, Y0: 49.95, DX: 0.1, DY: 0.1, Cols: 1, Rows: 1}
	cases := []struct {
		name  string
		extra []entry
		want  grid.Frame
		err   error
		note  bool
	}{
		{"geographic, area", nil, lonLat, nil, false},
		{"geographic, point", []entry{keys(keyModelType, 0, 1, 2, keyRasterType, 0, 1, 2, keyGeographicType, 0, 1, 4326)},
			grid.Frame{X0: 10, Y0: 50, DX: 0.1, DY: 0.1, Cols: 1, Rows: 1}, nil, false},
		{"tie at another cell", []entry{{tagTiepoint, []float64{2, 3, 0, 10.2, 49.7, 0}}}, lonLat, nil, false},
		{"transformation", []entry{{tagPixelScale, nil}, {tagTiepoint, nil}, {tagTransformation, []float64{0.1, 0, 0, 10, 0, -0.1, 0, 50, 0, 0, 0, 0, 0, 0, 0, 1}}}, lonLat, nil, false},
		{"rotated", []entry{{tagTransformation, []float64{0.1, 0.01, 0, 10, 0.01, -0.1, 0, 50, 0, 0, 0, 0, 0, 0, 0, 1}}}, grid.Frame{}, ErrUnsupported, false},
		{"south up", []entry{{tagTransformation, []float64{0.1, 0, 0, 10, 0, 0.1, 0, 50, 0, 0, 0, 0, 0, 0, 0, 1}}}, grid.Frame{}, ErrUnsupported, false},
		{"transformation cut", []entry{{tagTransformation, []float64{0.1, 0, 0}}}, grid.Frame{}, ErrFormat, false},
		{"transformation of NaN", []entry{{tagPixelScale, []float64{nan, 0.1, 0}}}, grid.Frame{}, ErrFormat, false},
		{"no tie", []entry{{tagTiepoint, nil}}, grid.Frame{}, ErrUnsupported, false},
		{"no keys", []entry{{tagGeoKeys, nil}}, grid.Frame{}, ErrUnsupported, false},
		{"off the Earth", []entry{{tagTiepoint, []float64{0, 0, 0, 10, 5000, 0}}}, grid.Frame{}, ErrFormat, false},
		{"ETRS89", []entry{keys(keyModelType, 0, 1, 2, keyGeographicType, 0, 1, 4258)}, lonLat, nil, true},
		{"another datum", []entry{keys(keyModelType, 0, 1, 2, keyGeographicType, 0, 1, 4230)}, grid.Frame{}, ErrUnsupported, false},
		{"zone 31 north by code", utm(keyProjectedType, 0, 1, 32631), zone(31, false), nil, false},
		{"zone 25 south by code", utm(keyProjectedType, 0, 1, 32725), zone(25, true), nil, false},
		{"ETRS89 zone 32", utm(keyProjectedType, 0, 1, 25832), zone(32, false), nil, true},
		{"NAD83 zone 11", utm(keyProjectedType, 0, 1, 26911), zone(11, false), nil, true},
		{"zone by projection code", utm(keyGeographicType, 0, 1, 4326, keyProjectedType, 0, 1, userDefined, keyProjection, 0, 1, 16031), zone(31, false), nil, false},
		{"southern zone by projection code", utm(keyGeographicType, 0, 1, 4326, keyProjectedType, 0, 1, userDefined, keyProjection, 0, 1, 16125), zone(25, true), nil, false},
		{"zone by parameters", tm(3, 0.9996, 0), zone(31, false), nil, false},
		{"southern zone by parameters", tm(-33, 0.9996, 1e7), zone(25, true), nil, false},
		{"another scale is no zone", tm(3, 1, 0), grid.Frame{}, ErrUnsupported, false},
		{"another meridian is no zone", tm(4, 0.9996, 0), grid.Frame{}, ErrUnsupported, false},
		{"zone by citation", append(utm(keyGeographicType, 0, 1, 4326, keyProjectedType, 0, 1, userDefined, keyCitation, tagGeoASCII, 23, 0),
			entry{tagGeoASCII, "WGS 84 / UTM zone 31N|"}), zone(31, false), nil, false},
		{"feet on the ground", utm(keyProjectedType, 0, 1, 32631, keyLinearUnits, 0, 1, 9002), grid.Frame{}, ErrUnsupported, false},
		{"another projection", utm(keyProjectedType, 0, 1, 2154), grid.Frame{}, ErrUnsupported, false},
		{"web mercator", utm(keyProjectedType, 0, 1, 3857), grid.Frame{}, ErrUnsupported, false},
		{"keys cut", []entry{{tagGeoKeys, []uint16{1, 1, 0, 9, keyModelType, 0, 1, 2}}}, grid.Frame{}, ErrFormat, false},
		{"keys into nothing", []entry{keys(keyModelType, tagGeoDoubles, 1, 7)}, grid.Frame{}, ErrFormat, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			spec := tiffSpec{cols: 1, rows: 1, format: formatInt, bits: 16, values: []float64{1000}, extra: c.extra}
			got, err := loadOne("a.tif", spec.write(t))
			if c.err != nil {
				require.ErrorIs(t, err, c.err)
				assert.NotEmpty(t, hintOf(t, err))
				return
			}
			require.NoError(t, err)
			assert.InDelta(t, c.want.X0, got.X0, 1e-9)
			assert.InDelta(t, c.want.Y0, got.Y0, 1e-9)
			got.X0, got.Y0 = c.want.X0, c.want.Y0
			assert.Equal(t, c.want, got.Frame)
			assert.Equal(t, c.note, strings.Contains(strings.Join(got.Info.Notes, "; "), "taken as WGS84"), "%q", got.Info.Notes)
		})
	}
}

// TestRegistration: the centre of the first cell by each way to say where a grid
// lies; one that does not say it is noted.
func TestRegistration(t *testing.T) {
	const d = 1.0 / 3600
	tiffOf := func(keys ...uint16) []byte {
		list := append([]uint16{1, 1, 0, uint16(len(keys)/4 + 2), keyModelType, 0, 1, 2, keyGeographicType, 0, 1, 4326}, keys...)
		return tiffSpec{cols: 1, rows: 1, format: formatInt, bits: 16, values: []float64{9}, extra: []entry{
			{tagPixelScale, []float64{d, d, 0}}, {tagTiepoint, []float64{0, 0, 0, 7, 47, 0}}, {tagGeoKeys, list}}}.write(t)
	}
	asc := func(word string) []byte {
		return []byte(fmt.Sprintf("ncols 1\nnrows 2\nxll%[1]s 0\nyll%[1]s 0\ncellsize 10\n1\n2\n", word))
	}
	prj := []byte(`PROJCS["WGS_1984_UTM_Zone_31N",GEOGCS["GCS_WGS_1984"]]`)
	cases := []struct {
		name, registration string
		data               []byte
		x, y               float64
		noted              bool
	}{
		{"a.tif", "point", tiffOf(keyRasterType, 0, 1, 2), 7, 47, false},
		{"a.tif", "area", tiffOf(keyRasterType, 0, 1, 1), 7.0001388889, 46.9998611111, false},
		{"a.tif", "area", tiffOf(), 7.0001388889, 46.9998611111, true},
		{"N46E007.hgt", "point", hgtFile(func(int, int) int16 { return 9 }), 7, 47, false},
		{"a.asc", "area", asc("corner"), 5, 15, false},
		{"a.asc", "point", asc("center"), 0, 10, false},
	}
	for _, c := range cases {
		got, err := Load(files(map[string][]byte{c.name: c.data, "a.prj": prj}), []string{c.name}, everything)
		require.NoError(t, err, c.name)
		assert.Equal(t, c.registration, got.Info.Registration)
		assert.InDelta(t, c.x, got.X0, 1e-9)
		assert.InDelta(t, c.y, got.Y0, 1e-9)
		assert.Equal(t, c.noted, strings.Contains(strings.Join(got.Info.Notes, "; "), "corner or centre"))
	}
}

// TestNotHeights: rasters of something else are never joined as heights
// unasked.
func TestNotHeights(t *testing.T) {
	spec := func(bits uint16, extra ...entry) []byte {
		return tiffSpec{cols: 2, rows: 1, format: formatUint, bits: bits, values: []float64{11, 12}, extra: extra}.write(t)
	}
	metadata := func(items string) entry { return entry{tagGDALMetadata, "<GDALMetadata>" + items + "</GDALMetadata>"} }
	cases := []struct {
		name, says string
		data       []byte
		byName     bool // may be read when the user names the file
	}{
		{"classes", "8 bits", spec(8), true},
		{"palette", "palette", spec(8, entry{tagPhotometric, []uint16{photometricPalette}}), false},
		{"picture", "3 bands", spec(8, entry{tagSamplesPerPixel, []uint16{3}}), false},
		{"kelvin", `in "K"`, spec(16, metadata(`<Item name="UNITTYPE" sample="0" role="unittype">K</Item>`)), false},
		{"own output", "seconds", spec(16, metadata(`<Item name="FARHAIL_CONTENT">seconds</Item>`)), false},
	}
	ground := tiffSpec{cols: 2, rows: 1, format: formatInt, bits: 16, values: []float64{500, 501}, extra: []entry{{tagTiepoint, []float64{0, 0, 0, 10.2, 50, 0}}}}.write(t)
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			fsys := files(map[string][]byte{"dem/a.tif": c.data, "dem/b.tif": ground, "dem/read.me": []byte("x")})
			got, err := Load(fsys, []string{"dem"}, everything)
			require.NoError(t, err)
			equalHeights(t, []float64{500, 501}, got.Z)
			assert.Equal(t, []string{"dem/a.tif"}, got.Info.PassedOver)
			assert.Contains(t, strings.Join(got.Info.Notes, "; "), c.says)

			_, err = Load(files(map[string][]byte{"dem/a.tif": c.data}), []string{"dem"}, everything)
			require.ErrorIs(t, err, ErrOutside)
			assert.Contains(t, hintOf(t, err), "a.tif")

			got, err = Load(fsys, []string{"dem/a.tif"}, everything)
			if !c.byName {
				require.ErrorIs(t, err, ErrUnsupported)
				require.ErrorContains(t, err, c.says)
				assert.NotEmpty(t, hintOf(t, err))
				return
			}
			require.NoError(t, err)
			equalHeights(t, []float64{11, 12}, got.Z)
			assert.Contains(t, strings.Join(got.Info.Notes, "; "), "read as heights, though")
		})
	}
}

// TestTIFFUnsupported: what is not read is named, with what to run instead.
func TestTIFFUnsupported(t *testing.T) {
	for name, c := range map[string]struct {
		extra      []entry
		says, hint string
	}{
		"WebP":        {[]entry{{tagCompression, []uint16{50001}}}, "WebP", "COMPRESS=DEFLATE"},
		"LERC":        {[]entry{{tagCompression, []uint16{34887}}}, "LERC", "COMPRESS=DEFLATE"},
		"JPEG":        {[]entry{{tagCompression, []uint16{7}}}, "JPEG", "COMPRESS=DEFLATE"},
		"unheard of":  {[]entry{{tagCompression, []uint16{999}}}, "999", "COMPRESS=DEFLATE"},
		"two bands":   {[]entry{{tagSamplesPerPixel, []uint16{2}}}, "2 bands", "-b 1"},
		"mixed bands": {[]entry{{tagBitsPerSample, []uint16{8, 16}}}, "bands", "-b 1"},
		"12 bits":     {[]entry{{tagBitsPerSample, []uint16{12}}}, "12 bits", "-ot Float32"},
		"complex":     {[]entry{{tagSampleFormat, []uint16{6}}}, "complex", "-ot Float32"},
		"64 bits":     {[]entry{{tagBitsPerSample, []uint16{64}}}, "whole numbers of 64 bits", "-ot Float32"},
		"format 9":    {[]entry{{tagSampleFormat, []uint16{9}}}, "format 9", "-ot Float32"},
		"predictor 3": {[]entry{{tagPredictor, []uint16{3}}, {tagCompression, []uint16{8}}}, "predictor 3", "COMPRESS=DEFLATE"},
		"fill order":  {[]entry{{tagFillOrder, []uint16{2}}}, "fill order 2", "COMPRESS=DEFLATE"},
		"no-data":     {[]entry{{tagGDALNoData, "none"}}, `"none"`, "-a_nodata"},
		"unit":        {[]entry{{tagGDALMetadata, `<G><Item role="unittype">fathom</Item></G>`}}, "fathom", "metres"},
	} {
		t.Run(name, func(t *testing.T) {
			spec := tiffSpec{cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}, extra: c.extra}
			_, err := loadOne("a.tif", spec.write(t))
			require.ErrorIs(t, err, ErrUnsupported)
			assert.ErrorContains(t, err, c.says)
			assert.Contains(t, hintOf(t, err), c.hint)
		})
	}
}

// TestTIFFHostile: broken files are errors with an offset, found before memory
// is taken for what they claim.
func TestTIFFHostile(t *testing.T) {
	spec := tiffSpec{cols: 3, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4, 5, 6}}
	good := spec.write(t)
	with := func(e ...entry) []byte {
		s := spec
		s.extra = e
		return s.write(t)
	}
	dir := int64(binary.LittleEndian.Uint32(good[4:]))
	cyclic := bytes.Clone(good)
	n := int64(binary.LittleEndian.Uint16(cyclic[dir:]))
	binary.LittleEndian.PutUint32(cyclic[dir+2+12*n:], uint32(dir))
	for name, data := range map[string][]byte{
		"only the mark":            good[:4],
		"no directory":             good[:8],
		"directory beyond the end": append([]byte("II*\x00\xff\xff\xff\x7f"), make([]byte, 100)...),
		"cyclic":                   cyclic,
		"huge":                     with(entry{tagImageWidth, []uint32{1 << 31}}),
		"huge, one strip":          with(entry{tagImageWidth, []uint32{1 << 20}}, entry{tagImageLength, []uint32{1 << 20}}, entry{tagRowsPerStrip, []uint32{1 << 20}}),
		"no width":                 with(entry{tagImageWidth, nil}),
		"width of a wrong type":    with(entry{tagImageWidth, []float64{3}}),
		"strip beyond the end":     with(entry{tagStripOffsets, []uint32{8, 1 << 30}}),
		"strip too short":          with(entry{tagStripByteCounts, []uint32{6, 1}}),
		"too few strips":           with(entry{tagStripOffsets, []uint32{8}}),
		"no strips":                with(entry{tagStripOffsets, nil}),
		"rows per strip 0":         with(entry{tagRowsPerStrip, []uint16{0}}),
		"tiles of no size":         with(entry{tagTileWidth, []uint16{0}}, entry{tagTileLength, []uint16{0}}),
		"not deflate":              with(entry{tagCompression, []uint16{8}}),
		"not LZW":                  with(entry{tagCompression, []uint16{5}}),
		"not PackBits":             with(entry{tagCompression, []uint16{32773}}),
		"a tag beyond the end":     bytes.Replace(good, []byte("\x0e\x83\x0c\x00\x03\x00\x00\x00"), []byte("\x0e\x83\x0c\x00\xff\xff\xff\xff"), 1),
		"metadata that is no XML":  with(entry{tagGDALMetadata, "<G><Item"}),
		"scale 0":                  with(entry{tagGDALMetadata, `<G><Item role="scale">0</Item></G>`}),
		"scale that is no number":  with(entry{tagGDALMetadata, `<G><Item role="scale">x</Item></G>`}),
		"only an overview":         with(entry{tagNewSubfileType, []uint32{1}}),
		"a packed row of 8 M ones": with(entry{tagImageWidth, []uint32{1 << 23}}, entry{tagCompression, []uint16{8}}),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := loadOne("a.tif", data)
			runtime.ReadMemStats(&after)
			require.ErrorIs(t, err, ErrFormat)
			var e *FileError
			require.ErrorAs(t, err, &e)
			assert.LessOrEqual(t, e.Offset(), int64(len(data)))
			assert.NotEmpty(t, e.Hint())
			assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20), "bytes taken for a file of %d", len(data))
		})
	}
	// Cut anywhere, the file is an error or, cut in its last tag's unused tail,
	// still itself.
	for cut := 1; cut < len(good); cut++ {
		if got, err := loadOne("a.tif", good[:len(good)-cut]); err == nil {
			equalHeights(t, spec.values, got.Z)
		}
	}
	overview := append(bytes.Clone(good[:dir]), 0)
	_, err := loadOne("a.tif", overview)
	require.Error(t, err)
}

// TestTIFFSparse: strips of offset and size 0 were never written.
func TestTIFFSparse(t *testing.T) {
	spec := tiffSpec{cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}}
	spec.extra = []entry{{tagStripOffsets, []uint32{8, 0}}, {tagStripByteCounts, []uint32{4, 0}}}
	got, err := loadOne("a.tif", spec.write(t))
	require.NoError(t, err)
	equalHeights(t, []float64{1, 2, nan, nan}, got.Z)
	assert.Zero(t, got.Info.Undeclared)
}

func TestTIFFDifferences(t *testing.T) {
	spec := tiffSpec{cols: 4, rows: 2, format: formatInt, bits: 16, predictor: 2, deflate: true, values: []float64{100, 90, -5, 8000, 1, 1, 1, 0}}
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		// 32946 is the old code of deflate.
		for _, code := range []uint16{packDeflate, packOldDeflate} {
			spec.order, spec.extra = order, []entry{{tagCompression, []uint16{code}}}
			got, err := loadOne("a.tif", spec.write(t))
			require.NoError(t, err)
			equalHeights(t, spec.values, got.Z)
		}
	}
}

// FuzzTIFF: no input panics or takes more memory than it is worth, and what is
// read is a sound grid.
func FuzzTIFF(f *testing.F) {
	for _, spec := range []tiffSpec{
		{cols: 3, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4, 5, 6}},
		{cols: 2, rows: 2, format: formatFloat, bits: 32, values: []float64{1, 2, 3, nan}, order: binary.BigEndian},
		{cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}, deflate: true, predictor: 2},
		{cols: 2, rows: 1, format: formatUint, bits: 8, values: []float64{1, 2}, extra: []entry{{tagGDALNoData, "2"}, {tagGDALMetadata, "<G/>"}}},
		{cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}, big: true},
		{cols: 2, rows: 2, format: formatFloat, bits: 64, values: []float64{1, 2, 3, 4}, big: true, order: binary.BigEndian},
		{cols: 2, rows: 2, format: formatInt, bits: 16, values: []float64{1, 2, 3, 4}, big: true, deflate: true,
			extra: []entry{{tagStripOffsets, []uint64{16, 0}}, {tagStripByteCounts, []uint64{12, 0}}}},
	} {
		f.Add(spec.write(f))
	}
	for _, pack := range []uint16{packLZW, packBits, packZstd} {
		f.Add(tiffSpec{cols: 4, rows: 2, format: formatFloat, bits: 16, values: make([]float64, 8), extra: []entry{{tagCompression, []uint16{pack}}, {tagPredictor, []uint16{3}}}}.write(f))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 4 && (string(data[:2]) == "PK") {
			return
		}
		got, err := loadOne("a.tif", data)
		if err != nil {
			return
		}
		require.NoError(t, got.Validate())
		require.Len(t, got.Z, got.Cols*got.Rows)
		require.Equal(t, len(got.Z), got.Info.Known+got.Info.Voids)
	})
}
