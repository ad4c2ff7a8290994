package mapfile

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Classes of ASCII characters: those that text holds as they are, and those
// that names hold.
var xmlPlain, xmlNameByte [utf8.RuneSelf]bool

func init() {
	for c := range byte(utf8.RuneSelf) {
		xmlPlain[c] = c >= ' ' && c != '&' || c == '\t' || c == '\n'
		xmlNameByte[c] = c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' || strings.IndexByte("_:-.", c) >= 0
	}
}

func skipSpace(b []byte, i int) int {
	for i < len(b) && (b[i] == ' ' || b[i] == '\n' || b[i] == '\t' || b[i] == '\r') {
		i++
	}
	return i
}

// nameEnd returns where the characters of the name that begins at i end.
func nameEnd(b []byte, i int) (int, error) {
	start := i
	for i < len(b) && (b[i] >= utf8.RuneSelf || xmlNameByte[b[i]]) {
		i++
	}
	switch {
	case i == len(b):
		return 0, errMore
	case i == start:
		return 0, &xmlFault{at: i, text: "a name is missing", found: string(b[i : i+1])}
	}
	return i, nil
}

// badName finds the first character that may not stand where it does in a name
// (XML 1.0, section 2.3); nil for a good name.
func badName(b []byte) *xmlFault {
	fault := &xmlFault{text: "not a name of XML", found: string(b)}
	if c := b[0]; c == '-' || c == '.' || c >= '0' && c <= '9' {
		return fault
	}
	for i := 0; i < len(b); {
		if b[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRune(b[i:])
		ok := nameStart(r) || i > 0 && (r == 0xB7 || r >= 0x300 && r <= 0x36F || r == 0x203F || r == 0x2040)
		if r == utf8.RuneError && n == 1 || !ok {
			fault.at = i
			return fault
		}
		i += n
	}
	return nil
}

// nameStart is NameStartChar of XML 1.0, section 2.3, beyond ASCII.
func nameStart(r rune) bool {
	return r >= 0xC0 && r <= 0x2FF && r != 0xD7 && r != 0xF7 || r >= 0x370 && r <= 0x1FFF && r != 0x37E ||
		r == 0x200C || r == 0x200D || r >= 0x2070 && r <= 0x218F || r >= 0x2C00 && r <= 0x2FEF ||
		r >= 0x3001 && r <= 0xD7FF || r >= 0xF900 && r <= 0xFDCF || r >= 0xFDF0 && r <= 0xFFFD ||
		r >= 0x10000 && r <= 0xEFFFF
}

// maxNames bounds the names that are kept; a GPX file has a few dozen.
const maxNames = 4096

// scanName reads the name of a tag or attribute. Every name is made a string
// once.
func (s *xmlScanner) scanName(b []byte, i int) (xmlName, int, error) {
	end, err := nameEnd(b, i)
	if err != nil {
		return xmlName{}, 0, err
	}
	if name, ok := s.names[string(b[i:end])]; ok {
		return name, end, nil
	}
	if bad := badName(b[i:end]); bad != nil {
		bad.at += i
		return xmlName{}, 0, bad
	}
	name := xmlName{local: string(b[i:end])}
	switch prefix, local, _ := strings.Cut(name.local, ":"); {
	case strings.Contains(local, ":"):
		return xmlName{}, 0, &xmlFault{at: i, text: "a name with two colons", found: name.local}
	case prefix != "" && local != "":
		name = xmlName{prefix, local}
	}
	if len(s.names) == maxNames {
		clear(s.names)
	}
	s.names[string(b[i:end])] = name
	return name, end, nil
}

// unescape returns b[from:to] with its references resolved, unless they are
// only text as in a CDATA section, and its line ends made single (XML 1.0,
// section 2.11). Text that needs no change is not copied.
func (s *xmlScanner) unescape(b []byte, from, to int, references bool) ([]byte, error) {
	start := len(s.values)
	copied := from // b[from:copied] is in values
	for i := from; i < to; {
		c := b[i]
		if c < utf8.RuneSelf && (xmlPlain[c] || c == '&' && !references) {
			i++
			continue
		}
		if c >= utf8.RuneSelf {
			r, n := utf8.DecodeRune(b[i:to])
			if r == utf8.RuneError && n == 1 {
				return nil, &xmlFault{at: i, text: "bytes that are not UTF-8"}
			}
			if !xmlChar(r) {
				return nil, illegal(i, r)
			}
			i += n
			continue
		}
		s.values = append(s.values, b[copied:i]...)
		switch {
		case c == '\r':
			s.values = append(s.values, '\n')
			i++
			if i < to && b[i] == '\n' {
				i++
			}
		case c == '&':
			r, n, err := reference(b[:to], i)
			if err != nil {
				return nil, err
			}
			s.values = utf8.AppendRune(s.values, r)
			i += n
		default:
			return nil, illegal(i, rune(c))
		}
		copied = i
	}
	if copied == from {
		return b[from:to], nil
	}
	s.values = append(s.values, b[copied:to]...)
	return s.values[start:], nil
}

// xmlChar reports whether XML 1.0 can hold a character (section 2.2).
func xmlChar(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' || r >= 0x20 && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 && r <= 0x10FFFF
}

func illegal(at int, r rune) error {
	return &xmlFault{at: at, text: fmt.Sprintf("illegal character U+%04X", r)}
}

// reference reads an entity or character reference at b[i], which is '&', and
// returns its length.
func reference(b []byte, i int) (r rune, n int, err error) {
	end := i + 1
	for end < len(b) && (b[end] >= utf8.RuneSelf || xmlNameByte[b[end]] || b[end] == '#' && end == i+1) {
		end++
	}
	if end == i+1 || end == len(b) || b[end] != ';' {
		return 0, 0, &xmlFault{at: i, text: "& that begins no character entity", found: string(b[i:min(end+1, len(b))])}
	}
	word := string(b[i+1 : end])
	n = end + 1 - i
	switch word {
	case "amp":
		return '&', n, nil
	case "lt":
		return '<', n, nil
	case "gt":
		return '>', n, nil
	case "quot":
		return '"', n, nil
	case "apos":
		return '\'', n, nil
	}
	digits, numeric := strings.CutPrefix(word, "#")
	if !numeric {
		return 0, 0, &xmlFault{at: i, text: "unknown entity &" + clip(word) + ";", found: "&" + word + ";"}
	}
	base := 10
	if hex, ok := strings.CutPrefix(digits, "x"); ok {
		digits, base = hex, 16
	}
	v, parseErr := strconv.ParseUint(digits, base, 32)
	if parseErr != nil || !xmlChar(rune(v)) || v > utf8.MaxRune {
		return 0, 0, &xmlFault{at: i, text: "reference to no character", found: "&" + word + ";"}
	}
	return rune(v), n, nil
}
