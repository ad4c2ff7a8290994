package job

import (
	"context"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/los"
	"farhail/signal/sighting"
)

// viewLimitM is how far beyond its positions a plan looks for ground from
// which a signal may be seen [m]. Own choice: few signals are seen farther, and
// the cost grows with the cube.
const viewLimitM = 30_000

// overGround replaces the distances over a smooth earth by how far the ground
// lets the signal be seen from where the traveller was last: the farthest place
// that sees it, with eyes so high above it, within the distance that light, air,
// eye and plants allow.
func (r *run) overGround(ctx context.Context, s plan.Signal, at time.Time, by int, out *Sighting) error {
	if !r.groundDecides(out.Point) || !(out.PerceptibleM > 0) {
		return nil
	}
	col, row := r.heights.Cell(out.Point)
	view := groundView{
		lamp: los.Station{Col: col, Row: row, HeightM: r.standsM(s)}, eyeM: r.seers[by].eyeM,
		radiusM: math.Min(float64(out.PerceptibleM), viewLimitM),
	}
	view.beam = r.beamOver(s, view.lamp, view.eyeM)
	var err error
	if view.levels, err = r.levelsOf(s, at, by); err != nil {
		return err
	}
	noticed, best, err := r.seen(ctx, view, r.sightLines(), out)
	if err != nil {
		return err
	}
	if out.WithoutTrees, err = r.withoutTrees(ctx, view, out); err != nil {
		return err
	}
	out.SeenAreaM2 = cli.Area(noticed.areaM2)
	out.NoticedM, out.LimitNoticed = cli.Len(noticed.distM), noticed.limit
	out.PerceptibleM, out.Limit = cli.Len(best.distM), best.limit
	r.byTrees(out)
	out.Why = why(&out.SightResult) + out.treesTake()
	return nil
}

// seenGround is the ground that sees a signal.
type seenGround struct {
	distM  float64 // to the farthest place of it
	areaM2 float64
	limit  string
}

// seenWithin returns what of an area sees the signal within the distance that
// light allows. What limits it is the light where the farthest place lies within
// a cell of that distance; the end of the terrain where the ground in view runs
// up to its edge or to cells without a height; the beam where it reaches none of it;
// and otherwise the terrain.
func (r *run) seenWithin(a *los.Area, lamp los.Station, beam *beamOver, luminousM float64, limit string) seenGround {
	var g seenGround
	limitM := math.Min(luminousM, viewLimitM)
	cutOff, beside := false, false
	var cellM float64
	for row := range a.Frame.Rows {
		// A sight line has the length of its middle row's cells.
		east, north := r.heights.MetresAt(lamp.Col, (lamp.Row+float64(row+a.Row0))/2)
		cellM = math.Max(cellM, math.Hypot(east, north))
		for col := range a.Frame.Cols {
			state := a.State[row*a.Frame.Cols+col]
			eastM, northM := (float64(col+a.Col0)-lamp.Col)*east, (lamp.Row-float64(row+a.Row0))*north
			d := math.Hypot(eastM, northM)
			if d > limitM || state == los.Hidden {
				continue
			}
			if d > beam.reachM(limitM, float64(col+a.Col0), float64(row+a.Row0), eastM, northM) {
				beside = true
				continue
			}
			switch state {
			case los.Seen:
				g.distM = math.Max(g.distM, d)
				g.areaM2 += a.Frame.AreaM2(row)
				cutOff = cutOff || r.onEdge(col+a.Col0, row+a.Row0)
			case los.Unknown:
				cutOff = true
			}
		}
	}
	switch {
	case g.distM+cellM >= limitM:
		// Between the last cell and the light's own limit no ground decides.
		g.distM, g.limit = limitM, limit
	case g.distM == 0 && beside:
		g.limit = string(sighting.Beam)
	case cutOff:
		g.limit = string(sighting.Edge)
	default:
		g.limit = string(sighting.Terrain)
	}
	return g
}

func (r *run) onEdge(col, row int) bool {
	return col == 0 || row == 0 || col == r.heights.Cols-1 || row == r.heights.Rows-1
}
