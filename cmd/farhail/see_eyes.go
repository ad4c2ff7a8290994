package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/earth"
	"farhail/geo/los"
	"farhail/geo/terrain"
)

// seenEye is one of the eyes and what it adds.
type seenEye struct {
	Lat     cli.Deg  `json:"lat"`
	Lon     cli.Deg  `json:"lon"`
	GroundM cli.Len  `json:"ground_m"`
	Seen    int      `json:"seen"`
	Unknown int      `json:"unknown"`
	AreaM2  cli.Area `json:"area_m2"`
	AloneM2 cli.Area `json:"alone_m2"` // that no other eye sees
}

// look finds what is seen, together where there are several eyes: all that the
// outputs need. The watch is nil for one eye.
func (f *seeFlags) look(ctx context.Context, t *terrain.Terrain, eyes []los.Station, radiusM float64, o los.Options) (*los.Area, *los.Watch, error) {
	if len(eyes) > 1 {
		w, err := los.SeenByAny(ctx, &t.Heights, eyes, f.target, radiusM, o)
		if err != nil {
			return nil, nil, err
		}
		return &w.Area, w, nil
	}
	if f.needed || f.witness {
		a, err := los.NeededArea(ctx, &t.Heights, eyes[0], f.target, radiusM, o)
		return a, nil, err
	}
	a, err := los.SeenArea(ctx, &t.Heights, eyes[0], f.target, radiusM, o)
	return a, nil, err
}

// watched tells of each of several eyes, and how many cells are seen by one of
// them, by two and so on.
func (r *seeResult) watched(t *terrain.Terrain, eyes []los.Station, w *los.Watch) {
	if w == nil {
		return
	}
	r.watch = w
	for i, at := range eyes {
		p, e := t.Point(at.Col, at.Row), w.Eyes[i]
		r.Eyes = append(r.Eyes, seenEye{Lat: cli.Deg(p.Lat()), Lon: cli.Deg(p.Lon()), GroundM: cli.Len(t.SampleCell(at.Col, at.Row)),
			Seen: e.Seen, Unknown: e.Unknown, AreaM2: cli.Area(e.AreaM2), AloneM2: cli.Area(e.AloneM2)})
	}
	r.SeenBy = make([]int, len(eyes))
	for _, n := range w.SeenBy {
		if n > 0 {
			r.SeenBy[n-1]++
		}
	}
}

// printEyes tells of several eyes.
func (r *seeResult) printEyes(w cli.Text) {
	if len(r.Eyes) == 0 {
		return
	}
	square, m2 := w.SquareUnit()
	for i, e := range r.Eyes {
		fmt.Fprintf(w, "  eye %-4d %.4g %s, %.4g of it by no other, from %s on the ground of %s\n",
			i+1, float64(e.AreaM2)/m2, square, float64(e.AloneM2)/m2, w.At(orb.Point{float64(e.Lon), float64(e.Lat)}, 5), w.Length(float64(e.GroundM), 0))
	}
	fmt.Fprint(w, "  seen by ")
	for i, n := range r.SeenBy {
		if i > 0 {
			fmt.Fprint(w, ",")
		}
		fmt.Fprintf(w, " %d: %d cells", i+1, n)
	}
	fmt.Fprintln(w)
}

// writeWatchers writes by how many eyes each cell is seen.
func (r *seeResult) writeWatchers(w io.Writer) error {
	cells := make([]float32, len(r.watch.State))
	for i, s := range r.watch.State {
		cells[i] = float32(r.watch.SeenBy[i])
		if s == los.Unknown || s == los.Beyond {
			cells[i] = float32(math.NaN())
		}
	}
	return terrain.WriteGeoTIFF(w, r.watch.Frame, cells, float32(math.NaN()), terrain.WriteOptions{Content: "number of eyes that see the cell"})
}

// notes tells what may spoil the answer.
func (f *seeFlags) notes(app *cli.App, t *terrain.Terrain, eyes []los.Station, a *los.Area) {
	var spots []job.Spot
	for i, eye := range eyes {
		spots = append(spots, job.Spot{Name: eyeName(i, len(eyes)), Point: t.Point(eye.Col, eye.Row)})
	}
	for _, n := range job.GroundNotes(t, spots...) {
		app.Note(n)
	}
	if a.Unknown > 0 {
		app.Warn(fmt.Sprintf("%d cells lie in or behind ground without a height", a.Unknown), addTiles(t, "they are not counted as seen"))
	}
	if slices.ContainsFunc(eyes, func(eye los.Station) bool { return f.reachesOut(t, eye) }) {
		app.Warn("the radius reaches beyond the terrain", addTiles(t, "only cells of the terrain are counted"))
	}
}

// eyeName is what one of several eyes is called in a message.
func eyeName(i, eyes int) string {
	if eyes == 1 {
		return "the eye"
	}
	return fmt.Sprintf("eye %d", i+1)
}

// reachesOut reports whether an eye's radius leaves the terrain.
func (f *seeFlags) reachesOut(t *terrain.Terrain, eye los.Station) bool {
	if math.IsNaN(f.radius) {
		return false
	}
	for _, bearing := range []float64{0, 90, 180, 270} {
		p, _ := earth.Direct(t.Point(eye.Col, eye.Row), earth.NewTrue(bearing), f.radius)
		if col, row := t.Cell(p); !t.Inside(col, row) {
			return true
		}
	}
	return false
}

// addTiles is a hint that names the tiles that are missing, if any are.
func addTiles(t *terrain.Terrain, otherwise string) string {
	if len(t.Info.Missing) == 0 {
		return otherwise
	}
	if otherwise != "" {
		otherwise += "; "
	}
	return strings.TrimSpace(otherwise + "add the tiles " + terrain.ListTiles(t.Info.Missing))
}
