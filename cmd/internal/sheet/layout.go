package sheet

import (
	"context"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
)

// A Layout is where the names of a map stand on its page [mm from the upper left corner],
// for who checks that they can be read.
type Layout struct {
	Map     string // "Map", "Search map", "Signal map"
	Frame   orb.Bound
	Names   []Name
	Unnamed int // names without room
}

// A Name is a text of the map with the corners of its box.
type Name struct {
	Text string
	Box  orb.Ring
}

// Layouts lays out the maps of a sheet as [Write] does.
func Layouts(ctx context.Context, r *job.Result, o Options) ([]Layout, error) {
	d := newDoc("", r.Program, r.Plan.AsOf)
	var list []Layout
	for _, t := range themes(overlay.Layers(r)) {
		m, err := d.mapPage(ctx, r, o, t)
		if err != nil {
			return nil, err
		}
		if m == nil {
			continue
		}
		l := Layout{Map: t.name, Frame: m.window.polygon().Bound(), Unnamed: *m.unnamed}
		for _, n := range m.laid {
			c := n.box.corners()
			l.Names = append(l.Names, Name{n.text, orb.Ring{c[0], c[1], c[2], c[3], c[0]}})
		}
		list = append(list, l)
	}
	return list, nil
}
