package sheet

import (
	"io"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
)

// The card is one side of A6 (ISO 216) [mm].
const (
	cardWMM   = 105.0
	cardHMM   = 148.0
	cardEdge  = 5.0 // free on all sides, which no printer reaches
	cardNameW = 20.0
)

// A cardMark is one thing on the card, in millimetres from its upper left corner: a
// text that stands on y, or a line from x, y to x2, y2.
type cardMark struct {
	x, y   float64
	text   string // "" for a line
	face   face
	pt     float64
	w      float64 // of the text, or of the line's stroke
	x2, y2 float64
}

// box is what a text takes.
func (m cardMark) box() area {
	return area{m.x, m.y - 0.78*m.pt*mmPerPt, m.x + m.w, m.y + 0.24*m.pt*mmPerPt}
}

// A cardLayout lays out a card from top to bottom.
type cardLayout struct {
	d     *doc // measures, and is not printed on
	marks []cardMark
	y     float64 // down to where the card is full
	scale float64 // of the letters of running text
	brief bool    // without what is at best
}

// leastScale is how small running text is set: below it the smallest letters would
// be under 5 points.
const leastScale = 0.88

// layCard places a card's marks. Running text is set as large as the page has room
// for; where it would get too small the second figure of each signal is left out. ok
// is false where even that does not fit.
func layCard(d *doc, c overlay.Card) (marks []cardMark, ok bool) {
	for _, brief := range []bool{false, true} {
		for scale := 1.45; scale >= leastScale; scale -= 0.02 {
			l := &cardLayout{d: d, y: cardEdge, scale: scale, brief: brief}
			l.card(c)
			if l.y <= cardHMM-cardEdge {
				return l.marks, true
			}
		}
	}
	return nil, false
}

func (l *cardLayout) card(c overlay.Card) {
	if c.Example {
		l.paragraph(bold, 8, overlay.ExampleLine)
	}
	l.paragraph(bold, 10.5, c.Emergency)
	l.paragraph(regular, 7.5, c.First)
	l.heading(c.Heading)
	l.table(c)
	if l.brief {
		l.paragraph(regular, 5.7, "Figures: "+c.Noticed)
	} else {
		l.paragraph(regular, 5.7, "Upper figure: "+c.Noticed+" Lower figure, at best: "+c.AtBest)
	}
	for _, n := range c.Notes {
		l.paragraph(regular, 5.7, n)
	}
	l.heading("SIGNAL OF DISTRESS")
	for _, r := range c.Distress {
		l.ruleText(r)
	}
	l.heading("SIGNS ON THE GROUND FOR AN AIRCRAFT")
	l.signs(c.Signs)
	l.paragraph(regular, 5.8, c.SignNote)
	l.heading("MIRROR")
	l.paragraph(regular, 6.4, c.Mirror)
	l.heading("BEFORE ANYONE ACTS")
	for _, s := range c.Cautions {
		l.paragraph(regular, 5.8, s)
	}
	l.y += 0.8
	l.line(cardEdge, l.y, cardWMM-cardEdge, l.y, 0.2)
	l.paragraph(regular, 5.7, strings.TrimSpace(c.Title+". "+c.Foot))
}

// put writes a text that stands on y.
func (l *cardLayout) put(x, y float64, f face, pt float64, s string) {
	l.d.font(f, pt)
	s = l.d.printable(s)
	l.marks = append(l.marks, cardMark{x: x, y: y, text: s, face: f, pt: pt, w: l.d.width(s)})
}

func (l *cardLayout) line(x, y, x2, y2, w float64) {
	l.marks = append(l.marks, cardMark{x: x, y: y, x2: x2, y2: y2, w: w})
}

// paragraph writes text over the whole width, its size that of the scale.
func (l *cardLayout) paragraph(f face, pt float64, s string) {
	pt *= l.scale
	l.d.font(f, pt)
	for _, text := range l.d.lines(s, cardWMM-2*cardEdge) {
		l.y += 1.17 * pt * mmPerPt
		l.put(cardEdge, l.y, f, pt, text)
	}
}

func (l *cardLayout) heading(s string) {
	l.y += 1.3 * l.scale
	l.line(cardEdge, l.y, cardWMM-cardEdge, l.y, 0.5)
	l.y += 0.2
	l.paragraph(bold, 6.6, s)
}

// ruleText writes a rule of distress, its name in bold before the text.
func (l *cardLayout) ruleText(r overlay.CardRule) {
	const room = cardWMM - 2*cardEdge
	pt := 6.4 * l.scale
	indent := l.spanOf(bold, pt, r.Name+": ")
	l.d.font(regular, pt)
	text := strings.Join(strings.Fields(l.d.printable(r.Text)), " ")
	first := l.d.lines(text, room-indent)[0]
	l.y += 1.17 * pt * mmPerPt
	l.put(cardEdge, l.y, bold, pt, r.Name+":")
	l.put(cardEdge+indent, l.y, regular, pt, first)
	l.paragraph(regular, 6.4, strings.TrimPrefix(text, first))
}

func (l *cardLayout) spanOf(f face, pt float64, s string) float64 {
	l.d.font(f, pt)
	return l.d.width(s)
}

