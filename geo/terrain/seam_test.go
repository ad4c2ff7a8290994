package terrain

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// height is a function of place, so that every tile gives the same at its edge,
// also at the 180th meridian: it rises eastwards, less so northwards.
func height(p orb.Point) float64 {
	return eastPerDegree*math.Mod(p.Lon()+365, 10) + northPerDegree*(90+p.Lat())
}

const eastPerDegree, northPerDegree = 600, 60

// degreeTile makes a tile of one degree as an elevation data set would, with
// fewer columns towards the poles: its outer cells on the whole degrees, shared
// with the neighbours (posts), or half a cell inside of them (areas).
func degreeTile(t *testing.T, lon, lat, across, down int, posts bool) []byte {
	t.Helper()
	f := grid.Frame{X0: float64(lon), Y0: float64(lat + 1), DX: 1 / float64(across), DY: 1 / float64(down), Cols: across + 1, Rows: down + 1}
	if !posts {
		f.Cols, f.Rows = across, down
		f.X0, f.Y0 = f.X0+f.DX/2, f.Y0-f.DY/2
	}
	values := make([]float32, f.Cols*f.Rows)
	for i := range values {
		values[i] = float32(height(f.Point(float64(i%f.Cols), float64(i/f.Cols))))
	}
	var out bytes.Buffer
	require.NoError(t, WriteGeoTIFF(&out, f, values, nan32, WriteOptions{}))
	return out.Bytes()
}

// TestTilesThinOut: tiles as wide as at 60 and 72 N join with their neighbours,
// and heights, lengths and slopes are right on cells that are not square. The
// widths are those of Copernicus DEM GLO-30 (product handbook: 1.5, 2 and 3 times
// wider beyond 50, 60 and 70 degrees) and of DTED (MIL-PRF-89020B: 1, 2, 3, 4, 6
// times beyond 0, 50, 70, 75, 80), both from memory and made 30 times smaller.
func TestTilesThinOut(t *testing.T) {
	for _, c := range []struct {
		name         string
		lat          int
		across, down int
		posts        bool
	}{
		{"areas at 60 N", 60, 60, 120, false}, {"areas at 72 N", 72, 40, 120, false}, {"areas at 60 S", -61, 60, 120, false},
		{"posts at 60 N", 60, 60, 120, true}, {"posts at 72 N", 72, 40, 120, true}, {"posts at 83 N", 83, 20, 120, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			list := map[string][]byte{}
			for _, at := range [][2]int{{10, c.lat}, {11, c.lat}, {10, c.lat + 1}, {11, c.lat + 1}} {
				list[tileName(float64(at[1]), float64(at[0]))+".tif"] = degreeTile(t, at[0], at[1], c.across, c.down, c.posts)
			}
			middle := orb.Point{11, float64(c.lat + 1)}
			box := middle.Bound().Pad(0.3)
			got, err := Load(files(list), []string{"."}, box)
			require.NoError(t, err)
			assert.Len(t, got.Info.Files, 4)
			assert.Empty(t, got.Info.Missing)
			assert.Zero(t, got.Info.Voids)
			assert.Zero(t, got.Info.SeamDiffer, "shared edges agree")
			assert.Equal(t, c.posts, got.Info.Seam > 0)
			for _, p := range []orb.Point{box.Min, box.Max, middle, {10.98, middle.Lat() - 0.001}, {11.2, middle.Lat() + 0.2}} {
				assert.InDelta(t, height(p), got.Sample(p), 0.01)
			}
			// A cell's sides by geodesics, and the slope by them.
			col, row := got.Cell(middle)
			row = math.Round(row)
			east, north := got.Metres(int(row))
			p := got.Point(col, row)
			we, _, _ := earth.Inverse(orb.Point{p.Lon() - 0.5*got.DX, p.Lat()}, orb.Point{p.Lon() + 0.5*got.DX, p.Lat()})
			ns, _, _ := earth.Inverse(orb.Point{p.Lon(), p.Lat() - 0.5*got.DY}, orb.Point{p.Lon(), p.Lat() + 0.5*got.DY})
			assert.InEpsilon(t, we, east, 1e-6)
			assert.InEpsilon(t, ns, north, 1e-6)
			want := math.Atan(math.Hypot(eastPerDegree*got.DX/we, northPerDegree*got.DY/ns)) * 180 / math.Pi
			assert.InDelta(t, want, SlopeDeg(&got.Heights, int(math.Round(col)), int(row)), 0.002)
		})
	}
}

