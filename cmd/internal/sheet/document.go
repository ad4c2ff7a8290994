package sheet

import (
	"io"
	"slices"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
)

// A face is one of the three fonts that a page is set in. All hold Latin, Greek and
// Cyrillic letters.
type face string

const (
	regular face = "regular"
	bold    face = "bold"
	mono    face = "mono"
)

// A doc is a PDF in the making. Lengths are millimetres from the upper left corner of
// the page, sizes of letters are points.
type doc struct {
	pdf     *fpdf.Fpdf
	letters map[face]letters
	now     face
	pt      float64
	w, h    float64 // of the page
	images  []int   // their widths [dots]
}

// undated is the date of a document whose plan has none: never that of the run.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// newDoc begins a document without pages.
func newDoc(title, program string, date *time.Time) *doc {
	d := &doc{pdf: fpdf.New("P", "mm", "A4", ""), letters: map[face]letters{}}
	if date == nil {
		date = &undated
	}
	d.pdf.SetCatalogSort(true)
	d.pdf.SetCreationDate(date.UTC())
	d.pdf.SetModificationDate(date.UTC())
	d.pdf.SetProducer("farhail", true)
	d.pdf.SetCreator(program, true)
	d.pdf.SetTitle(title, true)
	d.pdf.SetLang("en-GB")
	d.pdf.SetAutoPageBreak(false, 0)
	d.pdf.SetMargins(0, 0, 0)
	for _, f := range []struct {
		face face
		ttf  []byte
	}{{regular, goregular.TTF}, {bold, gobold.TTF}, {mono, gomono.TTF}} {
		// The library writes into the bytes that it cuts a font from.
		d.pdf.AddUTF8FontFromBytes(string(f.face), "", slices.Clone(f.ttf))
		d.letters[f.face] = readLetters(f.ttf)
	}
	return d
}

// page adds a page of a size [mm].
func (d *doc) page(w, h float64) {
	d.w, d.h = w, h
	// The library swaps the sides of a page that lies, so every page is told to
	// stand, whichever side is longer.
	d.pdf.AddPageFormat("P", fpdf.SizeType{Wd: w, Ht: h})
	d.now, d.pt = "", 0
	d.ink(black)
	d.pdf.SetLineCapStyle("butt")
	d.pdf.SetLineJoinStyle("round")
}

// write ends the document.
func (d *doc) write(w io.Writer) error { return d.pdf.Output(w) }
