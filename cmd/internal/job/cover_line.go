package job

import (
	"io/fs"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/cover"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/terrain"
	"farhail/signal/air"

	"github.com/paulmach/orb"
)

// A LinePlants is how far a sight line runs below the canopy of a class.
type LinePlants struct {
	Class   string  `json:"class"`
	LengthM cli.Len `json:"length_m"`
	// ClearLineM is the mean clear line among its stems and leaves; null where none
	// are known, and nothing was counted.
	ClearLineM cli.Len `json:"clear_line_m"`
	From       string  `json:"from"`
}

// Among puts the plants of a cover on the line between the eye and the signal: by
// their chance of a clear line, and not as a wall, since somebody at a wood's edge
// is seen through it. A terrain that holds the treetops has them already. What is
// odd about it is returned. It needs both ends and the heights.
func (r *SightRequest) Among(c *Cover, t *terrain.Terrain) []cli.Note {
	screen, notes := c.Raise(t)
	if screen == nil {
		return notes
	}
	distM, _, _ := earth.Inverse(*r.From, *r.Toward)
	eye, target := r.station(*r.From, r.EyeM), r.station(*r.Toward, r.signalM())
	passed := c.grid.Passes(r.Heights, c.canopies(), cover.End(eye), cover.End(target), distM,
		func(m float64) float64 { return earth.DropM(m, r.Refraction, r.EarthRadiusM) })
	r.among = []LinePlants{}
	for _, p := range passed {
		clearM, from := c.clearM(p.Class)
		if !math.IsNaN(clearM) {
			r.OnLine += p.LengthM / clearM
		} else {
			notes = append(notes, warning("", "the line runs %s below the height of %s, which is not counted and may hide it", Distance(p.LengthM), p.Class))
		}
		r.among = append(r.among, LinePlants{p.Class.String(), cli.Len(p.LengthM), cli.Len(clearM), from})
	}
	return notes
}

// clearM returns the mean clear line among the stems and leaves of a class [m], NaN
// where it has none, and where its figures are from.
func (c *Cover) clearM(class cover.Class) (clearM float64, from string) {
	traits := class.Traits()
	if clearM = c.plants(class).ClearM(); math.IsInf(clearM, 1) || math.IsNaN(clearM) {
		return math.NaN(), ""
	}
	from = "leaf area: " + traits.LeafArea.Source
	if traits.StemsPerHa.Value > 0 {
		from += "; stems: " + traits.StemsPerHa.Source
	}
	return clearM, from
}

// plants returns the stems and leaves of a class.
func (c *Cover) plants(class cover.Class) air.Plants {
	t := class.Traits()
	return air.Plants{
		StemsPerM2: t.StemsPerHa.Value / 1e4, StemWidthM: t.StemWidthM.Value,
		LeafAreaIndex: t.LeafArea.Value, CanopyM: c.canopies()[class],
	}
}

// BehindByCover returns what stands behind a signal at a place, one of
// SightBackgrounds, and what else is seen there, one of SightClutters: those of the
// class that covers the place itself, taken for the ground behind it. Both are "" where
// no file tells it.
func BehindByCover(fsys fs.FS, ask plan.Cover, at orb.Point) (class, behind, clutter string, err error) {
	const side = 1e-4 // about ten metres
	c, _, err := LoadCover(fsys, ask, grid.Frame{X0: at.Lon(), Y0: at.Lat(), DX: side, DY: side, Cols: 1, Rows: 1})
	if err != nil {
		return "", "", "", err
	}
	traits := c.grid.At(at).Traits()
	return traits.Class.String(), traits.Behind, traits.Clutter, nil
}
