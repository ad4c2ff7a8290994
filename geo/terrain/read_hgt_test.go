package terrain

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"math"
	"testing"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHGT(t *testing.T) {
	data := hgtFile(func(col, row int) int16 {
		switch {
		case col == 5 && row == 7:
			return hgtVoid
		case row == 1200:
			return int16(-col)
		}
		return int16(col + row)
	})
	got, err := loadOne("S33W071.hgt", data)
	require.NoError(t, err)
	assert.Equal(t, grid.Frame{X0: -71, Y0: -32, DX: 1.0 / 1200, DY: 1.0 / 1200, Cols: 1201, Rows: 1201}, got.Frame)
	assert.Equal(t, 3.0, got.At(1, 2))
	assert.Equal(t, -1200.0, got.At(1200, 1200), "the south-east cell")
	assert.Equal(t, [2]int{1, 1201*1201 - 1}, [2]int{got.Info.Voids, got.Info.Known})
	assert.Equal(t, Info{Files: []string{"S33W071.hgt"}, Kind: KindHGT, Registration: "point", Unit: "m", Scale: 1,
		Datum: "EGM96", Surface: "surface",
		CellEastM: got.Info.CellEastM, CellNorthM: got.Info.CellNorthM, Known: got.Info.Known, Voids: 1, MinM: -1200, MaxM: 2399}, got.Info)
	cut, err := loadOne("S33W071.hgt", data[:len(data)-2])
	require.Error(t, err, "%v", cut)
}

// TestHGTSizes: the length of a file alone tells its cells; other lengths are
// refused with the list.
func TestHGTSizes(t *testing.T) {
	cases := []struct {
		length     int64
		cols, rows int
	}{
		{2884802, 1201, 1201}, {25934402, 3601, 3601}, {12970802, 1801, 3601}, {103708802, 7201, 7201}, {2801664, 0, 0}, {0, 0, 0},
	}
	for _, c := range cases {
		cols, rows := hgtSize(c.length)
		assert.Equal(t, [2]int{c.cols, c.rows}, [2]int{cols, rows}, c.length)
	}
	for _, n := range []int{0, 1, 2801664, 2*1201*1201 - 1} {
		for _, name := range []string{"N42E001.hgt", "dem/n42e001.HGT"} {
			_, err := loadOne(name, make([]byte, n))
			require.ErrorIs(t, err, ErrFormat)
			for _, length := range []string{"2884802", "25934402", "12970802", "103708802"} {
				require.ErrorContains(t, err, length)
			}
		}
	}
	// A folder does not pass over a broken tile.
	_, err := Load(files(map[string][]byte{"dem/N42E001.hgt": make([]byte, 100)}), []string{"dem"}, everything)
	require.ErrorContains(t, err, "100 bytes")
	for _, text := range []string{`{"errorMessage":"x"}`, "<!DOCTYPE html><title>Sign in</title>", "\n{"} {
		_, err := loadOne("N42E001.hgt", []byte(text))
		require.ErrorContains(t, err, "not a terrain file")
		assert.Contains(t, hintOf(t, err), "fetch it again")
	}
}

// TestHGTOblong: a tile of 2 by 1 arc-seconds has cells of unlike sides, row 0
// in the north.
func TestHGTOblong(t *testing.T) {
	const cols, rows = 1801, 3601
	data := make([]byte, 2*cols*rows)
	binary.BigEndian.PutUint16(data[2*(900*cols+450):], 777)
	got, err := loadOne("N61W150.hgt", data)
	require.NoError(t, err)
	assert.Equal(t, grid.Frame{X0: -150, Y0: 62, DX: 1.0 / 1800, DY: 1.0 / 3600, Cols: cols, Rows: rows}, got.Frame)
	assert.Equal(t, 777.0, got.Sample(orb.Point{-149.75, 61.75}))
}

// TestHGTPlace: in a 3 arc-second tile S13W078 the position 12.25 S, 77.75 W is
// row 300, column 300, bytes 721200 and 721201, big-endian.
func TestHGTPlace(t *testing.T) {
	data := make([]byte, 2*1201*1201)
	data[721200], data[721201] = 0x01, 0x02
	got, err := loadOne("S13W078.hgt", data)
	require.NoError(t, err)
	assert.Equal(t, 258.0, got.At(300, 300))
	assert.Equal(t, 258.0, got.Sample(orb.Point{-77.75, -12.25}))
}

