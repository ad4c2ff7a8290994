package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/coord"
	"farhail/geo/mapfile"
	"farhail/geo/sky"
	"farhail/geo/terrain"
	"farhail/geo/track"
)

// newOptions are the flags of new.
type newOptions struct {
	kind      string
	place     *coord.Position // nil when not given
	placeText string          // as it was written
	at        time.Time       // zero when not given
	zone      *time.Location  // of --zone, nil when not given
	terrain   []string
	route     string
	party     string
	lightCD   float64 // NaN when not given
	out       string
}

// newData is what the templates write.
type newData struct {
	Example                bool
	Title                  string
	AsOf                   string
	Zone                   string // "" when not known
	Terrain                []string
	Tile                   string // one-degree tile of the place
	Hours                  []string
	StartName              string
	StartTime              string
	Position               string
	Error                  string
	Log, Route             string // "" for none
	Light                  string
	LitFrom                string
	WatchFrom              string
	WatchUntil             string
	DrillBegins, DrillEnds string
	Parties                []newParty
	Lookouts               []newLookout
	Mute                   string // "#" where fire and smoke are not lit
	Drill, Trip            bool

	examples []string // the example's files that the plan names
	warnings []string
}

type newParty struct {
	Name, File, Start string
	Timed             bool // a track with times of its own
	People            int
}

type newLookout struct{ Name, Position string }

// The example's place and time are those of the demo's plan.
const (
	examplePlace = "46.00751 -20.01161"
	exampleStart = "2026-11-24T15:40:00-01:00"
	exampleAsOf  = "2026-11-24T19:00:00-01:00"
	exampleZone  = "Atlantic/Azores"
)

// data gathers what the templates need. What was not given is the example's.
func (o newOptions) data() (newData, error) {
	if !slices.Contains(newKinds, o.kind) {
		advice := "write one of " + strings.Join(newKinds, ", ")
		if near := cli.Nearest(o.kind, newKinds); near != "" {
			advice = "did you mean " + near
		}
		return newData{}, &cli.UsageError{Message: fmt.Sprintf("no kind of plan %q", o.kind), Text: o.kind, Advice: advice}
	}
	if o.place == nil {
		for _, f := range []struct {
			name  string
			given bool
		}{{"terrain", len(o.terrain) > 0}, {"route", o.route != ""}, {"party", o.party != ""}} {
			if f.given {
				return newData{}, &cli.UsageError{Message: "--" + f.name + " without --place", Text: "--" + f.name,
					Advice: "add --place: the example's own place lies in the open Atlantic, away from your files"}
			}
		}
	}
	d := newData{Example: o.place == nil || o.at.IsZero(), Light: "90 cd"}
	if !math.IsNaN(o.lightCD) {
		d.Light = strconv.FormatFloat(o.lightCD, 'f', -1, 64) + " cd"
	}
	if o.kind == "drill" {
		d.Mute, d.Drill = "#", true
	}
	d.Trip = o.kind == "trip"
	at, p := o.when(&d), o.where(&d)
	if err := o.files(&d, at); err != nil {
		return d, err
	}
	d.watch(at, p)
	d.Title = map[string]string{"trip": "Trip from ", "search": "Search from ", "drill": "Drill at "}[o.kind] + d.StartName
	return d, nil
}

// when settles the times, and returns that of the start.
func (o newOptions) when(d *newData) time.Time {
	at, asOf := o.at, o.at
	if at.IsZero() {
		at, asOf = mustTime(exampleStart), mustTime(exampleAsOf)
		if o.place != nil {
			d.warnings = append(d.warnings, "no --at: the time is the example's, and the plan stays marked as an example")
		}
	}
	zone := o.zone
	if zone == nil && o.at.IsZero() && o.place == nil {
		zone, _ = cli.LoadZone(exampleZone)
	}
	if zone == nil && (strings.Contains(at.Location().String(), "/") || at.Location() == time.UTC) {
		zone = at.Location()
	}
	if zone != nil {
		d.Zone = zone.String()
		at, asOf = at.In(zone), asOf.In(zone)
	}
	d.StartTime, d.AsOf = rfc3339(at), rfc3339(asOf)
	return at
}

