package sheet

import (
	"fmt"
	"strconv"

	"farhail/cmd/internal/cli"
)

// barUnits are what a part of a scale bar stands for [km or miles].
var barUnits = []float64{0.1, 0.2, 0.25, 0.5, 1, 2, 5}

// barMM is the least length of a part [mm].
const barMM = 9

// scaleBlock tells the scale in figures, as a bar of kilometres (and of miles for who
// thinks in them), and how to see that it was printed true.
func (d *doc) scaleBlock(p *projection, w float64, words cli.Words) block {
	list := []block{
		d.words(w, 11, "Scale "+scaleText(int(p.scale))),
		d.bar(p, w, 1000, "km"),
	}
	if name, unitM := words.LongUnit(); words.Units == cli.Imperial {
		list = append(list, d.bar(p, w, unitM, name))
	}
	step := gridStep(p.scale)
	list = append(list, d.words(w, keyPt, "", fmt.Sprintf("Print at actual size (100 %%): the sides of a grid square (%s km) then measure %.3g mm.", strconv.FormatFloat(step/1000, 'f', -1, 64), p.mm(step))))
	return block{height(list), func(x, y float64) { stack(list, x, y) }}
}

// scaleText writes a scale as 1:25 000.
func scaleText(scale int) string {
	return fmt.Sprintf("1:%d %03d", scale/1000, scale%1000)
}

// bar is a scale bar in a unit [m]: one part to the left of nought, cut finer, and as many
// to the right as there is room for.
func (d *doc) bar(p *projection, w, unitM float64, name string) block {
	part, each := 0.0, 0.0
	for _, part = range barUnits {
		if each = p.mm(part * unitM); each >= barMM {
			break
		}
	}
	const ends, thick = 4.0, 1.5
	n := max(1, min(4, int((w-2*ends-each)/each)))
	return block{5.2, func(x, y float64) {
		d.ink(black)
		zero, top := x+ends+each, y+2.8
		fine := 5
		if each/10 >= 2 {
			fine = 10
		}
		for i := range fine {
			if i%2 == 0 {
				d.fill(zero-float64(i+1)*each/float64(fine), top, each/float64(fine), thick)
			}
		}
		for i := range n {
			if i%2 == 1 {
				d.fill(zero+float64(i)*each, top, each, thick)
			}
		}
		d.box(zero-each, top, each*float64(n+1), thick, 0.15)
		d.rule(zero, top-0.6, zero, top+thick, 0.2)
		d.font(regular, 6.5)
		write := func(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }
		d.textCentre(zero-each, top-0.8, write(part))
		d.textCentre(zero, top-0.8, "0")
		for i := range n {
			text := write(part * float64(i+1))
			at := zero + float64(i+1)*each
			if i == n-1 {
				d.text(at-d.width(text)/2, top-0.8, text+" "+name)
			} else {
				d.textCentre(at, top-0.8, text)
			}
		}
	}}
}
