package mapfile

import (
	"bytes"
	"errors"
	"io"
	"unicode/utf8"
)

// Kinds of [xmlToken].
const (
	xmlStart     = 's' // start tag; an empty element gives a start and an end
	xmlEnd       = 'e'
	xmlText      = 't' // text with its references resolved, or a CDATA section
	xmlDirective = 'd' // <!DOCTYPE …> and the like, without the outer brackets
)

// xmlToken is a piece of an XML document. Slices in it are valid until the next
// one is asked for.
type xmlToken struct {
	kind      byte
	name      xmlName
	attr      []xmlAttr
	text      []byte
	line, col int // where it begins, from 1; columns in characters
}

// xmlName is a name as written: the prefix is not resolved.
type xmlName struct{ prefix, local string }

type xmlAttr struct {
	name  xmlName
	value []byte
}

// xmlFault says why a document is not well-formed.
type xmlFault struct {
	at    int // offset in the token
	text  string
	found string
}

func (f *xmlFault) Error() string { return f.text }

// errMore is returned by the parts of the scanner that met the end of what has
// been read.
var errMore = errors.New("more input needed")

// xmlScanner splits UTF-8 text into the tokens of XML 1.0. It is what
// encoding/xml's RawToken does (and is fuzzed against it) without an allocation
// for each name and value, which makes the reading of a long track twice as
// fast. Comments and processing instructions are checked and passed over;
// entities other than the five that XML predefines are faults. Whether tags
// match is the caller's to check.
//
// Source: XML 1.0, fifth edition, W3C 2008, sections 2.2 to 2.8, 3.1, 4.1.
type xmlScanner struct {
	r     io.Reader
	limit int64 // of the whole input [bytes]
	total int64 // read so far

	buf  []byte // read and not passed; the present token begins at pos
	pos  int
	used int   // length of the present token
	err  error // of the reader, told when all before it is used up

	line, col int // of buf[pos]
	tok       xmlToken
	closing   bool // the end of an empty element comes next
	names     map[string]xmlName
	values    []byte // unescaped text of the present token
}

func newXMLScanner(r io.Reader) *xmlScanner {
	return &xmlScanner{r: r, limit: MaxBytes, line: 1, col: 1, names: map[string]xmlName{}}
}

// next returns the next token, io.EOF at the end of the text, io.ErrUnexpectedEOF
// at its end inside a token, an [*xmlFault], or an error of the input. After an
// error line and col are those of the fault.
func (s *xmlScanner) next() (*xmlToken, error) {
	if s.closing {
		s.closing = false
		s.tok.kind, s.tok.attr = xmlEnd, s.tok.attr[:0]
		return &s.tok, nil
	}
	for {
		s.pass(s.used)
		s.used = 0
		s.tok = xmlToken{attr: s.tok.attr[:0], line: s.line, col: s.col}
		s.values = s.values[:0]
		n, err := s.scan(s.buf[s.pos:])
		switch {
		case err == nil:
			s.used = n
			if s.tok.kind != 0 {
				return &s.tok, nil
			}
		case err == errMore:
			if err := s.fill(); err != nil {
				cut := s.pos < len(s.buf)
				s.pass(len(s.buf) - s.pos)
				if err == io.EOF && cut {
					err = io.ErrUnexpectedEOF
				}
				return nil, err
			}
		default:
			var f *xmlFault
			if errors.As(err, &f) {
				s.pass(f.at)
			}
			return nil, err
		}
	}
}

// pass moves on by n bytes and counts lines and columns.
func (s *xmlScanner) pass(n int) {
	b := s.buf[s.pos : s.pos+n]
	s.pos += n
	if i := bytes.LastIndexByte(b, '\n'); i >= 0 {
		s.line += bytes.Count(b[:i], []byte{'\n'}) + 1
		s.col = 1
		b = b[i+1:]
	}
	s.col += utf8.RuneCount(b)
}

// fill reads on, keeping what begins at pos. It reads as much as fits, so that
// a token is looked at again only each time the buffer has doubled.
func (s *xmlScanner) fill() error {
	if s.err != nil {
		return s.err
	}
	rest := len(s.buf) - s.pos
	switch {
	case cap(s.buf) == 0:
		s.buf = make([]byte, 0, 1<<16)
	case s.pos > 0:
		s.buf = s.buf[:copy(s.buf, s.buf[s.pos:])]
		s.pos = 0
	case rest == cap(s.buf):
		if rest >= maxToken {
			s.err = errToken
			return s.err
		}
		s.buf = append(make([]byte, 0, min(2*rest, maxToken)), s.buf...)
	}
	n, err := io.ReadFull(s.r, s.buf[len(s.buf):cap(s.buf)])
	s.buf = s.buf[:len(s.buf)+n]
	s.total += int64(n)
	switch {
	case err == io.ErrUnexpectedEOF || err == io.EOF:
		s.err = io.EOF
	case err != nil:
		s.err = err
	case s.total > s.limit:
		s.err = ErrTooLarge
	}
	if n == 0 {
		return s.err
	}
	return nil
}

// scan takes one token off the front of b and returns its length; kind stays 0
// for what is passed over.
func (s *xmlScanner) scan(b []byte) (int, error) {
	switch {
	case len(b) == 0:
		return 0, errMore
	case b[0] != '<':
		return s.scanText(b)
	case len(b) < 2:
		return 0, errMore
	}
	switch b[1] {
	case '/':
		return s.scanEnd(b)
	case '?':
		return scanInstruction(b)
	case '!':
		return s.scanDeclaration(b)
	}
	return s.scanStart(b)
}

