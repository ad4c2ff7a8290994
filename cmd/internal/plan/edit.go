package plan

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// A Change is one change of a plan's text. Path names the place: keys and the
// numbers of list items from 0, like starts[0].position.
type Change struct {
	Path string
	// Value is what is to stand there: a string, a bool, an int, a []string, or
	// []Field for a block; nil takes away what stands there. An item number one past
	// the list's end adds an item.
	Value any
}

// A Splice is a change of a file by its bytes: Old, which begins at byte At, becomes
// New. Nothing else of the file changes.
type Splice struct {
	At       int
	Old, New string
}

// Back returns the splice that undoes it.
func (s Splice) Back() Splice { return Splice{s.At, s.New, s.Old} }

// ErrMoved says that a file no longer holds what a splice replaces.
var ErrMoved = errors.New("plan: the text has changed since")

// Apply returns the file with the change made, or [ErrMoved].
func (s Splice) Apply(src []byte) ([]byte, error) {
	if s.At < 0 || s.At > len(src) || !strings.HasPrefix(string(src[s.At:]), s.Old) {
		return nil, ErrMoved
	}
	return slices.Concat(src[:s.At], []byte(s.New), src[s.At+len(s.Old):]), nil
}

// Errors of [Edit].
var (
	// ErrForm says that the text is written in a form that only a person can edit.
	ErrForm = errors.New("plan: written in a form that cannot be edited here: use a text editor")
	// ErrNoPlace says that a path leads nowhere.
	ErrNoPlace = errors.New("plan: no such place")
)

// Edit returns the splice that makes a change in a plan's text. Comments, order,
// blank lines, quotation marks and line ends of all else stay. The text with the
// change made is read by the YAML library and refused with [ErrForm] where it would
// say anything else than the text before with that one change. Whether it is a
// valid plan is for [Read] to say.
func Edit(src []byte, c Change) (Splice, error) {
	path, err := parsePath(c.Path)
	if err != nil {
		return Splice{}, err
	}
	before, err := parseTree(src)
	if err != nil {
		return Splice{}, err
	}
	root := scan(string(src))
	if root == nil || !before.shaped(root) {
		return Splice{}, ErrForm
	}
	e := editor{string(src), "\n"}
	if strings.Contains(e.src, "\r\n") {
		e.newline = "\r\n"
	}
	s, err := e.change(root, path, c.Value)
	if err != nil {
		return Splice{}, err
	}
	after, err := s.Apply(src)
	if err != nil {
		return Splice{}, err
	}
	got, err := parseTree(after)
	if err != nil {
		return Splice{}, ErrForm
	}
	want, err := before.with(path, c.Value)
	if err != nil {
		return Splice{}, err
	}
	if !got.equal(want) {
		return Splice{}, ErrForm
	}
	return s, nil
}

// A step of a path is a key, or the number of an item.
type step struct {
	key  string
	item int // -1 for a key
}

var pathStep = regexp.MustCompile(`^(?:\.?([A-Za-z_][A-Za-z0-9_]*)|\[([0-9]{1,4})\])`)

func parsePath(path string) ([]step, error) {
	var steps []step
	for rest := path; rest != ""; {
		m := pathStep.FindStringSubmatch(rest)
		if m == nil || len(steps) >= maxNesting {
			return nil, fmt.Errorf("%w: %q", ErrNoPlace, clip(path))
		}
		st := step{m[1], -1}
		if m[1] == "" {
			// At most four figures.
			st.item, _ = strconv.Atoi(m[2])
		}
		steps, rest = append(steps, st), rest[len(m[0]):]
	}
	if len(steps) == 0 || steps[0].item >= 0 {
		return nil, fmt.Errorf("%w: %q", ErrNoPlace, clip(path))
	}
	return steps, nil
}

