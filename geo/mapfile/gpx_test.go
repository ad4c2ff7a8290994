package mapfile

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const head = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">`

// doc wraps track points in a document.
func doc(points string) string {
	return head + "<trk><trkseg>" + points + "</trkseg></trk></gpx>"
}

func read(t testing.TB, text string) *GPX {
	t.Helper()
	g, err := ReadGPX(strings.NewReader(text), "t.gpx")
	require.NoError(t, err)
	return g
}

func texts(list []Problem) string {
	var b strings.Builder
	for _, p := range list {
		fmt.Fprintf(&b, "%d:%d %s|%s|%s|%s\n", p.Line, p.Column, p.Severity, p.Text, p.Found, p.Hint)
	}
	return b.String()
}

// TestElevations: missing stays missing, 0 stays 0, one bad number costs only
// itself. Every form here is one on which a common reader fails or guesses.
func TestElevations(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		ele, problem string
		want         float64
	}{
		{"", "1 of 2 points have no elevation", nan},
		{"<ele/>", "elevation empty", nan},
		{"<ele></ele>", "elevation empty", nan},
		{"<ele>0</ele>", "", 0},
		{"<ele>-0</ele>", "", 0},
		{"<ele>12</ele>", "", 12},
		{"<ele>\n12.5\n</ele>", "", 12.5},
		{"<ele> +12.5 </ele>", "", 12.5},
		{"<ele><![CDATA[12.5]]></ele>", "", 12.5},
		{"<ele><!-- c -->12</ele>", "", 12},
		{"<ele>1e3</ele>", "", 1000},
		{"<ele>12,5</ele>", "comma", nan},
		{"<ele>NaN</ele>", "cannot be read", nan},
		{"<ele>Inf</ele>", "cannot be read", nan},
		{"<ele>0x10</ele>", "cannot be read", nan},
		{"<ele>1_000</ele>", "cannot be read", nan},
		{"<ele>n/a</ele>", "cannot be read", nan},
		{"<ele>-32768</ele>", "beyond 12000 m", nan},
		{"<ele>1e999</ele>", "cannot be read", nan},
		{"<ele>n/a</ele><ele>5</ele>", "cannot be read", 5},
		{"<sat>7.5</sat><hdop>n/a</hdop><ele>5</ele>", "", 5},
	}
	for _, c := range cases {
		t.Run(c.ele, func(t *testing.T) {
			g := read(t, doc(`<trkpt lat="46.5" lon="7.5">`+c.ele+`</trkpt><trkpt lat="46.6" lon="7.6"><ele>1</ele></trkpt>`))
			require.Equal(t, 2, g.TrackPoints())
			got := g.Tracks[0].Segments[0][0].HeightM
			if math.IsNaN(c.want) {
				assert.True(t, math.IsNaN(got), "got %v", got)
			} else {
				assert.Equal(t, c.want, got)
				assert.False(t, math.Signbit(got))
			}
			if c.problem == "" {
				assert.Empty(t, g.Problems)
			} else {
				require.Len(t, g.Problems, 1)
				assert.Contains(t, texts(g.Problems), c.problem)
				assert.Regexp(t, "track 1, segment 1.* point 1", g.Problems[0].Text)
			}
		})
	}
}

