package sheet

import (
	"image/color"
	"strings"

	"golang.org/x/image/font/sfnt"
)

// mmPerPt is a point of 1/72 inch.
const mmPerPt = 25.4 / 72

var (
	black = color.RGBA{A: 255}
	white = color.RGBA{255, 255, 255, 255}
)

// letters tells which letters a font has.
type letters struct {
	font *sfnt.Font
	buf  *sfnt.Buffer
}

func readLetters(ttf []byte) letters {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("sheet: " + err.Error()) // the font is part of the program
	}
	return letters{f, &sfnt.Buffer{}}
}

// has reports whether the font has a letter; those beyond the basic plane are not
// printed.
func (l letters) has(c rune) bool {
	if c > 0xffff {
		return false
	}
	i, err := l.font.GlyphIndex(l.buf, c)
	return err == nil && i != 0
}

// printable returns text with what the font in use cannot print replaced: blanks of
// any kind by a blank, other signs by '?'.
func (d *doc) printable(s string) string {
	l := d.letters[d.now]
	return strings.Map(func(c rune) rune {
		switch {
		case c == '\t' || c == '\n' || c == '\r' || c == 0x00a0 || c == 0x202f || c == 0x2009:
			return ' '
		case c < ' ':
			return -1
		case !l.has(c):
			return '?'
		}
		return c
	}, s)
}

// font sets the font and its size [pt].
func (d *doc) font(f face, pt float64) {
	if f == d.now && pt == d.pt {
		return
	}
	d.now, d.pt = f, pt
	d.pdf.SetFont(string(f), "", pt)
}

// ink sets the colour of letters, lines and areas.
func (d *doc) ink(c color.RGBA) {
	r, g, b := int(c.R), int(c.G), int(c.B)
	d.pdf.SetTextColor(r, g, b)
	d.pdf.SetDrawColor(r, g, b)
	d.pdf.SetFillColor(r, g, b)
}

// width returns how wide a text is in the font in use [mm].
func (d *doc) width(s string) float64 { return d.pdf.GetStringWidth(d.printable(s)) }

// lineHeight is the distance of two lines of text [mm].
func (d *doc) lineHeight() float64 { return 1.25 * d.pt * mmPerPt }

// text writes from x on, the letters standing on y.
func (d *doc) text(x, y float64, s string) {
	if s != "" {
		d.pdf.Text(x, y, d.printable(s))
	}
}

// textRight writes so that the text ends at x.
func (d *doc) textRight(x, y float64, s string) { d.text(x-d.width(s), y, s) }

// textCentre writes with the middle of the text at x.
func (d *doc) textCentre(x, y float64, s string) { d.text(x-d.width(s)/2, y, s) }

// lines breaks text into lines not wider than room [mm]. A word that is wider is cut.
func (d *doc) lines(s string, room float64) []string {
	var list []string
	line := ""
	for _, word := range strings.Fields(d.printable(s)) {
		if line != "" && d.width(line+" "+word) <= room {
			line += " " + word
			continue
		}
		if line != "" {
			list = append(list, line)
		}
		for d.width(word) > room {
			cut := d.fitting(word, room)
			list, word = append(list, word[:cut]), word[cut:]
		}
		line = word
	}
	if line != "" {
		list = append(list, line)
	}
	return list
}

// fitting returns how many bytes of a word fit into room, at least one letter.
func (d *doc) fitting(word string, room float64) int {
	cut := len(word)
	for i := range word {
		if i == 0 {
			continue
		}
		if d.width(word[:i]) > room {
			break
		}
		cut = i
	}
	if cut == len(word) && d.width(word) > room { // not even one letter fits
		for i := range word {
			if i > 0 {
				return i
			}
		}
	}
	return cut
}

// short returns text cut to a width, with three dots where it was.
func (d *doc) short(s string, room float64) string {
	s = d.printable(s)
	if d.width(s) <= room {
		return s
	}
	cut := 0
	for i := range s {
		if d.width(s[:i]+"...") > room {
			break
		}
		cut = i
	}
	return strings.TrimRight(s[:cut], " ,") + "..."
}

// rule draws a straight line of a width [mm].
func (d *doc) rule(x0, y0, x1, y1, width float64) {
	d.pdf.SetLineWidth(width)
	d.pdf.Line(x0, y0, x1, y1)
}

// box draws the border of a rectangle.
func (d *doc) box(x, y, w, h, width float64) {
	d.pdf.SetLineWidth(width)
	d.pdf.Rect(x, y, w, h, "D")
}

// fill fills a rectangle with the colour in use.
func (d *doc) fill(x, y, w, h float64) { d.pdf.Rect(x, y, w, h, "F") }
