package sheet

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"farhail/cmd/internal/overlay"
)

// errCardFull is of a card with more signals than one side of A6 holds.
var errCardFull = errors.New("the card does not fit on one side of A6: name fewer signals")

// WriteCardSVG draws a card as SVG, in millimetres at true size. Letters are drawn as
// the shapes of their font, each once, so that they look and stand alike wherever the
// file is opened; what they say stands in the description too.
func WriteCardSVG(w io.Writer, c overlay.Card) error {
	d := newDoc("", "", nil) // measures only
	d.page(cardWMM, cardHMM)
	marks, ok := layCard(d, c)
	if !ok {
		return errCardFull
	}
	var said []string
	for _, m := range marks {
		if m.text != "" {
			said = append(said, m.text)
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="0 0 %g %g" lang="en-GB">`+"\n", cardWMM, cardHMM, cardWMM, cardHMM)
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escape(c.Title), escape(strings.Join(said, "\n")))
	if err := defineLetters(&b, d, marks); err != nil {
		return err
	}
	fmt.Fprintf(&b, `<rect width="%g" height="%g" fill="#fff"/>`+"\n", cardWMM, cardHMM)
	for _, m := range marks {
		if m.text == "" {
			fmt.Fprintf(&b, `<path d="M%.2f %.2fL%.2f %.2f" stroke="#000" stroke-width="%.2f" stroke-linecap="round"/>`+"\n", m.x, m.y, m.x2, m.y2, m.w)
			continue
		}
		d.drawLetters(&b, m)
	}
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// emUnits is how many units a letter's square is drawn in.
const emUnits = 1000

// letterID names the shape of a letter.
func letterID(f face, c rune) string { return fmt.Sprintf("%.1s%x", f, c) }

// defineLetters draws every letter that the marks need, in the order of the alphabet.
func defineLetters(b *strings.Builder, d *doc, marks []cardMark) error {
	used := map[face][]rune{}
	for _, m := range marks {
		used[m.face] = append(used[m.face], []rune(m.text)...)
	}
	b.WriteString("<defs>\n")
	for _, f := range []face{regular, bold} {
		slices.Sort(used[f])
		for _, c := range slices.Compact(used[f]) {
			shape, err := d.letters[f].shape(c)
			if err != nil {
				return fmt.Errorf("the letter %q: %w", c, err)
			}
			if shape != "" {
				fmt.Fprintf(b, `<path id="%s" d="%s"/>`+"\n", letterID(f, c), shape)
			}
		}
	}
	b.WriteString("</defs>\n")
	return nil
}

// drawLetters places the letters of a text.
func (d *doc) drawLetters(b *strings.Builder, m cardMark) {
	size := m.pt * mmPerPt / emUnits
	fmt.Fprintf(b, `<g transform="translate(%.3f %.3f) scale(%.6f)">`, m.x, m.y, size)
	d.font(m.face, m.pt)
	for i, c := range m.text {
		if c != ' ' {
			fmt.Fprintf(b, `<use href="#%s" x="%.0f"/>`, letterID(m.face, c), d.width(m.text[:i])/size)
		}
	}
	b.WriteString("</g>\n")
}

// shape writes the outline of a letter as an SVG path; "" for one without ink.
func (l letters) shape(c rune) (string, error) {
	i, err := l.font.GlyphIndex(l.buf, c)
	if err != nil {
		return "", err
	}
	segments, err := l.font.LoadGlyph(l.buf, i, fixed.I(emUnits), nil)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	for n, s := range segments {
		if s.Op == sfnt.SegmentOpMoveTo && n > 0 {
			b.WriteByte('Z')
		}
		b.WriteByte("MLQC"[s.Op])
		for k, p := range s.Args[:pointsOf(s.Op)] {
			if k > 0 {
				b.WriteByte(' ')
			}
			fmt.Fprintf(&b, "%d %d", p.X.Round(), p.Y.Round())
		}
	}
	if len(segments) > 0 {
		b.WriteByte('Z')
	}
	return b.String(), nil
}

// pointsOf is how many points a stroke of an outline has.
func pointsOf(op sfnt.SegmentOp) int {
	switch op {
	case sfnt.SegmentOpQuadTo:
		return 2
	case sfnt.SegmentOpCubeTo:
		return 3
	}
	return 1
}

func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a builder takes everything
	return b.String()
}
