package cli

import "errors"

// Faults lists the errors that err holds, those of a joined error each by
// itself, in their order.
func Faults(err error) []Fault { return faults(err) }

// A toldError is a fault of input files that the result tells of already.
type toldError struct{ error }

func (e *toldError) Unwrap() error { return e.error }

// Told is the error of a run whose result lists what is wrong with the input
// files: exit code 3. The text is told on stderr, and under --json nothing,
// since stdout holds one object.
func Told(text string) error { return &toldError{InputError("", errors.New(text))} }
