package reckon

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"farhail/geo/coord"

	"github.com/paulmach/orb"
)

// MaxLogBytes is the longest log that is read. A day's log has a few kilobytes.
const MaxLogBytes = 4 << 20

// North says what bearings are counted from.
type North string

const (
	True     North = "true"
	Magnetic North = "magnetic"
	Grid     North = "grid" // the north lines of the UTM grid
)

// A Log is a leg log as written, checked.
type Log struct {
	Name        string // as given to ParseLog, usually the file's
	Start       orb.Point
	StartSigmaM float64      // standard deviation of the start along each axis [m]; 0 when not stated
	North       North        // of legs that do not say otherwise
	Declination *Declination // nil when not stated
	Convergence *float64     // of the grid's north [degrees], positive east of true; nil when not stated
	Date        time.Time    // noon of the day of the first leg, in its zone; zero when not stated
	Pace        *Pace        // on level ground; nil when not stated
	Conditions  []Condition  // paces on other ground
	SpeedMS     float64      // of legs given as a time [m/s]; 0 when not stated
	Errors      Errors       // what the log says of its own errors
	Heading     Heading      // what the bearings were kept by
	Legs        []Leg        // at least one
	Known       []Known      // what is known of the way besides, in the order of the log
	Warnings    []Warning
}

// Placed reports whether the log states where it starts; Start is NaN if not.
func (l *Log) Placed() bool { return !math.IsNaN(l.Start.Lat()) }

// A Leg is one line of a log.
type Leg struct {
	Line       int
	North      North
	BearingDeg float64   // from North [0, 360), the circular mean of several readings; NaN for a leg without
	WalkedM    float64   // distance along the ground [m]
	Slope      float64   // rise over run, positive uphill; 0 when not stated
	Time       time.Time // noted with the leg; zero when not, or when the log has no date
	Note       string

	Paces       float64      // counted; 0 for a leg that was not paced
	Condition   string       // of the pace, a name of the log's Conditions; "" for level ground
	Declination *Declination // the leg's own; nil for the log's
	Convergence *float64     // the leg's own; nil for the log's

	written written // what slips of the pen are looked for in
}

// Lost says that the bearing of a leg is not known, though its length is: a line like
// "break 300 m". The place after it lies that far from the one before, in any
// direction.
func (l Leg) Lost() bool { return math.IsNaN(l.BearingDeg) }

// MapM returns the leg's distance on the map [m].
func (l Leg) MapM() float64 { return l.WalkedM / math.Sqrt(1+l.Slope*l.Slope) }

// ParseLog reads a log. name is used in errors, which are *[LogError] for faults
// of the text. A log has at least one leg; a fault anywhere fails the whole
// log, because a position from a part of it would be wrong. Where no north is
// stated bearings are taken from true north, with a warning.
func ParseLog(r io.Reader, name string) (*Log, error) {
	return ParseLogWith(r, name, func(text string) (orb.Point, error) {
		pos, err := coord.Parse(text)
		return pos.Point, err
	})
}

// ParseLogWith is ParseLog for logs whose start may be written in more ways than
// geo/coord reads, such as a waypoint of a file. An error of position that has
// the methods of LogError keeps its place and hint.
func ParseLogWith(r io.Reader, name string, position func(text string) (orb.Point, error)) (*Log, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxLogBytes+1))
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if len(data) > MaxLogBytes {
		return nil, &LogError{File: name, Text: fmt.Sprintf("the log is longer than %d bytes", MaxLogBytes), Advice: "is this the right file"}
	}
	nan := math.NaN()
	p := &parser{log: &Log{Name: name, Start: orb.Point{nan, nan}, Errors: unstated()}, position: position, seen: map[string]bool{}, marks: map[string]mark{}}
	if err := p.parseLines(data); err != nil {
		return nil, p.locate(err)
	}
	if len(p.log.Legs) == 0 {
		return nil, &LogError{File: name, Text: "the log has no legs", Advice: "write one leg a line, like 060 1000 m"}
	}
	if err := p.finish(); err != nil {
		return nil, p.locate(err)
	}
	return p.log, nil
}

// parser holds what is known up to the line being read.
type parser struct {
	log      *Log
	position func(text string) (orb.Point, error)
	line     int
	seen     map[string]bool // headers
	zone     *time.Location  // of the date; nil without a date or without a zone in it
	last     time.Time       // latest time of a leg
	// undated is the first line with a time in a log without a date.
	undated int
	marks   map[string]mark    // known marks by name in small letters
	courses map[string]*course // calibrations by condition, "" for level ground
	broken  int                // line of a break that no position has followed yet
	grouped bool               // a number like 1.000 was told of
}

// parseLines reads the lines of a log: text, or from its header row on a table.
func (p *parser) parseLines(data []byte) error {
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) {
		p.line = 1
		return &LogError{Text: "UTF-16 text", Advice: "save the log as UTF-8 text"}
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\n")
	for i, line := range lines {
		p.line = i + 1
		if err := plainText(line); err != nil {
			return err
		}
	}
	body := len(lines)
	head, mark := findTable(lines)
	if mark != 0 {
		body = head
	}
	for i, line := range lines[:body] {
		p.line = i + 1
		switch {
		case mark != 0:
			line = headerCells(line, mark)
		case i == 0 && isSeparatorLine(line):
			continue
		}
		if err := p.parseLine(line); err != nil {
			return p.unnamedTable(err, line)
		}
	}
	if mark == 0 {
		return nil
	}
	return p.parseTable(lines, head, mark)
}

