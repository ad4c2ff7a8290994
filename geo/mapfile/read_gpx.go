package mapfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"farhail/geo/track"

	"github.com/paulmach/orb"
)

const (
	ns10 = "http://www.topografix.com/GPX/1/0"
	ns11 = "http://www.topografix.com/GPX/1/1"
)

// ReadGPX reads a GPX file, plain or gzipped; name stands in messages. The
// whole file is read or an [*Error] is returned, never a part of it. Elements
// count by their name whatever their prefix, unless they belong to a namespace
// that is neither GPX nor the root's. Limits: [MaxBytes], [MaxPoints], 200
// elements inside each other.
func ReadGPX(r io.Reader, name string) (*GPX, error) {
	text, note, err := openText(r)
	if err != nil {
		return nil, named(err, name)
	}
	p := &gpxReader{file: name, x: newXMLScanner(text), g: &GPX{}}
	if note != "" {
		p.problems.add("character set", Problem{Line: 1, Column: 1, Severity: SeverityWarning, Text: note})
	}
	if err := p.document(); err != nil {
		var e *Error
		if errors.As(err, &e) {
			e.Before = p.problems.all()
		}
		return nil, err
	}
	p.g.Problems = p.problems.all()
	return p.g, nil
}

// named puts the file's name into an error made before it was known.
func named(err error, name string) error {
	var e *Error
	if errors.As(err, &e) {
		e.File = name
		return e
	}
	return &Error{File: name, Text: err.Error(), Err: err}
}

// gpxReader walks the tokens of one file.
type gpxReader struct {
	file      string
	x         *xmlScanner
	g         *GPX
	problems  problems
	open      []xmlName // elements begun and not ended, with their written prefixes
	spaces    []space   // namespace declarations in force
	rootSpace string
	line, col int    // where the present token begins
	text      []byte // content of the present element
	points    int
	made      time.Time // the document's own date, zero = none
	madeAt    spot
	spots     []spot // of the fixes of the present segment
}

// space is a namespace declaration, in force while more than depth elements are
// open.
type space struct {
	prefix, uri string
	depth       int
}

// element is a start tag: its local name if it is a GPX element, otherwise "".
type element struct {
	name      string
	attr      []xmlAttr
	line, col int
}

func (p *gpxReader) document() error {
	for len(p.open) == 0 {
		tok, err := p.token()
		if err == io.EOF {
			return p.emptyFile()
		}
		if err != nil {
			return err
		}
		switch tok.kind {
		case xmlText:
			if text := bytes.TrimSpace(tok.text); len(text) > 0 {
				return p.notGPX(fmt.Sprintf("it begins with %q", clip(string(text))), "")
			}
		case xmlStart:
			if tok.name.local != "gpx" {
				return p.notGPX(rootKind(tok.name.local), tok.name.local)
			}
			p.root(tok)
		}
	}
	at := place{kind: "wpt"}
	err := p.children(func(e element) error {
		switch e.name {
		case "wpt":
			fix, ok, err := p.point(e, at)
			if ok {
				p.g.Waypoints = append(p.g.Waypoints, fix)
				if fix.Point == (orb.Point{}) {
					p.problems.add("0, 0", Problem{Line: e.line, Column: e.col, Severity: SeverityWarning,
						Text: fmt.Sprintf("%s lies at 0, 0, in the sea off Africa", at), Hint: "a receiver without a position writes 0, 0"})
				}
			}
			at.index++
			return err
		case "rte":
			return p.route()
		case "trk":
			return p.track()
		case "metadata":
			return p.children(func(e element) error { return p.aboutDocument(e) })
		}
		return p.aboutDocument(e)
	})
	if err != nil {
		return err
	}
	p.doubtDates()
	return p.afterRoot()
}

