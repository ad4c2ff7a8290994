package mapfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"farhail/geo/layer"
	"farhail/geo/track"

	"github.com/stretchr/testify/require"
)

// flat prints what a GPX file holds, to the precision of the writer.
func flat(g *GPX) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%q\n", cleanText(g.Name))
	one := func(f track.Fix) {
		lon := round(f.Point.Lon(), 1e9)
		if lon == 180 {
			lon = -180
		}
		fmt.Fprintf(&b, "%.9f %.9f %.2f %d %q\n", lon, round(f.Point.Lat(), 1e9), round(f.HeightM, 100), f.Time.Unix(), cleanText(f.Name))
	}
	for _, f := range g.Waypoints {
		one(f)
	}
	for _, list := range [][]track.Track{g.Routes, g.Tracks} {
		for _, t := range list {
			fmt.Fprintf(&b, "track %q\n", cleanText(t.Name))
			for _, s := range t.Segments {
				b.WriteString("segment\n")
				for _, f := range s {
					one(f)
				}
			}
		}
	}
	return b.String()
}

// FuzzReadGPX: no input makes the reader panic, and whatever it takes can be
// written, is valid then, and reads back the same; so can what is left of it
// within narrow limits.
func FuzzReadGPX(f *testing.F) {
	for _, s := range []string{
		"", "<gpx/>", head + "</gpx>", doc(`<trkpt lat="1" lon="2"><ele>3</ele><time>2026-03-01T06:00:00.5+02:00</time><name>a &amp; b</name></trkpt>`),
		doc(`<trkpt lat="95" lon="2"/><trkpt lat="" lon="2"><ele>12,5</ele></trkpt><trkpt lat="1" lon="180"><ele>1e-5</ele></trkpt>`),
		`<n:gpx version="1.0" xmlns:n="http://www.topografix.com/GPX/1/0"><n:name>x</n:name><n:rte><n:rtept lat="1" lon="2"/></n:rte></n:gpx>`,
		`<?xml version="1.0" encoding="ISO-8859-1"?>` + head + "<wpt lat='1' lon='2'><name>\xe9</name></wpt></gpx>",
		"\x1f\x8b\x08\x00", "\xff\xfe<\x00g\x00p\x00x\x00/\x00>\x00", `<!DOCTYPE html><html>`, head + "<trk><trkseg/><trkseg><trkpt",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := ReadGPX(bytes.NewReader(data), "f")
		if err != nil {
			require.Nil(t, g)
			return
		}
		var b bytes.Buffer
		require.NoError(t, g.Write(&b))
		require.Empty(t, schemaFaults(b.Bytes()))
		back, err := ReadGPX(&b, "f")
		require.NoError(t, err)
		require.Empty(t, back.Dropped)
		require.Equal(t, flat(g), flat(back))

		small := Profile{TrackPoints: 4, RoutePoints: 3, NameLength: 8}
		fitted := g.Fit(small)
		require.False(t, fitted.WorstOffsetM < 0 || math.IsNaN(fitted.WorstOffsetM))
		for _, tr := range fitted.Tracks {
			require.LessOrEqual(t, tr.Points(), small.TrackPoints)
		}
		for _, r := range fitted.Routes {
			require.LessOrEqual(t, r.Points(), small.RoutePoints)
		}
		b.Reset()
		require.NoError(t, fitted.Write(&b))
		require.Empty(t, schemaFaults(b.Bytes()))
	})
}

// FuzzReadGeoJSON: no input makes the reader panic, and whatever it takes can
// be written and reads back to the same text.
func FuzzReadGeoJSON(f *testing.F) {
	for _, s := range []string{
		"", "{}", `{"type":"Point","coordinates":[7.5,46.5,1234]}`, `{"type":"FeatureCollection","features":[]}`,
		`{"type":"Feature","properties":{"name":"a","n":1,"x":1.5,"big":12345678901234567890,"l":[1,null,{"a":1}],"o":{"b": 2}},"geometry":{"type":"LineString","coordinates":[[170,45],[-170,45]]}}`,
		`{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[0,0]]]}`, `{"type":"Point","coordinates":[1e210,5]}`,
		`{"type":"MultiPolygon","coordinates":[[[[170,40],[-170,40],[-170,50],[170,50],[170,40]]]]}`,
		`{"type":"GeometryCollection","geometries":[{"type":"MultiPoint","coordinates":[[1,2]]},{"type":"MultiLineString","coordinates":[]}]}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := ReadGeoJSON(bytes.NewReader(data), "f")
		if err != nil {
			require.Nil(t, g)
			return
		}
		first, ok := rewrite(t, g)
		if !ok {
			return
		}
		back, err := ReadGeoJSON(bytes.NewReader(first), "f")
		require.NoError(t, err, "%s", first)
		require.Zero(t, back.ReversedRings)
		second, ok := rewrite(t, back)
		require.True(t, ok)
		require.Equal(t, string(first), string(second))
	})
}

// rewrite writes features again, less the properties that the writer makes
// itself. Areas that wind about a pole cannot be written.
func rewrite(t *testing.T, g *GeoJSON) ([]byte, bool) {
	for i, f := range g.Features {
		var own []layer.Property
		for _, p := range f.Properties {
			if p.Key != "layer" && p.Key != "name" && p.Key != "height_m" && p.Key != "time" {
				own = append(own, p)
			}
		}
		g.Features[i].Properties = own
		if h, ok := f.Get("height_m"); ok {
			if v, ok := h.(float64); ok && math.IsNaN(f.HeightM) {
				g.Features[i].HeightM = v
			}
			if v, ok := h.(int64); ok && math.IsNaN(f.HeightM) {
				g.Features[i].HeightM = float64(v)
			}
		}
	}
	var b bytes.Buffer
	err := WriteGeoJSON(&b, []layer.Layer{{ID: "f", Features: g.Features}})
	if err != nil {
		require.ErrorIs(t, err, ErrPole)
		return nil, false
	}
	require.True(t, json.Valid(b.Bytes()), "%s", b.Bytes())
	return b.Bytes(), true
}
