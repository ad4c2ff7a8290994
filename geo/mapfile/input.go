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
