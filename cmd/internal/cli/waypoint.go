package cli

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"

	"farhail/geo/coord"
	"farhail/geo/mapfile"
	"farhail/geo/track"
)

// ReadPosition reads a POSITION of the command line: any notation of geo/coord,
// or FILE.gpx#NAME. Faults of the file are faults of an input file, those of the
// text of the command line.
func ReadPosition(arg string) (coord.Position, error) {
	return readPosition(arg, coord.Parse)
}

// ReadPositionOn is ReadPosition for a position on another datum, which is
// shifted to WGS84 as coord.ParseOn does; waypoints are on WGS84.
func ReadPositionOn(arg, datum string) (coord.Position, error) {
	return readPosition(arg, func(s string) (coord.Position, error) { return coord.ParseOn(s, datum) })
}

func readPosition(arg string, parse func(string) (coord.Position, error)) (coord.Position, error) {
	if pos, ours, err := Waypoint(Disk, arg); ours {
		return pos, err
	}
	pos, err := parse(arg)
	if err != nil && strings.Contains(arg, "#") {
		return pos, &UsageError{Message: err.Error(), Text: arg, Advice: "a waypoint is written FILE.gpx#NAME"}
	}
	return pos, err
}

var waypointPattern = regexp.MustCompile(`(?is)^(.+?\.gpx(?:\.gz)?)#(.*)$`)

// WaypointFile returns the file of a text FILE.gpx#NAME, "" for any other.
func WaypointFile(text string) string {
	if m := waypointPattern.FindStringSubmatch(text); m != nil {
		return m[1]
	}
	return ""
}

// Waypoint reads FILE.gpx#NAME: the waypoint of that name, or the point of a
// route, in a file of fsys; ours is false for a text of another form. The name
// may stand in quotes. One that is not found as it is written is looked for
// without regard to capitals and blanks. Several points of one name are refused
// unless they lie in one place.
func Waypoint(fsys fs.FS, text string) (pos coord.Position, ours bool, err error) {
	m := waypointPattern.FindStringSubmatch(text)
	if m == nil {
		return coord.Position{}, false, nil
	}
	file, name := m[1], unquoted(m[2])
	f, err := fsys.Open(file)
	if err != nil {
		return coord.Position{}, true, InputError(file, err)
	}
	defer f.Close()
	gpx, err := mapfile.ReadGPX(f, file)
	if err != nil {
		return coord.Position{}, true, err
	}
	points := slices.Clone(gpx.Waypoints)
	for _, r := range gpx.Routes {
		for _, s := range r.Segments {
			points = append(points, s...)
		}
	}
	found, err := pick(file, name, text, points)
	if err != nil {
		return coord.Position{}, true, err
	}
	return coord.Position{Point: found.Point, Notation: coord.NotationDecimal, Datum: coord.WGS84}, true, nil
}

// pick finds the point of a name.
func pick(file, name, text string, points []track.Fix) (track.Fix, error) {
	named := func(same func(string) bool) (list []track.Fix) {
		for _, p := range points {
			if p.Name != "" && same(p.Name) && !slices.ContainsFunc(list, func(q track.Fix) bool { return q.Point == p.Point }) {
				list = append(list, p)
			}
		}
		return list
	}
	list := named(func(s string) bool { return s == name })
	if len(list) == 0 && name != "" {
		list = named(func(s string) bool { return plainName(s) == plainName(name) })
	}
	switch len(list) {
	case 1:
		return list[0], nil
	case 0:
		return track.Fix{}, &UsageError{Message: fmt.Sprintf("%s has no waypoint named %q", file, shorten(name)), Text: text, Advice: waypointAdvice(file, name, points)}
	}
	where := make([]string, 0, 3)
	for _, p := range list[:min(len(list), 3)] {
		where = append(where, coord.Decimal(p.Point))
	}
	return track.Fix{}, &UsageError{Message: fmt.Sprintf("%s has %d waypoints named %q", file, len(list), shorten(name)), Text: text,
		Advice: "give the position itself, like " + strings.Join(where, " or ")}
}

// waypointAdvice names the waypoints that may have been meant, or the first
// ones of the file.
func waypointAdvice(file, name string, points []track.Fix) string {
	var names []string
	for _, p := range points {
		if p.Name != "" && !slices.Contains(names, p.Name) {
			names = append(names, p.Name)
		}
	}
	if len(names) == 0 {
		return "it has no waypoints with a name"
	}
	const most = 8
	var near []string
	if n := Nearest(name, names); n != "" {
		near = append(near, n)
	}
	for _, n := range names {
		if word := plainName(name); word != "" && len(near) < 3 && !slices.Contains(near, n) && strings.Contains(plainName(n), word) {
			near = append(near, n)
		}
	}
	if len(near) > 0 {
		for i, n := range near {
			near[i] = file + "#" + shorten(n)
		}
		return "did you mean " + strings.Join(near, " or ")
	}
	advice := "its waypoints: "
	for i, n := range names[:min(most, len(names))] {
		if i > 0 {
			advice += ", "
		}
		advice += shorten(n)
	}
	if len(names) > most {
		advice += ", …"
	}
	return advice
}

// plainName is a name without regard to capitals and blanks.
func plainName(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// unquoted takes the quotes off a name that came with them.
func unquoted(s string) string {
	s = strings.TrimSpace(s)
	for _, q := range []string{`"`, `'`} {
		if len(s) > 2 && strings.HasPrefix(s, q) && strings.HasSuffix(s, q) {
			return s[1 : len(s)-1]
		}
	}
	return s
}
