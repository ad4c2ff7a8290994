package mapfile

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pts writes track points a few metres apart from "time|ele" words; "-" leaves
// the element out.
func pts(words ...string) string {
	var b strings.Builder
	for i, w := range words {
		clock, ele, _ := strings.Cut(w, "|")
		fmt.Fprintf(&b, "<trkpt lat=\"46.5\" lon=\"7.500%d\">", i)
		if ele != "" && ele != "-" {
			fmt.Fprintf(&b, "<ele>%s</ele>", ele)
		}
		if clock != "-" {
			fmt.Fprintf(&b, "<time>%s</time>", clock)
		}
		b.WriteString("</trkpt>\n")
	}
	return b.String()
}

// TestDoubts: what is legal and yet doubtful is told, with its place, and
// nothing of it is changed.
func TestDoubts(t *testing.T) {
	cases := []struct {
		name, text string
		want       []string // a part of each problem
		line       int      // of the first
	}{
		{"a good track", doc(pts("2026-03-01T06:00:00Z|10", "2026-03-01T06:00:05Z|11")), nil, 0},
		{"clock stands still", doc("\n" + pts("2026-03-01T06:00:00Z", "2026-03-01T06:00:00Z", "2026-03-01T06:00:01Z")),
			[]string{"the clock stands still on 1 step; first at point 2"}, 3},
		{"clock runs back", doc(pts("2026-03-01T06:00:00Z", "2026-03-01T06:00:10Z", "2026-03-01T06:00:03Z", "2026-03-01T06:00:02Z")),
			[]string{"the clock runs back on 2 steps, by 7 s at most; first at point 3"}, 3},
		{"1024 weeks on, 2006-08-05 and 2026-03-21 being 7168 days apart", doc(pts("2006-08-05T06:00:00Z", "2026-03-21T06:00:10Z")),
			[]string{"the clock jumps by 1024 weeks; first at point 2"}, 2},
		{"1024 weeks back", doc(pts("2026-03-21T06:00:00Z", "2006-08-05T06:00:10Z")), []string{"the clock jumps by 1024 weeks; first at point 2"}, 2},
		{"1024 weeks between segments", doc(pts("2006-08-05T06:00:00Z") + "</trkseg><trkseg>" + pts("2026-03-21T06:00:10Z")),
			[]string{"track 1, segment 2 begins 2026-03-21, what is before it ends 2006-08-05"}, 0},
		{"1024 weeks before the file", head + "<metadata><time>2026-04-01T00:00:00Z</time></metadata>" + doc(pts("2006-08-05T06:00:00Z"))[len(head):],
			[]string{"the file is dated 2026-04-01, its tracks end 2006-08-05"}, 1},
		{"twenty years before the file", head + "<metadata><time>2028-04-01T00:00:00Z</time></metadata>" + doc(pts("2006-08-05T06:00:00Z"))[len(head):], nil, 0},
		{"before GPS", doc(pts("1901-12-13T20:45:52Z", "1901-12-13T20:45:53Z")), []string{"2 points are dated before 6 January 1980"}, 1},
		{"silence", doc(pts("2026-03-01T06:00:00Z", "2026-03-01T06:34:00Z", "2026-03-01T08:04:00Z")),
			[]string{"nothing recorded for more than 5 min 2 times, 90 min at most; first at point 2"}, 2},
		{"too fast", doc(`<trkpt lat="46.5" lon="7.5"><time>2026-03-01T06:00:00Z</time></trkpt>` + "\n" + `<trkpt lat="46.5" lon="7.504"><time>2026-03-01T06:00:03Z</time></trkpt>`),
			[]string{"1 step faster than 70 m/s, 102 m/s at most; first at point 2"}, 2},
		{"some times missing", doc(pts("2026-03-01T06:00:00Z", "-", "2026-03-01T06:00:10Z")), []string{"1 of 3 points have no time; first at point 2"}, 2},
		{"no times at all", doc(pts("-|5", "-|6")), nil, 0},
		{"some heights missing", doc(pts("-|5", "-", "-|6")), []string{"1 of 3 points have no elevation; first at point 2"}, 2},
		{"all heights 0", doc(pts("-|0", "-|0.0", "-|-0")), []string{"every elevation is 0"}, 1},
		{"one height, 0", doc(pts("-|0")), nil, 0},
		{"sea level on the way", doc(pts("-|2", "-|0", "-|1")), nil, 0},
		{"a height falls to 0", doc(pts("-|1500", "-|0", "-|1501")), []string{"1 elevation falls to 0 between points above 100 m; first at point 2"}, 2},
		{"repeated positions", doc(strings.Repeat(`<trkpt lat="46.5" lon="7.5"/>`+"\n", 4)), []string{"3 points repeat the position before them; first at point 2"}, 2},
		{"point numbers are the file's", doc(`<trkpt lat="95" lon="7"/>` + strings.Repeat("\n"+`<trkpt lat="46.5" lon="7.5"/>`, 2)),
			[]string{"point 1: latitude beyond 90", "1 point repeats the position before it; first at point 3"}, 1},
		{"a jump to 0, 0", doc(`<trkpt lat="46.5" lon="7.5"/>` + "\n" + `<trkpt lat="0" lon="0"/>` + "\n" + `<trkpt lat="46.5001" lon="7.5"/>`),
			[]string{"track 1, segment 1, point 2: a jump of 5204 km to 0, 0"}, 2},
		{"a waypoint at 0, 0", head + `<wpt lat="0" lon="0.0"/></gpx>`, []string{"waypoint 1 lies at 0, 0"}, 1},
		{"swapped", doc(`<trkpt lat="120.5" lon="35"/>`), []string{"latitude beyond 90"}, 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			g := read(t, c.text)
			require.Len(t, g.Problems, len(c.want), "%s", texts(g.Problems))
			for i, want := range c.want {
				assert.Contains(t, g.Problems[i].Text, want)
				assert.Equal(t, SeverityWarning, g.Problems[i].Severity)
			}
			if len(c.want) > 0 {
				assert.Equal(t, c.line, g.Problems[0].Line)
			}
		})
	}
	assert.Contains(t, read(t, doc(`<trkpt lat="120.5" lon="35"/>`)).Problems[0].Hint, "swapped")
	g := read(t, doc(pts("2006-08-05T06:00:00Z", "2026-03-21T06:00:10Z")))
	assert.Equal(t, 2006, g.Tracks[0].Segments[0][0].Time.Year(), "never re-dated")
}

