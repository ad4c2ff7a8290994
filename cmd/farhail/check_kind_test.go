package main

import (
	"bytes"
	"compress/gzip"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRecognise: a file is known by what it holds, its name decides only where
// that is open.
func TestRecognise(t *testing.T) {
	packed := func(text string) string {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, err := z.Write([]byte(text))
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return b.String()
	}
	wide := func(text string) string {
		out := "\xff\xfe"
		for _, c := range text {
			out += string(byte(c)) + "\x00"
		}
		return out
	}
	cases := []struct{ name, holds, want string }{
		{"a.gpx", "<gpx/>", kindGPX},
		{"a", "\ufeff\n <?xml version='1.0'?><gpx/>", kindGPX},
		{"a.xml", wide("<gpx/>"), kindGPX},
		{"a.gpx.gz", packed("<gpx/>"), kindGPX},
		{"a.gpx", "", kindGPX},
		{"a.gpx", "not XML", kindGPX},
		{"a.json", `{"type":"Point"}`, kindGeoJSON},
		{"a", "[1]", kindGeoJSON},
		{"a", "{\n  \"title\": \"a map\",\n  \"type\": \"FeatureCollection\"\n}", kindGeoJSON},
		{"a.geojson", "oops", kindGeoJSON},
		{"a", packed(`{"type":"Point"}`), kindGeoJSON},
		{"a.tif", "no TIFF", kindTerrain},
		{"a", "II*\x00\x08\x00", kindTerrain},
		{"a", "MM\x00+\x08\x00", kindTerrain},
		{"a.zip", "PK\x03\x04", kindTerrain},
		{"N46E007.hgt", `{"errorMessage":"x"}`, kindTerrain},
		{"N46E007.HGT.gz", packed("\x00\x01\x00\x02"), kindTerrain},
		{"tile", "\x00\x01\x00\x02", kindTerrain},
		{"a.txt", "NCOLS 2\nnrows 2\n", kindTerrain},
		{"a.txt", "# a comment\nversion: 1\n", kindPlan},
		{"a.yml", "anything", kindPlan},
		{"a", "\"person\":\n  name: x\n060 100 m\n", kindPlan},
		{"a.txt", "start: 42.5 1.5\n060 100 m\n", kindLog},
		{"a", "# notes\n\nN76d00'E 80.40 m\n", kindLog},
		{"a", "Bearing;Distance\n", kindLog},
		{"a.txt", "Dear diary,\n", ""},
		{"a.txt", " \n", ""},
		{"a", "", ""},
	}
	for _, c := range cases {
		t.Run(c.name+" "+c.want, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), c.name)
			require.NoError(t, os.WriteFile(path, []byte(c.holds), 0o666))
			kind, err := recognise(path)
			require.NoError(t, err)
			assert.Equal(t, c.want, kind)
		})
	}
	kind, err := recognise(t.TempDir())
	require.NoError(t, err)
	assert.Equal(t, kindTerrain, kind, "a folder")
	_, err = recognise(filepath.Join(t.TempDir(), "gone"))
	require.Error(t, err)
}
