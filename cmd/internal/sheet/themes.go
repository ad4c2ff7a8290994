package sheet

import (
	"slices"

	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"
)

// A theme is what one map of a sheet shows.
type theme struct {
	name   string
	layers []layer.Layer
}

// Layers of a search, and those of signals: where there are both, one map of all would be
// too full to be read in bad light, and each has a map of its own.
var (
	ofSearch  = []string{overlay.Likely, overlay.Areas, overlay.Swept, overlay.Searched, overlay.Next, overlay.NextWays, overlay.Begin, overlay.Rings, overlay.Exits}
	ofSignals = []string{overlay.Sights, overlay.Seen, overlay.Sites, overlay.Links, overlay.Blind}
	crowding  = []string{overlay.Likely, overlay.Areas, overlay.Swept, overlay.Next}
)

// themes returns the maps of a sheet: one, or the search and the signals apart.
func themes(layers []layer.Layer) []theme {
	has := func(ids []string) bool {
		return slices.ContainsFunc(layers, func(l layer.Layer) bool { return len(l.Features) > 0 && slices.Contains(ids, l.ID) })
	}
	if has([]string{overlay.Swept}) { // the same areas, with what searching has done
		layers = without(layers, []string{overlay.Areas})
	}
	if !has(crowding) || !has(ofSignals) {
		return []theme{{"Map", layers}}
	}
	return []theme{{"Search map", without(layers, ofSignals)}, {"Signal map", without(layers, ofSearch)}}
}

func without(layers []layer.Layer, ids []string) []layer.Layer {
	var list []layer.Layer
	for _, l := range layers {
		if !slices.Contains(ids, l.ID) {
			list = append(list, l)
		}
	}
	return list
}
