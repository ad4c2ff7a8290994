package mapfile

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// ErrNotGPX is wrapped by the [*Error] for a file that is something else than
// GPX.
var ErrNotGPX = errors.New("mapfile: not a GPX file")

// ErrTruncated is wrapped by the [*Error] for a file that ends early.
var ErrTruncated = errors.New("mapfile: file ends early")

// ErrTooLarge is wrapped by the [*Error] for a file beyond a stated limit.
var ErrTooLarge = errors.New("mapfile: file too large")

// Error says why a file cannot be read at all.
type Error struct {
	File         string
	Line, Column int       // from 1, columns in characters; 0 = unknown
	Text         string    // what is wrong, lower case
	Found        string    // the offending text, "" where there is none to show
	Fix          string    // what to do about it, may be ""
	Err          error     // the cause, may be nil
	Before       []Problem // what was odd in the file before that
}

func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", e.Line, e.Column)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	b.WriteString(e.Text)
	return b.String()
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Where returns the file's name and the place in it.
func (e *Error) Where() (file string, line, column int) { return e.File, e.Line, e.Column }

// Offending returns the text that is wrong.
func (e *Error) Offending() string { return e.Found }

// Hint says what to do next.
func (e *Error) Hint() string { return e.Fix }

// Errors are several faults of one file, in its order.
type Errors []*Error

// Error returns one fault a line.
func (list Errors) Error() string {
	lines := make([]string, len(list))
	for i, e := range list {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one.
func (list Errors) Unwrap() []error {
	out := make([]error, len(list))
	for i, e := range list {
		out[i] = e
	}
	return out
}

// faults gathers errors that do not stop the reading.
type faults struct {
	n    int // all of them
	list Errors
}

// err returns what was gathered, nil for nothing; before is what was only odd.
func (f *faults) err(before []Problem) error {
	slices.SortStableFunc(f.list, func(a, b *Error) int { return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column)) })
	switch {
	case f.n == 0:
		return nil
	case f.n == 1:
		f.list[0].Before = before
		return f.list[0]
	case f.n > len(f.list):
		first := f.list[0]
		f.list = append(f.list, &Error{File: first.File, Text: fmt.Sprintf("%d more faults from here on", f.n-len(f.list))})
	}
	f.list[0].Before = before
	return f.list
}

// Severities of a [Problem]. A warning says that something was left out, read by
// a guess or doubtful. An error stops the reading and comes as an [Error]; its
// word is here for those who list both.
const (
	SeverityWarning = "warning"
	SeverityError   = "error"
)

// Problem is something odd that did not stop the reading.
type Problem struct {
	Line, Column int // from 1, columns in characters; 0 = unknown
	Severity     string
	Text         string // what is wrong and what was done about it
	Found        string // the offending text, may be ""
	Hint         string // may be ""
}

// listed is how many problems of one kind, and how many errors of a file, are
// told one by one; a file of a million points without a zone must not become a
// list of a million problems.
const listed = 20

// problems collects what is odd, each kind up to [listed] times.
type problems struct {
	list   []Problem
	counts map[string]int
	first  map[string]Problem // the first that was not listed
	order  []string
}

func (p *problems) add(kind string, q Problem) {
	if p.counts == nil {
		p.counts, p.first = map[string]int{}, map[string]Problem{}
	}
	p.counts[kind]++
	switch n := p.counts[kind]; {
	case n <= listed:
		q.Found = clip(q.Found)
		p.list = append(p.list, q)
	case n == listed+1:
		p.first[kind] = q
		p.order = append(p.order, kind)
	}
}

// any says whether a problem of one of the kinds has been told.
func (p *problems) any(kinds ...string) bool {
	for _, kind := range kinds {
		if p.counts[kind] > 0 {
			return true
		}
	}
	return false
}

// counted takes note of one more problem of a kind that is no longer told one
// by one; false where the kind still is.
func (p *problems) counted(kind string) bool {
	if p.counts[kind] <= listed {
		return false
	}
	p.counts[kind]++
	return true
}

// all returns the list, closed by one line for each kind that overflowed.
func (p *problems) all() []Problem {
	for _, kind := range p.order {
		q := p.first[kind]
		q.Text = fmt.Sprintf("%s: %d more like this from here on", kind, p.counts[kind]-listed)
		q.Found = ""
		p.list = append(p.list, q)
	}
	p.order = nil
	return p.list
}

// clip shortens offending text for a message.
func clip(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "..."
}
