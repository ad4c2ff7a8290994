package main

import (
	"encoding/json"
	"io"
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

// writeGPX writes layers of a result under the result's name.
func writeGPX(w io.Writer, r *job.Result, layers []layer.Layer) error {
	return mapfile.WriteGPX(w, layers, mapfile.GPXOptions{Name: overlay.DocumentName(r)})
}
