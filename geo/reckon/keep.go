package reckon

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"farhail/geo/earth"
	"farhail/geo/track"
)

// ErrStill says that a track leads nowhere, so that it gives no log.
var ErrStill = errors.New("reckon: the track leads nowhere")

// Keeping is how a log is kept of a track. Its zero value keeps true bearings and
// metres.
type Keeping struct {
	North North // "" for true
	// Declination and Convergence of the log [degrees, positive east], written into
	// it and applied, for a magnetic or a grid North.
	DeclinationDeg, ConvergenceDeg float64
	Pace                           *Pace          // nil for distances in metres
	OffsetM                        float64        // see Keep; 0 for DefaultOffsetM
	Zone                           *time.Location // of the clock; nil for UTC
}

const (
	// DefaultOffsetM is how far a track leaves the straight line before a leg ends
	// [m]: wider than a receiver wanders under trees, narrower than a turn matters
	// to the next 100 m. Own choice.
	DefaultOffsetM = 20
	// stopAfter is how long a party stands before a stop is noted. Own choice.
	stopAfter = 3 * time.Minute
	// fixSigmaM is how sure a fix is taken to be where the log goes on after a gap
	// [m]: a hand-held receiver in the open. Own choice.
	fixSigmaM = 10
)

// Keep writes the log that a person would have kept who walked a track with a
// compass: a leg is a stretch of the track that nowhere lies more than OffsetM off
// the straight line between its ends (the rule of Ramer 1972 and of Douglas and
// Peucker 1973), its bearing is rounded to whole degrees and its length to whole
// paces, or metres. Stops of three minutes and more are noted. Segments more than
// 50 m apart are not joined: the log has a break there and goes on at the next fix.
//
// What is written is read by ParseLog. Each leg is taken from where the track was,
// so that its place is off by rounding alone: at most half a degree across, and
// half a pace along, of every leg.
func Keep(w io.Writer, t track.Track, k Keeping) error {
	if k.OffsetM == 0 {
		k.OffsetM = DefaultOffsetM
	}
	var runs []keptRun
	for _, fixes := range walks(t) {
		run, err := newKeptRun(fixes, k.OffsetM)
		if err != nil {
			return err
		}
		if len(run.legs) > 0 {
			runs = append(runs, run)
		}
	}
	if len(runs) == 0 {
		return ErrStill
	}
	b := bufio.NewWriter(w)
	c := clockOf(runs, k.Zone)
	k.head(b, t.Name, runs[0].legs[0].from, c)
	for i, run := range runs {
		if i > 0 {
			at := run.legs[0].from.Point
			fmt.Fprintf(b, "break\nat %.6f, %.6f ±%d m  # %s not recorded\n", at.Lat(), at.Lon(), fixSigmaM, lengthWords(earth.Distance(runs[i-1].end().Point, at)))
		}
		for _, leg := range run.legs {
			k.line(b, leg, c)
		}
	}
	return b.Flush()
}

// head writes the headers.
func (k Keeping) head(w io.Writer, name string, first track.Fix, c *clock) {
	if name = strings.Join(strings.Fields(name), " "); name != "" {
		fmt.Fprintf(w, "# %s\n", name)
	}
	fmt.Fprintf(w, "start: %.6f, %.6f\n", first.Point.Lat(), first.Point.Lon())
	north := k.North
	if north == "" {
		north = True
	}
	fmt.Fprintf(w, "north: %s\n", north)
	switch north {
	case Magnetic:
		fmt.Fprintf(w, "declination: %s\n", eastWest(k.DeclinationDeg))
	case Grid:
		fmt.Fprintf(w, "convergence: %s\n", eastWest(k.ConvergenceDeg))
	}
	if c != nil {
		fmt.Fprintf(w, "date: %s\n", c.day.Format("2006-01-02 -07:00"))
	}
	if k.Pace != nil {
		fmt.Fprintf(w, "pace: %s m per %s pace\n", decimal(k.Pace.Metres()), k.Pace)
	}
}

// line writes a leg.
func (k Keeping) line(w io.Writer, leg keptLeg, c *clock) {
	d, b, _ := earth.Inverse(leg.from.Point, leg.to.Point)
	deg := float64(b)
	switch k.North {
	case Magnetic:
		deg = float64(b.Magnetic(k.DeclinationDeg))
	case Grid:
		deg = float64(b.Grid(k.ConvergenceDeg))
	}
	fmt.Fprintf(w, "%03d ", int(math.Round(deg))%360)
	if k.Pace != nil {
		fmt.Fprintf(w, "%.0f paces", d/k.Pace.Metres())
	} else {
		fmt.Fprintf(w, "%.0f m", d)
	}
	if at := c.read(leg.to.Time); at != "" {
		fmt.Fprint(w, " @"+at)
	}
	if leg.stopped > 0 {
		fmt.Fprintf(w, "  # stopped %.0f min", leg.stopped.Minutes())
	}
	fmt.Fprintln(w)
}

func eastWest(deg float64) string {
	if deg < 0 {
		return fmt.Sprintf("%.2fW", -deg)
	}
	return fmt.Sprintf("%.2fE", deg)
}

// decimal writes a length without an exponent.
func decimal(m float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.9f", m), "0"), ".")
}

func lengthWords(m float64) string {
	if m < 1000 {
		return fmt.Sprintf("%.0f m", m)
	}
	return fmt.Sprintf("%.1f km", m/1000)
}