// TestPositions: a position that is absent or unreadable is never zero.
func TestPositions(t *testing.T) {
	cases := []struct{ attr, reason string }{
		{`lat="46.5" lon="7.5"`, ""},
		{`lat="0" lon="10.25"`, ""},
		{`lat="51.5" lon="0"`, ""},
		{`lat=" 46.5&#10;" lon="7.5"`, ""},
		{`lat="4.65e1" lon="7.5"`, ""},
		{`lat="90" lon="-180"`, ""},
		{`lon="7.5"`, "latitude missing"},
		{`lat="46.5"`, "longitude missing"},
		{``, "latitude and longitude missing"},
		{`LAT="46.5" lon="7.5"`, "latitude missing"},
		{`x:lat="46.5" lon="7.5"`, "latitude missing"},
		{`lat="" lon="7.5"`, "latitude empty"},
		{`lat="46.5" lon=" "`, "longitude empty"},
		{`lat="95" lon="190"`, "latitude beyond 90"},
		{`lat="5" lon="190"`, "longitude beyond 180"},
		{`lat="-1000" lon="1e9"`, "latitude beyond 90"},
		{`lat="NaN" lon="7"`, "latitude cannot be read"},
		{`lat="7" lon="Inf"`, "longitude cannot be read"},
		{`lat="0x1p3" lon="7"`, "latitude cannot be read"},
		{`lat="abc" lon="7"`, "latitude cannot be read"},
		{`lat="46,5" lon="7,5"`, "latitude cannot be read"},
		{`lat="undefined" lon="7"`, "latitude cannot be read"},
		{`lat="1" lat="2" lon="7"`, "latitude given twice"},
	}
	for _, c := range cases {
		t.Run(c.attr, func(t *testing.T) {
			g := read(t, doc("\n<trkpt lat=\"1\" lon=\"2\"/>\n  <trkpt "+c.attr+"/>\n<trkpt lat=\"3\" lon=\"4\"/>"))
			if c.reason == "" {
				require.Equal(t, 3, g.TrackPoints())
				assert.Empty(t, g.Dropped)
				return
			}
			require.Equal(t, 2, g.TrackPoints(), "the other points stay")
			require.Len(t, g.Dropped, 1)
			assert.Equal(t, Dropped{Kind: "trkpt", Index: 1, Line: 3, Column: 3, Reason: c.reason}, g.Dropped[0])
			require.Len(t, g.Problems, 1)
			assert.Contains(t, g.Problems[0].Text, "point 2: "+c.reason)
			assert.Equal(t, 3, g.Problems[0].Line)
			if strings.Contains(c.attr, "6,5") {
				assert.Contains(t, g.Problems[0].Hint, "comma")
			}
		})
	}
	g := read(t, head+`<wpt lat="10" lon="180"/></gpx>`)
	assert.Equal(t, -180.0, g.Waypoints[0].Point.Lon(), "below 180 by the schema")
}

// TestGPXTimes: an unreadable time is missing and told, never year 1.
func TestGPXTimes(t *testing.T) {
	g := read(t, doc(`<trkpt lat="46.5" lon="7.5"><time>2026-03-01T08:00:00+02:00</time></trkpt>`+
		`<trkpt lat="46.5" lon="7.5"><time>2026-02-30T06:00:00Z</time></trkpt>`+
		`<trkpt lat="46.5" lon="7.5"><time/></trkpt>`+
		`<trkpt lat="46.5" lon="7.5"><time>2026-03-01T06:00:00</time></trkpt>`))
	s := g.Tracks[0].Segments[0]
	assert.Equal(t, "2026-03-01T06:00:00Z", s[0].Time.Format(time.RFC3339))
	assert.True(t, s[1].Time.IsZero() && s[2].Time.IsZero())
	assert.Equal(t, "2026-03-01T06:00:00Z", s[3].Time.Format(time.RFC3339))
	require.Len(t, g.Problems, 5)
	assert.Contains(t, g.Problems[3].Text, "3 points repeat the position")
	assert.Contains(t, g.Problems[4].Text, "the clock stands still on 1 step; first at point 4")
	assert.Contains(t, g.Problems[0].Text, "point 2: time cannot be read")
	assert.Equal(t, "2026-02-30T06:00:00Z", g.Problems[0].Found)
	assert.Contains(t, g.Problems[1].Text, "point 3: time empty")
	assert.Contains(t, g.Problems[2].Text, "without a zone, taken as UTC")
}

