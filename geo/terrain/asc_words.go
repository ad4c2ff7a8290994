package terrain

import (
	"bytes"
	"errors"
	"io"
	"strconv"
	"strings"
)

// number reads a height; whole numbers, the most common, without a detour.
func number(b []byte) (float64, bool) {
	digits, sign := b, 1.0
	if len(b) > 1 && b[0] == '-' {
		digits, sign = b[1:], -1
	}
	if len(digits) < 16 {
		n := 0
		for i, c := range digits {
			if c < '0' || c > '9' {
				break
			}
			n = 10*n + int(c-'0')
			if i == len(digits)-1 {
				return sign * float64(n), true
			}
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil
}

func numberHelp(s string) string {
	if strings.Contains(s, ",") {
		return "write the decimal sign as a point"
	}
	return "write a plain number such as 1234.5"
}

// place is a place in a text file: byte offset, line and column from 1.
type place struct {
	offset       int64
	line, column int
}

// word is a blank-separated word with its place. raw is only valid until the
// next one is read.
type word struct {
	raw  []byte
	text string
	at   place
}

func (w word) fault(file, text, help string) error {
	offending := w.text
	if offending == "" {
		offending = string(w.raw)
	}
	return &TextError{File: file, Line: w.at.line, Column: w.at.column, Text: text, Word: offending, Help: help}
}

var errLongWord = errors.New("long word")

// maxWord bounds a word [bytes]; the longest float64 has 24 characters.
const maxWord = 64

// scanner splits a file into words.
type scanner struct {
	src  io.ReaderAt
	buf  []byte
	rest []byte
	at   place
	read int64 // offset of the next byte to fetch
	err  error
	word [maxWord]byte
	keep bool // words are kept as text too
}

func newScanner(src *source, at place) *scanner {
	sc := &scanner{src: src, buf: make([]byte, 64<<10), at: at, read: at.offset, keep: at.offset == 0}
	if at.offset == 0 {
		var start [len(bom)]byte
		if n, _ := src.ReadAt(start[:], 0); string(start[:n]) == bom {
			sc.at.offset, sc.read = int64(len(bom)), int64(len(bom))
		}
	}
	return sc
}

// peek returns the next byte, false at the end of the file.
func (sc *scanner) peek() (byte, bool) {
	if len(sc.rest) == 0 {
		if sc.err != nil {
			return 0, false
		}
		n, err := sc.src.ReadAt(sc.buf, sc.read)
		sc.rest, sc.err = sc.buf[:n], err
		sc.read += int64(n)
		if n == 0 {
			if sc.err == nil {
				sc.err = io.ErrNoProgress
			}
			return 0, false
		}
	}
	return sc.rest[0], true
}

func (sc *scanner) advance(c byte) {
	sc.rest = sc.rest[1:]
	sc.at.offset++
	switch {
	case c == '\n':
		sc.at.line++
		sc.at.column = 1
	case c&0xc0 != 0x80: // not a later byte of a UTF-8 character
		sc.at.column++
	}
}

// next returns the next word, io.EOF after the last.
func (sc *scanner) next() (word, error) {
	for {
		c, ok := sc.peek()
		if !ok {
			return word{at: sc.at}, sc.err
		}
		if !blank(c) {
			break
		}
		sc.advance(c)
	}
	w := word{at: sc.at}
	n := 0
	for {
		c, ok := sc.peek()
		if !ok || blank(c) {
			break
		}
		if n == maxWord {
			w.text = string(sc.word[:n])
			return w, errLongWord
		}
		sc.word[n] = c
		n++
		sc.advance(c)
	}
	w.raw = sc.word[:n]
	if sc.keep {
		w.text = string(bytes.ToValidUTF8(w.raw, []byte("?")))
	}
	return w, nil
}

func blank(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }
