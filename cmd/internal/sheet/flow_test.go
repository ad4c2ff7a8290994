package sheet

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

// crowded is a search by twenty parties with names that no line holds, long signal names,
// a log of many legs, and a trip.
func crowded() *job.Result {
	zone := time.FixedZone("", -3600)
	at := func(h int) *time.Time {
		t := time.Date(2026, 11, 24, 12+h, 0, 0, 0, zone)
		return &t
	}
	long := strings.Repeat("Donaudampfschifffahrtsgesellschaft ", 4)
	way := []job.WayLeg{}
	line := orb.LineString{}
	for i := range 9 {
		p := orb.Point{-20 + 0.01*float64(i), 46 + 0.005*float64(i%3)}
		line = append(line, p)
		if i > 0 {
			from := line[i-1]
			way = append(way, job.WayLeg{From: long, To: long, FromAt: place(from), ToAt: place(p), TrueDeg: 77, MagneticDeg: 82, LengthM: 800})
		}
	}
	r := &job.Result{Program: "farhail test", Timetable: &job.Timetable{
		From: at(0), Until: at(24), Moon: []job.Span{{From: at(4), Until: at(20)}},
		Light: []job.LightSpan{{Span: job.Span{From: at(0), Until: at(5)}, Light: job.Daylight}, {Span: job.Span{From: at(5), Until: at(24)}, Light: job.Darkness}},
		Lamps: []job.LampSpan{{Span: job.Span{From: at(20), Until: at(24)}, Signal: "signal 3 " + long}},
	}}
	r.Plan.Title, r.Plan.Zone, r.Plan.AsOf, r.Plan.Example = long, "Atlantic/Azores", at(7), true
	r.Plan.Radio, r.Plan.Medical, r.Plan.ReportEveryS = []string{long, long}, []string{long}, 600
	for i := range 20 {
		name := fmt.Sprintf("%d. %s", i+1, long)
		p := job.Party{Name: name, People: i + 1, LengthM: 7000, Seconds: 9000, From: at(8), Until: at(11), Legs: way, Paths: orb.MultiLineString{line}}
		r.Looking.Parties = append(r.Looking.Parties, p)
		signal := fmt.Sprintf("signal %d %s", i, long)
		hours := job.SignalHours{Signal: signal}
		for h := range 25 {
			hours.NoticedM = append(hours.NoticedM, cli.Len(1000+100*(h%5)))
		}
		r.Timetable.Signals = append(r.Timetable.Signals, hours)
		for _, h := range []int{2, 9} {
			s := job.Sighting{Signal: signal, Observer: "glasses", Watchers: []string{name}, At: at(h)}
			s.NoticedM, s.PerceptibleM, s.LimitNoticed = 1200, 2400, "vegetation"
			r.Sight = append(r.Sight, s)
		}
	}
	r.Looking.Lookouts = []job.Lookout{{Name: long, People: 1, From: at(8), Until: at(11), Point: line[0]}}
	r.Looking.Aircraft = []job.Flight{{Name: long, People: 2, AltitudeM: 300, SpeedMS: 40, LengthM: 7000, Seconds: 300, Legs: way, Paths: orb.MultiLineString{line}}}
	r.Sweep = &job.Sweep{Next: []job.SweepTask{{Party: "another " + long, Segment: long, People: 5, SpacingM: 20, POD: 0.4, SetOut: at(8), Begin: at(9), End: at(10), Return: at(11), Entry: line[2], Way: line}}}
	r.Reckon = &job.Reckon{Path: []orb.Point{line[0], line[8]}}
	for range 90 {
		r.Reckon.HomeLegs = append(r.Reckon.HomeLegs, job.BackLeg{TrueDeg: 100, DistanceM: 500, Note: long, Logged: true})
	}
	trip := &job.Trip{Start: at(0), BackBy: at(5), SlowBackBy: at(7), SuggestedAt: at(8), Dusk: at(5), Rule: "tobler", Path: orb.MultiLineString{line}, Asks: []string{long, long}}
	for _, l := range way {
		trip.Legs = append(trip.Legs, job.TripLeg{WayLeg: l, By: at(3)})
	}
	r.Trip = trip
	return r
}

// lay lays out all pages of text of a result, and returns what lies where.
func lay(t *testing.T, r *job.Result, p Paper) []*flow {
	t.Helper()
	d := newDoc("title", r.Program, r.Plan.AsOf)
	flows := []*flow{d.tablesPage(r, p)}
	papers := overlay.PartyPapers(r)
	if r.Trip != nil {
		papers = append(papers, overlay.TripPaper(r))
	}
	for _, paper := range papers {
		f, err := d.paperFlow(context.Background(), r, p, paper)
		require.NoError(t, err)
		flows = append(flows, f)
	}
	return flows
}

