package plan

import (
	"strings"
)

// A span is a node of a plan's text by its bytes: where it begins and ends, and
// what it holds. The YAML library tells lines and columns of tokens but not where
// a value ends, and an edit must know that to the byte. The scanner knows only
// the forms that people write in plans; [Edit] checks it against the library.
type span struct {
	kind    spanKind
	flow    bool // in brackets or braces
	at, end int
	entries []spanEntry // of a mapping or a sequence
}

type spanKind uint8

const (
	scalarSpan spanKind = iota
	mappingSpan
	sequenceSpan
)

// A spanEntry is a key with its value, or an item of a sequence.
type spanEntry struct {
	key   string // "" of an item
	at    int    // of the key, of the dash, or of an item in brackets
	after int    // behind the colon or the dash
	end   int    // of the content
	value *span  // nil = nothing there
}

// A scanner finds the spans of a text. bad is set where the text has a form that
// it does not know.
type scanner struct {
	src string
	bad bool
}

// maxNesting is how deep brackets and blocks may lie in each other.
const maxNesting = 32

// scan returns the span of a plan's mapping, nil where it cannot tell.
func scan(src string) *span {
	s := &scanner{src: src}
	at := s.next(len(src) - len(strings.TrimPrefix(src, "\uFEFF")))
	if strings.HasPrefix(src[at:], "---") {
		at = s.next(at + len("---"))
	}
	n := s.node(at, -1, 0)
	if s.bad || n == nil || n.kind != mappingSpan || s.next(n.end) < len(src) {
		return nil
	}
	return n
}

// next returns the offset of the next content at or after an offset, past blanks,
// line ends and comments.
func (s *scanner) next(at int) int {
	for at < len(s.src) {
		switch c := s.src[at]; {
		case c == ' ' || c == '\t' || c == '\r' || c == '\n':
			at++
		case c == '#' && s.mayComment(at):
			at = s.lineEnd(at)
		default:
			return at
		}
	}
	return len(s.src)
}

// mayComment reports whether a # stands where it begins a comment.
func (s *scanner) mayComment(at int) bool {
	return at == 0 || strings.IndexByte(" \t\n\r", s.src[at-1]) >= 0
}

func (s *scanner) lineStart(at int) int { return strings.LastIndexByte(s.src[:at], '\n') + 1 }

// lineEnd returns the offset of the line end, without a carriage return.
func (s *scanner) lineEnd(at int) int {
	line, _, _ := strings.Cut(s.src[at:], "\n")
	return at + len(strings.TrimSuffix(line, "\r"))
}

func (s *scanner) column(at int) int { return at - s.lineStart(at) }

// ends reports whether nothing but blanks and a comment follow on the line.
func (s *scanner) ends(at int) bool { return s.next(at) >= s.lineEnd(at) }

// dash reports whether an item of a block sequence begins here.
func (s *scanner) dash(at int) bool {
	return at < len(s.src) && s.src[at] == '-' && (at+1 == len(s.src) || strings.IndexByte(" \t\r\n", s.src[at+1]) >= 0)
}

// key returns the key that begins here and the offset behind its colon.
func (s *scanner) key(at int) (key string, after int, ok bool) {
	line := s.src[at:s.lineEnd(at)]
	if strings.HasPrefix(line, `"`) || strings.HasPrefix(line, "'") {
		end := s.quoted(at)
		rest := s.src[end:s.lineEnd(end)]
		trimmed := strings.TrimLeft(rest, " \t")
		if end < at+2 || !strings.HasPrefix(trimmed, ":") {
			return "", 0, false
		}
		return s.src[at+1 : end-1], end + len(rest) - len(trimmed) + 1, true
	}
	for i := 0; i < len(line); i++ {
		switch {
		case line[i] == '#' && i > 0 && line[i-1] == ' ':
			return "", 0, false
		case line[i] == ':' && (i+1 == len(line) || line[i+1] == ' ' || line[i+1] == '\t'):
			return strings.TrimSpace(line[:i]), at + i + 1, i > 0
		}
	}
	return "", 0, false
}

// node scans what begins at an offset inside a block whose column is parent.
func (s *scanner) node(at, parent, depth int) *span {
	switch {
	case at >= len(s.src) || depth > maxNesting:
		s.bad = s.bad || depth > maxNesting
		return nil
	case s.dash(at):
		return s.sequence(at, depth)
	case s.src[at] == '[' || s.src[at] == '{':
		return s.brackets(at, depth)
	}
	if _, _, ok := s.key(at); ok {
		return s.mapping(at, depth)
	}
	return s.scalar(at, parent)
}

func (s *scanner) mapping(at, depth int) *span {
	n := &span{kind: mappingSpan, at: at}
	column := s.column(at)
	for {
		key, after, ok := s.key(at)
		if !ok {
			s.bad = true
			return n
		}
		e := spanEntry{key: key, at: at, after: after, end: after}
		if value := s.next(after); !s.ends(after) {
			e.value = s.inline(value, column, depth+1)
		} else if c := s.column(value); value < len(s.src) && (c > column || c == column && s.dash(value)) {
			e.value = s.node(value, column, depth+1)
		}
		if e.value != nil {
			e.end = e.value.end
		}
		n.entries, n.end = append(n.entries, e), e.end
		at = s.next(e.end)
		if s.bad || at >= len(s.src) || s.column(at) != column || s.dash(at) {
			return n
		}
	}
}

