package overlay

import (
	"fmt"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// signs are what stands around the letters of the map, in the order of the list of places.
var signs = []struct{ layer, around string }{
	{Starts, "in a ring"}, {LogEnd, "dot"}, {Lookouts, "on a square"}, {Sites, "on a triangle"},
}

// markedSection lists what has a letter on the map, with its position in both notations:
// who has no map at hand can be told where it is.
func markedSection(r *job.Result) Section {
	s := Section{Title: "Places on the map"}
	t := Table{Head: []string{"sign", "what", "grid", "latitude, longitude"}, Figures: make([]bool, 4), Cut: 1}
	w := r.Words()
	all := map[string]layer.Layer{Starts: starts(r), LogEnd: logEnd(r), Lookouts: lookouts(r), Sites: sites(r)}
	for _, sign := range signs {
		l := all[sign.layer]
		for i, letter := range Letters(l) {
			at, ok := l.Features[i].Geometry.(orb.Point)
			if ok {
				t.Rows = append(t.Rows, markedRow(w, strings.TrimSpace(letter+" "+sign.around), markedName(l, i), at))
			}
		}
	}
	s.table(t)
	return s
}

func markedRow(w cli.Words, sign, name string, at orb.Point) []string {
	grid, degrees := bothNotations(w, at)
	return []string{sign, name, grid, degrees}
}

// markedName is what a place is: of a site the signal, its hour, and which of its sites.
func markedName(l layer.Layer, i int) string {
	f := l.Features[i]
	if signal, _ := first[string](f.Get("signal")); l.ID == Sites && signal != "" {
		at := ""
		if !f.Time.IsZero() {
			at = " " + clock(&f.Time)
		}
		return fmt.Sprintf("%s%s, %s", signal, at, f.Name)
	}
	return f.Name
}
