package plan

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// A Field is one key of a block that an edit writes. Its value is a string, a
// bool, a number written as text with its unit, a []string, or a [] of Fields.
type Field struct {
	Key   string
	Value any
}

// plainText is what needs no quotation marks in a plan: a word first, no sign that
// YAML reads as its own, none of the words that some readers take for yes and no.
var (
	plainText = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_./+%-]*( [A-Za-z0-9(][A-Za-z0-9_./+%()-]*)*$`)
	plainTrap = regexp.MustCompile(`^(?i:true|false|null|yes|no|on|off|y|n|[0-9].*|0x.*|\.inf|\.nan)$`)
	plainUnit = regexp.MustCompile(`^[0-9]+(\.[0-9]+)? ?(m|km|ft|mi|deg|cd|lm|lx|h|min|s|%|ha|km2|m/s|km/h)$`)
)

// written returns a text as YAML, in quotation marks where it needs them.
func written(s string) string {
	if plainUnit.MatchString(s) || plainText.MatchString(s) && !plainTrap.MatchString(s) {
		return s
	}
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	// A string always encodes.
	_ = enc.Encode(s)
	return strings.TrimSuffix(b.String(), "\n")
}

// inlineText returns a value on one line.
func inlineText(v any) (string, error) {
	switch v := v.(type) {
	case string:
		return written(v), nil
	case bool, int:
		return fmt.Sprint(v), nil
	case []string:
		items := make([]string, len(v))
		for i, s := range v {
			items[i] = written(s)
		}
		return "[" + strings.Join(items, ", ") + "]", nil
	case []Field:
		items := make([]string, len(v))
		for i, f := range v {
			text, err := inlineText(f.Value)
			if err != nil {
				return "", err
			}
			items[i] = f.Key + ": " + text
		}
		return "{" + strings.Join(items, ", ") + "}", nil
	}
	return "", fmt.Errorf("plan: a %T cannot stand in a plan", v)
}

// blockText returns the lines of a block, each indented but the first.
func blockText(fields []Field, indent int, newline string) (string, error) {
	lines := make([]string, len(fields))
	for i, f := range fields {
		if inner, ok := f.Value.([]Field); ok {
			text, err := blockText(inner, indent+2, newline)
			if err != nil {
				return "", err
			}
			lines[i] = f.Key + ":" + newline + strings.Repeat(" ", indent+2) + text
			continue
		}
		text, err := inlineText(f.Value)
		if err != nil {
			return "", err
		}
		lines[i] = f.Key + ": " + text
	}
	return strings.Join(lines, newline+strings.Repeat(" ", indent)), nil
}

// A tree is what a plan's text says, without how it is written: for comparing.
type tree struct {
	kind  spanKind
	text  string // of a scalar
	null  bool
	keys  []string
	items []*tree
}

// treeOf returns what a node of the YAML library says.
func treeOf(n ast.Node) *tree {
	if isNull(n) {
		return &tree{null: true}
	}
	if values, ok := mapping(n); ok {
		t := &tree{kind: mappingSpan}
		for _, v := range values {
			t.keys = append(t.keys, v.Key.GetToken().Value)
			t.items = append(t.items, treeOf(v.Value))
		}
		return t
	}
	switch n := n.(type) {
	case *ast.SequenceNode:
		t := &tree{kind: sequenceSpan}
		for _, v := range n.Values {
			t.items = append(t.items, treeOf(v))
		}
		return t
	case *ast.LiteralNode:
		return &tree{text: n.Value.Value}
	}
	return &tree{text: n.GetToken().Value}
}

// equal reports whether two trees say the same.
func (t *tree) equal(o *tree) bool {
	if t.kind != o.kind || t.text != o.text || t.null != o.null || len(t.items) != len(o.items) || len(t.keys) != len(o.keys) {
		return false
	}
	for i := range t.keys {
		if t.keys[i] != o.keys[i] {
			return false
		}
	}
	for i := range t.items {
		if !t.items[i].equal(o.items[i]) {
			return false
		}
	}
	return true
}

// shaped reports whether a span found the same keys and items as the library.
func (t *tree) shaped(n *span) bool {
	if t.null || n == nil {
		return t.null && n == nil || t.null && n.kind == scalarSpan
	}
	if t.kind != n.kind || len(t.items) != len(n.entries) {
		return false
	}
	for i, e := range n.entries {
		if t.kind == mappingSpan && t.keys[i] != e.key || !t.items[i].shaped(e.value) {
			return false
		}
	}
	return true
}
