package mapfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// token returns the next start tag, end tag or text. It checks what the scanner
// does not: that end tags match, how deep elements lie, that nothing is declared
// in the document type.
func (p *gpxReader) token() (*xmlToken, error) {
	for {
		tok, err := p.x.next()
		if err != nil {
			return nil, p.broken(err)
		}
		p.line, p.col = tok.line, tok.col
		switch tok.kind {
		case xmlStart:
			if len(p.open) == maxDepth {
				return nil, p.fail(fmt.Sprintf("more than %d elements inside each other", maxDepth), tok.name.local, "", ErrTooLarge)
			}
			p.declare(tok.attr)
			p.open = append(p.open, tok.name)
		case xmlEnd:
			if len(p.open) == 0 {
				return nil, p.fail("end tag without a start", "</"+tok.name.local+">", "", nil)
			}
			if top := p.open[len(p.open)-1]; top != tok.name {
				return nil, p.fail(fmt.Sprintf("<%s> ends with another tag", top.local), "</"+tok.name.local+">", "", nil)
			}
			p.open = p.open[:len(p.open)-1]
			for n := len(p.spaces); n > 0 && p.spaces[n-1].depth >= len(p.open); n-- {
				p.spaces = p.spaces[:n-1]
			}
		case xmlDirective:
			if err := p.directive(tok.text); err != nil {
				return nil, err
			}
			continue
		}
		return tok, nil
	}
}

// declare keeps the namespace declarations of a start tag.
func (p *gpxReader) declare(attr []xmlAttr) {
	for _, a := range attr {
		switch {
		case a.name.prefix == "xmlns":
			p.spaces = append(p.spaces, space{a.name.local, string(a.value), len(p.open)})
		case a.name.prefix == "" && a.name.local == "xmlns":
			p.spaces = append(p.spaces, space{"", string(a.value), len(p.open)})
		}
	}
}

// uri returns the namespace behind a prefix; bound is false for a prefix that
// nothing declares.
func (p *gpxReader) uri(prefix string) (uri string, bound bool) {
	for i := len(p.spaces) - 1; i >= 0; i-- {
		if p.spaces[i].prefix == prefix {
			return p.spaces[i].uri, true
		}
	}
	return "", prefix == ""
}

// gpxName is the local name of a GPX element, "" for one of another namespace.
func (p *gpxReader) gpxName(n xmlName) string {
	uri, bound := p.uri(n.prefix)
	if !bound {
		if n.prefix != p.open[0].prefix { // an undeclared prefix of the root was told there
			p.warn("prefix", fmt.Sprintf("prefix %s is not declared, element left out", n.prefix), n.prefix+":"+n.local, "")
			return ""
		}
		return n.local
	}
	if uri == "" || uri == p.rootSpace || uri == ns11 || uri == ns10 {
		return n.local
	}
	return ""
}

// children calls f for every child of the element just begun, up to its end. f
// must read the child to its own end.
func (p *gpxReader) children(f func(e element) error) error {
	for {
		tok, err := p.token()
		if err != nil {
			return p.early(err)
		}
		switch tok.kind {
		case xmlStart:
			e := element{name: p.gpxName(tok.name), attr: tok.attr, line: p.line, col: p.col}
			if err := f(e); err != nil {
				return err
			}
		case xmlEnd:
			return nil
		}
	}
}

// skip reads to the end of the element just begun. Undeclared prefixes below
// are told, because a namespace-aware reader would refuse the file for them.
func (p *gpxReader) skip() error {
	return p.children(func(element) error { return p.skip() })
}

// contentBytes is the text of the element just begun, read to its end and
// trimmed; it is valid until the next call.
func (p *gpxReader) contentBytes() ([]byte, error) {
	p.text = p.text[:0]
	for {
		tok, err := p.token()
		if err != nil {
			return nil, p.early(err)
		}
		switch tok.kind {
		case xmlText:
			p.text = append(p.text, tok.text...)
		case xmlStart:
			if err := p.skip(); err != nil {
				return nil, err
			}
		case xmlEnd:
			return bytes.Trim(p.text, " \t\r\n"), nil
		}
	}
}

