package job

import (
	"context"
	"fmt"

	"farhail/cmd/internal/cli"
	"farhail/geo/terrain"
	"farhail/signal/sighting"
)

// An OpenSight is how far a signal would be seen if no trees stood on the ground.
type OpenSight struct {
	NoticedM     cli.Len  `json:"noticed_m"`
	PerceptibleM cli.Len  `json:"perceptible_m"`
	SeenAreaM2   cli.Area `json:"seen_area_m2"`
}

// loadCover reads what covers the plan's terrain, and puts its canopy in the way of
// sight lines.
func (r *run) loadCover(t *terrain.Terrain) error {
	c, notes, err := LoadCover(r.fsys, r.plan.Cover, t.Frame)
	if c == nil || err != nil {
		return err
	}
	screen, more := c.Raise(t)
	for _, n := range append(notes, more...) {
		r.note(n)
	}
	r.cover, r.screen, r.result.Terrain.LandCover = c, screen, c
	if screen == nil {
		return nil
	}
	r.result.Terrain.Cover = "trees and roofs by the ground cover stand in the way of sight"
	for _, s := range r.spots() {
		if below := c.Under(s.Point, r.plan.Looking.EyeHeightM); below > 0 {
			r.warn(fmt.Sprintf("%s lies below %.3g m of %s: from there, and of a signal there, only the ground close by is in sight", s.Name, below, c.Class(s.Point)), "choose open ground")
		}
	}
	return nil
}

// withoutTrees returns how far a signal would be seen over the bare ground, by the
// distances that light, air and eye allow; nil where no trees are counted.
func (r *run) withoutTrees(ctx context.Context, view groundView, out *Sighting) (*OpenSight, error) {
	if r.screen == nil {
		return nil, nil
	}
	lines := r.bareLines()
	noticed, best, err := r.seen(ctx, view, lines, out)
	if err != nil {
		return nil, err
	}
	return &OpenSight{cli.Len(noticed.distM), cli.Len(best.distM), cli.Area(noticed.areaM2)}, nil
}

// treesTake says in a sentence what would be seen without trees, where that is more.
func (s *Sighting) treesTake() string {
	open := s.WithoutTrees
	if open == nil || open.NoticedM <= s.NoticedM && open.PerceptibleM <= s.PerceptibleM {
		return ""
	}
	return fmt.Sprintf(" Over bare ground it would be noticed to %s, seen at best to %s.", Distance(float64(open.NoticedM)), Distance(float64(open.PerceptibleM)))
}

// byTrees names plants, not the ground, as the limit of the distances that they
// shorten.
func (r *run) byTrees(out *Sighting) {
	open := out.WithoutTrees
	if open == nil {
		return
	}
	if out.Limit == string(sighting.Terrain) && out.PerceptibleM < open.PerceptibleM {
		out.Limit = string(sighting.Vegetation)
	}
	if out.LimitNoticed == string(sighting.Terrain) && out.NoticedM < open.NoticedM {
		out.LimitNoticed = string(sighting.Vegetation)
	}
}