// TestManyFaultsAtOnce: every kind in one file is told, each once, and the good
// points stay.
func TestManyFaultsAtOnce(t *testing.T) {
	g := read(t, `<gpx><wpt lat="0" lon="0"><name>w</name></wpt><trk><trkseg>
<trkpt lat="46.5" lon="7.5"><ele>12,5</ele><time>2026-03-01T08:00:00+02:00</time></trkpt>
<trkpt lat="46.5" lon="7.5"><ele/><time>2026-03-01T05:59:00Z</time></trkpt>
<trkpt lat="" lon="7.5"/>
<trkpt lat="46,5" lon="7,5"/>
<trkpt lat="0" lon="0"><time>2026-02-30T06:00:00Z</time></trkpt>
<trkpt lat="46.5001" lon="7.5"><ele>NaN</ele><time>2026-03-01T06:00:00</time></trkpt>
</trkseg></trk></gpx>`)
	assert.Equal(t, 4, g.TrackPoints())
	assert.Len(t, g.Dropped, 2)
	assert.Equal(t, 1, g.Duplicates)
	for _, want := range []string{"1:1 warning|no version and no namespace", "lies at 0, 0", "2:38 warning|track 1, segment 1, point 1: elevation cannot be read", "comma",
		"point 2: elevation empty", "point 3: latitude empty", "point 4: latitude cannot be read", "5:1", "point 5: time cannot be read",
		"point 6: elevation cannot be read", "without a zone", "point 5: a jump of", "1 point repeats", "the clock runs back on 1 step"} {
		assert.Contains(t, texts(g.Problems), want)
	}
}

// TestWarningsBeforeAnError: what was odd before a file broke off is told too.
func TestWarningsBeforeAnError(t *testing.T) {
	_, err := ReadGPX(strings.NewReader(doc(`<trkpt lat="95" lon="2"/>`)[:120]), "t.gpx")
	var e *Error
	require.ErrorAs(t, err, &e)
	require.Len(t, e.Before, 1)
	assert.Contains(t, e.Before[0].Text, "latitude beyond 90")
}
