package sheet

// A Paper is a size of paper.
type Paper string

// The papers of a sheet. The zero value is A4.
const (
	A4     Paper = "A4"
	A3     Paper = "A3"
	Letter Paper = "letter"
)

// Papers are the names of all.
var Papers = []string{string(A4), string(A3), string(Letter)}

// size returns the sides of a standing page [mm]: ISO 216, and 8.5 x 11 inches.
func (p Paper) size() (w, h float64) {
	switch p {
	case A3:
		return 297, 420
	case Letter:
		return 215.9, 279.4
	}
	return 210, 297
}

// text returns the paper that pages of text beside a map are on: a page that one holds.
func (p Paper) text() Paper {
	if p == A3 {
		return A4
	}
	return p
}
