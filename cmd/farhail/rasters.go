package main

import (
	"io"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/prob"
	"farhail/geo/terrain"
)

// rasters are the files of cells of a result: of the likelihood as it is now, and of when
// the usual walker arrives, where there are any.
func rasters(r *job.Result) []cli.File {
	var list []cli.File
	if r.Chance != nil {
		surface, content := r.Chance.Surface, "probability per km2"
		if r.Sweep != nil && r.Sweep.Surface != nil {
			surface, content = r.Sweep.Surface, "probability per km2, with all that was searched"
		}
		list = append(list, cli.File{Name: "chance.tif", Write: func(w io.Writer) error { return writeDensity(w, r, surface, content) }})
	}
	if r.Rings != nil && r.Rings.Reach != nil {
		list = append(list, cli.File{Name: "reach.tif", Write: func(w io.Writer) error { return writeReach(w, r.Rings.Reach, overlay.DocumentName(r)) }})
	}
	return list
}

// writeDensity writes a surface of a result as its density.
func writeDensity(w io.Writer, r *job.Result, s *prob.Surface, content string) error {
	cells := make([]float32, len(s.Mass))
	for i, d := range s.DensityKM2() {
		cells[i] = float32(d)
	}
	return terrain.WriteGeoTIFF(w, s.Frame, cells, float32(math.NaN()), terrain.WriteOptions{Content: content, Unit: "1/km2", Title: overlay.DocumentName(r)})
}

// writeReach writes when the usual walker arrives in each cell; the title may be "".
func writeReach(w io.Writer, reach *job.Reach, title string) error {
	return terrain.WriteGeoTIFF(w, reach.Frame, reach.Seconds, float32(math.NaN()), terrain.WriteOptions{Content: "seconds after which the usual walker arrives", Unit: "s", Title: title})
}

// tables are the files of rows of a result.
func tables(r *job.Result) []cli.File {
	var list []cli.File
	if r.Reckon != nil && len(r.Reckon.Legs) > 0 {
		list = append(list, cli.File{Name: "legs.csv", Write: func(w io.Writer) error { return overlay.LegsCSV(w, r) }})
	}
	if r.Chance != nil && len(r.Chance.SearchAreas) > 0 {
		list = append(list, cli.File{Name: "segments.csv", Write: func(w io.Writer) error { return overlay.SegmentsCSV(w, r) }})
	}
	return list
}