func (s *xmlScanner) scanText(b []byte) (int, error) {
	n := bytes.IndexByte(b, '<')
	if n < 0 {
		if s.err != io.EOF {
			return 0, errMore
		}
		n = len(b)
	}
	if i := bytes.Index(b[:n], []byte("]]>")); i >= 0 {
		return 0, &xmlFault{at: i, text: "]]> outside a CDATA section", found: "]]>"}
	}
	var err error
	s.tok.kind = xmlText
	s.tok.text, err = s.unescape(b, 0, n, true)
	return n, err
}

func (s *xmlScanner) scanEnd(b []byte) (int, error) {
	name, i, err := s.scanName(b, 2)
	if err != nil {
		return 0, err
	}
	if i = skipSpace(b, i); i == len(b) {
		return 0, errMore
	}
	if b[i] != '>' {
		return 0, &xmlFault{at: i, text: "end tag that does not end", found: string(b[:i])}
	}
	s.tok.kind, s.tok.name = xmlEnd, name
	return i + 1, nil
}

func (s *xmlScanner) scanStart(b []byte) (int, error) {
	name, i, err := s.scanName(b, 1)
	if err != nil {
		return 0, err
	}
	s.tok.kind, s.tok.name = xmlStart, name
	for {
		if i = skipSpace(b, i); i == len(b) {
			return 0, errMore
		}
		switch b[i] {
		case '>':
			return i + 1, nil
		case '/':
			if i+1 == len(b) {
				return 0, errMore
			}
			if b[i+1] != '>' {
				return 0, &xmlFault{at: i, text: "a / inside a tag", found: "/"}
			}
			s.closing = true
			return i + 2, nil
		}
		if i, err = s.scanAttr(b, i); err != nil {
			return 0, err
		}
	}
}

func (s *xmlScanner) scanAttr(b []byte, i int) (int, error) {
	start := i
	name, i, err := s.scanName(b, i)
	if err != nil {
		return 0, err
	}
	if i = skipSpace(b, i); i == len(b) {
		return 0, errMore
	}
	if b[i] != '=' {
		return 0, &xmlFault{at: i, text: "attribute without a value", found: string(bytes.TrimSpace(b[start:i]))}
	}
	if i = skipSpace(b, i+1); i == len(b) {
		return 0, errMore
	}
	quote := b[i]
	if quote != '"' && quote != '\'' {
		return 0, &xmlFault{at: i, text: "attribute value without quotes", found: string(bytes.TrimSpace(b[start:i]))}
	}
	i++
	n := bytes.IndexByte(b[i:], quote)
	if n < 0 {
		// A quote that is never closed: the next tag tells sooner than the end.
		if j := bytes.IndexByte(b[i:], '<'); j >= 0 {
			return 0, &xmlFault{at: i + j, text: "< inside an attribute value", found: "<"}
		}
		return 0, errMore
	}
	if j := bytes.IndexByte(b[i:i+n], '<'); j >= 0 {
		return 0, &xmlFault{at: i + j, text: "< inside an attribute value", found: "<"}
	}
	value, err := s.unescape(b, i, i+n, true)
	if err != nil {
		return 0, err
	}
	s.tok.attr = append(s.tok.attr, xmlAttr{name, value})
	return i + n + 1, nil
}

// scanInstruction passes over <?target …?>.
func scanInstruction(b []byte) (int, error) {
	i, err := nameEnd(b, 2)
	if err != nil {
		return 0, err
	}
	if bad := badName(b[2:i]); bad != nil {
		bad.at += 2
		return 0, bad
	}
	n := bytes.Index(b[i:], []byte("?>"))
	if n < 0 {
		return 0, errMore
	}
	return i + n + 2, nil
}

// scanDeclaration reads what begins with <! : a comment, a CDATA section or a
// directive.
func (s *xmlScanner) scanDeclaration(b []byte) (int, error) {
	const comment, cdata = "<!--", "<![CDATA["
	switch {
	case bytes.HasPrefix(b, []byte(comment)):
		n := bytes.Index(b[4:], []byte("--"))
		if n < 0 || 4+n+2 == len(b) {
			return 0, errMore
		}
		if b[4+n+2] != '>' {
			return 0, &xmlFault{at: 4 + n, text: "-- inside a comment", found: "--"}
		}
		return 4 + n + 3, nil
	case bytes.HasPrefix(b, []byte(cdata)):
		n := bytes.Index(b[9:], []byte("]]>"))
		if n < 0 {
			return 0, errMore
		}
		var err error
		s.tok.kind = xmlText
		s.tok.text, err = s.unescape(b, 9, 9+n, false)
		return 9 + n + 3, err
	case len(b) < len(cdata) && (bytes.HasPrefix([]byte(comment), b) || bytes.HasPrefix([]byte(cdata), b)):
		return 0, errMore
	case !(b[2] >= 'A' && b[2] <= 'Z' || b[2] >= 'a' && b[2] <= 'z'):
		return 0, &xmlFault{text: "neither a comment nor a CDATA section", found: string(b[:3])}
	}
	quote, depth := byte(0), 0
	for i := 2; i < len(b); i++ {
		switch c := b[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '<':
			depth++
		case c == '>' && depth > 0:
			depth--
		case c == '>':
			s.tok.kind, s.tok.text = xmlDirective, b[2:i]
			return i + 1, nil
		}
	}
	return 0, errMore
}
