package mapfile

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

// order is what the GPX 1.1 schema allows inside each element, as sequences;
// elements that this program never writes are left out, so they count as
// faults.
var order = map[string][]string{
	"gpx":      {"metadata", "wpt", "rte", "trk"},
	"metadata": {"name", "desc", "author"},
	"wpt":      {"ele", "time", "name", "cmt", "desc", "src", "sym", "type"},
	"rte":      {"name", "cmt", "desc", "src", "number", "type", "rtept"},
	"trk":      {"name", "cmt", "desc", "src", "number", "type", "trkseg"},
	"trkseg":   {"trkpt"},
	"author":   {},
}

var (
	decimal  = regexp.MustCompile(`^[+-]?(\d+(\.\d*)?|\.\d+)$`)
	dateTime = regexp.MustCompile(`^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$`)
)

// schemaFaults checks a GPX 1.1 document against the schema's rules, written
// down anew: element order, decimals, ranges, times.
func schemaFaults(data []byte) []string {
	var faults []string
	d := xml.NewDecoder(bytes.NewReader(data))
	var open []string
	last := []int{0}
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return faults
		}
		if err != nil {
			return append(faults, err.Error())
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			name := tok.Name.Local
			if tok.Name.Space != "http://www.topografix.com/GPX/1/1" {
				faults = append(faults, name+" outside the namespace")
			}
			if n := len(open); n > 0 {
				parent := open[n-1]
				if parent == "rtept" || parent == "trkpt" {
					parent = "wpt"
				}
				at := slices.Index(order[parent], name)
				if at < last[n] {
					faults = append(faults, fmt.Sprintf("<%s> out of place in <%s>", name, parent))
				}
				last[n] = at
			} else if name != "gpx" {
				faults = append(faults, "root <"+name+">")
			}
			faults = append(faults, attributeFaults(tok)...)
			open, last = append(open, name), append(last, 0)
		case xml.EndElement:
			open, last = open[:len(open)-1], last[:len(last)-1]
		case xml.CharData:
			if len(open) == 0 {
				continue
			}
			switch open[len(open)-1] {
			case "ele":
				if !decimal.Match(tok) {
					faults = append(faults, fmt.Sprintf("ele %q", tok))
				}
			case "time":
				if !dateTime.Match(tok) {
					faults = append(faults, fmt.Sprintf("time %q", tok))
				}
			}
		}
	}
}

func attributeFaults(e xml.StartElement) (faults []string) {
	attr := map[string]string{}
	for _, a := range e.Attr {
		attr[a.Name.Local] = a.Value
	}
	switch e.Name.Local {
	case "gpx":
		if attr["version"] != "1.1" || attr["creator"] == "" {
			faults = append(faults, "version or creator")
		}
	case "wpt", "rtept", "trkpt":
		lat, errLat := strconv.ParseFloat(attr["lat"], 64)
		lon, errLon := strconv.ParseFloat(attr["lon"], 64)
		if errLat != nil || !decimal.MatchString(attr["lat"]) || lat < -90 || lat > 90 {
			faults = append(faults, fmt.Sprintf("lat %q", attr["lat"]))
		}
		if errLon != nil || !decimal.MatchString(attr["lon"]) || lon < -180 || lon >= 180 {
			faults = append(faults, fmt.Sprintf("lon %q", attr["lon"]))
		}
	}
	return faults
}

// TestPositionCheck holds the validator of these tests against libxml2's
// verdicts, and the reader: whatever the schema takes is read.
func TestPositionCheck(t *testing.T) {
	geotest.Check(t, "gpx-positions", func(in []string) ([]any, error) {
		text := head + fmt.Sprintf(`<wpt lat="%s" lon="%s"/></gpx>`, in[0], in[1])
		if len(schemaFaults([]byte(text))) > 0 {
			return []any{"no"}, nil
		}
		require.Len(t, read(t, text).Waypoints, 1)
		return []any{"yes"}, nil
	})
}

// TestValidatorSees: the validator must be able to fail.
func TestValidatorSees(t *testing.T) {
	for _, text := range []string{
		head + `<wpt lat="1" lon="2"><name>a</name><ele>1</ele></wpt></gpx>`,
		head + `<wpt lat="1" lon="2"><ele>1.2e-05</ele></wpt></gpx>`,
		head + `<wpt lat="1" lon="2"><time>2026-03-01T06:00:00</time></wpt></gpx>`,
		head + `<trk/><wpt lat="1" lon="2"/></gpx>`,
		head + `<wpt lat="1" lon="2"><speed>1</speed></wpt></gpx>`,
		head + `<wpt lat="1" lon="180"/></gpx>`,
		`<gpx version="1.0" creator="t" xmlns="http://www.topografix.com/GPX/1/1"/>`,
		`<gpx version="1.1" creator="t"/>`,
	} {
		require.NotEmpty(t, schemaFaults([]byte(text)), text)
	}
}

// xmllint validates a document against the official schema.
func xmllint(t *testing.T, data []byte) {
	t.Helper()
	tool := geotest.Tool(t, "xmllint")
	schema := filepath.Join(geotest.Shared(t), "data", "reference", "gpx-1.1.xsd")
	path := filepath.Join(t.TempDir(), "t.gpx")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	out, err := exec.Command(tool, "--nonet", "--noout", "--schema", schema, path).CombinedOutput()
	require.NoError(t, err, "%s", out)
}
