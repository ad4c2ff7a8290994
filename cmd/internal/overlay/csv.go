package overlay

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
)

// The tables have one row a leg or search area, SI units in the names of their columns,
// points for decimals, empty fields for what is not known, and the plan in the last column
// so that no row loses where it is from.

// planColumn tells a row's plan, and that of an example that it is one.
func planColumn(r *job.Result) string {
	if r.Plan.Example {
		return exampleLine + " " + r.Plan.Hash
	}
	return r.Plan.Hash
}

// number writes a figure as result.json does; "" for null.
func number(v json.Marshaler) (string, error) {
	b, err := v.MarshalJSON()
	if string(b) == "null" {
		return "", err
	}
	return string(b), err
}

// A table is rows under a head; its error is that of the first figure that cannot be
// written.
type table struct {
	rows [][]string
	err  error
}

func (t *table) row(fields ...any) {
	var row []string
	for _, f := range fields {
		switch f := f.(type) {
		case string:
			row = append(row, f)
		case json.Marshaler:
			s, err := number(f)
			if err != nil && t.err == nil {
				t.err = err
			}
			row = append(row, s)
		}
	}
	t.rows = append(t.rows, row)
}

func (t *table) write(w io.Writer) error {
	if t.err != nil {
		return t.err
	}
	out := csv.NewWriter(w)
	return out.WriteAll(t.rows)
}

// LegsCSV writes the legs of the log as a table. The position is that of a leg's end,
// empty where the log states no start.
func LegsCSV(w io.Writer, r *job.Result) error {
	t := &table{rows: [][]string{{
		"leg", "bearing_true_deg", "distance_m", "north_m", "east_m", "adjusted_north_m", "adjusted_east_m",
		"declination_deg", "convergence_deg", "end_lat_deg", "end_lon_deg", "note", "plan",
	}}}
	for i, l := range r.Reckon.Legs {
		var lat, lon any = "", ""
		if i+1 < len(r.Reckon.Path) {
			end := r.Reckon.Path[i+1]
			lat, lon = cli.Deg(end.Lat()), cli.Deg(end.Lon())
		}
		t.row(strconv.Itoa(i+1), l.TrueDeg, l.DistanceM, l.NorthM, l.EastM, l.AdjustedNorthM, l.AdjustedEastM,
			l.DeclinationDeg, l.ConvergenceDeg, lat, lon, l.Note, planColumn(r))
	}
	return t.write(w)
}

// SegmentsCSV writes the search areas as a table, with what was done to them.
func SegmentsCSV(w io.Writer, r *job.Result) error {
	t := &table{rows: [][]string{{
		"segment", "middle_lat_deg", "middle_lon_deg", "area_m2", "share_before", "share_per_km2_before", "party_hours_h",
		"sweep_width_m", "effort_m", "coverage", "pod", "share_after", "plan",
	}}}
	done := map[string]job.SweptSegment{}
	if r.Sweep != nil {
		for _, s := range r.Sweep.Segments {
			done[s.Name] = s
		}
	}
	for _, a := range r.Chance.SearchAreas {
		var width, effort, coverage, pod, after any = "", "", "", "", ""
		if s, ok := done[a.Name]; ok {
			width, effort, coverage, pod, after = s.SweepWidthM, s.EffortM, s.Coverage, s.POD, s.POAAfter
		}
		t.row(a.Name, a.Lat, a.Lon, a.AreaM2, a.Share, a.PerKM2, a.PartyHours, width, effort, coverage, pod, after, planColumn(r))
	}
	return t.write(w)
}
