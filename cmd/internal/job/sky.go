package job

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/sky"
	"farhail/signal/air"

	"github.com/paulmach/orb"
)

// A SkyRequest asks for sun, moon and light at one place and time.
type SkyRequest struct {
	Place orb.Point
	At    time.Time
	Zone  *time.Location // whose days and clocks are meant; nil: the whole-hour offset of the longitude
	Cloud string         // one of Clouds
}

// Clouds lists the kinds of sky, the usual first.
func Clouds() []string {
	var list []string
	for _, c := range sky.Clouds {
		list = append(list, string(c))
	}
	return list
}

// A SkyResult is the sky over a place at one time, and the day around it.
type SkyResult struct {
	At            *time.Time `json:"at"`
	Zone          string     `json:"zone"`
	Lat           cli.Deg    `json:"lat"`
	Lon           cli.Deg    `json:"lon"`
	Sun           SkySun     `json:"sun"`
	Moon          SkyMoon    `json:"moon"`
	Cloud         string     `json:"cloud"`
	IlluminanceLx cli.Num    `json:"illuminance_lx"` // on open level ground
	SkyCDM2       cli.Num    `json:"sky_cd_m2"`      // of the sky near the horizon
	GroundCDM2    cli.Num    `json:"ground_cd_m2"`   // of open country
	Day           SkyDay     `json:"day"`
}

// SkySun is where the sun stands.
type SkySun struct {
	AzimuthDeg           cli.Angle `json:"azimuth_deg"`
	ElevationDeg         cli.Num   `json:"elevation_deg"`
	ApparentElevationDeg cli.Num   `json:"apparent_elevation_deg"`
}

// SkyMoon is where the moon stands and how much of it is lit.
type SkyMoon struct {
	SkySun
	LitFraction cli.Num `json:"lit_fraction"`
}

// SkyDay is what happens on the day; what does not occur is null.
type SkyDay struct {
	Date             string     `json:"date"`
	State            string     `json:"state"`
	AstronomicalDawn *time.Time `json:"astronomical_dawn"`
	NauticalDawn     *time.Time `json:"nautical_dawn"`
	CivilDawn        *time.Time `json:"civil_dawn"`
	Sunrise          *time.Time `json:"sunrise"`
	Noon             *time.Time `json:"noon"`
	Sunset           *time.Time `json:"sunset"`
	CivilDusk        *time.Time `json:"civil_dusk"`
	NauticalDusk     *time.Time `json:"nautical_dusk"`
	AstronomicalDusk *time.Time `json:"astronomical_dusk"`
	Moonrise         *time.Time `json:"moonrise"`
	Moonset          *time.Time `json:"moonset"`
	DarkS            cli.Num    `json:"dark_s"` // sun below -6 degrees, from this noon to the next
	LowestDeg        cli.Num    `json:"lowest_deg"`
	HighestDeg       cli.Num    `json:"highest_deg"`
}

// Sky tells sun, moon, light and day.
func Sky(r SkyRequest) *SkyResult {
	zone := r.Zone
	if zone == nil {
		zone = longitudeZone(r.Place.Lon())
	}
	sun, moon := sky.Sun(r.Place, r.At), sky.Moon(r.Place, r.At)
	lx := sky.LightAt(sun, moon, sky.Cloud(r.Cloud)).TotalLx()
	return &SkyResult{
		At: instant(r.At, zone), Zone: zoneName(zone), Lat: cli.Deg(r.Place.Lat()), Lon: cli.Deg(r.Place.Lon()),
		Sun: bodyOf(sun), Moon: SkyMoon{bodyOf(moon.Direction), cli.Num(moon.LitFraction)}, Cloud: r.Cloud,
		IlluminanceLx: cli.Num(lx), SkyCDM2: cli.Num(air.Background(lx, air.Sky)), GroundCDM2: cli.Num(air.Background(lx, air.Ground)),
		Day: dayOf(r.Place, r.At, zone),
	}
}

func bodyOf(d sky.Direction) SkySun {
	return SkySun{cli.Angle(d.Azimuth), cli.Num(d.ElevationDeg), cli.Num(d.ApparentDeg)}
}

