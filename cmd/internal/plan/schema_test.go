package plan

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"

	"farhail/geo/walk"
)

// A node is a schema as far as the plan's uses the language.
type node struct {
	Ref         string          `json:"$ref"`
	Defs        map[string]node `json:"$defs"`
	Description string          `json:"description"`
	Type        any             `json:"type"` // a word or a list of them
	Enum        []any           `json:"enum"`
	Pattern     string          `json:"pattern"`
	MinLength   int             `json:"minLength"`
	MaxLength   int             `json:"maxLength"`
	Minimum     *float64        `json:"minimum"`
	Maximum     *float64        `json:"maximum"`
	AnyOf       []node          `json:"anyOf"`
	Items       *node           `json:"items"`
	Properties  map[string]node `json:"properties"`
	Required    []string        `json:"required"`
	Closed      any             `json:"additionalProperties"` // false, or a schema
	Default     any             `json:"default"`
	Examples    []any           `json:"examples"`

	Schema string `json:"$schema"`
	Title  string `json:"title"`
}

func schemaOf(t *testing.T) node {
	var root node
	dec := json.NewDecoder(strings.NewReader(string(Schema())))
	dec.DisallowUnknownFields() // a word that faults knows nothing of would be taken as kept
	require.NoError(t, dec.Decode(&root))
	return root
}

// block returns the node with the keys of the definition that it refers to, if
// that one has keys.
func (n node) block(root node) node {
	ref := n.Ref
	if len(n.AnyOf) > 0 { // a list of blocks, or one alone
		ref = n.AnyOf[len(n.AnyOf)-1].Ref
	}
	if def := root.Defs[strings.TrimPrefix(ref, "#/$defs/")]; len(def.Properties) > 0 {
		n.Properties, n.Required, n.Closed = def.Properties, def.Required, def.Closed
	}
	return n
}

// faults lists how a value breaks a schema.
func (n node) faults(root node, at string, v any) []string {
	if name, ok := strings.CutPrefix(n.Ref, "#/$defs/"); ok {
		def, found := root.Defs[name]
		if !found {
			return []string{at + ": no definition " + name}
		}
		return def.faults(root, at, v)
	}
	if len(n.AnyOf) > 0 {
		var last []string
		for _, choice := range n.AnyOf {
			if last = choice.faults(root, at, v); len(last) == 0 {
				return nil
			}
		}
		return last
	}
	var list []string
	fault := func(format string, args ...any) { list = append(list, at+": "+fmt.Sprintf(format, args...)) }
	kind, number := kindOf(v)
	types := []any{n.Type}
	if many, ok := n.Type.([]any); ok {
		types = many
	}
	if n.Type != nil && !slices.ContainsFunc(types, func(t any) bool { return t == kind || t == "number" && kind == "integer" }) {
		fault("%v is of type %s, not %v", v, kind, types)
		return list
	}
	if len(n.Enum) > 0 && !slices.ContainsFunc(n.Enum, func(e any) bool { return fmt.Sprint(e) == fmt.Sprint(v) }) {
		fault("%v is none of %v", v, n.Enum)
	}
	switch v := v.(type) {
	case string:
		length := utf8.RuneCountInString(v)
		if length < n.MinLength || n.MaxLength > 0 && length > n.MaxLength || n.Pattern != "" && !regexp.MustCompile(n.Pattern).MatchString(v) {
			fault("the text %q", v)
		}
	case []any:
		for i, item := range v {
			if n.Items != nil {
				list = append(list, n.Items.faults(root, fmt.Sprintf("%s[%d]", at, i), item)...)
			}
		}
	case map[string]any:
		for _, key := range n.Required {
			if _, given := v[key]; !given {
				fault("no key %s", key)
			}
		}
		for key, value := range v {
			if of, known := n.Properties[key]; known {
				list = append(list, of.faults(root, at+"."+key, value)...)
			} else if n.Closed == false {
				fault("unknown key %s", key)
			}
		}
	}
	if kind == "integer" || kind == "number" {
		if n.Minimum != nil && number < *n.Minimum || n.Maximum != nil && number > *n.Maximum {
			fault("%v out of range", v)
		}
	}
	return list
}

