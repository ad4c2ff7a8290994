package job

import (
	"context"
	"fmt"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/track"

	"github.com/paulmach/orb"
)

// PlaceBlind is what of a route nobody would see the signal from.
type PlaceBlind struct {
	RouteM    cli.Len        `json:"route_m"`   // that was looked at
	BlindM    cli.Len        `json:"blind_m"`   // of it, from where nothing would be seen
	UnknownM  cli.Len        `json:"unknown_m"` // of it, where the terrain has no height
	Stretches []BlindStretch `json:"stretches"`
}

// A BlindStretch is a part of a route.
type BlindStretch struct {
	FromM   cli.Len        `json:"from_m"` // along the route
	LengthM cli.Len        `json:"length_m"`
	FromLat cli.Deg        `json:"from_lat"`
	FromLon cli.Deg        `json:"from_lon"`
	ToLat   cli.Deg        `json:"to_lat"`
	ToLon   cli.Deg        `json:"to_lon"`
	Line    orb.LineString `json:"-"`
}

// routeStepM is the distance at which a route is looked at, and maxRoutePoints how many
// points of it are at most. Own choice.
const (
	routeStepM     = 50
	maxRoutePoints = 3000
)

// readRoutes reads the routes of the placements.
func (r *run) readRoutes() error {
	r.routes = map[string][]track.Track{}
	for _, a := range r.plan.Placements {
		if a.Route == "" || r.routes[a.Route] != nil {
			continue
		}
		tracks, err := r.readTracks(a.Route)
		if err != nil {
			return err
		}
		r.routes[a.Route] = tracks
	}
	return nil
}

// routeTracks returns the tracks of the question's route.
func (p *placing) routeTracks() []track.Track {
	switch {
	case p.ask.Route != "":
		return p.routes[p.ask.Route]
	case len(p.trip) > 0:
		return p.trip
	}
	return p.travelled
}

// alongRoute chooses signal sites along a route, and tells the stretches from which
// nothing would be seen.
func (p *placing) alongRoute(ctx context.Context, s plan.Signal, at time.Time) (*Place, error) {
	out, err := p.passive(ctx, s, at)
	if err != nil {
		return nil, err
	}
	out.Blind, err = p.blind(ctx, s, at)
	return out, err
}

// blind finds the stretches of the route where nobody who looks has a tenth of a chance
// to notice the signal in a minute. A route that starts anew after a break is told as
// another stretch.
func (p *placing) blind(ctx context.Context, s plan.Signal, at time.Time) (*PlaceBlind, error) {
	step := float64(routeStepM)
	length := 0.0
	for _, t := range p.routeTracks() {
		length += t.Summary().LengthM
	}
	step = max(step, length/maxRoutePoints)
	var points []candidate
	var places []track.Place
	for _, t := range p.routeTracks() {
		for _, at := range t.Every(track.Spacing{StepM: step}) {
			c, err := p.put("", at.Point)
			if err != nil {
				return nil, err
			}
			points, places = append(points, c), append(places, at)
		}
	}
	o, err := p.watched(ctx, s, at, points)
	if err != nil {
		return nil, err
	}
	out := &PlaceBlind{Stretches: []BlindStretch{}}
	var now *BlindStretch
	for i, at := range places {
		best := 0.0
		seen := o.chances.Seen[i]
		for n, cell := range seen.Cells {
			if o.chances.Weights[cell] > 0 {
				best = max(best, o.mean[seen.Row[n]])
			}
		}
		begun := i == 0 || at.AlongM <= places[i-1].AlongM
		known := p.onGround(points[i])
		if begun || best >= tellingChance || !known {
			now = nil
		}
		out.RouteM += cli.Len(at.LengthM)
		switch {
		case !known:
			out.UnknownM += cli.Len(at.LengthM)
		case best < tellingChance:
			if now == nil {
				out.Stretches = append(out.Stretches, BlindStretch{FromM: out.RouteM - cli.Len(at.LengthM), FromLat: cli.Deg(at.Point.Lat()), FromLon: cli.Deg(at.Point.Lon())})
				now = &out.Stretches[len(out.Stretches)-1]
			}
			now.LengthM += cli.Len(at.LengthM)
			now.ToLat, now.ToLon = cli.Deg(at.Point.Lat()), cli.Deg(at.Point.Lon())
			now.Line = append(now.Line, at.Point)
			out.BlindM += cli.Len(at.LengthM)
		}
	}
	if len(places) == 0 {
		p.leaveOut(fmt.Sprintf("%s: no stretches, as the route has no points", p))
	}
	return out, nil
}
