package main

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// A circle over the 180 degree line holds what lies within it on both sides, and
// nothing on the other side of the earth, for a program that knows no globe.
func TestCircleHoldsItsPlaces(t *testing.T) {
	c, err := circleAround(orb.Point{179.9, 51}, 20e3)
	require.NoError(t, err)
	var buf bytes.Buffer
	require.NoError(t, mapfile.WriteGeoJSON(&buf, []layer.Layer{{ID: "circle", Features: []layer.Feature{layer.New("circle", c.ring)}}}))
	var file struct {
		Features []struct {
			Geometry struct {
				Type        string
				Coordinates orb.MultiPolygon
			}
		}
	}
	require.NoError(t, json.Unmarshal(buf.Bytes(), &file))
	g := file.Features[0].Geometry
	require.Equal(t, "MultiPolygon", g.Type)
	require.Len(t, g.Coordinates, c.Parts)
	for _, polygon := range g.Coordinates {
		for _, ring := range polygon {
			assert.Equal(t, orb.CCW, ring.Orientation())
			for _, p := range ring {
				assert.LessOrEqual(t, p.Lon(), 180.)
				assert.GreaterOrEqual(t, p.Lon(), -180.)
			}
		}
	}
	assert.True(t, planar.MultiPolygonContains(g.Coordinates, orb.Point{-179.95, 51}), "10.5 km to the east")
	assert.True(t, planar.MultiPolygonContains(g.Coordinates, orb.Point{179.7, 51}))
	assert.False(t, planar.MultiPolygonContains(g.Coordinates, orb.Point{0, 51}))
	assert.False(t, planar.MultiPolygonContains(g.Coordinates, orb.Point{-179.8, 51}))
}
