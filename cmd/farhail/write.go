package main

import (
	"encoding/json"
	"io"
	"math"
	"slices"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"
	"farhail/geo/mapfile"
)

// endsIn reports whether a file's name ends in one of the extensions, in letters of
// either size.
func endsIn(name string, extensions ...string) bool {
	name = strings.ToLower(name)
	return slices.ContainsFunc(extensions, func(e string) bool { return strings.HasSuffix(name, e) })
}

// isTIFF reports whether a file is to be written as GeoTIFF.
func isTIFF(name string) bool { return endsIn(name, ".tif", ".tiff") }

// writeJSON writes a value for people and programs to read.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// writeGeoJSON writes layers of a result under its name.
func writeGeoJSON(w io.Writer, r *job.Result, layers []layer.Layer) error {
	return mapfile.WriteGeoJSONTitled(w, layers, overlay.DocumentName(r))
}

// writeKML writes layers of a result in the colours of the key.
func writeKML(w io.Writer, r *job.Result, layers []layer.Layer) error {
	looks := map[string]overlay.Look{}
	for _, k := range overlay.Key(layers) {
		looks[k.Layer] = k
	}
	return mapfile.WriteKML(w, overlay.Lettered(layers), mapfile.KMLOptions{
		Name: overlay.DocumentName(r), Description: overlay.DocumentText(r),
		Style: func(l layer.Layer, f layer.Feature) mapfile.KMLStyle { return kmlStyle(looks[l.ID].For(f)) },
	})
}

// kmlStyle draws a look in lines and fills; KML has neither dashes nor hatches, so that a
// hatch is a thin fill.
func kmlStyle(k overlay.Look) mapfile.KMLStyle {
	const pxPerMM, hatched = 96 / 25.4, 40
	s := mapfile.KMLStyle{Colour: k.Colour, WidthPX: math.Round(10*max(1, k.WidthMM*pxPerMM)) / 10, Fill: k.Fill}
	if k.Hatch.GapMM > 0 {
		s.Fill = hatched
	}
	return s
}

// writeGPX writes layers of a result as the plan's handheld takes them.
func writeGPX(w io.Writer, r *job.Result, layers []layer.Layer) error {
	f, err := fitHandheld(r, layers)
	if err != nil {
		return err
	}
	return f.write(w)
}