func (p *gpxReader) content() (string, error) {
	b, err := p.contentBytes()
	return string(b), err
}

// directive refuses documents that are HTML and documents that declare
// entities; a plain document type is passed over.
func (p *gpxReader) directive(d []byte) error {
	words := strings.Fields(string(d))
	if len(words) > 1 && strings.EqualFold(words[0], "DOCTYPE") && strings.EqualFold(words[1], "html") {
		return p.notGPX("HTML page", "<!DOCTYPE html>")
	}
	if bytes.ContainsAny(d, "[") || bytes.Contains(d, []byte("ENTITY")) {
		return p.fail("the document type declares entities or elements of its own", clip("<!"+string(d)+">"),
			"remove the DOCTYPE: GPX needs none", nil)
	}
	return nil
}

func (p *gpxReader) warn(kind, text, found, hint string) {
	p.problems.add(kind, Problem{Line: p.line, Column: p.col, Severity: SeverityWarning, Text: text, Found: found, Hint: hint})
}

// fail is an error at the start of the present token.
func (p *gpxReader) fail(text, found, hint string, cause error) *Error {
	return &Error{File: p.file, Line: p.line, Column: p.col, Text: text, Found: clip(found), Fix: hint, Err: cause}
}

// early turns the end of the input inside an element into an error.
func (p *gpxReader) early(err error) error {
	if err != io.EOF {
		return err
	}
	p.line, p.col = p.x.line, p.x.col
	return p.fail(fmt.Sprintf("file ends early, inside <%s>", p.open[len(p.open)-1].local), "",
		"get the file again: nothing was taken from it", ErrTruncated)
}

// broken turns an error of the decoder or of the input into one with a place.
// io.EOF is handed on: between tokens it may be the end.
func (p *gpxReader) broken(err error) error {
	if err == io.EOF {
		return io.EOF
	}
	p.line, p.col = p.x.line, p.x.col
	var fault *xmlFault
	switch {
	case errors.Is(err, ErrTooLarge):
		return p.fail(fmt.Sprintf("more than %d MB", MaxBytes>>20), "", "split the file", ErrTooLarge)
	case errors.Is(err, errToken):
		return p.fail(err.Error(), "", "", ErrTooLarge)
	case errors.Is(err, io.ErrUnexpectedEOF):
		if len(p.open) == 0 {
			return p.fail("file ends early", "", "get the file again: nothing was taken from it", ErrTruncated)
		}
		return p.early(io.EOF)
	case errors.As(err, &fault):
		hint := ""
		switch {
		case strings.HasPrefix(fault.found, "&"):
			hint = "write & as &amp; and other characters as they are"
		case strings.Contains(fault.text, "UTF-8"):
			hint = "declare the character set in the first line, or save the file as UTF-8"
		}
		return p.fail("not well-formed XML: "+fault.text, fault.found, hint, err)
	}
	return p.fail(err.Error(), "", "", err)
}

func (p *gpxReader) emptyFile() error {
	if p.x.total == 0 {
		return &Error{File: p.file, Text: "empty file", Err: ErrNotGPX}
	}
	p.line, p.col = p.x.line, p.x.col
	return p.notGPX("no element in it", "")
}

func (p *gpxReader) notGPX(kind, found string) *Error {
	return p.fail("not a GPX file ("+kind+")", found, "give a file whose root element is <gpx>", ErrNotGPX)
}

func rootKind(local string) string {
	switch strings.ToLower(local) {
	case "html":
		return "HTML page"
	case "kml":
		return "KML"
	case "trainingcenterdatabase":
		return "TCX"
	}
	return "its root is <" + clip(local) + ">"
}
