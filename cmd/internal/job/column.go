package job

import (
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/plan"
	"farhail/geo/los"
)

// A smokeLevel is a height of a smoke above the ground from which on it shows, and
// how far what is over it is noticed and seen at best.
type smokeLevel struct{ heightM, noticedM, perceptibleM float64 }

// smokeLevels is in how many parts a smoke is cut from its foot to its top: the
// ground may hide the lower of them.
const smokeLevels = 4

// levelsOf judges a smoke from some heights up: nil for another kind of signal.
func (r *run) levelsOf(s plan.Signal, at time.Time, by int) ([]smokeLevel, error) {
	if s.Kind != plan.Smoke {
		return nil, nil
	}
	request, err := r.lookRequest(s, at, by, true)
	if err != nil {
		return nil, err
	}
	return levelsBy(request)
}

// levelsBy judges a smoke from some heights up.
func levelsBy(request SightRequest) ([]smokeLevel, error) {
	s := request.Signal
	whole, err := request.ask(&SightResult{})
	if err != nil {
		return nil, err
	}
	top := request.topM(whole) - s.HeightM
	var list []smokeLevel
	for i := range smokeLevels {
		request.HiddenM = top * float64(i) / smokeLevels
		l, _, err := request.judge()
		if err != nil {
			return nil, fmt.Errorf("signal %s: %w", s.Name, err)
		}
		list = append(list, smokeLevel{s.HeightM + request.HiddenM, float64(l.NoticedM), float64(l.PerceptibleM)})
	}
	return list, nil
}

// A groundView is a signal at a place of the terrain, and who looks for it.
type groundView struct {
	lamp    los.Station
	beam    *beamOver
	levels  []smokeLevel // of a smoke, from its foot up
	eyeM    float64
	radiusM float64
}

// seen returns the ground that sees a signal, for the distance to be noticed and
// that to be seen at best.
func (r *run) seen(ctx context.Context, v groundView, lines los.Options, out *Sighting) (noticed, best seenGround, err error) {
	if v.levels != nil {
		return r.seenColumn(ctx, v, lines, out)
	}
	area, err := los.SeenArea(ctx, r.heights, v.lamp, v.eyeM, v.radiusM, lines)
	if err != nil {
		return noticed, best, err
	}
	return r.seenWithin(area, v.lamp, v.beam, float64(out.NoticedM), out.LimitNoticed), r.seenWithin(area, v.lamp, v.beam, float64(out.PerceptibleM), out.Limit), nil
}

// seenColumn is seen for a smoke, which is sighted at any height along it: where
// the ground hides the lower part of it, the rest shows, less far. Its drift is left
// out.
func (r *run) seenColumn(ctx context.Context, v groundView, lines los.Options, out *Sighting) (noticed, best seenGround, err error) {
	var within, far *los.Area
	for _, level := range v.levels {
		at := v.lamp
		at.HeightM = level.heightM
		area, err := los.SeenArea(ctx, r.heights, at, v.eyeM, v.radiusM, lines)
		if err != nil {
			return noticed, best, err
		}
		if within == nil {
			near := *area
			near.State = append([]los.State(nil), area.State...)
			within, far = &near, area
			continue
		}
		r.join(within, area, v.lamp, level.noticedM)
		r.join(far, area, v.lamp, level.perceptibleM)
	}
	return r.seenWithin(within, v.lamp, nil, float64(out.NoticedM), out.LimitNoticed), r.seenWithin(far, v.lamp, nil, float64(out.PerceptibleM), out.Limit), nil
}

// join adds to an area what another of the same frame sees within a distance.
func (r *run) join(to, a *los.Area, lamp los.Station, distM float64) {
	for row := range a.Frame.Rows {
		east, north := r.heights.MetresAt(lamp.Col, (lamp.Row+float64(row+a.Row0))/2)
		for col := range a.Frame.Cols {
			i := row*a.Frame.Cols + col
			if a.State[i] == los.Seen && math.Hypot((float64(col+a.Col0)-lamp.Col)*east, (float64(row+a.Row0)-lamp.Row)*north) <= distM {
				to.State[i] = los.Seen
			}
		}
	}
}