// where settles the place.
func (o newOptions) where(d *newData) orb.Point {
	d.StartName, d.Position, d.Error = "the start", o.placeText, "100 m"
	pos := o.place
	switch {
	case pos == nil:
		at, err := coord.Parse(examplePlace)
		if err != nil {
			panic("farhail: " + err.Error())
		}
		pos = &at
		d.StartName, d.Position = "sheepfold gate", examplePlace
		if !o.at.IsZero() {
			d.warnings = append(d.warnings, "no --place: the place is the example's, and the plan stays marked as an example")
		}
	case cli.WaypointFile(o.placeText) != "":
		d.Position = strconv.FormatFloat(pos.Point.Lat(), 'f', -1, 64) + ", " + strconv.FormatFloat(pos.Point.Lon(), 'f', -1, 64)
	}
	if pos.SquareM > 100 {
		// The truth may lie anywhere in the square of the grid reference.
		d.Error = strconv.FormatFloat(pos.SquareM, 'f', -1, 64) + " m"
	}
	d.Tile = terrain.TilesFor(orb.Bound{Min: pos.Point, Max: pos.Point})[0]
	return pos.Point
}

// files settles terrain, route, log and parties.
func (o newOptions) files(d *newData, at time.Time) error {
	if o.place == nil {
		if o.out != "" {
			d.useExamples(o.out, at)
			if !o.at.IsZero() {
				d.Log = "" // it has a day of its own
			}
		}
		return nil
	}
	for _, name := range o.terrain {
		if _, err := os.Stat(name); err != nil {
			return cli.InputError(name, err)
		}
		d.Terrain = append(d.Terrain, o.seen(name))
	}
	if o.route != "" {
		if _, err := readWays(o.route); err != nil {
			return err
		}
		d.Route = o.seen(o.route)
	}
	if o.party != "" {
		ways, err := readWays(o.party)
		if err != nil {
			return err
		}
		timed := slices.ContainsFunc(ways, func(t track.Track) bool {
			return slices.ContainsFunc(t.Segments, func(s track.Segment) bool {
				return slices.ContainsFunc(s, func(f track.Fix) bool { return !f.Time.IsZero() })
			})
		})
		d.Parties = append(d.Parties, newParty{Name: "first party", File: o.seen(o.party), Start: rfc3339(at), Timed: timed, People: 1})
	}
	return nil
}

// readWays reads the tracks of a GPX file, or its routes where it has none.
func readWays(name string) ([]track.Track, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, cli.InputError(name, err)
	}
	defer f.Close()
	g, err := mapfile.ReadGPX(f, name)
	if err != nil {
		return nil, err
	}
	ways := g.Ways()
	if len(ways) == 0 {
		return nil, cli.InputError(name, fmt.Errorf("%s holds neither a track nor a route", name))
	}
	return ways, nil
}

// seen returns a path as it is seen from the folder of the plan.
func (o newOptions) seen(name string) string {
	if !filepath.IsAbs(name) && o.out != "" {
		if rel, err := relative(filepath.Dir(o.out), name); err == nil {
			name = rel
		}
	}
	return filepath.ToSlash(name)
}

// relative returns a path from a folder, both as seen from here.
func relative(folder, name string) (string, error) {
	from, err := filepath.Abs(folder)
	if err != nil {
		return "", err
	}
	to, err := filepath.Abs(name)
	if err != nil {
		return "", err
	}
	return filepath.Rel(from, to)
}

// useExamples names the example's files, in a folder beside the plan.
func (d *newData) useExamples(out string, at time.Time) {
	folder := strings.TrimSuffix(filepath.Base(out), filepath.Ext(out)) + "-files"
	name := func(file string) string {
		d.examples = append(d.examples, file)
		return folder + "/" + file
	}
	d.Terrain = []string{name("terrain.asc")}
	d.Log, d.Route = name("log.txt"), name("valley-path.gpx")
	d.Parties = []newParty{
		{Name: "Valley party", File: d.Route, People: 3},
		{Name: "Shelf party", File: name("shelf-path.gpx"), People: 2},
	}
}

