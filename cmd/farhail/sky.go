package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

const skyLong = `Sun, moon and light at a place and time, and what happens on that day.

The day is that of --zone, else of the IANA zone that --at is written with, else
of the whole-hour offset that fits the longitude. The sun's events belong to its
noon in that day: dawn and sunrise are those before it, sunset and dusk those
after it, whatever their date. What does not occur on a polar day is left out
(null under --json), and the state of the day says so. Moonrise and moonset are
the first of each within the local day. "dark" is the time from this noon to the
next with the sun more than 6 degrees below the horizon.

Sunrise, sunset, moonrise and moonset are those of the upper limb on a level
horizon at sea level, within a minute; hills move them by more. The light is that
on open level ground, within a factor 2 under a clear sky and 3 under cloud.`

func newSky(app *cli.App) *cobra.Command {
	var at, cloud string
	cmd := app.Command(cli.Verb{
		Use:   "sky POSITION --at TIME [flags]",
		Short: "sun, moon and light, and when it is dark",
		Long:  skyLong,
		Examples: []cli.Example{
			{Line: "farhail sky \"42.5, 1.5\" --at 2026-12-21T11:00:00Z --zone Europe/Andorra", Answers: "the shortest day in Andorra"},
			{Line: "farhail sky \"69.6496, 18.956\" --at \"2026-12-21 12:00 Europe/Oslo\" --cloud overcast", Answers: "a day without sunrise, and its twilight"},
		},
		Input:   "a GPX file named in POSITION cannot be read",
		MinArgs: 1, MaxArgs: 1,
		Run: func(_ context.Context, args []string) error {
			p, err := cli.ReadPosition(args[0])
			if err != nil {
				return err
			}
			when, zone, err := skyTime(at, app.Zone)
			if err != nil {
				return err
			}
			result := job.Sky(job.SkyRequest{Place: p.Point, At: when, Zone: zone, Cloud: cloud})
			return app.Print(result, func(w cli.Text) { printSky(w, result) })
		},
	})
	cmd.Flags().StringVar(&at, "at", "", "the `time` (2026-12-21T11:00:00Z); a time without a zone is read in --zone")
	cli.Choice(cmd, &cloud, "cloud", job.Clouds(), job.Clouds()[0], "the sky: clear, broken or overcast")
	return cmd
}

// skyTime reads the time, and settles whose day is meant: nil leaves that to the
// longitude.
func skyTime(text string, zone *time.Location) (time.Time, *time.Location, error) {
	if text == "" {
		return time.Time{}, nil, &cli.UsageError{Message: "no time given", Advice: "add --at 2026-12-21T11:00:00Z"}
	}
	t, err := cli.ParseTime(text, zone)
	if err != nil {
		var q *cli.QuantityError
		if !errors.As(err, &q) {
			return t, nil, err
		}
		return t, nil, &cli.UsageError{Message: "--at: " + q.Error(), Text: q.Text, Advice: q.Advice}
	}
	if zone == nil && strings.Contains(t.Location().String(), "/") {
		zone = t.Location()
	}
	return t, zone, nil
}

// stateWords says what the states of a day mean.
var stateWords = map[string]string{
	"day-and-night":   "day and night",
	"sun-never-sets":  "the sun stays up, there is no night",
	"sun-never-rises": "the sun stays down, there is no sunrise",
}

// printSky writes the answer for people.
func printSky(w cli.Text, s *job.SkyResult) {
	d := s.Day
	fmt.Fprintf(w, "%s at %s (%s)\n", w.At(orb.Point{float64(s.Lon), float64(s.Lat)}, 5), s.At.Format("2006-01-02 15:04 -07:00"), s.Zone)
	fmt.Fprintf(w, "  sun    %s\n", standing(s.Sun))
	fmt.Fprintf(w, "  moon   %s, %.0f %% lit\n", standing(s.Moon.SkySun), 100*float64(s.Moon.LitFraction))
	fmt.Fprintf(w, "  light  %s lx on open ground, sky %s; horizon sky %s cd/m2, ground %s cd/m2\n",
		figures(float64(s.IlluminanceLx)), s.Cloud, figures(float64(s.SkyCDM2)), figures(float64(s.GroundCDM2)))
	fmt.Fprintf(w, "  day    %s: %s, noon %s, sun from %.2f to %.2f deg\n",
		d.Date, stateWords[d.State], clockOn(d.Noon, d.Date), float64(d.LowestDeg), float64(d.HighestDeg))
	for _, pair := range []struct {
		name       string
		start, end *time.Time
		words      string
	}{
		{"astronomical", d.AstronomicalDawn, d.AstronomicalDusk, "twilight from %s to %s"},
		{"nautical", d.NauticalDawn, d.NauticalDusk, "twilight from %s to %s"},
		{"civil", d.CivilDawn, d.CivilDusk, "twilight from %s to %s"},
		{"sun", d.Sunrise, d.Sunset, "up from %s to %s"},
		{"moon", d.Moonrise, d.Moonset, "rise %s, set %s"},
	} {
		if pair.start == nil && pair.end == nil {
			fmt.Fprintf(w, "         %-13s none\n", pair.name)
			continue
		}
		fmt.Fprintf(w, "         %-13s "+pair.words+"\n", pair.name, clockOn(pair.start, d.Date), clockOn(pair.end, d.Date))
	}
	hours, minutes := math.Modf(math.Round(float64(d.DarkS)/60) / 60)
	fmt.Fprintf(w, "  dark   %.0f h %02.0f min from this noon to the next\n", hours, math.Round(60*minutes))
}

// standing tells azimuth and elevation.
func standing(b job.SkySun) string {
	azimuth := math.Mod(math.Round(float64(b.AzimuthDeg)*10)/10, 360)
	return fmt.Sprintf("azimuth %05.1f, elevation %.1f deg", azimuth, float64(b.ElevationDeg)+0)
}

// clockOn writes the time of an event, with its date where that is not the day's.
func clockOn(t *time.Time, date string) string {
	switch {
	case t == nil:
		return "none"
	case t.Format(time.DateOnly) != date:
		return t.Format("2006-01-02 15:04")
	}
	return t.Format("15:04")
}