// TestHGTFills: marks that converters leave instead of the void's own.
func TestHGTFills(t *testing.T) {
	fills := []int16{hgtVoid, 32767, -9999}
	got, err := loadOne("N42E001.hgt", hgtFile(func(col, row int) int16 {
		if row == 3 && col < len(fills) {
			return fills[col]
		}
		return 500
	}))
	require.NoError(t, err)
	assert.Equal(t, [4]float64{3, 2, 500, 500}, [4]float64{float64(got.Info.Voids), float64(got.Info.Undeclared), got.Info.MinM, got.Info.MaxM})
	require.Len(t, got.Info.Notes, 1)
	assert.Contains(t, got.Info.Notes[0], "2 cells hold a fill value")
	for col := range fills {
		assert.True(t, math.IsNaN(got.At(col, 3)))
		assert.True(t, math.IsNaN(got.Sample(got.Point(float64(col), 3))))
	}
}

func TestHGTNames(t *testing.T) {
	cases := []struct {
		name     string
		lon, lat float64
		ok       bool
	}{
		{"N42E001.hgt", 1, 42, true},
		{"dem/s33w071.HGT", -71, -33, true},
		{"N00W001.SRTMGL1.hgt", -1, 0, true},
		{"n46_e007_1arc_v3.hgt", 7, 46, true},
		{"n46e007.hgt", 7, 46, true},
		{"N46E007.SRTMGL1.hgt", 7, 46, true},
		{"SRTM_S13W078.hgt", -78, -13, true},
		{"XN46E007.hgt", 0, 0, false},
		{"N46E007_N46E008.hgt", 0, 0, false},
		{"N46E7.hgt", 0, 0, false},
		{"S91E001.hgt", 0, 0, false},
		{"N42E001", 1, 42, true},
		{"N42E0012.hgt", 0, 0, false},
		{"N42E181.hgt", 0, 0, false},
		{"N91E001.hgt", 0, 0, false},
		{"S90W180.hgt", -180, -90, true},
		{"mountains.hgt", 0, 0, false},
	}
	for _, c := range cases {
		lon, lat, ok := hgtCorner(c.name)
		assert.Equal(t, c.ok, ok, c.name)
		if ok {
			assert.Equal(t, [2]float64{c.lon, c.lat}, [2]float64{lon, lat}, c.name)
		}
	}
	_, err := loadOne("mountains.hgt", hgtFile(func(int, int) int16 { return 0 }))
	require.ErrorIs(t, err, ErrUnsupported)
	assert.Contains(t, hintOf(t, err), "N42E001.hgt")
}

func zipped(t testing.TB, names ...string) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := zip.NewWriter(&buf)
	for _, name := range names {
		f, err := w.Create(name)
		require.NoError(t, err)
		data := []byte("read me")
		if name[len(name)-4:] == ".hgt" {
			data = hgtFile(func(col, row int) int16 { return int16(col) })
		}
		_, err = f.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return buf.Bytes()
}

func TestHGTZipped(t *testing.T) {
	good := zipped(t, "readme.txt", "N42E001.hgt")
	got, err := loadOne("anything.zip", good)
	require.NoError(t, err)
	assert.Equal(t, 42.0, got.Y0-1)
	assert.Equal(t, 1200.0, got.At(1200, 5))
	assert.Equal(t, []string{"anything.zip"}, got.Info.Files)
	got, err = loadOne("N10W003.hgt.zip", zipped(t, "tile.hgt"))
	require.NoError(t, err, "the archive's name gives the corner where the tile's does not")
	assert.Equal(t, -3.0, got.X0)

	_, err = loadOne("N42E001.zip", zipped(t, "readme.txt"))
	require.ErrorIs(t, err, ErrUnsupported)
	_, err = loadOne("two.zip", zipped(t, "N42E001.hgt", "N42E002.hgt"))
	require.ErrorIs(t, err, ErrUnsupported)
	_, err = loadOne("cut.zip", good[:len(good)/2])
	require.ErrorIs(t, err, ErrFormat)

	// A wrong checksum: a byte of the packed data changed.
	bad := bytes.Clone(good)
	at := bytes.Index(bad, []byte("PK\x01\x02")) - 40
	bad[at] ^= 0xff
	_, err = loadOne("bad.zip", bad)
	require.ErrorIs(t, err, ErrFormat)
}

func gzipped(t testing.TB, data []byte) []byte {
	var buf bytes.Buffer
	w := gzip.NewWriter(&buf)
	_, err := w.Write(data)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return buf.Bytes()
}