// watch sets the hours: of a drill one on the morning after; else the first after a time at which the sun is well up, and
// the first at which it is dark; who walks or watches does so at night.
func (d *newData) watch(at time.Time, p orb.Point) {
	const wellUpDeg, darkDeg = 5, -12 // own choice; -12 is the end of nautical twilight
	const half = 30 * time.Minute
	first := at.Truncate(half)
	if first.Before(at) {
		first = first.Add(half)
	}
	var day, night time.Time
	for k := range 48 {
		t := first.Add(time.Duration(k) * half)
		switch e := sky.Sun(p, t).ElevationDeg; {
		case e > wellUpDeg && day.IsZero():
			day = t
		case e < darkDeg && night.IsZero():
			night = t
		}
	}
	var hours []time.Time
	for _, t := range []time.Time{day, night} {
		if !t.IsZero() {
			hours = append(hours, t)
		}
	}
	if len(hours) == 0 {
		hours = []time.Time{first} // twilight all round the clock
	}
	slices.SortFunc(hours, time.Time.Compare)
	for _, t := range hours {
		d.Hours = append(d.Hours, rfc3339(t))
	}
	dark := hours[len(hours)-1]
	if !night.IsZero() {
		dark = night
	}
	d.LitFrom, d.WatchFrom, d.WatchUntil = rfc3339(dark.Add(-time.Hour)), rfc3339(dark.Add(-time.Hour)), rfc3339(dark.Add(3*time.Hour))
	begins := morning(first, p)
	d.DrillBegins, d.DrillEnds = rfc3339(begins), rfc3339(begins.Add(5*time.Hour))
	if d.Drill {
		d.Hours = []string{rfc3339(begins.Add(time.Hour))}
		d.LitFrom, d.WatchFrom, d.WatchUntil = d.DrillBegins, d.DrillBegins, d.DrillEnds
	}
	for i := range d.Parties {
		if d.Parties[i].Start == "" || !d.Parties[i].Timed {
			d.Parties[i].Start = d.WatchFrom
		}
	}
	d.Lookouts = []newLookout{{"lookout at the start", d.Position}}
	if d.Example && d.StartName != "the start" {
		d.Lookouts = []newLookout{{"West spur", "45.98312 -20.03742"}, {"Pass", "46.02828 -19.96645"}}
	}
}

// morning returns the first half hour after a time at which the sun has come up, or a
// day later where it does not.
func morning(first time.Time, p orb.Point) time.Time {
	const half, upDeg = 30 * time.Minute, 3 // own choice
	for k := range 48 {
		t := first.Add(time.Duration(k) * half)
		if sky.Sun(p, t).ElevationDeg > upDeg && sky.Sun(p, t.Add(-half)).ElevationDeg <= upDeg {
			return t
		}
	}
	return first.Add(24 * time.Hour)
}

// A besideFile is one of the example's files, written beside the plan.
type besideFile struct {
	path string
	data []byte
}

// beside returns the example's files that the plan names, and those that belong
// to them.
func (d newData) beside(out string) []besideFile {
	if len(d.examples) == 0 {
		return nil
	}
	names := append(slices.Clone(d.examples), "terrain.prj")
	folder := strings.TrimSuffix(out, filepath.Ext(out)) + "-files"
	var list []besideFile
	for _, name := range names {
		f, err := demoFS{}.Open("demo/" + name)
		if err != nil {
			panic("farhail: " + err.Error()) // embedded
		}
		data, err := io.ReadAll(f)
		if err != nil {
			panic("farhail: " + err.Error())
		}
		list = append(list, besideFile{filepath.Join(folder, name), data})
	}
	return list
}

// readBack reads the plan as farhail plan would, so that none is written that
// does not run.
func readBack(o newOptions, text string, beside []besideFile) error {
	name := o.out
	if name == "" {
		name = "plan.yaml"
	}
	files := memoryFS{filepath.ToSlash(name): []byte(text)}
	for _, f := range beside {
		files[path.Clean(filepath.ToSlash(f.path))] = f.data
	}
	_, err := plan.Read(files, filepath.ToSlash(name))
	var ps plan.Problems
	if !errors.As(err, &ps) {
		return err
	}
	return &cli.UsageError{Message: "the plan would not be read back: " + ps[0].Message, Text: ps[0].Text, Advice: ps[0].Advice}
}

// memoryFS lays files in memory over the disk.
type memoryFS map[string][]byte

func (m memoryFS) Open(name string) (fs.File, error) {
	if data, ok := m[name]; ok {
		return &memoryFile{bytes.NewReader(data), int64(len(data)), path.Base(name)}, nil
	}
	return cli.Disk.Open(name)
}

// yamlText writes a text in YAML's double quotes, which are those of JSON.
func yamlText(s string) (string, error) {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(s)
	return strings.TrimSuffix(b.String(), "\n"), err
}

// yamlList writes one text as it is and several as a list.
func yamlList(list []string) (string, error) {
	var quoted []string
	for _, s := range list {
		q, err := yamlText(s)
		if err != nil {
			return "", err
		}
		quoted = append(quoted, q)
	}
	if len(quoted) == 1 {
		return quoted[0], nil
	}
	return "[" + strings.Join(quoted, ", ") + "]", nil
}

// keyAndValue writes a key with its value, filled up to where comments stand.
func keyAndValue(key, value string) string {
	const column = 31
	return fmt.Sprintf("%-*s ", column-1, key+": "+value)
}

func mustTime(s string) time.Time {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		panic("farhail: " + err.Error())
	}
	return t
}