// TestNoTextLeavesItsPage: not to the right, not below, and no two texts lie on each
// other or on the small map.
func TestNoTextLeavesItsPage(t *testing.T) {
	for _, p := range []Paper{A4, Letter} {
		n := 0
		for _, f := range lay(t, crowded(), p) {
			for i, a := range f.placed {
				require.LessOrEqual(t, a.x1, f.page.x1+0.05, "%s: %s", f.heading, a.text)
				require.GreaterOrEqual(t, a.x0, f.page.x0-0.01, "%s: %s", f.heading, a.text)
				require.LessOrEqual(t, a.y1, f.page.y1+1, "%s: %s", f.heading, a.text)
				for _, b := range f.placed[i+1:] {
					if a.page == b.page {
						over := min(a.x1, b.x1)-max(a.x0, b.x0) > 0.05 && min(a.y1, b.y1)-max(a.y0, b.y0) > 0.3
						require.False(t, over, "%s: %q at %v and %q at %v", f.heading, a.text, a.area, b.text, b.area)
					}
				}
				n++
			}
		}
		require.Greater(t, n, 1500)
	}
}

// TestAPartyHasOnePage: what takes little more than a page is laid out tighter, so that
// the cautions do not stand on a page of their own; what does not fit goes on.
func TestAPartyHasOnePage(t *testing.T) {
	r := crowded()
	r.Plan.Papers = job.Papers{}
	long := r.Looking.Parties[0]
	for _, tc := range []struct {
		signals, pages int
		gaps           gaps
	}{{1, 1, loose}, {7, 1, tight}, {20, 2, loose}} {
		short := *r
		short.Looking.Parties = []job.Party{{Name: "Valley party", People: 3, From: long.From, Until: long.Until, LengthM: 7000, Seconds: 9000, Legs: long.Legs, Paths: long.Paths}}
		short.Sight = nil
		for i := range tc.signals {
			for _, s := range r.Sight[:2] {
				s.Signal, s.Watchers = fmt.Sprintf("signal %d", i), []string{"Valley party"}
				short.Sight = append(short.Sight, s)
			}
		}
		f := lay(t, &short, A4)[1]
		require.Equal(t, tc.pages, f.pages, "%d signals", tc.signals)
		require.Equal(t, tc.gaps, f.gaps, "%d signals", tc.signals)
		last := f.placed[len(f.placed)-1]
		require.Less(t, last.y1, f.page.y1+1)
	}
}

// TestPagesOfParties: everybody who looks has a page of their own, in the order go, look,
// report, be back, with both notations of positions.
func TestPagesOfParties(t *testing.T) {
	r := crowded()
	papers := overlay.PartyPapers(r)
	require.Len(t, papers, 20+1+1+1, "parties, the one of the next effort, the lookout, the aircraft")
	for _, f := range lay(t, r, A4)[1:24] {
		var all []string
		for _, p := range f.placed {
			all = append(all, p.text)
		}
		text := strings.Join(all, "\n")
		last := -1
		for _, title := range []string{"Go", "Look", "Report", "Be back", "Before anyone acts"} {
			at := strings.Index("\n"+text+"\n", "\n"+title+"\n")
			require.Greater(t, at, last, title)
			last = at
		}
		require.Contains(t, text, "WL ")
		require.Contains(t, text, "46°")
		require.Regexp(t, `46°\d\d\.\d{3}'N\s\d\d°\d\d\.\d{3}'W`, text)
		require.NotRegexp(t, `°[^\n]*\.\.\.`, text, "no position is cut, whatever the names")
		land, degrees := strings.Index(text, "WL "), strings.Index(text, "46°")
		aircraft := strings.Contains(text, "aboard")
		require.Equal(t, aircraft, degrees < land, "on land the grid is first, in the air degrees")
	}
}

// TestBlanksWarn: what the plan does not say is left blank, with a warning.
func TestBlanksWarn(t *testing.T) {
	r := crowded()
	r.Plan.Papers = job.Papers{}
	var text string
	for _, p := range lay(t, r, A4)[1].placed {
		text += p.text + "\n"
	}
	require.Equal(t, 3, strings.Count(text, "WARNING"))
}

func place(p orb.Point) job.LatLon { return job.LatLon{Lat: cli.Deg(p.Lat()), Lon: cli.Deg(p.Lon())} }