// TestForms: the same content in other clothes gives the same result.
func TestForms(t *testing.T) {
	const body = `<wpt lat="1" lon="2"><ele>5</ele><name>Hütte</name></wpt><trk><name>T</name><trkseg><trkpt lat="1" lon="2"/></trkseg></trk>`
	prefixed := strings.NewReplacer("</", "</n:", "<", "<n:").Replace(body)
	latin1 := func(s string) string {
		var b []byte
		for _, r := range s {
			b = append(b, byte(r))
		}
		return string(b)
	}
	utf16 := func(s string) string {
		b := []byte{0xff, 0xfe}
		for _, r := range s {
			b = append(b, byte(r), byte(r>>8))
		}
		return string(b)
	}
	cases := []struct{ name, text, version, docName, problem string }{
		{"plain 1.1", head + `<metadata><name>N</name></metadata>` + body + `</gpx>`, "1.1", "N", ""},
		{"prefix", `<n:gpx version="1.1" xmlns:n="http://www.topografix.com/GPX/1/1">` + prefixed + `</n:gpx>`, "1.1", "", ""},
		{"undeclared prefix throughout", `<n:gpx version="1.1">` + prefixed + `</n:gpx>`, "1.1", "", "prefix n is not declared"},
		{"bare root", `<gpx>` + body + `</gpx>`, "", "", "no version and no namespace"},
		{"no namespace", `<gpx version="1.1">` + body + `</gpx>`, "1.1", "", "no namespace"},
		{"wrong namespace", `<gpx version="1.1" xmlns="urn:x">` + body + `</gpx>`, "1.1", "", "not that of GPX"},
		{"version 2.0", `<gpx version="2.0" xmlns="http://www.topografix.com/GPX/1/1">` + body + `</gpx>`, "2.0", "", "neither"},
		{"1.0", `<gpx version = "1.0" xmlns="http://www.topografix.com/GPX/1/0"><name>Ten</name>` + body + `</gpx>`, "1.0", "Ten", ""},
		{"1.0 late root", strings.Repeat(" ", 3000) + `<gpx version='1.0' xmlns="http://www.topografix.com/GPX/1/0"><name>Ten</name>` + body + `</gpx>`, "1.0", "Ten", ""},
		{"1.0 prefixed", `<n:gpx version="1.0" xmlns:n="http://www.topografix.com/GPX/1/0"><n:name>Ten</n:name>` + prefixed + `</n:gpx>`, "1.0", "Ten", ""},
		{"byte order mark", "\ufeff" + head + body + `</gpx>`, "1.1", "", ""},
		{"blank line first", "\n" + head + body + `</gpx>`, "1.1", "", ""},
		{"declared latin 1", latin1(`<?xml version="1.0" encoding="ISO-8859-1"?>` + head + body + `</gpx>`), "1.1", "", ""},
		{"declared windows-1252", latin1(`<?xml version='1.0' encoding='windows-1252'?>` + head + body + `</gpx>`), "1.1", "", ""},
		{"UTF-16", utf16(`<?xml version="1.0" encoding="UTF-16"?>` + head + body + `</gpx>`), "1.1", "", ""},
		{"UTF-16 by name only", `<?xml version="1.0" encoding="utf-16"?>` + head + body + `</gpx>`, "1.1", "", "read as UTF-8"},
		{"foreign elements", head + `<z:wpt xmlns:z="urn:z" lat="9" lon="9"/><extensions><wpt xmlns="urn:z" lat="8" lon="8"/></extensions>` + body + `</gpx>`, "1.1", "", ""},
		{"document type without declarations", `<!DOCTYPE gpx>` + head + body + `</gpx>`, "1.1", "", ""},
		{"undeclared prefix in extensions", head + body[:len(body)-len("<trkseg><trkpt lat=\"1\" lon=\"2\"/></trkseg></trk>")] +
			`<extensions><gpxx:TrackExtension><gpxx:DisplayColor>Red</gpxx:DisplayColor></gpxx:TrackExtension></extensions><trkseg><trkpt lat="1" lon="2"/></trkseg></trk></gpx>`,
			"1.1", "", "prefix gpxx is not declared"},
	}
	for _, c := range cases {
		for _, how := range []string{"whole", "one byte", "gzip"} {
			t.Run(c.name+" "+how, func(t *testing.T) {
				r := io.Reader(strings.NewReader(c.text))
				switch how {
				case "one byte":
					r = iotest.OneByteReader(r)
				case "gzip":
					var b bytes.Buffer
					z := gzip.NewWriter(&b)
					_, _ = z.Write([]byte(c.text))
					require.NoError(t, z.Close())
					r = &b
				}
				g, err := ReadGPX(r, "t.gpx")
				require.NoError(t, err)
				assert.Equal(t, c.version, g.Version)
				assert.Equal(t, c.docName, g.Name)
				require.Len(t, g.Waypoints, 1)
				assert.Equal(t, "Hütte", g.Waypoints[0].Name)
				assert.Equal(t, 5.0, g.Waypoints[0].HeightM)
				assert.Equal(t, 1, g.TrackPoints())
				assert.Equal(t, "T", g.Tracks[0].Name)
				if c.problem == "" {
					assert.Empty(t, g.Problems)
				} else {
					assert.Contains(t, texts(g.Problems), c.problem)
				}
			})
		}
	}
}

