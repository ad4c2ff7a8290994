package walk

import (
	"encoding/json"
	"os"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/require"
)

// Andorra, real ground with real gaps: rings are valid areas that hold the
// start, grow with time and speed, and stay within what the top speed allows.
func TestRingsAndorra(t *testing.T) {
	dir := geotest.Shared(t)
	from := orb.Point{1.55, 42.55}
	rule := rule(t, "irmischer-clarke-off")
	ground := andorra(t, dir)
	afterS := []float64{1800, 3600, 2 * 3600}
	starts, err := Within(ground.Frame, from, earth.Ellipse{MajorM: 200, MinorM: 100, AzimuthDeg: 30}, 0)
	require.NoError(t, err)
	f, err := Reach(background, &ground.Heights, Options{Rule: rule, Starts: starts, MaxSeconds: RingSeconds(afterS, Walkers())})
	require.NoError(t, err)
	rings := Rings(f, from, afterS, Walkers(), nil)
	for i, r := range rings {
		factor := Walkers()[i%3].Factor
		// From the far end of the ellipse, rounded outward, and half a cell
		// from the last centre.
		require.Less(t, r.FarthestM, 200+2*60+factor*r.AfterS*rule.Top())
		require.NoError(t, multiPolygon(r.Shape).Validate())
		require.True(t, contains(r.Shape, from))
		if i%3 > 0 {
			require.Greater(t, r.AreaM2, rings[i-1].AreaM2)
			require.True(t, r.Open || !rings[i-1].Open)
		}
		if i >= 3 {
			require.Greater(t, r.AreaM2, rings[i-3].AreaM2)
			require.GreaterOrEqual(t, r.FarthestM, rings[i-3].FarthestM)
		}
	}
	require.False(t, rings[0].Open)
}

func multiPolygon(shape orb.MultiPolygon) geom.MultiPolygon {
	var list []geom.Polygon
	for _, p := range shape {
		var rings []geom.LineString
		for _, ring := range p {
			var xy []float64
			for _, q := range ring {
				xy = append(xy, q[0], q[1])
			}
			rings = append(rings, geom.NewLineString(geom.NewSequence(xy, geom.DimXY)))
		}
		list = append(list, geom.NewPolygon(rings))
	}
	return geom.NewMultiPolygon(list)
}

func contains(shape orb.MultiPolygon, p orb.Point) bool {
	yes, err := geom.Contains(multiPolygon(shape).AsGeometry(), geom.NewPoint(geom.Coordinates{XY: geom.XY{X: p[0], Y: p[1]}, Type: geom.DimXY}).AsGeometry())
	return err == nil && yes
}

func andorra(t *testing.T, dir string) *terrain.Terrain {
	t.Helper()
	ground, err := terrain.Load(os.DirFS(dir+"/data/dem"), []string{"N42E001.hgt.zip"}, orb.Bound{Min: orb.Point{1.4, 42.4}, Max: orb.Point{1.8, 42.7}})
	require.NoError(t, err)
	return ground
}

// lines reads the lines of a GeoJSON file; geo/mapfile is above this package.
func lines(t *testing.T, name string) []orb.LineString {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	var file struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	require.NoError(t, json.Unmarshal(data, &file))
	var list []orb.LineString
	for _, f := range file.Features {
		switch f.Geometry.Type {
		case "LineString":
			var l orb.LineString
			require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &l))
			list = append(list, l)
		case "MultiLineString":
			var l orb.MultiLineString
			require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &l))
			list = append(list, l...)
		}
	}
	require.NotEmpty(t, list)
	return list
}
