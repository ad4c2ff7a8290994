package sheet

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"math"
	"slices"
	"strconv"

	"codeberg.org/go-pdf/fpdf"

	"farhail/geo/grid"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// The shaded ground, own choice: light from the upper left as maps have it, pale enough
// for fine lines to be read on it, and level ground nearly white to spare ink.
const (
	shadeDots    = 6  // a millimetre: 150 to the inch
	shadeQuality = 82 // of the JPEG
	lightFromDeg = 315
	lightUpDeg   = 45
	darkest      = 0.6 // of white, on ground that is turned away from the light
)

// shade draws the ground shaded. It reports the share of the map that has no heights.
func (d *doc) shade(ctx context.Context, p *projection, h *grid.Heights) (blank float64, err error) {
	light, err := terrain.Hillshade(ctx, h, lightFromDeg, lightUpDeg, exaggeration(h))
	if err != nil {
		return 0, err
	}
	cols, rows := int(math.Ceil(p.window.w()*shadeDots)), int(math.Ceil(p.window.h()*shadeDots))
	// The library writes images by their width, and those of one width in any order.
	for slices.Contains(d.images, cols) {
		cols++
	}
	img, blank := shadeImage(p, &grid.Heights{Frame: h.Frame, Z: light}, cols, rows)
	if blank == 1 {
		return blank, nil
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: shadeQuality}); err != nil {
		return 0, err
	}
	o := fpdf.ImageOptions{ImageType: "JPG"}
	d.images = append(d.images, cols)
	name := strconv.Itoa(cols)
	d.pdf.RegisterImageOptionsReader(name, o, &b)
	w := p.window
	d.pdf.ImageOptions(name, w.x0, w.y0, w.w(), w.h(), false, o, 0, "")
	return blank, nil
}

// exaggeration makes gentle ground show: heights are multiplied so that its steeper
// parts come to some 25 degrees, at most by 4 and never made gentler.
func exaggeration(h *grid.Heights) float64 {
	const wanted = 0.47
	if s := steepness(h, 0.9); s > 0 {
		return min(max(wanted/s, 1), 4)
	}
	return 1
}

// shadeImage lays light on the window in so many dots, and returns the share of them
// without any.
func shadeImage(p *projection, light *grid.Heights, cols, rows int) (*image.Gray, float64) {
	img := image.NewGray(image.Rect(0, 0, cols, rows))
	at := newLattice(p, light.Frame, cols, rows)
	blank := 0
	level := math.Sin(lightUpDeg * math.Pi / 180) // of level ground
	for y := range rows {
		for x := range cols {
			col, row := at.cell(x, y)
			v := light.SampleCell(col, row)
			if math.IsNaN(v) {
				blank++
				img.Pix[y*img.Stride+x] = 255
				continue
			}
			tone := darkest + (1-darkest)*math.Min(v/level, 1)
			img.Pix[y*img.Stride+x] = uint8(math.Round(255 * tone))
		}
	}
	return img, float64(blank) / float64(cols*rows)
}

// A lattice gives the cell of the ground below each dot of an image: worked out every
// few dots, and even between them, which is right to a hundredth of a dot.
type lattice struct {
	every, cols int
	col, row    []float64
}

func newLattice(p *projection, f grid.Frame, cols, rows int) lattice {
	l := lattice{every: 16, cols: cols/16 + 2}
	for j := range rows/l.every + 2 {
		for i := range l.cols {
			x := p.window.x0 + (float64(i*l.every)+0.5)*p.window.w()/float64(cols)
			y := p.window.y0 + (float64(j*l.every)+0.5)*p.window.h()/float64(rows)
			col, row := f.Cell(p.position(orb.Point{x, y}))
			l.col, l.row = append(l.col, col), append(l.row, row)
		}
	}
	return l
}

func (l lattice) cell(x, y int) (col, row float64) {
	i, j := x/l.every, y/l.every
	u, v := float64(x%l.every)/float64(l.every), float64(y%l.every)/float64(l.every)
	k := j*l.cols + i
	mix := func(a []float64) float64 {
		return (1-v)*((1-u)*a[k]+u*a[k+1]) + v*((1-u)*a[k+l.cols]+u*a[k+l.cols+1])
	}
	return mix(l.col), mix(l.row)
}