func TestHGTGzipped(t *testing.T) {
	good := gzipped(t, hgtFile(func(col, row int) int16 { return int16(col) }))
	got, err := loadOne("N42E001.hgt.gz", good)
	require.NoError(t, err)
	assert.Equal(t, [2]float64{1, 1200}, [2]float64{got.X0, got.At(1200, 3)})

	_, err = loadOne("track.gpx.gz", gzipped(t, []byte("<gpx/>")))
	require.ErrorIs(t, err, ErrUnsupported)
	bad := bytes.Clone(good)
	bad[len(bad)-6] ^= 1 // in the checksum
	for name, data := range map[string][]byte{
		"wrong checksum": bad,
		"cut":            good[:len(good)-100],
		"no tile":        gzipped(t, make([]byte, 1000)),
		"claims a tile":  append(gzipped(t, nil)[:20], 0x02, 0x05, 0x2c, 0), // 2 884 866 is no tile either
		"four bytes":     {0x1f, 0x8b, 8, 0},
	} {
		_, err := loadOne("N42E001.hgt.gz", data)
		require.ErrorIs(t, err, ErrFormat, name)
	}
	// A handful of bytes cannot hold the tile that they claim to.
	claim := gzipped(t, []byte("x"))
	binary.LittleEndian.PutUint32(claim[len(claim)-4:], 103708802)
	_, err = loadOne("N42E001.hgt.gz", claim)
	require.ErrorContains(t, err, "cannot hold")
}

// TestHGTZipBomb: what an archive claims is checked before it is unpacked, and
// what it holds beyond the claim is refused.
func TestHGTZipBomb(t *testing.T) {
	pack := func(size int, declared uint64) []byte {
		var raw, buf bytes.Buffer
		inner := zip.NewWriter(&raw)
		f, err := inner.Create("N42E001.hgt")
		require.NoError(t, err)
		_, err = f.Write(make([]byte, size))
		require.NoError(t, err)
		require.NoError(t, inner.Close())
		// Copy the packed bytes under a header that tells another size.
		r, err := zip.NewReader(bytes.NewReader(raw.Bytes()), int64(raw.Len()))
		require.NoError(t, err)
		packed, err := r.File[0].OpenRaw()
		require.NoError(t, err)
		w := zip.NewWriter(&buf)
		h := r.File[0].FileHeader
		h.UncompressedSize64 = declared
		out, err := w.CreateRaw(&h)
		require.NoError(t, err)
		body := new(bytes.Buffer)
		_, err = body.ReadFrom(packed)
		require.NoError(t, err)
		_, err = out.Write(body.Bytes())
		require.NoError(t, err)
		require.NoError(t, w.Close())
		return buf.Bytes()
	}
	const tile = 2 * 1201 * 1201
	_, err := loadOne("a.zip", pack(tile, tile))
	require.NoError(t, err)
	for name, data := range map[string][]byte{
		"declares 1 TB":         pack(tile, 1<<40),
		"holds more than told":  pack(20*tile, tile),
		"holds less than told":  pack(tile/2, tile),
		"declares no tile size": pack(1000, 1000),
	} {
		_, err := loadOne("a.zip", data)
		require.ErrorIs(t, err, ErrFormat, name)
	}
}

// FuzzZip: no archive panics or unpacks more than it declares.
func FuzzZip(f *testing.F) {
	f.Add(zipped(f, "readme.txt"))
	f.Add(zipped(f, "N42E001.hgt")[:2000])
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if got, err := loadOne("N42E001.hgt.zip", data); err == nil {
			require.NoError(t, got.Validate())
		}
	})
}

// FuzzGzip: no gzipped file panics or unpacks more than it declares.
func FuzzGzip(f *testing.F) {
	f.Add(gzipped(f, []byte("x")))
	f.Add(gzipped(f, hgtFile(func(col, row int) int16 { return int16(col) }))[:2000])
	f.Add([]byte("\x1f\x8b\x08\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if got, err := loadOne("N42E001.hgt.gz", data); err == nil {
			require.NoError(t, got.Validate())
		}
	})
}

// FuzzHGTName: a name that gives a corner gives one on the Earth, and the tile
// of that corner has the same name again.
func FuzzHGTName(f *testing.F) {
	for _, s := range []string{"N42E001.hgt", "s33w071", "N99E999.hgt", "dem/S01W180.SRTMGL3.hgt", "S00W000", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		lon, lat, ok := hgtCorner(name)
		if !ok {
			return
		}
		again, lat2, ok := hgtCorner(tileName(lat, lon))
		require.True(t, ok)
		require.Equal(t, [2]float64{lon, lat}, [2]float64{again, lat2})
	})
}
