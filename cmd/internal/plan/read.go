package plan

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Largest plan file. A plan with 2000 candidates takes half of it; the YAML
// library's time grows with the square of the keys in one block, to three
// seconds at this size.
const (
	maxSize  = 256 << 10 // bytes
	maxLines = 10000
)

// Read reads the plan file of that name. Paths in it are taken from the file's
// own folder in fsys; files that it names are opened only to see that they are
// there, and terrain not even that, because whoever loads it can name the tiles
// that are missing. A faulty plan gives Problems; a file that cannot be read
// gives the file system's error.
func Read(fsys fs.FS, name string) (*Plan, error) {
	data, err := slurp(fsys, name)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	p := newPlan()
	p.File, p.Hash = name, hex.EncodeToString(sum[:4])
	r := &reader{fsys: fsys, file: name}
	if body := r.parse(data); body != nil {
		r.plan(body, p)
	}
	if len(r.problems) > 0 {
		return nil, r.problems.sorted()
	}
	p.WaypointFiles = r.waypoints
	return p, nil
}

const tooLong = "a plan names the files of tracks and terrain, it does not hold them"

func slurp(fsys fs.FS, name string) ([]byte, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSize+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxSize {
		return nil, Problems{{File: name, Message: fmt.Sprintf("more than %d bytes", maxSize), Advice: tooLong}}
	}
	return data, nil
}

// A reader turns the syntax tree of one file into a plan and gathers faults.
type reader struct {
	fsys     fs.FS
	file     string
	lines    []string
	zone     *time.Location
	private  privacy
	problems Problems

	waypoints []string // GPX files that positions name
}

// report adds a fault, without what the person block holds.
func (r *reader) report(line, column int, text, message, hint string) {
	text, message, hint = r.private.withhold(text, message, hint)
	r.problems = append(r.problems, &Problem{File: r.file, Line: line, Column: column, Message: message, Text: clip(text), Advice: hint})
}

// clip keeps an offending text on one line of a message.
func clip(s string) string {
	const most = 60
	s, _, _ = strings.Cut(s, "\n")
	if c := []rune(s); len(c) > most {
		return string(c[:most]) + "…"
	}
	return s
}

// parse returns the root of the file's one document, or nil with faults.
func (r *reader) parse(data []byte) ast.Node {
	text := strings.TrimPrefix(string(data), "\uFEFF")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	r.lines = strings.Split(text, "\n")
	r.private = findPrivate(r.lines)
	if len(r.lines) > maxLines {
		r.report(maxLines, 1, "", fmt.Sprintf("more than %d lines", maxLines), tooLong)
		return nil
	}
	for i, line := range r.lines {
		if !utf8.ValidString(line) || strings.ContainsFunc(line, forbidden) {
			r.report(i+1, 1, "", "a character that no text holds", "save the file as UTF-8 text")
		}
		indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
		if at := strings.IndexByte(indent, '\t'); at >= 0 && len(indent) < len(line) {
			r.report(i+1, at+1, "", "a tab in the indentation", "indent with blanks")
		}
	}
	if len(r.problems) > 0 {
		return nil
	}
	file, err := parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.syntax(err)
		return nil
	}
	var body ast.Node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			line, column := place(doc.Body)
			r.report(line, column, "", "a second document", "one file holds one plan: remove the line ---")
			return nil
		}
		body = doc.Body
	}
	if body == nil {
		r.report(1, 1, "", "an empty plan", "farhail demo shows one")
	}
	return body
}

// forbidden says whether a character may not stand in a plan: control
// characters other than the tab, and the mark of a wrong encoding.
func forbidden(c rune) bool { return c < ' ' && c != '\t' || c == 0x7f || c == 0xFEFF }

// syntax reports a fault that the YAML parser found.
func (r *reader) syntax(err error) {
	var se *yaml.SyntaxError
	if !errors.As(err, &se) || se.Token == nil || se.Token.Position == nil {
		r.report(1, 1, "", "not YAML", "write keys and values like title: My search; farhail new search shows a plan")
		return
	}
	line, column := se.Token.Position.Line, max(1, se.Token.Position.Column)
	line = min(max(1, line), len(r.lines))
	hint, text := "look at this line and the one above: blanks before keys, colons, quotation marks, brackets", ""
	switch se.Message {
	case "mapping value is not allowed in this context":
		hint = "put a text that holds a colon and a blank in quotes"
	case "could not find end character of single-quoted text", "could not find end character of double-quoted text":
		hint = "close the quotation mark"
	}
	message := "not YAML"
	if !r.private.lines[line-1] {
		// The parser's own words quote nothing but syntax, but for a few that
		// quote the text: those are left out.
		if !strings.Contains(se.Message, `"`) {
			message += ": " + se.Message
		}
		if chars := []rune(r.lines[line-1]); column <= len(chars) {
			text = strings.TrimSpace(string(chars[column-1:]))
		}
	}
	r.report(line, column, text, message, hint)
}

// join returns a path of the plan as seen from where the plan file was opened.
func (r *reader) join(p string) string {
	p = filepath.ToSlash(p)
	if path.IsAbs(p) || filepath.IsAbs(p) {
		return path.Clean(p)
	}
	return path.Join(path.Dir(filepath.ToSlash(r.file)), p)
}

// exists says whether a file is there.
func (r *reader) exists(name string) bool {
	_, err := fs.Stat(r.fsys, name)
	return err == nil
}