// parseTree reads a text by the YAML library.
func parseTree(src []byte) (*tree, error) {
	if len(src) > maxSize || !utf8.Valid(src) {
		return nil, ErrForm
	}
	text := strings.ReplaceAll(strings.TrimPrefix(string(src), "\uFEFF"), "\r\n", "\n")
	file, err := parser.ParseBytes([]byte(text), 0)
	if err != nil {
		return nil, ErrForm
	}
	var body ast.Node
	for _, doc := range file.Docs {
		switch {
		case doc.Body == nil:
		case body != nil:
			return nil, ErrForm
		default:
			body = doc.Body
		}
	}
	if _, ok := mapping(body); !ok {
		return nil, ErrForm
	}
	return treeOf(body), nil
}

// find returns the number of the entry that a step names, or -1.
func (n *span) find(s step) int {
	if n == nil {
		return -1
	}
	if s.item >= 0 {
		if n.kind == sequenceSpan && s.item < len(n.entries) {
			return s.item
		}
		return -1
	}
	if n.kind != mappingSpan {
		return -1
	}
	return slices.IndexFunc(n.entries, func(e spanEntry) bool { return e.key == s.key })
}

// An editor makes splices of one text.
type editor struct {
	src     string
	newline string
}

// change walks down a path and makes the splice.
func (e editor) change(n *span, path []step, value any) (Splice, error) {
	for i, s := range path {
		at := n.find(s)
		last := i == len(path)-1
		switch {
		case at < 0 && value == nil:
			return Splice{}, fmt.Errorf("%w: nothing to take away", ErrNoPlace)
		case at < 0:
			return e.add(n, s, path[i+1:], value)
		case last && value == nil:
			return e.remove(n, at)
		case last:
			return e.set(n.entries[at], e.indent(n), value)
		case n.entries[at].value == nil:
			return e.set(n.entries[at], e.indent(n), nested(path[i+1:], value))
		}
		n = n.entries[at].value
	}
	return Splice{}, ErrNoPlace
}

// nested is a value with the blocks around it that a path names.
func nested(path []step, value any) any {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i].item >= 0 {
			value = list{value}
		} else {
			value = []Field{{path[i].key, value}}
		}
	}
	return value
}

// A list is a sequence of one item that an edit begins.
type list [1]any

// indent is the column of a block's keys or dashes.
func (e editor) indent(n *span) int { return (&scanner{src: e.src}).column(n.at) }

// render returns a value to stand behind a colon or a dash, with the blank or
// the line end before it.
func (e editor) render(value any, indent int) (string, error) {
	below := e.newline + strings.Repeat(" ", indent+2)
	switch v := value.(type) {
	case []Field:
		text, err := blockText(v, indent+2, e.newline)
		return below + text, err
	case list:
		text, err := e.item(v[0], indent+2)
		return below + text, err
	}
	text, err := inlineText(value)
	return " " + text, err
}

// item returns an item of a block sequence with its dash.
func (e editor) item(value any, indent int) (string, error) {
	fields, ok := value.([]Field)
	if !ok {
		text, err := inlineText(value)
		return "- " + text, err
	}
	text, err := blockText(fields, indent+2, e.newline)
	return "- " + text, err
}

// set makes an entry's value another.
func (e editor) set(entry spanEntry, indent int, value any) (Splice, error) {
	v := entry.value
	if v == nil {
		text, err := e.render(value, indent)
		return Splice{entry.after, "", text}, err
	}
	_, block := value.([]Field)
	simple := v.kind == scalarSpan || v.flow
	if simple && (!block || v.flow) {
		text, err := inlineText(value)
		return Splice{v.at, e.src[v.at:v.end], text}, err
	}
	text, err := e.render(value, indent)
	return Splice{entry.after, e.src[entry.after:v.end], text}, err
}

