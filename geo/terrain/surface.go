package terrain

import (
	"path"
	"regexp"
	"strings"
)

// What the heights of a terrain stand for, as in Info.Surface.
const (
	SurfaceTops    = "surface" // the top of trees and roofs, as radar and cameras see it
	SurfaceGround  = "ground"  // the bare ground below them
	SurfaceUnknown = notStated
)

// Caution says what the kind of surface means for sight lines and for whoever
// stands on it, in one sentence for every output. It is never empty: bare ground
// leaves out the trees.
func (i Info) Caution() string {
	switch i.Surface {
	case SurfaceTops:
		return "the terrain is a surface model: under trees and roofs its heights are those of their tops, an eye there would stand on them, and what they hide or open is uncertain both ways"
	case SurfaceGround:
		return "the terrain is bare ground: trees and buildings are seen through"
	case SurfaceUnknown:
		return "surface kind not stated: the terrain may hold the bare ground or the tops of trees and roofs"
	}
	return "the terrain joins files of different kinds (" + i.Surface + "): some of its heights may be those of treetops and roofs"
}

// surfaceWords are short names that terrain products bear in their file names.
// SRTM, ASTER GDEM and ALOS World 3D are measured from above and follow the
// treetops in part; DSM and DTM are the usual short names of surface and ground
// models. The publishers' guides say so; from memory.
var surfaceWords = []struct {
	name    *regexp.Regexp
	surface string
}{
	{regexp.MustCompile(`(?i)(^|[^a-z])(dsm|srtm\w*|astgtm\w*|alpsmlc30)([^a-z]|$)`), SurfaceTops},
	{regexp.MustCompile(`(?i)(^|[^a-z])dtm([^a-z]|$)`), SurfaceGround},
}

// surfaceFromName returns the kind of surface that a file's name tells, with a
// note, and SurfaceUnknown where it tells none or both.
func surfaceFromName(file string) (surface, note string) {
	name := strings.TrimSuffix(path.Base(file), path.Ext(file))
	surface = SurfaceUnknown
	for _, w := range surfaceWords {
		if !w.name.MatchString(name) {
			continue
		}
		if surface != SurfaceUnknown {
			return SurfaceUnknown, ""
		}
		surface = w.surface
	}
	switch surface {
	case SurfaceTops:
		return surface, "taken for a surface model (treetops and roofs) by its name"
	case SurfaceGround:
		return surface, "taken for bare ground by its name"
	}
	return surface, ""
}
