package mapfile

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"farhail/geo/track"
)

// Profile is what a class of handhelds takes; 0 is no limit. A handheld that is
// given more keeps the first points, picks some of its own or refuses the file.
type Profile struct {
	Name        string
	TrackPoints int // in one track
	Tracks      int // in one file
	RoutePoints int // in one route
	Routes      int // in one file
	Waypoints   int // in one file
	NameLength  int // of names [characters]
	Texts       int // waypoints that keep a text
	TextLength  int // of a waypoint's text [characters]
}

// Profiles returns the profiles, the smallest first. Each is named by the points
// that a track may have.
//
// Of an older unit of which nothing is known, points-500 is the safe guess: units
// of its time take tracks of 500 points and routes of 128. Where the limits are
// from:
//
//	track points  250 on older units, 500 on better ones, longer files cut off
//	              (treknow.com/gps_tracklogs.htm); 500 in a saved track (GPSMAP 182
//	              manual, p. 59); 500 on old units, 2000 to 10 000 on newer ones, some
//	              keep the first (project issues 550 and 763 of IsraelHikingMap)
//	tracks        10 to 20 on many units (hwstock.org/gps), 15 (GPSMAP 182 manual,
//	              p. 59); 200 from memory
//	route points  128, 250 and 256 (project issue 852 of IsraelHikingMap, project issue
//	              192 of gpx.studio); the oldest take 50, from memory: a limit of
//	              one's own is for them
//	texts         200 waypoints keep a comment (GPSBabel's page on Magellan units)
//	text length   one importer stops above 5000 characters (project issue 18 of
//	              KomootGPX), own reserve; 50 from memory, of the longest comments in
//	              the older units' own protocol
//	routes, waypoints, name length  common practice, no source
func Profiles() []Profile {
	return []Profile{
		{"points-250", 250, 10, 125, 20, 500, 10, 200, 50},
		{"points-500", 500, 15, 125, 20, 500, 14, 200, 50},
		{"points-2000", 2000, 100, 250, 50, 1000, 30, 0, longestText},
		{"points-10000", 10000, 200, 250, 50, 2000, 30, 0, longestText},
	}
}

// DefaultProfile is the name of the profile that fits units of the last years.
const DefaultProfile = "points-2000"

// ProfileNames returns the names of the profiles, the smallest first.
func ProfileNames() []string {
	var names []string
	for _, p := range Profiles() {
		names = append(names, p.Name)
	}
	return names
}

// ProfileNamed returns the profile of a name, and whether there is one.
func ProfileNamed(name string) (Profile, bool) {
	list := Profiles()
	i := slices.IndexFunc(list, func(p Profile) bool { return p.Name == name })
	if i < 0 {
		return Profile{}, false
	}
	return list[i], true
}

// Fitted is a file that fits a profile, and what it took.
type Fitted struct {
	*GPX
	WorstOffsetM float64 // how far a left-out track point lies from the line at most [m]
	Renamed      []Rename
}

// Rename is a name that was changed.
type Rename struct{ From, To string }

// Fit returns a cleaned copy of a file. Always: fixes where nobody can have been
// (see [track.Track.Jumps]) and empty segments and tracks are left out. With a
// limit, besides: longer tracks are thinned ([track.Track.Thin]), those with too
// many segments for that are split first; longer routes, whose every point
// matters, are split, each part beginning with the point that ends the one
// before; names are cut and made unlike each other, waypoints, routes and tracks
// each among themselves. Nothing but jumps is ever left out without being
// counted in WorstOffsetM; too many waypoints stay, with a problem that says so.
func (g *GPX) Fit(p Profile) Fitted {
	out := &GPX{Version: "1.1", Name: g.Name, Waypoints: append([]track.Fix(nil), g.Waypoints...)}
	f := Fitted{GPX: out}
	for i, t := range g.Tracks {
		clean := track.Track{Name: t.Name}
		rest := t.WithoutJumps()
		if n := t.Points() - rest.Points(); n > 0 {
			out.say(fmt.Sprintf("track %d: %s left out", i+1, count(n, "jump", "jumps")), "")
		}
		for _, s := range rest.Segments {
			if len(s) > 0 {
				clean.Segments = append(clean.Segments, s)
			}
		}
		for _, part := range splitSegments(clean, p.TrackPoints) {
			thinned, worst := part, 0.0
			if p.TrackPoints > 0 {
				thinned, worst = part.Thin(p.TrackPoints)
			}
			if thinned.Points() > 0 {
				out.Tracks = append(out.Tracks, thinned)
			}
			f.WorstOffsetM = max(f.WorstOffsetM, worst)
		}
	}
	for i, r := range g.Routes {
		out.Routes = append(out.Routes, splitRoute(r, fmt.Sprintf("route %d", i+1), p.RoutePoints)...)
	}
	if p.Waypoints > 0 && len(out.Waypoints) > p.Waypoints {
		out.say(fmt.Sprintf("%d waypoints, but units of this kind take %d: the last %d may be lost", len(out.Waypoints), p.Waypoints, len(out.Waypoints)-p.Waypoints),
			"put those that matter most, signal sites and hazards, into a file of their own")
	}
	if p.NameLength > 0 {
		f.Renamed = out.shortNames(p.NameLength)
	}
	return f
}