// table writes the distances: figures large enough for dim light, the nearer one in
// bold.
func (l *cardLayout) table(c overlay.Card) {
	columns := len(c.Lights) * len(c.Airs)
	if columns == 0 {
		return
	}
	wide := (cardWMM - 2*cardEdge - cardNameW) / float64(columns)
	right := func(i int) float64 { return cardEdge + cardNameW + wide*float64(i+1) - 0.8 }
	endAt := func(x float64, f face, pt float64, s string) {
		l.put(x-l.spanOf(f, pt, s), l.y, f, pt, s)
	}
	l.y += 3
	top := l.y - 2.6
	for i, light := range c.Lights {
		middle := cardEdge + cardNameW + wide*float64(len(c.Airs))*(float64(i)+0.5)
		l.put(middle-l.spanOf(bold, 8, strings.ToUpper(light))/2, l.y, bold, 8, strings.ToUpper(light))
	}
	l.y += 2.7
	for i := range columns {
		endAt(right(i), regular, 6.5, c.Airs[i%len(c.Airs)])
	}
	l.y += 0.8
	for _, r := range c.Rows {
		if r.Heard != "" {
			continue
		}
		l.line(cardEdge, l.y, cardWMM-cardEdge, l.y, 0.1)
		l.y += 3.1
		name := l.nameLines(r.Signal)
		l.put(cardEdge, l.y, bold, 7, name[0])
		for i, s := range r.Noticed {
			endAt(right(i), bold, l.fit(bold, 9, wide-1, s), s)
		}
		second := "at best"
		if len(name) > 1 {
			second = name[1]
		}
		if l.brief && len(name) == 1 {
			l.y += 0.8
			continue
		}
		l.y += 2.7
		l.put(cardEdge, l.y, regular, 6.5, second)
		if l.brief {
			l.y += 0.8
			continue
		}
		for i, s := range r.AtBest {
			endAt(right(i), regular, l.fit(regular, 7, wide-1, s), s)
		}
		l.y += 0.8
	}
	for i := 1; i < len(c.Lights); i++ {
		x := cardEdge + cardNameW + wide*float64(i*len(c.Airs))
		l.line(x+0.1, top, x+0.1, l.y, 0.3)
	}
	l.line(cardEdge, l.y, cardWMM-cardEdge, l.y, 0.1)
	for _, r := range c.Rows {
		if r.Heard != "" {
			l.paragraph(regular, 6.2, r.Signal+": "+r.Heard+".")
		}
	}
}

// fit returns the size of letters at which a text takes no more than room.
func (l *cardLayout) fit(f face, pt, room float64, s string) float64 {
	return pt * min(1, room/max(l.spanOf(f, pt, s), 1e-9))
}

// nameLines breaks a signal's name into at most two lines that fit its column.
func (l *cardLayout) nameLines(name string) []string {
	l.d.font(bold, 7)
	lines := l.d.lines(name, cardNameW-0.5)
	if len(lines) > 2 {
		lines = lines[:2]
	}
	if len(lines) == 0 {
		lines = []string{""}
	}
	return lines
}

// signs draws the ground-to-air signs in a row with their meanings.
func (l *cardLayout) signs(signs []overlay.CardSign) {
	if len(signs) == 0 {
		return
	}
	const side = 6.0
	wide := (cardWMM - 2*cardEdge) / float64(len(signs))
	top := l.y + 1.2
	deepest := top + side
	for i, s := range signs {
		x := cardEdge + wide*float64(i)
		for _, stroke := range signStrokes(s.Letter) {
			l.line(x+side*stroke[0]+0.5, top+side*stroke[1], x+side*stroke[2]+0.5, top+side*stroke[3], 1)
		}
		pt := 5.8 * min(l.scale, 1.05)
		l.d.font(regular, pt)
		y := top + 1.6
		for _, text := range l.d.lines(s.Meaning, wide-side-2.2) {
			l.put(x+side+1.8, y, regular, pt, text)
			y += 1.17 * pt * mmPerPt
		}
		deepest = max(deepest, y-pt*mmPerPt)
	}
	l.y = deepest + 0.8
}

// signStrokes are the lines of a sign in a square of side 1, y downwards: as high as
// wide, straight strokes, as ICAO Annex 12 shows them.
func signStrokes(letter string) [][4]float64 {
	switch letter {
	case "V":
		return [][4]float64{{0, 0, 0.5, 1}, {0.5, 1, 1, 0}}
	case "X":
		return [][4]float64{{0, 0, 1, 1}, {1, 0, 0, 1}}
	case "N":
		return [][4]float64{{0, 1, 0, 0}, {0, 0, 1, 1}, {1, 1, 1, 0}}
	case "Y":
		return [][4]float64{{0, 0, 0.5, 0.5}, {1, 0, 0.5, 0.5}, {0.5, 0.5, 0.5, 1}}
	}
	return [][4]float64{{0.5, 1, 0.5, 0}, {0.15, 0.35, 0.5, 0}, {0.85, 0.35, 0.5, 0}} // the arrow
}

// WriteCard prints a card as PDF, black on white, one page of A6.
func WriteCard(w io.Writer, c overlay.Card, r *job.Result) error {
	d := newDoc(c.Title, r.Program, r.Plan.AsOf)
	d.page(cardWMM, cardHMM)
	marks, ok := layCard(d, c)
	if !ok {
		return errCardFull
	}
	d.pdf.SetLineCapStyle("round")
	for _, m := range marks {
		if m.text == "" {
			d.pdf.SetLineWidth(m.w)
			d.pdf.Line(m.x, m.y, m.x2, m.y2)
			continue
		}
		d.font(m.face, m.pt)
		d.text(m.x, m.y, m.text)
	}
	return d.write(w)
}
