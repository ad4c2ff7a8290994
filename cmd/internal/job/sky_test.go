package job

import (
	"context"
	"encoding/json"
	"math"
	"testing"
	"time"
	_ "time/tzdata" // the days of IANA zones

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// Days of 23, 24 and 25 hours, and days whose midnight the clocks skip or show
// twice. Transitions by the IANA time zone database.
func TestLocalDay(t *testing.T) {
	tests := []struct {
		zone, at   string
		from       string
		hours      float64
		whatChange string
	}{
		{"Europe/Andorra", "2026-11-24T12:00:00Z", "2026-11-23T23:00:00Z", 24, "none"},
		{"Europe/Andorra", "2026-03-29T12:00:00Z", "2026-03-28T23:00:00Z", 23, "02:00 to 03:00"},
		{"Europe/Andorra", "2026-10-25T12:00:00Z", "2026-10-24T22:00:00Z", 25, "03:00 to 02:00"},
		{"America/Sao_Paulo", "2018-11-04T12:00:00Z", "2018-11-04T03:00:00Z", 23, "00:00 to 01:00"},
		{"America/Sao_Paulo", "2018-02-17T12:00:00Z", "2018-02-17T02:00:00Z", 25, "24:00 to 23:00 on the day itself"},
		{"America/Havana", "2026-11-01T12:00:00Z", "2026-11-01T04:00:00Z", 25, "01:00 to 00:00"},
		{"Australia/Lord_Howe", "2026-10-04T12:00:00Z", "2026-10-03T13:30:00Z", 23.5, "02:00 to 02:30"},
		{"Pacific/Apia", "2011-12-29T20:00:00Z", "2011-12-29T10:00:00Z", 24, "the 30th is skipped whole"},
		{"Pacific/Kiritimati", "2026-11-24T12:00:00Z", "2026-11-24T10:00:00Z", 24, "none, 14 hours ahead"},
		{"Asia/Kathmandu", "2026-11-24T12:00:00Z", "2026-11-23T18:15:00Z", 24, "none, 5:45 ahead"},
	}
	for _, tt := range tests {
		at, err := time.Parse(time.RFC3339, tt.at)
		require.NoError(t, err)
		from, until := localDay(at, zone(t, tt.zone))
		assert.Equal(t, tt.from, from.UTC().Format(time.RFC3339), "%s, %s", tt.zone, tt.whatChange)
		assert.Equal(t, tt.hours, until.Sub(from).Hours(), "%s, %s", tt.zone, tt.whatChange)
	}
}

// Every moment lies in its own local day, and the days of a zone follow each
// other without a gap.
func TestLocalDaysJoin(t *testing.T) {
	for _, name := range []string{"Europe/Andorra", "America/Havana", "America/Santiago", "Australia/Lord_Howe", "Pacific/Apia", "Africa/Casablanca"} {
		loc := zone(t, name)
		at := time.Date(2011, 12, 1, 12, 0, 0, 0, time.UTC)
		_, last := localDay(at, loc)
		for range 400 {
			from, until := localDay(last.Add(time.Minute), loc)
			require.Equal(t, last, from, "%s at %s", name, last)
			require.Less(t, until.Sub(from), 26*time.Hour)
			last = until
		}
	}
}

func TestLongitudeZone(t *testing.T) {
	for lon, want := range map[float64]string{
		0: "UTC+00:00", 1.5: "UTC+00:00", 7.4: "UTC+00:00", 7.6: "UTC+01:00", -81: "UTC-05:00", 170: "UTC+11:00", 180: "UTC+12:00", -180: "UTC-12:00",
	} {
		loc := longitudeZone(lon)
		assert.Equal(t, want, zoneName(loc), lon)
		assert.Equal(t, want[3:], time.Unix(0, 0).In(loc).Format("-07:00"))
	}
	assert.Equal(t, "UTC+05:30", zoneName(time.FixedZone("", 19800)))
}

// What does not occur is null, whatever it is, and no number is missing.
func TestSkyKeys(t *testing.T) {
	out := Sky(SkyRequest{Place: orb.Point{18.956, 69.6496}, At: time.Date(2026, 12, 21, 12, 0, 0, 0, time.UTC), Cloud: "clear"})
	body, err := json.Marshal(out)
	require.NoError(t, err)
	var keys map[string]any
	require.NoError(t, json.Unmarshal(body, &keys))
	for _, k := range []string{"sun", "moon", "illuminance_lx", "sky_cd_m2", "ground_cd_m2", "day", "zone"} {
		assert.NotNil(t, keys[k], k)
	}
	day := keys["day"].(map[string]any)
	for _, k := range []string{"sunrise", "sunset"} {
		assert.Contains(t, day, k)
		assert.Nil(t, day[k], k)
	}
	for _, k := range []string{
		"state", "civil_dawn", "civil_dusk", "nautical_dawn", "nautical_dusk", "astronomical_dawn", "astronomical_dusk", "dark_s", "lowest_deg", "highest_deg",
	} {
		assert.NotNil(t, day[k], k)
	}
	assert.Contains(t, day, "moonrise")
	assert.Contains(t, day, "moonset")
}

// A plan has one sky for each of its days, in order, at the last of its times
// there.
func TestPlanSky(t *testing.T) {
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return v
	}
	p := &plan.Plan{
		AsOf: at("2026-11-24T19:00:00Z"), Weather: plan.Weather{Cloud: "overcast"},
		Hours:  []plan.Hour{{Time: at("2026-11-25T06:00:00Z")}, {Time: at("2026-11-24T21:00:00Z")}, {Time: at("2026-11-25T22:00:00Z")}},
		Starts: []plan.Start{{Name: "a", Point: orb.Point{0, 50}}},
	}
	r := &run{plan: p, result: &Result{Plan: planInfo(p, nil, cli.Words{})}}
	require.NoError(t, r.skies(context.Background()))
	require.Len(t, r.result.Sky, 2)
	assert.Equal(t, at("2026-11-24T21:00:00Z"), r.result.Sky[0].At.UTC())
	assert.Equal(t, at("2026-11-25T22:00:00Z"), r.result.Sky[1].At.UTC())
	assert.Equal(t, "overcast", r.result.Sky[0].Cloud)
	assert.InDelta(t, 14.6*3600, float64(r.result.Sky[0].Day.DarkS), 1800, "a November night at 50 degrees")
	assert.False(t, math.IsNaN(float64(r.result.Sky[1].IlluminanceLx)))

	nowhere := &run{plan: &plan.Plan{AsOf: p.AsOf}, result: &Result{Plan: planInfo(p, nil, cli.Words{})}}
	require.NoError(t, nowhere.skies(context.Background()))
	assert.Empty(t, nowhere.result.Sky)
}