// plainText refuses what is not UTF-8 text.
func plainText(line string) error {
	const advice = "save the log as UTF-8 text"
	column := 0
	for i, r := range line {
		column++
		switch {
		case r == 0:
			return &LogError{Column: column, Text: "not plain text: a zero byte", Advice: advice}
		case r == utf8.RuneError && !strings.HasPrefix(line[i:], "\ufffd"):
			b := line[i]
			e := &LogError{Column: column, Text: fmt.Sprintf("not plain text: the byte %02X is not UTF-8", b), Advice: advice}
			if b >= 0xa0 {
				e.Text += fmt.Sprintf(" (in Windows-1252 it is %c)", rune(b))
			}
			return e
		}
	}
	return nil
}

// locate adds file and line to an error.
func (p *parser) locate(err error) error {
	var e *LogError
	if !errors.As(err, &e) {
		return err
	}
	e.File = p.log.Name
	if e.Line == 0 {
		e.Line = p.line
	}
	return e
}

func (p *parser) warn(column int, text, hint string) {
	p.log.Warnings = append(p.log.Warnings, Warning{p.line, column, text, hint})
}

func (p *parser) parseLine(line string) error {
	text, comment := cutComment(line)
	words := split(text)
	if len(words) == 0 {
		return nil
	}
	if key, value, ok := header(text); ok {
		return p.parseHeader(key, value, words[0].col)
	}
	if isKnown(words[0].text) {
		return p.parseKnown(words, comment)
	}
	return p.parseLeg(words, comment)
}

// finish does what needs the whole log.
func (p *parser) finish() error {
	l := p.log
	p.line = 0
	if p.broken > 0 {
		return &LogError{Line: p.broken, Text: "a break, and the log does not go on from a known place", Advice: breakForm}
	}
	p.doubtPaces()
	if p.undated > 0 {
		l.Warnings = append(l.Warnings, Warning{p.undated, 0, "times without a date are not used", "add a line like date: 2026-11-24 Europe/Andorra"})
	}
	if p.seen["north"] {
		return nil
	}
	for _, leg := range l.Legs {
		if leg.North != "" {
			continue
		}
		if l.Declination != nil {
			return &LogError{Line: leg.Line, Text: "a declination is given, but not which north the bearings have", Advice: "add a line north: magnetic, or north: true if they are corrected already"}
		}
		l.Warnings = append(l.Warnings, Warning{leg.Line, 0, "no north is stated, bearings are taken as true", "add a line north: true, north: magnetic or north: grid"})
		break
	}
	l.North = True
	for i := range l.Legs {
		if l.Legs[i].North == "" {
			l.Legs[i].North = True
		}
	}
	for i := range l.Known {
		if l.Known[i].North == "" {
			l.Known[i].North = True
		}
	}
	return nil
}

// A word is a piece of a line without blanks, with its column from 1.
type word struct {
	text string
	col  int
}

func (w word) fault(text, advice string) *LogError {
	return &LogError{Column: w.col, Text: text, Word: w.text, Advice: advice}
}

// split cuts a line at blanks.
func split(line string) []word { return word{line, 1}.split() }

// split cuts the words of a piece of a line.
func (w word) split() []word {
	var words []word
	col, start := w.col-1, 0
	var b strings.Builder
	flush := func() {
		if b.Len() > 0 {
			words = append(words, word{b.String(), start})
			b.Reset()
		}
	}
	for _, r := range w.text {
		col++
		if unicode.IsSpace(r) {
			flush()
			continue
		}
		if b.Len() == 0 {
			start = col
		}
		b.WriteRune(r)
	}
	flush()
	return words
}

// join puts words together with blanks between.
func join(words []word) string {
	var list []string
	for _, w := range words {
		list = append(list, w.text)
	}
	return strings.Join(list, " ")
}

// cutComment parts a line at the first '#' that begins it or follows a blank;
// one inside a word, as in a file's waypoint, is left.
func cutComment(line string) (text, comment string) {
	blank := true
	for i, r := range line {
		if r == '#' && blank {
			return line[:i], strings.TrimSpace(line[i+1:])
		}
		blank = unicode.IsSpace(r)
	}
	return line, ""
}

// header parts "key: value". The words of a key have no figures, those of a leg
// before any colon do; only the name of a mark may.
func header(line string) (key string, value word, ok bool) {
	before, after, found := strings.Cut(line, ":")
	key = strings.TrimSpace(before)
	first, _, _ := strings.Cut(strings.ToLower(key), " ")
	odd := func(r rune) bool { return !unicode.IsLetter(r) && r != '-' && r != '_' && r != ' ' }
	if !found || key == "" || strings.ContainsFunc(key, odd) && first != "mark" || isKnown(first) {
		return "", word{}, false
	}
	rest := strings.TrimLeftFunc(after, unicode.IsSpace)
	col := utf8.RuneCountInString(before) + 2 + utf8.RuneCountInString(after) - utf8.RuneCountInString(rest)
	return key, word{strings.TrimSpace(rest), col}, true
}

// place reads a position. what stands before the message of an error.
func (p *parser) place(value word, what string) (orb.Point, error) {
	at, err := p.position(value.text)
	if err == nil {
		return at, nil
	}
	e := value.fault(what+err.Error(), "write it like 42.55 1.55 or 31T DH 12345 67890")
	e.Err = err
	var told interface {
		Where() (string, int, int)
		Offending() string
		Hint() string
	}
	if errors.As(err, &told) {
		if _, _, col := told.Where(); col > 0 {
			e.Column += col - 1
		}
		if w := told.Offending(); w != "" {
			e.Word = w
		}
		if h := told.Hint(); h != "" {
			e.Advice = h
		}
	}
	return orb.Point{}, e
}
