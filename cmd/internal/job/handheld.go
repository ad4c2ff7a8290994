package job

import "farhail/cmd/internal/plan"

// A Handheld is what the GPX files of a plan have to fit.
type Handheld struct {
	Profile    string `json:"profile"`
	RouteLimit int    `json:"route_limit"` // points in one route; 0: the profile's
}

func handheldOf(h plan.Handheld) Handheld { return Handheld{h.Profile, h.RouteLimit} }
