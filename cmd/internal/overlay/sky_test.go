package overlay

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the days of IANA zones

	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func skyLines(t *testing.T, p orb.Point, at, zone string) string {
	t.Helper()
	when, err := time.Parse(time.RFC3339, at)
	require.NoError(t, err)
	loc, err := time.LoadLocation(zone)
	require.NoError(t, err)
	b := &brief{}
	b.sky(&job.Result{Sky: []job.SkyResult{*job.Sky(job.SkyRequest{Place: p, At: when, Zone: loc, Cloud: "clear"})}})
	for _, l := range b.lines {
		assert.LessOrEqual(t, len(l), columns)
	}
	return strings.Join(strings.Fields(strings.Join(b.lines, " ")), " ")
}

func TestSkyOfBrief(t *testing.T) {
	text := skyLines(t, orb.Point{1.5, 42.5}, "2026-12-21T11:00:00Z", "Europe/Andorra")
	assert.Contains(t, text, "21 DEC: sunrise 08:20, sunset 17:23, civil dusk 17:55; dark (sun 6 degrees down) for 13 h 53 from this noon")
	assert.Contains(t, text, "Moon: 90 % lit, at 12:00 below the horizon; moonrise 14:42, moonset 05:22 that day.")

	text = skyLines(t, orb.Point{18.956, 69.6496}, "2026-12-21T11:00:00Z", "Europe/Oslo")
	assert.Contains(t, text, "the sun stays down, civil dusk 13:53")
	text = skyLines(t, orb.Point{18.956, 69.6496}, "2026-06-21T11:00:00Z", "Europe/Oslo")
	assert.Contains(t, text, "the sun stays up; dark (sun 6 degrees down) for 0 min")
	// A sunset after midnight has its date.
	text = skyLines(t, orb.Point{25.7, 65.5}, "2026-06-15T11:00:00Z", "Europe/Helsinki")
	assert.Contains(t, text, "sunset 16 JUN 00:")

	b := &brief{}
	b.sky(&job.Result{})
	assert.Empty(t, b.lines)
}