// walks parts a track into stretches without a gap.
func walks(t track.Track) []track.Segment {
	var list []track.Segment
	for _, s := range t.Segments {
		if len(s) == 0 {
			continue
		}
		if n := len(list); n > 0 {
			last := list[n-1]
			if earth.Distance(last[len(last)-1].Point, s[0].Point) <= track.DefaultJoinM {
				list[n-1] = append(last[:len(last):len(last)], s...)
				continue
			}
		}
		list = append(list, s)
	}
	return list
}

// A keptLeg is a straight stretch of a track.
type keptLeg struct {
	from, to track.Fix
	stopped  time.Duration // the stops that began on it
}

// A keptRun is the legs of a stretch without a gap.
type keptRun struct{ legs []keptLeg }

func (r keptRun) end() track.Fix { return r.legs[len(r.legs)-1].to }

// leastLegM is the shortest leg that is written down [m].
const leastLegM = 1

func newKeptRun(fixes track.Segment, offsetM float64) (keptRun, error) {
	at, err := flat(fixes)
	if err != nil {
		return keptRun{}, err
	}
	corners := turns(at, offsetM)
	var run keptRun
	from := 0
	stops := stopsOf(fixes, at, offsetM)
	for _, to := range corners[1:] {
		last := to == len(fixes)-1
		if math.Hypot(at[to][0]-at[from][0], at[to][1]-at[from][1]) < leastLegM {
			continue // a wander that comes back: the next leg is from here
		}
		leg := keptLeg{from: fixes[from], to: fixes[to]}
		for len(stops) > 0 && (stops[0].first <= to || last) {
			leg.stopped += stops[0].long
			stops = stops[1:]
		}
		run.legs = append(run.legs, leg)
		from = to
	}
	return run, nil
}

// flat returns the fixes in north and east about the first [m].
func flat(fixes track.Segment) ([][2]float64, error) {
	plane := earth.NewLocal(fixes[0].Point)
	at := make([][2]float64, len(fixes))
	for i, f := range fixes {
		e, n, err := plane.Forward(f.Point)
		if err != nil {
			return nil, fmt.Errorf("reckon: a track that leaves its first fix by more than 300 km: %w", err)
		}
		at[i] = [2]float64{n, e}
	}
	return at, nil
}

// turns returns the indices at which a line turns: its ends, and where it lies
// farthest off the straight line between two of them, as long as that is more than
// an offset.
func turns(at [][2]float64, offsetM float64) []int {
	keep := make([]bool, len(at))
	keep[0], keep[len(at)-1] = true, true
	type part struct{ from, to int }
	for open := []part{{0, len(at) - 1}}; len(open) > 0; {
		p := open[len(open)-1]
		open = open[:len(open)-1]
		if far, off := farthest(at, p.from, p.to); off > offsetM {
			keep[far] = true
			open = append(open, part{p.from, far}, part{far, p.to})
		}
	}
	var list []int
	for i, k := range keep {
		if k {
			list = append(list, i)
		}
	}
	return list
}

// farthest returns which point between two lies farthest off the stretch from one
// to the other, and how far.
func farthest(at [][2]float64, from, to int) (far int, off float64) {
	a, b := at[from], at[to]
	dn, de := b[0]-a[0], b[1]-a[1]
	square := dn*dn + de*de
	for i := from + 1; i < to; i++ {
		n, e := at[i][0]-a[0], at[i][1]-a[1]
		if square > 0 {
			along := math.Min(1, math.Max(0, (n*dn+e*de)/square))
			n, e = n-along*dn, e-along*de
		}
		if d := math.Hypot(n, e); d > off {
			far, off = i, d
		}
	}
	return far, off
}

// A stop is a stay of some minutes about a fix.
type stop struct {
	first int
	long  time.Duration
}

// stopsOf finds where a party stayed within an offset of a fix for stopAfter or
// longer.
func stopsOf(fixes track.Segment, at [][2]float64, offsetM float64) (list []stop) {
	for i := 0; i < len(fixes); i++ {
		if fixes[i].Time.IsZero() {
			continue
		}
		last := i
		for k := i + 1; k < len(fixes) && math.Hypot(at[k][0]-at[i][0], at[k][1]-at[i][1]) <= offsetM; k++ {
			if !fixes[k].Time.IsZero() {
				last = k
			}
		}
		if long := fixes[last].Time.Sub(fixes[i].Time); long >= stopAfter {
			list = append(list, stop{i, long})
			i = last
		}
	}
	return list
}

// A clock writes times that a log's reader takes for what they were.
type clock struct {
	day time.Time // the first time, in the log's zone
}

// clockOf returns the clock of a track; nil where a fix that a leg ends at has no
// time or one that runs back, or where two lie a day and more apart, which minutes
// and hours alone do not tell. Its zone is the offset of the first day, since
// hours that occur twice cannot be read back.
func clockOf(runs []keptRun, zone *time.Location) *clock {
	var first, last time.Time
	for _, r := range runs {
		for _, l := range r.legs {
			t := l.to.Time
			if t.IsZero() || !last.IsZero() && (t.Before(last) || t.Sub(last) >= 24*time.Hour-time.Minute) {
				return nil
			}
			if first.IsZero() {
				first = t
			}
			last = t
		}
	}
	if zone == nil {
		zone = time.UTC
	}
	_, offset := first.In(zone).Zone()
	return &clock{day: first.In(time.FixedZone("", offset-offset%60))}
}

// read returns a time as the clock shows it, "" without a clock.
func (c *clock) read(t time.Time) string {
	if c == nil {
		return ""
	}
	return t.In(c.day.Location()).Format("15:04:05")
}
