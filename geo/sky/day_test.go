package sky

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/earth"
	"farhail/geo/geotest"
)

// dayAt returns the events of a UTC day.
func dayAt(p orb.Point, day time.Time) Day { return DayOf(p, day, day.Add(24*time.Hour)) }

// minuteError is how far an event may be from a table rounded to the minute.
const minuteError = 60 * time.Second

// timetable is one year's events of one body at one place.
type timetable struct {
	place      orb.Point
	moon       bool
	rises, set []time.Time
}

// within asserts that two lists of events agree one by one.
func within(t *testing.T, what string, want, got []time.Time) time.Duration {
	t.Helper()
	require.Equal(t, len(want), len(got), what)
	worst := time.Duration(0)
	for i := range want {
		worst = max(worst, got[i].Sub(want[i]).Abs())
		assert.LessOrEqual(t, got[i].Sub(want[i]).Abs(), minuteError, "%s %s, got %s", what, want[i], got[i])
	}
	return worst
}

// compare asks for every event of a table and for no other.
func (tab timetable) compare(t *testing.T, zone *time.Location) {
	t.Helper()
	all := append(append([]time.Time{}, tab.rises...), tab.set...)
	sort.Slice(all, func(i, j int) bool { return all[i].Before(all[j]) })
	start := time.Date(all[0].In(zone).Year(), 1, 1, 0, 0, 0, 0, zone)
	var rises, sets []time.Time
	for day := start.AddDate(0, 0, -1); day.Year() <= start.Year(); day = day.AddDate(0, 0, 1) {
		d := DayOf(tab.place, day, day.AddDate(0, 0, 1))
		rise, set := d.Sunrise, d.Sunset
		if tab.moon {
			rise, set = d.Moonrise, d.Moonset
		}
		if !rise.IsZero() {
			rises = append(rises, rise)
		}
		if !set.IsZero() {
			sets = append(sets, set)
		}
	}
	// A table ends with its year; an event on the edge may fall on either side.
	inside := func(list []time.Time) []time.Time {
		var kept []time.Time
		for _, at := range list {
			if r := at.Round(time.Minute); r.Year() == start.Year() {
				kept = append(kept, at)
			}
		}
		return kept
	}
	name := fmt.Sprintf("%v", tab.place)
	a := within(t, name+" rise", tab.rises, inside(rises))
	b := within(t, name+" set", tab.set, inside(sets))
	t.Logf("%v, %d: %d rises within %v, %d sets within %v", tab.place, start.Year(), len(tab.rises), a.Round(time.Second), len(tab.set), b.Round(time.Second))
}

// The Observatory's tables of a year, day by day in columns of two times.
func TestDayYearTables(t *testing.T) {
	est := time.FixedZone("EST", -5*3600)
	for _, tab := range []struct {
		file  string
		place orb.Point
		year  int
		zone  *time.Location
		moon  bool
	}{
		{"usno-year-sun_2019_E000_N60.html", orb.Point{0, 60}, 2019, time.UTC, false},
		{"usno-year-sun_2019_W081_N29.html", orb.Point{-81, 29}, 2019, time.UTC, false},
		{"usno-year-sun_2019_W150_S60.html", orb.Point{-150, -60}, 2019, time.UTC, false},
		{"usno-year-moon_2019_W081_N29.html", orb.Point{-81, 29}, 2019, time.UTC, true},
		{"usno-year-moon_2050_E150_S45.html", orb.Point{150, -45}, 2050, time.UTC, true},
		{"usno-riset_sun.txt", orb.Point{-(84 + 25.0/60), 33 + 46.0/60}, 2007, est, false},
		{"usno-riset_moon.txt", orb.Point{-(71 + 5.0/60), 42 + 19.0/60}, 1984, est, true},
	} {
		if testing.Short() && !tab.moon {
			continue
		}
		t.Run(tab.file, func(t *testing.T) {
			table := timetable{place: tab.place, moon: tab.moon}
			for s := ephemeris(t, tab.file); s.Scan(); {
				line := s.Text()
				if len(line) < 130 || line[0] < '0' || line[0] > '3' {
					continue
				}
				day := int(number(t, line[:2]))
				for month := range 12 {
					for which, list := range []*[]time.Time{&table.rises, &table.set} {
						cell := strings.TrimSpace((line + "    ")[4+11*month+5*which:][:4])
						if cell == "" {
							continue
						}
						hm := int(number(t, cell))
						*list = append(*list, time.Date(tab.year, time.Month(month+1), day, hm/100, hm%100, 0, 0, tab.zone))
					}
				}
			}
			for _, list := range [][]time.Time{table.rises, table.set} {
				sort.Slice(list, func(i, j int) bool { return list[i].Before(list[j]) })
				require.Greater(t, len(list), 345)
			}
			table.compare(t, tab.zone)
		})
	}
}

