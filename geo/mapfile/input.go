package mapfile

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"regexp"
	"strings"

	"golang.org/x/net/html/charset"
)

// Limits of a text map file. They are far above any real trip: a week of one
// fix a second is 600,000 points and about 60 MB.
const (
	MaxBytes  = 1 << 29   // size of a file, uncompressed [bytes]
	MaxPoints = 4_000_000 // points in a file
	maxToken  = 1 << 24   // one tag or one run of text [bytes]
	maxDepth  = 200       // elements or brackets inside each other
)

var errToken = errors.New("one tag or text of more than 16 MB")

// cursor hands out UTF-8 bytes one by one and knows the line and column of
// each. encoding/xml reads an io.ByteReader without reading ahead, so the
// cursor is never more than one byte past the token that was returned.
type cursor struct {
	r                 io.Reader
	buf               []byte
	pos               int
	limit             int64 // of the whole input
	base              int64 // offset of buf[0]
	mark              int64 // offset at which the present token began
	line, col         int   // of the next byte
	prevLine, prevCol int   // of the byte handed out last
	err               error
}

func newCursor(r io.Reader) *cursor {
	return &cursor{r: r, limit: MaxBytes, line: 1, col: 1, prevLine: 1, prevCol: 1}
}

// ReadByte returns the next byte.
func (c *cursor) ReadByte() (byte, error) {
	if c.pos == len(c.buf) {
		if err := c.fill(); err != nil {
			return 0, err
		}
	}
	b := c.buf[c.pos]
	c.pos++
	c.prevLine, c.prevCol = c.line, c.col
	if b == '\n' {
		c.line++
		c.col = 1
	} else if b&0xC0 != 0x80 { // not the second or later byte of a character
		c.col++
	}
	return b, nil
}

// Read serves the io.Reader that encoding/xml asks for; it hands out one byte
// so that the position stays right.
func (c *cursor) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	b, err := c.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = b
	return 1, nil
}

func (c *cursor) fill() error {
	if c.err != nil {
		return c.err
	}
	c.base += int64(len(c.buf))
	if c.base > c.limit {
		c.err = ErrTooLarge
		return c.err
	}
	if c.base-c.mark > maxToken {
		c.err = errToken
		return c.err
	}
	if cap(c.buf) == 0 {
		c.buf = make([]byte, 0, 1<<16)
	}
	c.pos = 0
	for range 100 { // as bufio does: a reader that returns nothing for ever is an error
		n, err := c.r.Read(c.buf[:cap(c.buf)])
		c.buf = c.buf[:n]
		if n > 0 {
			c.err = err
			return nil
		}
		if err != nil {
			c.err = err
			return err
		}
	}
	c.err = io.ErrNoProgress
	return c.err
}

// at returns the offset of the next byte.
func (c *cursor) at() int64 { return c.base + int64(c.pos) }

var declared = regexp.MustCompile(`^\s*<\?xml[^>]*?\sencoding\s*=\s*["']([^"'>]*)["']`)

// openText unpacks gzip, drops a byte order mark and turns the declared
// character set of an XML file into UTF-8. The note tells of a declaration that
// the bytes contradict.
func openText(r io.Reader) (text io.Reader, note string, err error) {
	b := bufio.NewReaderSize(r, 1<<12)
	if head, _ := b.Peek(2); bytes.Equal(head, []byte{0x1f, 0x8b}) {
		z, err := gzip.NewReader(b)
		if err != nil {
			return nil, "", &Error{Text: "damaged gzip file", Fix: "get the file again", Err: err}
		}
		b = bufio.NewReaderSize(z, 1<<12)
	}
	head, err := b.Peek(1 << 10)
	if len(head) == 0 && err != nil && err != io.EOF {
		return nil, "", err
	}
	label := ""
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		_, _ = b.Discard(3) // cannot fail: peeked
		return b, "", nil
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		label = "utf-16le"
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		label = "utf-16be"
	}
	if label != "" {
		_, _ = b.Discard(2)
	} else if m := declared.FindSubmatch(head); m != nil {
		label = string(m[1])
		if strings.HasPrefix(strings.ToLower(label), "utf-16") {
			return b, "declared as " + label + " but written in single bytes: read as UTF-8", nil
		}
	}
	if label == "" || strings.EqualFold(label, "utf-8") {
		return b, "", nil
	}
	t, err := charset.NewReaderLabel(label, b)
	if err != nil {
		return nil, "", &Error{Line: 1, Column: 1, Text: "unknown character set", Found: label,
			Fix: "save the file as UTF-8", Err: err}
	}
	return t, "", nil
}
