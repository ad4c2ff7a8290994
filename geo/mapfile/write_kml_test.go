package mapfile

import (
	"bytes"
	"encoding/xml"
	"image/color"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"farhail/geo/geotest"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kmlSchema returns the OGC KML 2.2 schema, which go-kml brings along. Its imports of Atom
// and xAL, of which no element is written, are pointed at empty ones.
func kmlSchema(t *testing.T) string {
	t.Helper()
	out, err := exec.Command(geotest.Tool(t, "go"), "list", "-m", "-f", "{{.Dir}}", "github.com/twpayne/go-kml/v3").Output()
	require.NoError(t, err)
	schema, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(out)), "xsd", "ogckml22.xsd"))
	require.NoError(t, err)
	dir := t.TempDir()
	schema = regexp.MustCompile(`schemaLocation="[^"]*xAL.xsd"`).ReplaceAll(schema, []byte(`schemaLocation="xal.xsd"`))
	for name, text := range map[string]string{
		"kml.xsd": string(schema),
		"atom-author-link.xsd": `<schema xmlns="http://www.w3.org/2001/XMLSchema" targetNamespace="http://www.w3.org/2005/Atom">
<element name="author"/><element name="link"/></schema>`,
		"xal.xsd": `<schema xmlns="http://www.w3.org/2001/XMLSchema" targetNamespace="urn:oasis:names:tc:ciq:xsdschema:xAL:2.0">
<element name="AddressDetails"/></schema>`,
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	return filepath.Join(dir, "kml.xsd")
}

// validKML validates documents against the schema.
func validKML(t *testing.T, data []byte) error {
	t.Helper()
	path := filepath.Join(t.TempDir(), "t.kml")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	out, err := exec.Command(geotest.Tool(t, "xmllint"), "--nonet", "--noout", "--schema", kmlSchema(t), path).CombinedOutput()
	if err != nil {
		t.Logf("%s", out)
	}
	return err
}

func writeKML(t *testing.T, layers []layer.Layer, o KMLOptions) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteKML(&b, layers, o))
	return b.Bytes()
}

func styled(l layer.Layer, f layer.Feature) KMLStyle {
	if l.ID == "signals" {
		return KMLStyle{Colour: color.RGBA{0, 114, 178, 255}, WidthPX: 1.5}
	}
	return KMLStyle{Colour: color.RGBA{213, 94, 0, 255}, WidthPX: 3, Fill: 60}
}

func TestWriteKML(t *testing.T) {
	data := writeKML(t, everyKind, KMLOptions{Name: "A & B", Description: "Estimates, not promises.", Style: styled})
	assert.Equal(t, data, writeKML(t, everyKind, KMLOptions{Name: "A & B", Description: "Estimates, not promises.", Style: styled}), "the same bytes")
	text := string(data)
	assert.Contains(t, text, "<name>A &amp; B</name>")
	assert.Contains(t, text, "<color>ffb27200</color>", "opaque, then blue, green, red")
	assert.Contains(t, text, "<color>3c005ed5</color>", "a fill of 60 in 255")
	assert.Equal(t, 2, strings.Count(text, "<Style "), "equal styles once")
	assert.Equal(t, 10, strings.Count(text, "<Placemark>"), "a feature without a place is left out")
	assert.NotContains(t, text, "http://maps", "nothing is fetched")
	assert.NotContains(t, text, "<Icon>")
	assert.NotContains(t, text, "NaN")
	assert.Contains(t, text, `<Data name="power_cd">`)

	empty := string(writeKML(t, nil, KMLOptions{}))
	assert.NotContains(t, empty, "<Folder>")

	err := WriteKML(io.Discard, []layer.Layer{{ID: "a", Features: []layer.Feature{layer.New("x", orb.Point{0, math.NaN()})}}}, KMLOptions{})
	require.ErrorIs(t, err, ErrPosition)
	err = WriteKML(io.Discard, []layer.Layer{{ID: "a", Features: []layer.Feature{layer.New("x", orb.Point{0, 1}, layer.P("c", make(chan int)))}}}, KMLOptions{})
	require.ErrorContains(t, err, "property c")
}

