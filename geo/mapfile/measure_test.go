package mapfile

import (
	"bytes"
	"math"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// circle is a ring of geodesic radius, longitudes in [-180, 180].
func circle(centre orb.Point, radiusM float64, n int) orb.Ring {
	var r orb.Ring
	for i := range n {
		p, _ := earth.Direct(centre, earth.NewTrue(-float64(i)*360/float64(n)), radiusM)
		r = append(r, p)
	}
	return append(r, r[0])
}

// TestAreaAndBox: the areas of circles are πr², a geodesic circle of 50 km
// lacking 1e-5 of that; their extents are GeodSolve's (GeographicLib 2.1.2), that
// of 20 km.
func TestAreaAndBox(t *testing.T) {
	square := orb.Ring{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}
	const squareM2 = 12308778361.469452 // Planimeter, GeographicLib 2.1.2; its edges are geodesics
	clockwise := orb.Ring{{0, 0}, {0, 1}, {1, 1}, {1, 0}, {0, 0}}
	cap80 := circle(orb.Point{30, 90}, 1116.9e3, 360)
	cases := []struct {
		name      string
		g         orb.Geometry
		areaM2    float64
		tolerance float64 // of the area, relative
		bbox      [4]float64
	}{
		{"a square", orb.Polygon{square}, squareM2, 2e-4, [4]float64{0, 0, 1, 1}},
		{"clockwise", orb.Polygon{clockwise}, squareM2, 2e-4, [4]float64{0, 0, 1, 1}},
		{"unclosed", orb.Polygon{square[:4]}, squareM2, 2e-4, [4]float64{0, 0, 1, 1}},
		{"a ring", square, squareM2, 2e-4, [4]float64{0, 0, 1, 1}},
		{"two of them", orb.Collection{orb.Polygon{square}, orb.MultiPolygon{{square}}, orb.Point{5, 2}}, 2 * squareM2, 2e-4, [4]float64{0, 0, 5, 2}},
		{"a hole as large", orb.Polygon{square, clockwise}, 0, 0, [4]float64{0, 0, 1, 1}},
		{"a point", orb.Point{7.5, 46.5}, 0, 0, [4]float64{7.5, 46.5, 7.5, 46.5}},
		{"a line over the 180 degree line", orb.LineString{{170, 45}, {-170, 46}}, 0, 0, [4]float64{170, 45, -170, 46}},
		{"points on both sides of it", orb.MultiPoint{{177, -16}, {-178, -20}}, 0, 0, [4]float64{177, -20, -178, -16}},
		{"points half the earth apart", orb.MultiPoint{{90, 0}, {-90, 0}}, 0, 0, [4]float64{-90, 0, 90, 0}},
		{"20 km around 179.9 E 51 N", orb.Polygon{circle(orb.Point{179.9, 51}, 20000, 360)}, math.Pi * 4e8, 1e-4, [4]float64{179.61509, 50.82022, -179.81509, 51.17978}},
		{"1 km at 70 N", orb.Polygon{circle(orb.Point{25, 70}, 1000, 360)}, math.Pi * 1e6, 1e-4, [4]float64{24.97381276, 69.99103637, 25.02618724, 70.00896362}},
		{"around the north pole", orb.Polygon{cap80}, math.Pi * 1116.9e3 * 1116.9e3, 5e-3, [4]float64{-180, 80, 180, 90}},
		{"around the south pole", orb.Polygon{circle(orb.Point{30, -90}, 1116.9e3, 360)}, math.Pi * 1116.9e3 * 1116.9e3, 5e-3, [4]float64{-180, -90, 180, -80}},
		{"beside the pole", orb.Polygon{circle(orb.Point{30, 89}, 50e3, 360)}, math.Pi * 50e3 * 50e3, 1e-3, [4]float64{3.4057, 88.5523, 56.5943, 89.4477}},
		{"over the pole", orb.Polygon{circle(orb.Point{30, 89.9}, 50e3, 3600)}, math.Pi * 50e3 * 50e3, 1e-3, [4]float64{-180, 89.4523, 180, 90}},
		{"cut already", orb.MultiPolygon{{{{179, 50}, {180, 50}, {180, 51}, {179, 51}, {179, 50}}}, {{{-180, 50}, {-179, 50}, {-179, 51}, {-180, 51}, {-180, 50}}}},
			0, -1, [4]float64{179, 50, -179, 51}},
		{"a cap written flat", orb.Polygon{{{-180, 80}, {180, 80}, {180, 90}, {-180, 90}, {-180, 80}}}, math.Pi * 1116.9e3 * 1116.9e3, 5e-3, [4]float64{-180, 80, 180, 90}},
		{"the whole earth", orb.Polygon{{{-180, -90}, {180, -90}, {180, 90}, {-180, 90}, {-180, -90}}}, 510065621.7e6, 1e-9, [4]float64{-180, -90, 180, 90}},
		{"a belt around the pole", orb.Polygon{cap80, circle(orb.Point{-20, 90}, 558.4e3, 360)}, math.Pi * (1116.9e3*1116.9e3 - 558.4e3*558.4e3), 5e-3, [4]float64{-180, 80, 180, 85}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			area, err := AreaM2(c.g)
			require.NoError(t, err)
			if c.tolerance >= 0 {
				assert.InDelta(t, c.areaM2, area, c.tolerance*c.areaM2)
			}
			got, ok, err := BBox(c.g)
			require.NoError(t, err)
			require.True(t, ok)
			for i := range got {
				assert.InDelta(t, c.bbox[i], got[i], 5e-3, "%v", got)
				if c.name[0] >= '0' && c.name[0] <= '9' {
					assert.InDelta(t, c.bbox[i], got[i], 1e-5, "%v", got)
				}
			}
			// What is written has the same area and box, and can be read.
			var b bytes.Buffer
			require.NoError(t, WriteGeoJSON(&b, []layer.Layer{{ID: "x", Features: []layer.Feature{layer.New("a", c.g)}}}))
			back, err := ReadGeoJSON(&b, "x.geojson")
			require.NoError(t, err)
			assert.Zero(t, back.ReversedRings)
			again, err := AreaM2(back.Features[0].Geometry)
			require.NoError(t, err)
			assert.InDelta(t, area, again, 1e-6*area)
			box, _, err := BBox(back.Features[0].Geometry)
			require.NoError(t, err)
			assert.Equal(t, got, box)
		})
	}
	_, ok, err := BBox(nil, orb.MultiPoint{})
	require.NoError(t, err)
	assert.False(t, ok)
	for _, bad := range []orb.Polygon{
		{square, cap80}, // a hole around the pole in an area that is not
		{{{-170, 80}, {170, 80}, {-160, 81}, {-90, 80}, {0, 80}, {90, 80}, {170, 79}, {-170, 79}, {170, 78}}}, // to and fro over the line
	} {
		_, err := AreaM2(bad)
		require.ErrorIs(t, err, ErrPole)
		_, _, err = BBox(bad)
		require.ErrorIs(t, err, ErrPole)
	}
	_, err = AreaM2(orb.Polygon{{{0, 95}, {1, 0}, {1, 1}}})
	require.ErrorIs(t, err, ErrPosition)
}
