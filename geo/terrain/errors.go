package terrain

import (
	"errors"
	"fmt"
)

// Sentinels that a FileError or TextError wraps.
var (
	// ErrFormat says that a file is not what it claims to be.
	ErrFormat = errors.New("terrain: malformed file")
	// ErrUnsupported says that a file is sound but of a kind not read here.
	ErrUnsupported = errors.New("terrain: unsupported file")
	// ErrMixed says that files cannot be joined into one grid.
	ErrMixed = errors.New("terrain: files do not fit together")
	// ErrOutside says that no file covers the box.
	ErrOutside = errors.New("terrain: no terrain in the box")
	// ErrTooLarge says that the grid would hold more than MaxCells cells.
	ErrTooLarge = errors.New("terrain: grid too large")
)

// FileError is a fault in a terrain file that is not text, or in a set of
// files.
type FileError struct {
	File string
	At   int64 // byte offset, -1 where the fault has none
	Text string
	Help string // what to do next, may be empty
	Kind error  // one of the package's sentinels
}

// Error returns "file: byte N: text".
func (e *FileError) Error() string {
	s := e.Text
	if e.At >= 0 {
		s = fmt.Sprintf("byte %d: %s", e.At, s)
	}
	if e.File != "" {
		s = e.File + ": " + s
	}
	return s
}

// Unwrap returns the sentinel.
func (e *FileError) Unwrap() error { return e.Kind }

// Where returns the file; a file that is not text has no lines.
func (e *FileError) Where() (file string, line, column int) { return e.File, 0, 0 }

// Offset returns the byte offset of the fault, -1 where it has none.
func (e *FileError) Offset() int64 { return e.At }

// Hint returns what to do next.
func (e *FileError) Hint() string { return e.Help }

// TextError is a fault in an Esri ASCII grid.
type TextError struct {
	File         string
	Line, Column int // from 1; columns count characters
	Text         string
	Word         string // the offending text
	Help         string
}

// Error returns "file:line:column: text".
func (e *TextError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Text)
}

// Unwrap returns ErrFormat.
func (e *TextError) Unwrap() error { return ErrFormat }

// Where returns the place of the fault.
func (e *TextError) Where() (file string, line, column int) { return e.File, e.Line, e.Column }

// Offending returns the text at fault.
func (e *TextError) Offending() string { return e.Word }

// Hint returns what to do next.
func (e *TextError) Hint() string { return e.Help }

func malformed(file string, at int64, format string, args ...any) error {
	return &FileError{File: file, At: at, Text: fmt.Sprintf(format, args...), Kind: ErrFormat,
		Help: "the file is damaged or cut short; fetch it again"}
}

func unsupported(file, help, format string, args ...any) error {
	return &FileError{File: file, At: -1, Text: fmt.Sprintf(format, args...), Kind: ErrUnsupported, Help: help}
}
