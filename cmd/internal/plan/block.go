package plan

import (
	"fmt"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// A key is one key that a block may hold and how its value is read.
type key struct {
	name     string
	read     func(n ast.Node)
	required bool
}

// A block is a mapping as found: its place, and where each given key stands.
type block struct {
	line, column int
	keys         map[string]*ast.MappingValueNode
}

// has says whether the key was given a value.
func (b block) has(name string) bool {
	v := b.keys[name]
	return v != nil && !isNull(v.Value)
}

// block reads a mapping. Keys are read in the order of the list, so that one
// may rely on another; what is the name of the block in messages.
func (r *reader) block(n ast.Node, what string, keys ...key) block {
	b := block{keys: map[string]*ast.MappingValueNode{}}
	b.line, b.column = place(n)
	values, ok := mapping(n)
	if !ok {
		r.wrongType(n, what+" takes keys, each on its own line", "write "+keys[0].name+": … below it, indented by blanks")
		return b
	}
	for _, v := range values {
		name, line, column := keyName(v)
		switch first, seen := b.keys[name]; {
		case name == "":
			r.report(line, column, "", "not a key", "write a plain word and a colon")
		case seen:
			at, _ := place(first.Key)
			r.report(line, column, name, fmt.Sprintf("key %q given twice, first on line %d", name, at), "remove one of them")
		case !knows(keys, name):
			r.report(line, column, name, fmt.Sprintf("unknown key %q in %s", clip(name), what), suggest(name, keys))
		default:
			b.keys[name] = v
		}
	}
	for _, k := range keys {
		if b.has(k.name) {
			k.read(b.keys[k.name].Value)
		} else if k.required {
			r.report(b.line, b.column, "", fmt.Sprintf("%s needs the key %q", what, k.name), "add "+k.name+": … to it; farhail new search explains every key")
		}
	}
	return b
}

// list reads a sequence.
func (r *reader) list(n ast.Node, what string, item func(n ast.Node)) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		r.wrongType(n, what+" is a list", "begin each item with '- '")
		return
	}
	const most = 2000
	for i, v := range seq.Values {
		switch {
		case i == most:
			line, column := place(v)
			r.report(line, column, "", fmt.Sprintf("more than %d items in %s", most, what), "leave some out: a plan is of one search")
			return
		case isNull(v):
			line, column := place(n)
			if i < len(seq.Entries) && seq.Entries[i].Start != nil {
				line, column = seq.Entries[i].Start.Position.Line, seq.Entries[i].Start.Position.Column
			}
			r.report(line, column, "", "an empty item in "+what, "remove it or fill it in")
		default:
			item(v)
		}
	}
}

// wrongType reports a value of the wrong kind; anchors and tags are told by
// name.
func (r *reader) wrongType(n ast.Node, message, hint string) {
	line, column := place(n)
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode:
		message, hint = "anchors and aliases are not used in a plan", "write the value out"
	case *ast.TagNode:
		message, hint = "tags are not used in a plan", "remove the word with the exclamation mark"
	}
	r.report(line, column, "", message, hint)
}

// at reports a fault of a key of the block.
func (r *reader) at(b block, name, message, hint string) {
	line, column := b.line, b.column
	text := ""
	if v := b.keys[name]; v != nil {
		line, column = place(v.Key)
		text = name
	}
	r.report(line, column, text, message, hint)
}

// inOrder reports a time of an end that is not after that of its beginning.
func (r *reader) inOrder(b block, what, begin, end string, from, until time.Time) {
	if !from.IsZero() && !until.IsZero() && !until.After(from) {
		r.at(b, end, what+" ends before it begins", end+" is later than "+begin)
	}
}

// oneOf reports when not exactly one of the keys is given, and says which is.
func (r *reader) oneOf(b block, what string, names ...string) string {
	given := ""
	for _, n := range names {
		switch {
		case !b.has(n):
		case given != "":
			r.at(b, n, fmt.Sprintf("%s has both %q and %q", what, given, n), "keep one of them")
		default:
			given = n
		}
	}
	if given == "" {
		r.report(b.line, b.column, "", fmt.Sprintf("%s needs one of the keys %s", what, strings.Join(names, ", ")), "add one of them; farhail new search explains every key")
	}
	return given
}

func knows(keys []key, name string) bool {
	for _, k := range keys {
		if k.name == name {
			return true
		}
	}
	return false
}

func suggest(name string, keys []key) string {
	names := make([]string, len(keys))
	for i, k := range keys {
		names[i] = k.name
	}
	return cli.Meant(name, names, "the keys here are "+strings.Join(names, ", "))
}

// mapping returns the pairs of a mapping of either style.
func mapping(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}, true
	}
	return nil, false
}

// keyName returns the name of a key, "" for one that is not a plain word.
func keyName(v *ast.MappingValueNode) (name string, line, column int) {
	line, column = place(v.Key)
	if s, ok := v.Key.(*ast.StringNode); ok && !strings.ContainsAny(s.Value, " \n") {
		return s.Value, line, column
	}
	return "", line, column
}

func isNull(n ast.Node) bool {
	_, null := n.(*ast.NullNode)
	return n == nil || null
}

// place returns where a node begins. The library places a mapping at its first
// colon.
func place(n ast.Node) (line, column int) {
	if values, ok := mapping(n); ok && len(values) > 0 {
		if m, flow := n.(*ast.MappingNode); !flow || !m.IsFlowStyle {
			n = values[0].Key
		}
	}
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return 0, 0
	}
	p := n.GetToken().Position
	return p.Line, max(1, p.Column)
}
