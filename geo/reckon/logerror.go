package reckon

import "fmt"

// LogError is a fault of a log, with its place.
type LogError struct {
	File         string
	Line, Column int    // from 1, columns count characters; 0 = the whole file or line
	Text         string // what is wrong
	Word         string // the offending text, "" for none
	Advice       string // what to do next, "" for nothing
	Err          error  // cause, may be nil
}

// Error returns "file:line:column: text", without the parts that are unknown.
func (e *LogError) Error() string {
	place := ""
	if e.File != "" {
		place = e.File + ":"
	}
	if e.Line > 0 {
		place += fmt.Sprintf("%d:", e.Line)
	}
	if e.Column > 0 {
		place += fmt.Sprintf("%d:", e.Column)
	}
	if place != "" {
		place += " "
	}
	return place + e.Text
}

// Where returns the place of the fault.
func (e *LogError) Where() (file string, line, column int) { return e.File, e.Line, e.Column }

// Offending returns the text that is wrong.
func (e *LogError) Offending() string { return e.Word }

// Hint says what to do next.
func (e *LogError) Hint() string { return e.Advice }

// Unwrap returns the cause.
func (e *LogError) Unwrap() error { return e.Err }

// A Warning tells of something in a log that was read, but may be meant
// otherwise.
type Warning struct {
	Line, Column int // as in LogError
	Text, Hint   string
}
