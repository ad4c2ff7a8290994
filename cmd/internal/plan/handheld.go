package plan

import (
	"farhail/geo/mapfile"
)

// Handheld is what the GPX files have to fit.
type Handheld struct {
	Profile    string // name of one of mapfile.Profiles
	RouteLimit int    // points in one route; 0: the profile's
}

// Routes of fewer points lead nowhere, and no unit takes more.
const (
	leastRoute = 2
	mostRoute  = 10_000
)

// handheldKeys are the keys of what parties carry.
func (r *reader) handheldKeys(h *Handheld) []key {
	return []key{
		{"handheld", r.word(&h.Profile, mapfile.ProfileNames()...), false},
		{"route_limit", r.whole(&h.RouteLimit, leastRoute, mostRoute), false},
	}
}