// TestSeamOfWidths: tiles of different widths on both sides of 60 N are refused
// with the reason and a command; either side alone serves a box that it covers.
func TestSeamOfWidths(t *testing.T) {
	list := map[string][]byte{
		"south.tif": degreeTile(t, 10, 59, 80, 120, true),
		"north.tif": degreeTile(t, 10, 60, 60, 120, true),
	}
	over := orb.Bound{Min: orb.Point{10.2, 59.8}, Max: orb.Point{10.6, 60.2}}
	_, err := Load(files(list), []string{"south.tif", "north.tif"}, over)
	require.ErrorIs(t, err, ErrMixed)
	assert.ErrorContains(t, err, "thin out towards the poles")
	assert.Contains(t, hintOf(t, err), "run: gdalwarp -t_srs EPSG:4326 -tr 0.0125 0.00833333333333 -te ")
	assert.Contains(t, hintOf(t, err), " north.tif out.tif")
	for name, lat := range map[string]float64{"south.tif": 59.5, "north.tif": 60.5} {
		got, err := Load(files(list), []string{"."}, orb.Point{10.5, lat}.Bound().Pad(0.2))
		require.NoError(t, err)
		assert.Equal(t, []string{name}, got.Info.Files)
	}
}

// TestSeamAt180: tiles on both sides of the 180th meridian, north and south of
// the equator, named and joined.
func TestSeamAt180(t *testing.T) {
	for _, posts := range []bool{false, true} {
		list := map[string][]byte{}
		for _, at := range [][2]int{{179, -1}, {-180, -1}, {179, 0}} {
			list[tileName(float64(at[1]), float64(at[0]))+".tif"] = degreeTile(t, at[0], at[1], 60, 60, posts)
		}
		require.Contains(t, list, "S01W180.tif")
		box := orb.Bound{Min: orb.Point{179.6, -0.4}, Max: orb.Point{-179.6, 0.3}}
		got, err := Load(files(list), []string{"."}, box)
		require.NoError(t, err)
		assert.Equal(t, []string{"N00W180"}, got.Info.Missing, "posts %v", posts)
		for _, p := range []orb.Point{{179.7, 0.2}, {179.99, -0.3}, {-179.99, -0.3}, {-179.7, -0.1}, {180, -0.2}} {
			assert.InDelta(t, height(p), got.Sample(p), 0.01, "posts %v, %v", posts, p)
		}
		assert.True(t, math.IsNaN(got.Sample(orb.Point{-179.8, 0.2})), "the tile that is missing")
	}
}

// TestNeighboursOfWindow: of a folder of tiles only those that the window meets
// are read, the neighbour of an edge row among them.
func TestNeighboursOfWindow(t *testing.T) {
	list := map[string][]byte{"broken/N62E010.tif": []byte("II*\x00")}
	for lat := 60; lat < 63; lat++ {
		for lon := 10; lon < 13; lon++ {
			list[fmt.Sprintf("dem/N%02dE%03d.tif", lat, lon)] = degreeTile(t, lon, lat, 60, 60, false)
		}
	}
	for _, c := range []struct {
		box  orb.Bound
		want []string
	}{
		{orb.Point{11.5, 61.5}.Bound().Pad(0.1), []string{"dem/N61E011.tif"}},
		{orb.Point{11.5, 61.995}.Bound(), []string{"dem/N61E011.tif", "dem/N62E011.tif"}}, // between the last row of the one and the first of the other
		{orb.Bound{Min: orb.Point{10.5, 60.5}, Max: orb.Point{11.5, 60.6}}, []string{"dem/N60E010.tif", "dem/N60E011.tif"}},
	} {
		got, err := Load(files(list), []string{"dem"}, c.box)
		require.NoError(t, err)
		assert.Equal(t, c.want, got.Info.Files)
		assert.InDelta(t, height(c.box.Center()), got.Sample(c.box.Center()), 0.01, "%v", c.box)
	}
}