// TestKMLIsValid: libxml2 finds nothing against the schema of OGC 07-147r2, and would.
func TestKMLIsValid(t *testing.T) {
	data := writeKML(t, everyKind, KMLOptions{Name: "N", Description: "D", Style: styled})
	require.NoError(t, validKML(t, data))
	require.NoError(t, validKML(t, writeKML(t, nil, KMLOptions{})), "an empty document")
	require.Error(t, validKML(t, bytes.Replace(data, []byte("<width>"), []byte("<wide>1</wide><width>"), 1)), "the schema must be able to fail")
}

// TestKMLGeometry: rings are closed, the outer against the clock, and nothing crosses the
// 180 degree line, whatever went in.
func TestKMLGeometry(t *testing.T) {
	data := writeKML(t, []layer.Layer{{ID: "a", Title: "A", Features: []layer.Feature{
		layer.New("clockwise, open", orb.Polygon{{{0, 0}, {0, 1}, {1, 1}, {1, 0}}}),
		layer.New("across", orb.Polygon{{{179, 0}, {181, 0}, {181, 1}, {179, 1}, {179, 0}}}),
		layer.New("line across", orb.LineString{{179.5, 0}, {-179.5, 1}}),
	}}}, KMLOptions{})
	d := xml.NewDecoder(bytes.NewReader(data))
	rings, lines := 0, 0
	in := ""
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		switch tok := tok.(type) {
		case xml.StartElement:
			if tok.Name.Local == "LinearRing" || tok.Name.Local == "LineString" {
				in = tok.Name.Local
			}
			if tok.Name.Local != "coordinates" {
				continue
			}
			var text string
			require.NoError(t, d.DecodeElement(&text, &tok))
			var list orb.Ring
			for _, pair := range strings.Fields(text) {
				x, y, ok := strings.Cut(pair, ",")
				require.True(t, ok)
				lon, err := strconv.ParseFloat(x, 64)
				require.NoError(t, err)
				lat, err := strconv.ParseFloat(y, 64)
				require.NoError(t, err)
				if n := len(list); n > 0 {
					assert.Less(t, math.Abs(lon-list[n-1].Lon()), 180.0)
				}
				list = append(list, orb.Point{lon, lat})
			}
			if in == "LineString" {
				lines++
				continue
			}
			rings++
			assert.True(t, list.Closed())
			assert.Equal(t, orb.CCW, list.Orientation())
		}
	}
	assert.Equal(t, 3, rings, "the one across is cut in two")
	assert.Equal(t, 2, lines)
}

// TestKMLIsRead: GDAL finds every feature in its folder, at its place.
func TestKMLIsRead(t *testing.T) {
	lamp := layer.New("lamp", orb.Point{1.5, 42.5}, layer.P("noticed_m", 2090.0))
	lamp.Time = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	path := filepath.Join(t.TempDir(), "t.kml")
	require.NoError(t, os.WriteFile(path, writeKML(t, []layer.Layer{
		{ID: "site", Title: "Sites", Features: []layer.Feature{lamp, layer.New("flag", orb.Point{1.25, 42.75})}},
		{ID: "ring", Title: "Rings", Features: []layer.Feature{layer.New("ring", orb.Polygon{{{1, 42}, {2, 42}, {2, 43}, {1, 42}}})}},
		{ID: "none", Title: "None"},
	}, KMLOptions{Name: "N", Style: styled}), 0o600))
	out, err := exec.Command(geotest.Tool(t, "ogrinfo"), "-ro", "-al", path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	text := string(out)
	assert.Contains(t, text, "Layer name: Sites")
	assert.Contains(t, text, "Layer name: Rings")
	assert.NotContains(t, text, "None")
	assert.Contains(t, text, "Feature Count: 2")
	assert.Contains(t, text, "Feature Count: 1")
	assert.Regexp(t, `POINT (Z )?\(1\.5 42\.5( 0)?\)`, text)
	assert.Regexp(t, `POINT (Z )?\(1\.25 42\.75( 0)?\)`, text)
	assert.Contains(t, text, "Extent: (1.000000, 42.000000) - (2.000000, 43.000000)")
	assert.Contains(t, text, "2090")
}