func (g *GPX) say(text, hint string) {
	g.Problems = append(g.Problems, Problem{Severity: SeverityWarning, Text: text, Hint: hint})
}

// splitSegments splits a track whose segments' ends alone are more than most.
func splitSegments(t track.Track, most int) []track.Track {
	ends := 0
	var parts []track.Track
	from := 0
	for i, s := range t.Segments {
		n := min(2, len(s))
		if most > 0 && ends+n > most && i > from {
			parts = append(parts, track.Track{Segments: t.Segments[from:i]})
			from, ends = i, 0
		}
		ends += n
	}
	if parts == nil {
		return []track.Track{t}
	}
	parts = append(parts, track.Track{Segments: t.Segments[from:]})
	numberParts(parts, t.Name)
	return parts
}

// splitRoute splits a route at every most-th point, which both parts hold.
func splitRoute(r track.Track, unnamed string, most int) []track.Track {
	var all track.Segment
	for _, s := range r.Segments {
		all = append(all, s...)
	}
	if most < 2 || len(all) <= most {
		return []track.Track{{Name: r.Name, Segments: []track.Segment{all}}}
	}
	var parts []track.Track
	for from := 0; from < len(all)-1; from += most - 1 {
		parts = append(parts, track.Track{Segments: []track.Segment{all[from:min(from+most, len(all))]}})
	}
	name := r.Name
	if name == "" {
		name = unnamed
	}
	numberParts(parts, name)
	return parts
}

// numberParts names parts one after the other.
func numberParts(parts []track.Track, name string) {
	for i := range parts {
		parts[i].Name = strings.TrimSpace(fmt.Sprintf("%s %d", name, i+1))
	}
}

// shortNames cuts every name and makes it unlike the others of its kind.
func (g *GPX) shortNames(length int) []Rename {
	var changed []Rename
	kinds := [][]*string{nil, nil, nil}
	for i := range g.Waypoints {
		kinds[0] = append(kinds[0], &g.Waypoints[i].Name)
	}
	for k, list := range [][]track.Track{g.Routes, g.Tracks} {
		for i := range list {
			kinds[k+1] = append(kinds[k+1], &list[i].Name)
		}
	}
	for _, names := range kinds {
		changed = append(changed, shorten(names, length)...)
	}
	return changed
}

// shorten changes names in place: each is cut to a length, and numbered where
// another has it already. Case does not tell names apart, because not every
// unit shows it. A name that is short enough keeps its form before others that
// would be cut to it.
func shorten(names []*string, length int) []Rename {
	fold := func(s string) string { return strings.ToLower(s) }
	taken := map[string]bool{"": true}
	own := make([]bool, len(names))
	for i, n := range names {
		if cut(*n, length) == *n && !taken[fold(*n)] {
			taken[fold(*n)], own[i] = true, true
		}
	}
	var changed []Rename
	next := map[string]int{} // the number to try first, by the name cut
	for i, n := range names {
		if own[i] || strings.TrimSpace(*n) == "" {
			continue
		}
		base := cut(*n, length)
		to := base
		for k := max(2, next[fold(base)]); taken[fold(to)]; k++ {
			suffix := fmt.Sprintf("-%d", k)
			to = cut(base, length-len(suffix)) + suffix
			next[fold(base)] = k + 1
		}
		taken[fold(to)] = true
		changed = append(changed, Rename{*n, to})
		*n = to
	}
	return changed
}

// cut returns the first characters of a name, without blanks at the ends. Marks
// that sit on a letter go with it.
func cut(s string, length int) string {
	r := []rune(strings.TrimSpace(s))
	if len(r) > length {
		length = max(0, length)
		for length > 0 && unicode.Is(unicode.M, r[length]) {
			length--
		}
		r = r[:length]
	}
	return strings.TrimSpace(string(r))
}