// kindOf returns the JSON type of a value, and a number as such.
func kindOf(v any) (kind string, number float64) {
	switch v := v.(type) {
	case nil:
		return "null", 0
	case bool:
		return "boolean", 0
	case string:
		return "string", 0
	case []any:
		return "array", 0
	case map[string]any:
		return "object", 0
	case uint64:
		return "integer", float64(v)
	case int64:
		return "integer", float64(v)
	case float64:
		if v == float64(int64(v)) {
			return "integer", v
		}
		return "number", v
	}
	return fmt.Sprintf("%T", v), 0
}

func schemaFaults(t *testing.T, text string) []string {
	var v any
	require.NoError(t, yaml.Unmarshal([]byte(text), &v))
	root := schemaOf(t)
	return root.faults(root, "plan", v)
}

func TestSchemaTakesGoodPlans(t *testing.T) {
	demo, err := os.ReadFile("../../farhail/demo/plan.yaml")
	require.NoError(t, err)
	require.Empty(t, schemaFaults(t, string(demo)))
	require.Empty(t, schemaFaults(t, full))
	root := schemaOf(t)
	require.Equal(t, "https://json-schema.org/draft/2020-12/schema", root.Schema)
	require.NotEmpty(t, root.Title)
}

// TestSchemaRefusesBadPlans: an editor with the schema marks what the reader
// refuses.
func TestSchemaRefusesBadPlans(t *testing.T) {
	const head = "version: 1\nas_of: 2026-11-24T08:00:00Z\n"
	for _, tc := range []struct{ text, want string }{
		{"version: 2\nas_of: 2026-11-24T08:00:00Z\n", "none of"},
		{"version: 1\n", "no key as_of"},
		{head + "tittle: x\n", "unknown key tittle"},
		{head + "weather: {visibility: 20}\n", "type integer"},
		{head + "weather: {visibility: 20 kilo}\n", "20 kilo"},
		{head + "weather: {cloud: grey}\n", "none of"},
		{head + "hours: tomorrow\n", "hours"},
		{head + "starts: [{name: a, kind: planning, position: '1, 2'}]\n", "no key time"},
		{head + "placement: {count: 0}\n", "out of range"},
		{head + "looking: {parties: [{name: a, people: 1.5}]}\n", "type number"},
		{head + "traveller: {signals: [{name: a, light: 90}]}\n", "light"},
		{head + "traveller: {log_sigma_bearing: 3}\n", "log_sigma_bearing"},
	} {
		require.Contains(t, strings.Join(schemaFaults(t, tc.text), "\n"), tc.want, tc.text)
		_, err := read(tc.text)
		require.Error(t, err, tc.text)
	}
}

// TestSchemaHasTheReadersKeys walks the schema and asks the reader, by a key
// that no block has, which keys it knows there and which it needs.
func TestSchemaHasTheReadersKeys(t *testing.T) {
	root := schemaOf(t)
	blocks := 0
	var walk func(n node, path string, wrap func(string) string)
	walk = func(n node, path string, wrap func(string) string) {
		require.NotEmpty(t, n.Description, path)
		n = n.block(root)
		if n.Items != nil && len(n.Items.block(root).Properties) > 0 {
			walk(*n.Items, path+"[]", func(s string) string { return wrap("[" + s + "]") })
			return
		}
		known, required := readersKeys(t, wrap("{qqqqqqqqqqqq: 1}"))
		if len(n.Properties) == 0 {
			require.Empty(t, known, "the reader knows keys in %s", path)
			return
		}
		blocks++
		var keys []string
		for key, of := range n.Properties {
			keys = append(keys, key)
			sub := key
			walk(of, path+"."+key, func(s string) string { return wrap("{" + sub + ": " + s + "}") })
		}
		require.ElementsMatch(t, known, keys, path)
		require.ElementsMatch(t, required, n.Required, path)
		require.Equal(t, false, n.Closed, path)
	}
	person := root.Properties["person"] // has keys of the user's own
	delete(root.Properties, "person")
	top := func(s string) string { return s }
	known, _ := readersKeys(t, "{qqqqqqqqqqqq: 1}")
	require.ElementsMatch(t, topKeys, known)
	require.NotEmpty(t, person.Description)
	root.Properties["person"] = node{Description: person.Description}
	walk(root, "plan", top)
	require.Equal(t, 36, blocks, "blocks of the plan")
	for name, def := range root.Defs {
		require.NotEmpty(t, def.Description, name)
	}
}

