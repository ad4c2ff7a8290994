package terrain

import (
	"archive/zip"
	"bytes"
	"testing"

	"farhail/geo/grid"

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
	side := hgtSide(2 * 3601 * 3601)
	assert.Equal(t, 3601, side)
	assert.Zero(t, hgtSide(1000))
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
		{"n46_e007_1arc_v3.hgt", 0, 0, false},
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