// TestBrokenFiles: a broken file gives an error with line, column and cause,
// and nothing else.
func TestBrokenFiles(t *testing.T) {
	wpt := head + "\n<wpt lat=\"1\" lon=\"2\"><name>"
	cases := []struct {
		name, text, want string
		line, col        int
		is               error
	}{
		{"empty", "", "empty file", 0, 0, ErrNotGPX},
		{"blank", " \n ", "no element", 2, 2, ErrNotGPX},
		{"text", "hello", `it begins with "hello"`, 1, 1, ErrNotGPX},
		{"html", "<!DOCTYPE html>\n<html><body>log in</body></html>", "HTML page", 1, 1, ErrNotGPX},
		{"html without doctype", "<HTML><body>log in", "HTML page", 1, 1, ErrNotGPX},
		{"kml", `<?xml version="1.0"?><kml/>`, "KML", 1, 22, ErrNotGPX},
		{"rss", `<rss/>`, "its root is <rss>", 1, 1, ErrNotGPX},
		{"cut after a point", doc("")[:len(doc(""))-len("</trkseg></trk></gpx>")] + "\n<trkpt lat=\"1\" lon=\"2\"/>", "file ends early, inside <trkseg>", 2, 25, ErrTruncated},
		{"cut in a tag", head + "\n<wpt lat=\"1", "file ends early", 2, 12, ErrTruncated},
		{"cut in the root tag", "<gpx version=", "file ends early", 1, 14, ErrTruncated},
		{"cut in a text", wpt + "abc", "file ends early, inside <name>", 2, 31, ErrTruncated},
		{"bare ampersand", wpt + "Hut & Lake</name></wpt></gpx>", "& that begins no character entity", 2, 32, nil},
		{"unknown entity", wpt + "caf&eacute;</name></wpt></gpx>", "unknown entity &eacute;", 2, 31, nil},
		{"declared entity", `<!DOCTYPE gpx [<!ENTITY a "AAAA"><!ENTITY b "&a;&a;">]>` + wpt + "&b;</name></wpt></gpx>", "declares entities", 1, 1, nil},
		{"external entity", `<!DOCTYPE gpx [<!ENTITY a SYSTEM "file:///etc/passwd">]>` + wpt + "&a;</name></wpt></gpx>", "declares entities", 1, 1, nil},
		{"control character", wpt + "a\x01b</name></wpt></gpx>", "illegal character U+0001", 2, 29, nil},
		{"undeclared latin 1", wpt + "caf\xe9</name></wpt></gpx>", "UTF-8", 2, 31, nil},
		{"unknown charset", `<?xml version="1.0" encoding="klingon"?>` + head + "</gpx>", "unknown character set", 1, 1, nil},
		{"crossed tags", head + "\n<wpt lat=\"1\" lon=\"2\"><name></wpt></name></gpx>", "<name> ends with another tag", 2, 28, nil},
		{"end without start", "</gpx>", "end tag without a start", 1, 1, nil},
		{"second document", head + "</gpx>\n" + head + "</gpx>", "more text after the end", 2, 1, nil},
		{"text after", head + "</gpx>junk", "more text after the end", 1, len(head) + 7, nil},
		{"deep", head + strings.Repeat("<a>", 300) + strings.Repeat("</a>", 300) + "</gpx>", "more than 200 elements", 1, len(head) + 199*3 + 1, ErrTooLarge},
		{"cut gzip", "\x1f\x8b\x08", "gzip", 0, 0, nil},
		{"one long token", head + "<wpt lat=\"1\" lon=\"2\"><name>" + strings.Repeat("x", maxToken+1<<17) + "</name></wpt></gpx>", "more than 16 MB", 1, -1, ErrTooLarge},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g, err := ReadGPX(strings.NewReader(c.text), "t.gpx")
			require.Nil(t, g)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Contains(t, err.Error(), c.want)
			assert.NotContains(t, err.Error(), "EOF")
			file, line, col := e.Where()
			assert.Equal(t, "t.gpx", file)
			assert.Equal(t, c.line, line)
			if c.col >= 0 {
				assert.Equal(t, c.col, col)
			}
			if c.is != nil {
				assert.True(t, errors.Is(err, c.is))
			}
		})
	}
}