func dayOf(p orb.Point, at time.Time, zone *time.Location) SkyDay {
	from, until := localDay(at, zone)
	d := sky.DayOf(p, from, until)
	event := func(t time.Time) *time.Time { return instant(t.Round(time.Second), zone) }
	return SkyDay{
		Date: at.In(zone).Format(time.DateOnly), State: string(d.State),
		AstronomicalDawn: event(d.AstronomicalDawn), NauticalDawn: event(d.NauticalDawn), CivilDawn: event(d.CivilDawn), Sunrise: event(d.Sunrise),
		Noon:   event(d.Noon),
		Sunset: event(d.Sunset), CivilDusk: event(d.CivilDusk), NauticalDusk: event(d.NauticalDusk), AstronomicalDusk: event(d.AstronomicalDusk),
		Moonrise: event(d.Moonrise), Moonset: event(d.Moonset),
		DarkS: cli.Num(math.Round(d.DarkS)), LowestDeg: cli.Num(d.LowestDeg), HighestDeg: cli.Num(d.HighestDeg),
	}
}

// skies tells the sky of every day that the plan has an hour on, and of the day
// it is as of, at the last of these times on each: by then it is darkest.
func (r *run) skies(context.Context) error {
	where, ok := r.position()
	if !ok {
		return nil // sights says so
	}
	var times []time.Time
	for _, h := range append(slices.Clone(r.plan.Hours), plan.Hour{Time: r.plan.AsOf}) {
		if !h.Time.IsZero() {
			times = append(times, h.Time.In(r.result.Plan.location))
		}
	}
	slices.SortFunc(times, time.Time.Compare)
	date := func(i int) string { return times[i].Format(time.DateOnly) }
	for i, at := range times {
		if i+1 == len(times) || date(i) != date(i+1) {
			r.result.Sky = append(r.result.Sky, *Sky(SkyRequest{Place: where, At: at, Zone: r.result.Plan.location, Cloud: r.plan.Weather.Cloud}))
		}
	}
	return nil
}

// longitudeZone is the zone of whole hours that fits a longitude best.
func longitudeZone(lon float64) *time.Location {
	hours := int(math.Round(lon / 15))
	return time.FixedZone(fmt.Sprintf("UTC%+03d:00", hours), hours*3600)
}

// zoneName names a zone; a bare offset has no name of its own.
func zoneName(zone *time.Location) string {
	if name := zone.String(); name != "" {
		return name
	}
	return "UTC" + time.Time{}.In(zone).Format("-07:00")
}

// localDay returns the midnights of the day that a zone's clocks show. A day is
// 23 or 25 hours long where they change, and where they skip midnight it
// begins later.
func localDay(at time.Time, zone *time.Location) (from, until time.Time) {
	year, month, day := at.In(zone).Date()
	return dayStart(year, month, day, zone), dayStart(year, month, day+1, zone)
}

// dayStart returns the first moment at which a zone's clocks show a date, to the
// second, or the next date where they skip it.
func dayStart(year int, month time.Month, day int, zone *time.Location) time.Time {
	date := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	started := func(t time.Time) bool {
		y, m, d := t.In(zone).Date()
		return !time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Before(date)
	}
	// No clock is a day ahead of or behind UTC.
	from, until := date.Add(-26*time.Hour), date.Add(26*time.Hour)
	for until.Sub(from) > time.Second {
		mid := from.Add(until.Sub(from) / 2).Truncate(time.Second)
		if mid.Equal(from) {
			break
		}
		if started(mid) {
			until = mid
		} else {
			from = mid
		}
	}
	return until
}

// skyWords describes a sky for a sentence, with the moon where it counts.
func skyWords(cloud string, l sky.Light) string {
	words := map[string]string{
		string(sky.Clear): "a clear sky", string(sky.Broken): "a broken sky", string(sky.Overcast): "an overcast sky",
	}[cloud]
	switch {
	case l.SunLx > l.MoonLx+l.NightLx:
		return words
	case l.MoonLx > l.NightLx:
		return words + " with the moon"
	}
	return words + " without moon"
}