// The collected tables of rising and setting, from 1750 to 2050 and to the
// poles. Near the poles the horizon is grazed: there the elevation at the
// minute must be that of the event within 0.03 degrees.
func TestDayTables(t *testing.T) {
	tables := map[string]*timetable{}
	var names []string
	grazing, rows := 0, 0
	worst := 0.0
	for s := ephemeris(t, "usno-riseset-all.txt"); s.Scan(); {
		f := strings.Fields(s.Text())
		if len(f) != 5 {
			continue
		}
		rows++
		place := orb.Point{number(t, f[1]), number(t, f[2])}
		at, err := time.Parse("2006-01-02T15:04Z", f[3])
		require.NoError(t, err)
		if math.Abs(place.Lat()) > 70 {
			grazing++
			off := Sun(place, at).ElevationDeg - SunriseDeg
			if f[0] == "Moon" {
				m := Moon(place, at)
				off = m.ElevationDeg + m.SemidiameterDeg + horizonRefractionDeg
			}
			worst = max(worst, math.Abs(off))
			continue
		}
		if at.Year() == 2019 || at.Year() == 2050 {
			continue // these are the tables of TestDayYearTables
		}
		key := fmt.Sprint(f[0], place, at.Year())
		if tables[key] == nil {
			tables[key] = &timetable{place: place, moon: f[0] == "Moon"}
			names = append(names, key)
		}
		if list := &tables[key].rises; f[4] == "r" {
			*list = append(*list, at)
		} else {
			tables[key].set = append(tables[key].set, at)
		}
	}
	assert.Greater(t, rows, 5800)
	t.Logf("%d grazing events, elevation within %.4f deg", grazing, worst)
	assert.Less(t, worst, 0.03)
	for _, name := range names {
		t.Run(name, func(t *testing.T) { tables[name].compare(t, time.UTC) })
	}
}

// Orlando: dawns and dusks of six days.
func TestDayTwilight(t *testing.T) {
	rows := 0
	for s := ephemeris(t, "twilight-orlando.txt"); s.Scan(); {
		f := strings.Fields(s.Text())
		place := orb.Point{number(t, f[1]), number(t, f[0])}
		from, err := time.Parse("2006-01-02T15:04Z", f[2])
		require.NoError(t, err)
		d := dayAt(place, from)
		for i, got := range []time.Time{d.AstronomicalDawn, d.NauticalDawn, d.CivilDawn, d.CivilDusk, d.NauticalDusk, d.AstronomicalDusk} {
			want, err := time.Parse("2006-01-02T15:04Z", f[3+i])
			require.NoError(t, err)
			assert.LessOrEqual(t, got.Sub(want).Abs(), minuteError, "%s", s.Text())
			rows++
		}
	}
	assert.Equal(t, 36, rows)
}