// TestColumnsCountCharacters: the column is that of a character, not of a byte.
func TestColumnsCountCharacters(t *testing.T) {
	g := read(t, head+"<trk>\n<name>Grüße — 山</name><trkseg><trkpt lat=\"x\" lon=\"2\"/></trkseg></trk></gpx>")
	require.Len(t, g.Dropped, 1)
	assert.Equal(t, 2, g.Dropped[0].Line)
	assert.Equal(t, len([]rune("<name>Grüße — 山</name><trkseg>"))+1, g.Dropped[0].Column)
}

func TestEntitiesInNames(t *testing.T) {
	g := read(t, head+`<wpt lat="1" lon="2"><name>Hut &amp; Lake &#233; &lt;x&gt;</name></wpt></gpx>`)
	assert.Equal(t, "Hut & Lake é <x>", g.Waypoints[0].Name)
	var b bytes.Buffer
	require.NoError(t, g.Write(&b))
	assert.Equal(t, "Hut & Lake é <x>", read(t, b.String()).Waypoints[0].Name)
}

// TestMisplaced: points in a place where GPX has none are told, not lost in
// silence.
func TestMisplaced(t *testing.T) {
	g := read(t, head+`<trk><trkpt lat="1" lon="2"/><trkseg><wpt lat="1" lon="2"/></trkseg></trk></gpx>`)
	assert.Equal(t, 0, g.TrackPoints())
	assert.Contains(t, texts(g.Problems), "<trkpt> inside <trk> left out")
	assert.Contains(t, texts(g.Problems), "<wpt> inside <trkseg> left out")
}

// TestManyProblems: a long file with one fault throughout gives a short list.
func TestManyProblems(t *testing.T) {
	g := read(t, doc(strings.Repeat("<trkpt lat=\"1\" lon=\"2\"><time>2026-03-01T06:00:00</time></trkpt>\n", 1000)))
	require.Len(t, g.Problems, listed+3)
	assert.Contains(t, texts(g.Problems), "999 points repeat the position before them; first at point 2")
	assert.Contains(t, texts(g.Problems), "the clock stands still on 999 steps; first at point 2")
	last := g.Problems[listed+2]
	assert.Contains(t, last.Text, "980 more")
	assert.Equal(t, listed+1, last.Line)
}

// TestDamagedGzip: packed data that ends early is told as that.
func TestDamagedGzip(t *testing.T) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = z.Write(manyPoints(1000))
	require.NoError(t, z.Close())
	_, err := ReadGPX(bytes.NewReader(b.Bytes()[:b.Len()/2]), "t.gpx.gz")
	require.ErrorIs(t, err, ErrTruncated)
	_, err = ReadGeoJSON(bytes.NewReader(b.Bytes()[:b.Len()/2]), "t.json.gz")
	require.Error(t, err)
}

// TestSizeLimit: the limit holds for the unpacked bytes.
func TestSizeLimit(t *testing.T) {
	x := newXMLScanner(bytes.NewReader(manyPoints(5000)))
	x.limit = 1 << 17
	n := 0
	for {
		if _, err := x.next(); err != nil {
			require.ErrorIs(t, err, ErrTooLarge)
			break
		}
		n++
	}
	assert.Less(t, x.total, int64(1<<17+1<<17))
	assert.Positive(t, n)
}

// TestReaderFails: an error of the input is handed on and nothing is returned.
func TestReaderFails(t *testing.T) {
	broken := errors.New("disc on fire")
	_, err := ReadGPX(io.MultiReader(strings.NewReader(head), iotest.ErrReader(broken)), "t.gpx")
	require.ErrorIs(t, err, broken)
	_, err = ReadGPX(iotest.ErrReader(broken), "t.gpx")
	require.ErrorIs(t, err, broken)
}
