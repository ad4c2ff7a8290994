package mapfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// MaxJSONBytes is the largest GeoJSON file that is read [bytes].
const MaxJSONBytes = 1 << 26

// node is a JSON value that knows where it stands.
type node struct {
	kind       byte // '{' '[' '"' '0' 't' 'n': object, list, string, number, boolean, null
	start, end int  // byte offsets
	text       string
	truth      bool
	keys       []string // of an object, in the order of the file
	items      []node   // of an object or list
}

// get returns the member of an object, nil where there is none.
func (n *node) get(key string) *node {
	if n.kind == '{' {
		for i := range n.keys {
			if n.keys[i] == key {
				return &n.items[i]
			}
		}
	}
	return nil
}

// str is the value of a string member, "" for anything else.
func (n *node) str(key string) string {
	if m := n.get(key); m != nil && m.kind == '"' {
		return m.text
	}
	return ""
}

// jsonFile is a file read whole, to turn offsets into lines and columns.
type jsonFile struct {
	name string
	data []byte
}

// where returns line and column of a byte offset, both from 1.
func (f *jsonFile) where(offset int) (line, col int) {
	before := f.data[:min(max(offset, 0), len(f.data))]
	line = 1 + bytes.Count(before, []byte("\n"))
	return line, 1 + utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:])
}

func (f *jsonFile) fail(offset int, text, found, hint string) *Error {
	line, col := f.where(offset)
	return &Error{File: f.name, Line: line, Column: col, Text: text, Found: clip(found), Fix: hint}
}

// raw is the text of a node.
func (f *jsonFile) raw(n *node) string { return string(f.data[n.start:n.end]) }

// readJSON reads and parses a whole file.
func readJSON(r io.Reader, name string) (*jsonFile, *node, error) {
	text, _, err := openText(r)
	if err != nil {
		return nil, nil, named(err, name)
	}
	data, err := io.ReadAll(io.LimitReader(text, MaxJSONBytes+1))
	if err != nil {
		return nil, nil, named(err, name)
	}
	f := &jsonFile{name: name, data: data}
	if len(data) > MaxJSONBytes {
		return nil, nil, &Error{File: name, Text: fmt.Sprintf("more than %d MB", MaxJSONBytes>>20), Fix: "split the file", Err: ErrTooLarge}
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, nil, &Error{File: name, Text: "empty file"}
	}
	if !utf8.Valid(data) {
		at := 0
		for at < len(data) {
			c, n := utf8.DecodeRune(data[at:])
			if c == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		return nil, nil, f.fail(at, "bytes that are not UTF-8", "", "save the file as UTF-8")
	}
	// A first pass over the whole text finds every fault of grammar, so that
	// the walk below meets none.
	var whole json.RawMessage
	if err := json.Unmarshal(data, &whole); err != nil {
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			e := f.fail(int(syntax.Offset)-1, "not JSON: "+syntax.Error(), "", noNumber(data, int(syntax.Offset)-1))
			e.Err = err
			if syntax.Offset >= int64(len(bytes.TrimRight(data, " \t\r\n"))) && syntax.Error() == "unexpected end of JSON input" {
				e.Text, e.Fix, e.Err = "file ends early", "get the file again: nothing was taken from it", ErrTruncated
			}
			return nil, nil, e
		}
		return nil, nil, named(err, name)
	}
	p := treeParser{f: f, d: json.NewDecoder(bytes.NewReader(data))}
	p.d.UseNumber()
	root, err := p.value(0)
	if err != nil {
		return nil, nil, err
	}
	return f, &root, nil
}

// noNumber is a hint where a fault lies at what some programs write for a number
// that is none.
func noNumber(data []byte, at int) string {
	rest := data[min(max(at, 0), len(data)):]
	for _, word := range []string{"NaN", "Infinity", "Inf", "nan", "inf"} {
		// The parser finds nan at its a, since null begins with n too.
		if bytes.HasPrefix(rest, []byte(word)) || word == "nan" && bytes.HasPrefix(rest, []byte("an")) {
			return "JSON has no " + word + ": leave the position or the property out, or write null for a property"
		}
	}
	return ""
}

type treeParser struct {
	f *jsonFile
	d *json.Decoder
}

// next returns a token and where it begins and ends.
func (p *treeParser) next() (tok json.Token, start, end int, err error) {
	start = int(p.d.InputOffset())
	tok, err = p.d.Token()
	if err != nil {
		return nil, 0, 0, named(err, p.f.name)
	}
	for start < len(p.f.data) && bytes.IndexByte([]byte(" \t\r\n,:"), p.f.data[start]) >= 0 {
		start++
	}
	return tok, start, int(p.d.InputOffset()), nil
}

func (p *treeParser) value(depth int) (n node, err error) {
	tok, start, end, err := p.next()
	if err != nil {
		return n, err
	}
	if depth > maxDepth {
		return n, p.f.fail(start, fmt.Sprintf("more than %d values inside each other", maxDepth), "", "")
	}
	n.start, n.end = start, end
	switch tok := tok.(type) {
	case nil:
		n.kind = 'n'
	case bool:
		n.kind, n.truth = 't', tok
	case string:
		n.kind, n.text = '"', tok
	case json.Number:
		n.kind, n.text = '0', string(tok)
	case json.Delim:
		n.kind = byte(tok)
		seen := map[string]bool{}
		for p.d.More() {
			if n.kind == '{' {
				key, at, _, err := p.next()
				if err != nil {
					return n, err
				}
				k, _ := key.(string) // the grammar has been checked
				if seen[k] {
					return n, p.f.fail(at, "member stands twice", k, "leave one of the two")
				}
				seen[k] = true
				n.keys = append(n.keys, k)
			}
			item, err := p.value(depth + 1)
			if err != nil {
				return n, err
			}
			n.items = append(n.items, item)
		}
		_, _, n.end, err = p.next()
	}
	return n, err
}