func TestDayCheck(t *testing.T) {
	events := func(in []string) ([]any, error) {
		day, err := time.Parse(time.DateOnly, in[2])
		d := dayAt(orb.Point{number(t, in[1]), number(t, in[0])}, day)
		var out []any
		for _, at := range map[string][]time.Time{
			"sun": {d.Sunrise, d.Sunset}, "moon": {d.Moonrise, d.Moonset},
			"twilight": {d.AstronomicalDawn, d.NauticalDawn, d.CivilDawn, d.CivilDusk, d.NauticalDusk, d.AstronomicalDusk},
		}[in[3]] {
			out = append(out, minutesAfter(day, at))
		}
		return out, err
	}
	for _, name := range []string{"sky-sunrise", "sky-moonrise", "sky-twilight"} {
		geotest.Check(t, name, events)
	}
}

// minutesAfter returns NaN where the event does not occur.
func minutesAfter(day, at time.Time) float64 {
	if at.IsZero() {
		return math.NaN()
	}
	return at.Sub(day).Minutes()
}

// Fairbanks, June 2006: moonrise and moonset with their azimuths, at times
// along the northern horizon, and three days without either.
func TestMoonriseFairbanks(t *testing.T) {
	zone := time.FixedZone("AKDT", -8*3600)
	place := orb.Point{-147.75, 64.81}
	rows := 0
	for s := ephemeris(t, "usno-risettran_moon.txt"); s.Scan(); {
		line := s.Text()
		if !strings.HasPrefix(line, "2006") {
			continue
		}
		day, err := time.ParseInLocation("2006 Jan 02", line[:11], zone)
		require.NoError(t, err)
		d := DayOf(place, day, day.AddDate(0, 0, 1))
		for i, got := range []time.Time{d.Moonrise, d.Moonset} {
			cell := strings.TrimSpace((line + strings.Repeat(" ", 60))[[]int{25, 59}[i]:][:9])
			if cell == "" || cell[0] == '*' {
				assert.True(t, got.IsZero(), "%s: %s", line, got)
				continue
			}
			var h, m, az int
			_, err := fmt.Sscanf(cell, "%d:%d %d", &h, &m, &az)
			require.NoError(t, err, line)
			want := day.Add(time.Duration(h)*time.Hour + time.Duration(m)*time.Minute)
			assert.LessOrEqual(t, got.Sub(want).Abs(), minuteError, "%s: %s", line, got)
			assert.InDelta(t, 0, earth.Wrap180(float64(Moon(place, got).Azimuth)-float64(az)), 0.6, line)
			rows++
		}
	}
	assert.Greater(t, rows, 30)
}

// Where the sun does not rise or does not set: each event and twilight by
// itself.
func TestDayPolar(t *testing.T) {
	at := func(hm string) time.Time {
		v, err := time.Parse("2006-01-02 15:04", "2026-12-21 "+hm)
		require.NoError(t, err)
		return v
	}
	december := at("00:00")
	june := time.Date(2026, 6, 21, 0, 0, 0, 0, time.UTC)
	const minutes = 2 * time.Minute
	near := func(want string, got time.Time) {
		t.Helper()
		assert.LessOrEqual(t, got.Sub(at(want)).Abs(), minutes, "want %s, got %s", want, got)
	}

	// Tromso; published beside the question why a sunrise library gives none.
	d := dayAt(orb.Point{18.956, 69.6496}, december)
	assert.Equal(t, SunNeverRises, d.State)
	assert.Zero(t, d.Sunrise)
	assert.Zero(t, d.Sunset)
	assert.InDelta(t, -3.09, d.HighestDeg, 0.05)
	near("10:42", d.Noon)
	near("08:31", d.CivilDawn)
	near("12:53", d.CivilDusk)
	assert.InDelta(t, 24*3600-d.CivilDusk.Sub(d.CivilDawn).Seconds(), d.DarkS, 120)

	// Longyearbyen, then 80 degrees north; computed from the low-order formulas
	// of NOAA.
	d = dayAt(orb.Point{15.6267, 78.2232}, december)
	assert.Equal(t, SunNeverRises, d.State)
	assert.Zero(t, d.CivilDawn)
	assert.Zero(t, d.CivilDusk)
	near("09:58", d.NauticalDawn)
	near("11:53", d.NauticalDusk)
	assert.InDelta(t, -11.66, d.HighestDeg, 0.05)
	assert.InDelta(t, 24*3600, d.DarkS, 60)

	d = dayAt(orb.Point{20, 80}, december)
	assert.Zero(t, d.NauticalDawn)
	near("06:43", d.AstronomicalDawn)
	near("14:33", d.AstronomicalDusk)

	d = dayAt(orb.Point{15.6267, 78.2232}, june)
	assert.Equal(t, SunNeverSets, d.State)
	assert.InDelta(t, 11.66, d.LowestDeg, 0.05)
	assert.Zero(t, d.DarkS)

	// Up all night by refraction and radius alone.
	d = dayAt(orb.Point{26, 66}, june)
	assert.Equal(t, SunNeverSets, d.State)
	assert.InDelta(t, -0.56, d.LowestDeg, 0.05)

	for _, lat := range []float64{90, -90} {
		for _, day := range []time.Time{december, june, time.Date(2026, 3, 20, 0, 0, 0, 0, time.UTC)} {
			d = dayAt(orb.Point{0, lat}, day)
			assert.False(t, math.IsNaN(d.HighestDeg))
			if day != december && day != june {
				continue
			}
			want := SunNeverRises
			if (lat > 0) == (day == june) {
				want = SunNeverSets
			}
			assert.Equal(t, want, d.State)
		}
	}
	assert.Zero(t, dayAt(orb.Point{math.NaN(), 0}, june).Sunrise, "a place that is not one has no events")
}

