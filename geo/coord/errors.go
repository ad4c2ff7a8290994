package coord

import (
	"errors"
	"fmt"
	"unicode/utf8"
)

// ErrPolar tells that a position has no UTM coordinates: from 84 N up and south
// of 80 S the grid is UPS.
var ErrPolar = errors.New("coord: outside UTM, which runs from 80 S to 84 N")

// ErrNotPolar tells that a position has no UPS coordinates: it lies in UTM.
var ErrNotPolar = errors.New("coord: outside UPS, which covers the poles from 84 N and from 80 S")

// ErrOffEarth tells that a position is none: its latitude is beyond ±90, or it
// is not a number.
var ErrOffEarth = errors.New("coord: not a position on earth")

// ErrZoneFar tells that a position is too far from the UTM zone asked for.
var ErrZoneFar = errors.New("coord: position too far from that UTM zone")

// An Error says why a text is not a position.
type Error struct {
	Text    string // the position as written
	Part    string // the part of it that is wrong; "" for the whole
	Column  int    // of the part, in characters from 1; 0 when it is the whole
	Message string
	Advice  string // what to do next
}

// Error returns the text and what is wrong with it.
func (e *Error) Error() string {
	return fmt.Sprintf("position %q: %s", shorten(e.Text), e.Message)
}

// Where returns the column of the wrong part; the file and line are for whoever
// read the text to know.
func (e *Error) Where() (file string, line, column int) { return "", 0, e.Column }

// Offending returns the wrong part as written.
func (e *Error) Offending() string {
	if e.Part != "" {
		return e.Part
	}
	return e.Text
}

// Hint says how to write it.
func (e *Error) Hint() string { return e.Advice }

// shorten keeps a long text printable on one line.
func shorten(s string) string {
	const most = 60
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}