func (s *scanner) sequence(at, depth int) *span {
	n := &span{kind: sequenceSpan, at: at}
	column := s.column(at)
	for {
		e := spanEntry{at: at, after: at + 1, end: at + 1}
		if value := s.next(e.after); value < len(s.src) && s.column(value) > column {
			e.value = s.node(value, column, depth+1)
			e.end = e.value.lastByte(e.end)
		}
		n.entries, n.end = append(n.entries, e), e.end
		at = s.next(e.end)
		if s.bad || at >= len(s.src) || s.column(at) != column || !s.dash(at) {
			return n
		}
	}
}

// lastByte is the end of a span, or the given one where there is none.
func (n *span) lastByte(otherwise int) int {
	if n == nil {
		return otherwise
	}
	return n.end
}

// inline scans a value on the line of its key.
func (s *scanner) inline(at, parent, depth int) *span {
	if c := s.src[at]; c == '[' || c == '{' {
		return s.brackets(at, depth)
	}
	return s.scalar(at, parent)
}

// scalar scans a quoted, plain or block scalar.
func (s *scanner) scalar(at, parent int) *span {
	n := &span{kind: scalarSpan, at: at}
	switch s.src[at] {
	case '"', '\'':
		n.end = s.quoted(at)
	case '|', '>':
		n.end = s.deeper(s.lineEnd(at), parent, false)
	case '&', '*', '!':
		s.bad = true
	default:
		n.end = s.plainEnd(at)
		n.end = s.deeper(n.end, parent, true)
	}
	return n
}

// plainEnd is the end of a plain scalar on its line.
func (s *scanner) plainEnd(at int) int {
	line := s.src[at:s.lineEnd(at)]
	for i := 1; i < len(line); i++ {
		if line[i] == '#' && (line[i-1] == ' ' || line[i-1] == '\t') {
			line = line[:i]
			break
		}
	}
	return at + len(strings.TrimRight(line, " \t"))
}

// deeper returns the end of the lines after an offset that are blank or further in
// than a column, without the blank ones at their end. Comments end a plain scalar.
func (s *scanner) deeper(end, column int, plain bool) int {
	if plain && !s.ends(end) || plain && s.next(end) > s.lineEnd(end) && strings.Contains(s.src[end:s.lineEnd(end)], "#") {
		return end
	}
	for line := s.lineEnd(end); ; {
		i := strings.IndexByte(s.src[line:], '\n')
		if i < 0 {
			return end
		}
		at := line + i + 1
		line = s.lineEnd(at)
		text := strings.TrimLeft(s.src[at:line], " \t")
		switch {
		case text == "":
			continue
		case line-at-len(text) <= column || plain && strings.HasPrefix(text, "#"):
			return end
		case plain:
			end = s.plainEnd(line - len(text))
		default:
			end = line
		}
	}
}

// quoted returns the offset behind a quoted text.
func (s *scanner) quoted(at int) int {
	quote := s.src[at]
	for i := at + 1; i < len(s.src); i++ {
		switch {
		case quote == '"' && s.src[i] == '\\':
			i++
		case s.src[i] == quote && quote == '\'' && i+1 < len(s.src) && s.src[i+1] == quote:
			i++
		case s.src[i] == quote:
			return i + 1
		}
	}
	s.bad = true
	return len(s.src)
}

// brackets scans a list in [] or a mapping in {}.
func (s *scanner) brackets(at, depth int) *span {
	n := &span{kind: sequenceSpan, flow: true, at: at}
	closer := byte(']')
	if s.src[at] == '{' {
		n.kind, closer = mappingSpan, '}'
	}
	for at = s.next(at + 1); ; {
		switch {
		case at >= len(s.src) || depth > maxNesting:
			s.bad = true
			n.end = len(s.src)
			return n
		case s.src[at] == closer:
			n.end = at + 1
			return n
		case s.src[at] == ',':
			at = s.next(at + 1)
			continue
		}
		e := spanEntry{at: at, after: at}
		if n.kind == mappingSpan {
			colon := strings.IndexByte(s.src[at:s.lineEnd(at)], ':')
			if colon < 0 {
				s.bad = true
				return n
			}
			e.key, e.after = strings.Trim(strings.TrimSpace(s.src[at:at+colon]), `"'`), at+colon+1
			at = s.next(e.after)
		}
		e.value = s.bracketed(at, depth+1)
		e.end = e.value.lastByte(e.after)
		n.entries = append(n.entries, e)
		if s.bad || e.end <= e.at {
			s.bad = true
			return n
		}
		at = s.next(e.end)
	}
}

// bracketed scans one value between brackets.
func (s *scanner) bracketed(at, depth int) *span {
	if at >= len(s.src) {
		return nil
	}
	n := &span{kind: scalarSpan, at: at}
	switch s.src[at] {
	case '[', '{':
		return s.brackets(at, depth)
	case '"', '\'':
		n.end = s.quoted(at)
	case ',', ']', '}':
		return nil
	default:
		end := s.plainEnd(at)
		if i := strings.IndexAny(s.src[at:end], ",[]{}"); i >= 0 {
			end = at + i
		}
		n.end = at + len(strings.TrimRight(s.src[at:end], " \t"))
	}
	return n
}
