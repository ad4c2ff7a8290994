package cli

import (
	"context"
	"errors"
	"io/fs"
)

// Exit codes of every verb.
const (
	ExitDone    = 0 // done
	ExitFailed  = 1 // could not be done
	ExitUsage   = 2 // the command line is wrong
	ExitInput   = 3 // an input file is wrong
	kindFailed  = "failed"
	kindUsage   = "usage"
	kindInput   = "input"
	kindStopped = "stopped"
)

// A located error says where in a text its fault is. The readers' error types
// implement it; line and column start at 1, columns count characters, and 0 or
// "" means unknown. An error without a file is a fault of the command line.
type located interface {
	error
	Where() (file string, line, column int)
	Offending() string
	Hint() string
}

// An offset error says where in a binary file its fault is.
type offset interface {
	error
	Offset() int64
}

// hinted errors say what to do next.
type hinted interface {
	error
	Hint() string
}

// WithHint adds to an error what to do next.
func WithHint(err error, hint string) error { return &advised{err, hint} }

type advised struct {
	error
	hint string
}

func (e *advised) Unwrap() error { return e.error }

// Hint says what to do next.
func (e *advised) Hint() string { return e.hint }

// A UsageError is a fault of the command line: exit code 2.
type UsageError struct {
	Message string
	Text    string // the offending argument, as typed
	Advice  string // what to do next
}

// Error returns what is wrong.
func (e *UsageError) Error() string { return e.Message }

// Where returns no place: the fault is in the command line.
func (e *UsageError) Where() (file string, line, column int) { return "", 0, 0 }

// Offending returns the argument that is wrong.
func (e *UsageError) Offending() string { return e.Text }

// Hint says what to do next.
func (e *UsageError) Hint() string { return e.Advice }

// usage returns a fault of the command line with the hint of what caused it, or
// another where that has none.
func usage(message, text string, cause error, otherwise string) error {
	e := &UsageError{Message: message, Text: text, Advice: otherwise}
	var h hinted
	if errors.As(cause, &h) {
		e.Advice = h.Hint()
	}
	return e
}

// An inputError marks a fault of an input file that does not say so itself.
type inputError struct {
	file string
	err  error
}

func (e *inputError) Error() string { return e.err.Error() }
func (e *inputError) Unwrap() error { return e.err }

// InputError marks err as a fault of the input file: exit code 3. A nil err
// stays nil.
func InputError(file string, err error) error {
	if err == nil {
		return nil
	}
	return &inputError{file, err}
}

// An outputError marks a failure to write: exit code 1, whatever it wraps.
type outputError struct{ err error }

func (e *outputError) Error() string { return "writing " + e.err.Error() }
func (e *outputError) Unwrap() error { return e.err }

// ExitCode returns the exit code for err; nil gives 0.
func ExitCode(err error) int {
	if err == nil {
		return ExitDone
	}
	switch kindOf(err) {
	case kindUsage:
		return ExitUsage
	case kindInput:
		return ExitInput
	}
	return ExitFailed
}

// kindOf sorts an error into the words of the JSON error object.
func kindOf(err error) string {
	var usage *UsageError
	var out *outputError
	var in *inputError
	var loc located
	var off offset
	var path *fs.PathError
	switch {
	case errors.Is(err, context.Canceled):
		return kindStopped
	case errors.As(err, &out):
		return kindFailed
	case errors.As(err, &usage):
		return kindUsage
	case errors.As(err, &in), errors.As(err, &off):
		return kindInput
	case errors.As(err, &loc):
		if file, _, _ := loc.Where(); file == "" {
			return kindUsage
		}
		return kindInput
	case errors.As(err, &path):
		// Everything that writes goes through atomic.go and is an outputError.
		return kindInput
	}
	return kindFailed
}

// A Fault is one error as the --json error object and stderr tell it. Unknown
// parts are null.
type Fault struct {
	Kind   string  `json:"kind"` // usage, input, failed or stopped
	File   *string `json:"file"`
	Line   *int    `json:"line"`
	Column *int    `json:"column"`
	Text   string  `json:"text"`
	Hint   *string `json:"hint"`
	Near   *string `json:"offending"`
}

// faults lists the errors that err holds: those of a joined error each by
// itself, in their order.
func faults(err error) []Fault {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var list []Fault
		for _, e := range many.Unwrap() {
			list = append(list, faults(e)...)
		}
		return list
	}
	f := Fault{Kind: kindOf(err), Text: err.Error()}
	if f.Kind == kindStopped {
		f.Text = "stopped before it was done"
	}
	var loc located
	var in *inputError
	var path *fs.PathError
	var h hinted
	switch {
	case errors.As(err, &loc):
		file, line, column := loc.Where()
		f.File, f.Line, f.Column, f.Near = known(file), known(line), known(column), known(loc.Offending())
	case errors.As(err, &in):
		f.File = known(in.file)
	case errors.As(err, &path):
		f.File = known(path.Path)
	}
	switch {
	case errors.As(err, &h):
		f.Hint = known(h.Hint())
	case f.Kind == kindInput && errors.Is(err, fs.ErrNotExist):
		f.Hint = known("look at the name; paths start from the folder that the command runs in")
	case f.Kind == kindInput && errors.Is(err, fs.ErrPermission):
		f.Hint = known("the file may not be read: look at its permissions")
	}
	return []Fault{f}
}

// known returns nil for the zero value, which stands for unknown.
func known[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}
