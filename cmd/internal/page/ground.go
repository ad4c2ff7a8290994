package page

import (
	"bytes"
	"context"
	"encoding/base64"
	"image"
	"image/color"
	"image/png"
	"math"

	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// A cellFrame is where the cells of a raster lie: on longitude and latitude, or on the
// grid of the plane.
type cellFrame struct {
	LonLat bool    `json:"lon_lat"`
	X0     float64 `json:"x0"` // centre of the north-western cell
	Y0     float64 `json:"y0"`
	DX     float64 `json:"dx"`
	DY     float64 `json:"dy"`
	Cols   int     `json:"cols"`
	Rows   int     `json:"rows"`
}

func frameOf(f grid.Frame) cellFrame {
	return cellFrame{f.CRS.LonLat(), f.X0, f.Y0, f.DX, f.DY, f.Cols, f.Rows}
}

// A ground is the heights as the page carries them, and its picture.
type ground struct {
	Frame  cellFrame `json:"frame"`
	BaseM  float64   `json:"base_m"` // the height of code 1; code 0 is no data
	StepM  float64   `json:"step_m"`
	Codes  string    `json:"codes"`
	Shade  string    `json:"shade"` // PNG, north up on the plane
	ShadeX float64   `json:"shade_x"`
	ShadeY float64   `json:"shade_y"` // its north-western corner, from the plane's south-western one [m]
	ShadeM float64   `json:"shade_m"` // side of one of its dots
	Cols   int       `json:"shade_cols"`
	Rows   int       `json:"shade_rows"`
}

// heightStepM is the step of heights in the page [m]: a height read in it is at most half of
// that off, far below the error of any terrain.
const heightStepM = 0.5

func (p *plane) ground(ctx context.Context, h *grid.Heights) (*ground, error) {
	low, _ := h.Range()
	if math.IsNaN(low) {
		return nil, nil
	}
	g := &ground{Frame: frameOf(h.Frame), BaseM: math.Floor(low), StepM: heightStepM}
	codes := make([]uint16, len(h.Z))
	for i, z := range h.Z {
		if !math.IsNaN(float64(z)) {
			codes[i] = uint16(1 + math.Round((float64(z)-g.BaseM)/g.StepM))
		}
	}
	g.Codes = packPlanes(codes, h.Cols, 2)
	return g, p.shade(ctx, h, g)
}

// The light on the ground: from the north-west, as maps have it.
const (
	lightFromDeg = 315
	lightHighDeg = 45
	mostShade    = 1_500_000 // dots
)

// shade adds the picture of the ground lit from the north-west, laid on the plane.
func (p *plane) shade(ctx context.Context, h *grid.Heights, g *ground) error {
	lit, err := terrain.Hillshade(ctx, h, lightFromDeg, lightHighDeg, 1)
	if err != nil {
		return err
	}
	box := p.groundBox(h.Frame)
	east, north := h.Metres(h.Rows / 2)
	g.ShadeM = math.Min(east, north)
	if dots := (box.Max[0] - box.Min[0]) * (box.Max[1] - box.Min[1]) / (g.ShadeM * g.ShadeM); dots > mostShade {
		g.ShadeM *= math.Sqrt(dots / mostShade)
	}
	g.Cols, g.Rows = int(math.Ceil((box.Max[0]-box.Min[0])/g.ShadeM)), int(math.Ceil((box.Max[1]-box.Min[1])/g.ShadeM))
	g.ShadeX, g.ShadeY = box.Min[0]-p.box.Min[0], box.Max[1]-p.box.Min[1]
	picture := image.NewPaletted(image.Rect(0, 0, g.Cols, g.Rows), greys())
	field := &grid.Heights{Frame: h.Frame, Z: lit}
	for row := range g.Rows {
		for col := range g.Cols {
			at := orb.Point{box.Min[0] + (float64(col)+0.5)*g.ShadeM, box.Max[1] - (float64(row)+0.5)*g.ShadeM}
			picture.Pix[row*picture.Stride+col] = greyOf(litAt(field, p.round(at)))
		}
	}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, picture); err != nil {
		return err
	}
	g.Shade = "data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())
	return nil
}

// litAt returns the light between the cells, and beside the outer ones that of the nearest.
func litAt(field *grid.Heights, at orb.Point) float64 {
	col, row := field.Cell(at)
	if v := field.SampleCell(col, row); !math.IsNaN(v) {
		return v
	}
	c, r := int(math.Round(col)), int(math.Round(row))
	if c < 0 || r < 0 || c >= field.Cols || r >= field.Rows {
		return math.NaN()
	}
	return field.At(c, r)
}

// greySteps is how many greys the picture has: more are not told apart and take room.
const greySteps = 48

// greys is clear for no data, then from the grey of ground turned away to white.
func greys() color.Palette {
	list := color.Palette{color.NRGBA{}}
	for i := range greySteps {
		v := uint8(126 + (255-126)*i/(greySteps-1))
		list = append(list, color.NRGBA{v, v, v, 255})
	}
	return list
}

// greyOf makes level ground light, so that what is drawn on it reads well.
func greyOf(lit float64) uint8 {
	if math.IsNaN(lit) {
		return 0
	}
	level := math.Sin(lightHighDeg * math.Pi / 180)
	const levelGrey = 0.84
	tone := levelGrey * lit / level
	if lit > level {
		tone = levelGrey + (1-levelGrey)*(lit-level)/(1-level)
	}
	return uint8(1 + math.Round(tone*(greySteps-1)))
}