// Over a year at any latitude no event is lost and none is told twice: the
// events of all days, in order, are the crossings of the year.
func TestDayLosesNothing(t *testing.T) {
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	latitudes := []float64{-89.9, 65.9, 0, 71, 88}
	if testing.Short() {
		latitudes = latitudes[:2]
	}
	for _, lat := range latitudes {
		place := orb.Point{3, lat}
		elevation := func(t time.Time) float64 { return Sun(place, t).ElevationDeg }
		var up, down []time.Time
		first, end := noonFrom(place, start), start
		for day := start; day.Year() == 2026; day = day.AddDate(0, 0, 1) {
			d := dayAt(place, day)
			end = d.Noon
			if !d.Sunrise.IsZero() && day.After(start) {
				up = append(up, d.Sunrise)
			}
			if !d.Sunset.IsZero() && day.YearDay() < 365 {
				down = append(down, d.Sunset)
			}
			assert.LessOrEqual(t, d.LowestDeg, d.HighestDeg+0.5)
		}
		var wantUp, wantDown []time.Time
		for _, c := range crossings(elevation, samples(elevation, first, end), SunriseDeg) {
			if c.up {
				wantUp = append(wantUp, c.at)
			} else {
				wantDown = append(wantDown, c.at)
			}
		}
		within(t, fmt.Sprint("sunrise at ", lat), wantUp, up)
		within(t, fmt.Sprint("sunset at ", lat), wantDown, down)
	}
}

// A day of 23 or 25 hours by the clocks has one noon like any other, and a
// zone far from its longitude moves which noon that is.
func TestDayClocks(t *testing.T) {
	place := orb.Point{1.5, 42.5}
	from := time.Date(2026, 3, 28, 23, 0, 0, 0, time.UTC) // midnight in Andorra
	d := DayOf(place, from, from.Add(23*time.Hour))
	assert.Equal(t, 29, d.Noon.Day())
	assert.InDelta(t, 0, earth.Wrap180(float64(Sun(place, d.Noon).Azimuth)-180), 0.01)
	// In the middle of the Pacific the noon of the UTC day comes at once, and
	// the sunrise before it was yesterday.
	d = dayAt(orb.Point{170, 10}, time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC))
	assert.Equal(t, 23, d.Sunrise.UTC().Day())
	assert.True(t, d.Sunrise.Before(d.Noon) && d.Noon.Before(d.Sunset))
}