// aboutDocument takes the name and the date, which stand under metadata in GPX
// 1.1 and under the root in 1.0; writers mix the two.
func (p *gpxReader) aboutDocument(e element) error {
	switch e.name {
	case "name":
		s, err := p.content()
		if p.g.Name == "" {
			p.g.Name = s
		}
		return err
	case "time":
		s, err := p.content()
		p.made, _, _ = parseTime(s) // only compared with: one that cannot be read does no harm
		p.madeAt = spot{line: int32(e.line), col: int32(e.col)}
		return err
	}
	return p.pass(e)
}

func (p *gpxReader) root(tok *xmlToken) {
	uri, bound := p.uri(tok.name.prefix)
	p.rootSpace = uri
	for _, a := range tok.attr {
		switch {
		case a.name.prefix == "" && a.name.local == "version":
			p.g.Version = strings.TrimSpace(string(a.value))
		case a.name.prefix == "" && a.name.local == "creator":
			p.g.Creator = string(a.value)
		}
	}
	odd := ""
	switch {
	case !bound:
		odd = fmt.Sprintf("prefix %s is not declared", tok.name.prefix)
	case p.g.Version == "" && uri == "":
		odd = "no version and no namespace"
	case p.g.Version == "":
		odd = "no version"
	case p.g.Version != "1.0" && p.g.Version != "1.1":
		odd = "version is neither 1.0 nor 1.1"
	case uri == "":
		odd = "no namespace"
	case uri != ns10 && uri != ns11:
		odd = "the namespace is not that of GPX"
	}
	if odd != "" {
		p.warn("root", odd+": read by element names alone", "", "")
	}
}

func (p *gpxReader) route() error {
	t := track.Track{}
	at := place{kind: "rtept", track: len(p.g.Routes)}
	var seg fixList
	err := p.children(func(e element) error {
		switch e.name {
		case "name":
			s, err := p.content()
			t.Name = s
			return err
		case "rtept":
			fix, ok, err := p.point(e, at)
			at.index++
			if ok {
				seg.add(fix)
			}
			return err
		}
		return p.pass(e)
	})
	t.Segments = []track.Segment{seg.segment()}
	p.g.Routes = append(p.g.Routes, t)
	return err
}

func (p *gpxReader) track() error {
	t := track.Track{}
	at := place{kind: "trkpt", track: len(p.g.Tracks)}
	err := p.children(func(e element) error {
		switch e.name {
		case "name":
			s, err := p.content()
			t.Name = s
			return err
		case "trkseg":
			at.segment, at.index = len(t.Segments), 0
			p.spots = p.spots[:0]
			var seg fixList
			err := p.children(func(e element) error {
				if e.name != "trkpt" {
					return p.pass(e)
				}
				fix, ok, err := p.point(e, at)
				if ok {
					seg.add(fix)
					p.spots = append(p.spots, spot{int32(e.line), int32(e.col), int32(at.index)})
				}
				at.index++
				return err
			})
			s := seg.segment()
			t.Segments = append(t.Segments, s)
			if err == nil {
				p.doubts(at, s, p.spots)
			}
			return err
		}
		return p.pass(e)
	})
	p.g.Tracks = append(p.g.Tracks, t)
	return err
}

// pass skips an element that is not used. Points and segments in a place where
// GPX has none are told, since they look like data.
func (p *gpxReader) pass(e element) error {
	switch e.name {
	case "wpt", "rtept", "trkpt", "trkseg", "rte", "trk":
		p.warn("misplaced element", fmt.Sprintf("<%s> inside <%s> left out: it has no place there", e.name, p.open[len(p.open)-2].local), e.name, "")
	}
	return p.skip()
}

func (p *gpxReader) afterRoot() error {
	for {
		tok, err := p.token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		found := ""
		switch tok.kind {
		case xmlText:
			found = strings.TrimSpace(string(tok.text))
		case xmlStart:
			found = "<" + tok.name.local + ">"
		}
		if found != "" {
			return p.fail("more text after the end of the GPX document", found,
				"two files may have been joined: split them", nil)
		}
	}
}