// readersKeys returns the keys that the reader says it knows and needs where it
// met a key it does not know.
func readersKeys(t *testing.T, text string) (known, required []string) {
	_, err := read(text)
	var ps Problems
	require.True(t, errors.As(err, &ps), text)
	for _, p := range ps {
		if strings.Contains(p.Message, "qqqqqqqqqqqq") {
			list, found := strings.CutPrefix(p.Advice, "the keys here are ")
			require.True(t, found, p.Advice)
			known = strings.Split(list, ", ")
			at, _ := strings.CutPrefix(p.Message, `unknown key "qqqqqqqqqqqq" in `)
			for _, q := range ps {
				if key, found := strings.CutPrefix(q.Message, at+" needs the key "); found {
					required = append(required, strings.Trim(key, `"`))
				}
			}
		}
	}
	return known, required
}

// TestSchemaExamples: every key has an example that both schema and reader take
// as a value of that key, and the words of a choice are the reader's.
func TestSchemaExamples(t *testing.T) {
	root := schemaOf(t)
	var visit func(n node, path string, wrap func(string) string)
	visit = func(n node, path string, wrap func(string) string) {
		n = n.block(root)
		if n.Items != nil && len(n.Items.block(root).Properties) > 0 {
			visit(*n.Items, path+"[]", func(s string) string { return wrap("[" + s + "]") })
			return
		}
		for key, of := range n.Properties {
			visit(of, path+"."+key, func(s string) string { return wrap("{" + key + ": " + s + "}") })
		}
		if len(n.Properties) > 0 {
			return
		}
		require.NotEmpty(t, n.Examples, path)
		values := append(append([]any{}, n.Examples...), n.Enum...)
		if n.Default != nil {
			values = append(values, n.Default)
		}
		for _, v := range values {
			require.Empty(t, n.faults(root, path, v), path)
			text, err := json.Marshal(v)
			require.NoError(t, err)
			require.Empty(t, valueFaults(t, wrap(string(text))), "%s: %s", path, text)
		}
		if len(n.Enum) > 1 {
			require.NotEmpty(t, valueFaults(t, wrap(`"no such word"`)), path)
		}
	}
	visit(root, "plan", func(s string) string { return s })
	require.Len(t, root.Properties["traveller"].Properties["rule"].Enum, len(walk.Rules()))
}

// valueFaults returns the faults of values in a plan that is not whole.
func valueFaults(t *testing.T, text string) []string {
	_, err := read(text)
	var ps Problems
	if err != nil {
		require.True(t, errors.As(err, &ps), text)
	}
	var list []string
	for _, p := range ps {
		partial := false
		for _, words := range []string{"needs the key", "needs one of", "no such file", "no start is", "no signal is", "no party or lookout is", "without its", "without the beam", "without rated_time", "out of order", "in a circle", "belongs to the question", "no candidate is"} {
			partial = partial || strings.Contains(p.Message, words)
		}
		if !partial {
			list = append(list, p.Error())
		}
	}
	return list
}
