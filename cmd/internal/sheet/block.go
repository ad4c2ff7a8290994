package sheet

// A block is a part of what stands beside the map: how high it is at the width it was
// made for, and how to draw it from an upper left corner.
type block struct {
	h    float64
	draw func(x, y float64)
}

// blockGap is between two blocks [mm].
const blockGap = 2.2

// height of blocks above each other.
func height(list []block) float64 {
	sum := 0.0
	for i, b := range list {
		if i > 0 {
			sum += blockGap
		}
		sum += b.h
	}
	return sum
}

// stack draws blocks above each other.
func stack(list []block, x, y float64) {
	for _, b := range list {
		b.draw(x, y)
		y += b.h + blockGap
	}
}

// words is a block of paragraphs, below a bold head if there is one.
func (d *doc) words(w, pt float64, head string, paragraphs ...string) block {
	var lines []string
	d.font(bold, pt)
	heads := d.lines(head, w)
	d.font(regular, pt)
	for _, p := range paragraphs {
		lines = append(lines, d.lines(p, w)...)
	}
	high := d.lineHeight()
	return block{float64(len(heads)+len(lines)) * high, func(x, y float64) {
		d.ink(black)
		y += pt * mmPerPt
		d.font(bold, pt)
		for _, line := range heads {
			d.text(x, y, line)
			y += high
		}
		d.font(regular, pt)
		for _, line := range lines {
			d.text(x, y, line)
			y += high
		}
	}}
}