// add puts a new key or item behind the others.
func (e editor) add(n *span, s step, rest []step, value any) (Splice, error) {
	value = nested(rest, value)
	switch {
	case n == nil || n.kind == scalarSpan,
		s.item >= 0 && (n.kind != sequenceSpan || s.item != len(n.entries)),
		s.item < 0 && n.kind != mappingSpan:
		return Splice{}, ErrNoPlace
	case n.flow:
		text, err := inlineText(value)
		if s.item < 0 {
			text = s.key + ": " + text
		}
		if len(n.entries) == 0 {
			return Splice{n.at + 1, "", text}, err
		}
		return Splice{n.entries[len(n.entries)-1].end, "", ", " + text}, err
	}
	indent := e.indent(n)
	var text string
	var err error
	if s.item >= 0 {
		text, err = e.item(value, indent)
	} else {
		text, err = e.render(value, indent)
		text = s.key + ":" + text
	}
	// Behind the line of the last entry, whose comment stays where it is.
	at := (&scanner{src: e.src}).lineEnd(n.end)
	return Splice{at, "", e.newline + strings.Repeat(" ", indent) + text}, err
}

// remove takes an entry away, with its whole lines where it has them for itself.
func (e editor) remove(n *span, i int) (Splice, error) {
	entry := n.entries[i]
	if len(n.entries) == 1 {
		return Splice{}, fmt.Errorf("%w: the last of its block: take the block away", ErrNoPlace)
	}
	sc := &scanner{src: e.src}
	from, to := entry.at, 0
	switch line := sc.lineStart(entry.at); {
	case n.flow && i > 0:
		from, to = n.entries[i-1].end, entry.end
	case n.flow, strings.TrimLeft(e.src[line:entry.at], " ") != "" && i+1 < len(n.entries):
		// The first key behind a dash: the next moves up to it.
		to = n.entries[i+1].at
	default:
		from, to = line, sc.lineEnd(entry.end)
		if next := strings.IndexByte(e.src[to:], '\n'); next >= 0 {
			to += next + 1
		}
	}
	return Splice{from, e.src[from:to], ""}, nil
}

// with returns what a tree says once a change is made.
func (t *tree) with(path []step, value any) (*tree, error) {
	if len(path) == 0 {
		return valueTree(value)
	}
	s := path[0]
	at, c := -1, &tree{kind: t.kind, text: t.text, keys: slices.Clone(t.keys), items: slices.Clone(t.items)}
	switch {
	case t.null && s.item < 0:
		c.kind = mappingSpan
	case t.null:
		c.kind = sequenceSpan
	case s.item < 0 && t.kind == mappingSpan:
		at = slices.Index(t.keys, s.key)
	case s.item >= 0 && t.kind == sequenceSpan && s.item < len(t.items):
		at = s.item
	}
	if at >= 0 && len(path) == 1 && value == nil {
		c.items = slices.Delete(c.items, at, at+1)
		if c.kind == mappingSpan {
			c.keys = slices.Delete(c.keys, at, at+1)
		}
		return c, nil
	}
	if at < 0 {
		at = len(c.items)
		c.items = append(c.items, &tree{null: true})
		if s.item < 0 {
			c.keys = append(c.keys, s.key)
		}
	}
	inner, err := c.items[at].with(path[1:], value)
	c.items[at] = inner
	return c, err
}

// valueTree is what a value of an edit says.
func valueTree(value any) (*tree, error) {
	if fields, ok := value.([]Field); ok {
		t := &tree{kind: mappingSpan}
		for _, f := range fields {
			inner, err := valueTree(f.Value)
			if err != nil {
				return nil, err
			}
			t.keys, t.items = append(t.keys, f.Key), append(t.items, inner)
		}
		return t, nil
	}
	switch v := value.(type) {
	case string:
		return &tree{text: v}, nil
	case bool, int:
		return &tree{text: fmt.Sprint(v)}, nil
	case []string:
		t := &tree{kind: sequenceSpan}
		for _, s := range v {
			t.items = append(t.items, &tree{text: s})
		}
		return t, nil
	}
	return nil, fmt.Errorf("plan: a %T cannot stand in a plan", value)
}
