package mapfile

import "farhail/geo/track"

// GPX is the content of a GPX file, as far as this program uses it.
type GPX struct {
	Version   string // "1.0" or "1.1" as declared, "" = none declared
	Creator   string
	Name      string // of the document
	Waypoints []track.Fix
	Routes    []track.Track // each of one segment
	Tracks    []track.Track
	Dropped   []Dropped
	// Duplicates counts the track points that stand where the one before them
	// in their segment does. They are kept: a stay is not a fault.
	Duplicates int
	Problems   []Problem
}

// Dropped is a point that was left out because it has no usable position. With
// it the indices of the points that remain lead back to the file's.
type Dropped struct {
	Kind         string // "wpt", "rtept" or "trkpt"
	Track        int    // 0-based number of the route or track in the file, 0 for a waypoint
	Segment      int    // 0-based, 0 for a waypoint or route point
	Index        int    // 0-based number of the point among its kind in its segment, dropped ones counted
	Line, Column int
	Reason       string
}

// Ways returns the tracks, or the routes where no track holds a point.
func (g *GPX) Ways() []track.Track {
	if g.TrackPoints() == 0 {
		return g.Routes
	}
	return g.Tracks
}

// RoutePoints counts the points of all routes.
func (g *GPX) RoutePoints() int { return points(g.Routes) }

// TrackPoints counts the points of all tracks.
func (g *GPX) TrackPoints() int { return points(g.Tracks) }

func points(list []track.Track) int {
	n := 0
	for _, t := range list {
		n += t.Points()
	}
	return n
}
