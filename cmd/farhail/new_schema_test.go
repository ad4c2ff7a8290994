package main

import (
	"bytes"
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/plan"
)

// editor returns what an editor with the schema has against a plan.
func editor(t *testing.T) func(text string) error {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(plan.Schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("plan.schema.json", doc))
	schema, err := c.Compile("plan.schema.json")
	require.NoError(t, err)
	return func(text string) error {
		var v any
		if err := yaml.Unmarshal([]byte(text), &v); err != nil {
			return err
		}
		data, err := json.Marshal(v)
		require.NoError(t, err)
		instance, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		require.NoError(t, err)
		return schema.Validate(instance)
	}
}

// newTexts are plans that new writes, by what stands in them.
func newTexts(t *testing.T) map[string]string {
	t.Helper()
	inNewFolder(t, map[string]string{"way.gpx": wayGPX, "party.gpx": timedGPX, "dem/a.hgt": ""})
	texts := map[string]string{}
	for _, kind := range newKinds {
		for name, flags := range map[string][]string{
			"the example":  nil,
			"an own place": {"--place", "42.55 1.6", "--at", "2026-11-24T15:20:00+01:00"},
			"all flags": {"--place", "42.55 1.6", "--at", "2026-11-24 15:20 Europe/Andorra", "--route", "way.gpx",
				"--party", "party.gpx", "--terrain", "dem/a.hgt", "--light", "80cd"},
		} {
			code, out, msg := farhail(append([]string{"new", kind}, flags...)...)
			require.Zero(t, code, msg)
			texts[kind+", "+name] = out
		}
	}
	return texts
}

// TestNewInAnEditor: an editor with the schema has nothing against the demo's plan and
// what new writes, as it stands and with any of the keys behind a # in use, and marks a
// key that is misspelt.
func TestNewInAnEditor(t *testing.T) {
	check := editor(t)
	demo, err := os.ReadFile("demo/plan.yaml")
	require.NoError(t, err)
	require.NoError(t, check(string(demo)))
	texts := newTexts(t)
	for name, text := range texts {
		require.NoError(t, check(text), name)
	}
	for _, name := range []string{"search, the example", "trip, all flags"} {
		lines := strings.Split(texts[name], "\n")
		for i, line := range lines {
			used := inUse(lines, i)
			if used == nil {
				continue
			}
			assert.NoError(t, check(strings.Join(used, "\n")), "%s: with the # taken from %q", name, line)
			if key := keyLine.FindStringSubmatch(line)[5]; name != "trip, all flags" && key != "clothes" {
				used[i] = strings.Replace(used[i], key+":", key+"x:", 1)
				assert.Error(t, check(strings.Join(used, "\n")), "%s: with %sx for %s", name, key, key)
			}
		}
	}
}

// inUse returns the plan with the # taken from the key of line i and from the lines that
// belong to it, nothing where that line has no key behind one #.
func inUse(lines []string, i int) []string {
	m := keyLine.FindStringSubmatch(lines[i])
	if m == nil || m[2] == "" || m[3] != "" {
		return nil
	}
	used := slices.Clone(lines)
	used[i] = strings.Replace(lines[i], "#", "", 1)
	for j := i + 1; j < len(used); j++ {
		body, found := strings.CutPrefix(used[j], m[1]+"#")
		if !found || !strings.HasPrefix(body, " ") {
			break
		}
		used[j] = m[1] + body
	}
	return used
}

// A keyAt is a key of the schema where it stands: its block is a definition, or a path
// from the top or from one.
type keyAt struct{ block, key string }

// schemaKeys lists every key that the schema has, at every depth, and returns the way from a
// path of keys to its keyAt.
func schemaKeys(t *testing.T) (keys []keyAt, find func(path []string) (keyAt, bool)) {
	t.Helper()
	var root map[string]any
	require.NoError(t, json.Unmarshal(plan.Schema(), &root))
	defs := root["$defs"].(map[string]any)
	// block follows references, lists and choices to the keys of a node.
	var block func(v any, name string) (map[string]any, string)
	block = func(v any, name string) (map[string]any, string) {
		m, _ := v.(map[string]any)
		if ref, ok := m["$ref"].(string); ok {
			name = strings.TrimPrefix(ref, "#/$defs/")
			return block(defs[name], name)
		}
		if items, ok := m["items"]; ok {
			return block(items, name)
		}
		if many, ok := m["anyOf"].([]any); ok {
			for _, one := range many {
				if keys, name := block(one, name); keys != nil {
					return keys, name
				}
			}
		}
		of, _ := m["properties"].(map[string]any)
		return of, name
	}
	seen := map[string]bool{}
	var walk func(v any, name string)
	walk = func(v any, name string) {
		of, name := block(v, name)
		if seen[name] {
			return
		}
		seen[name] = true
		for key, sub := range of {
			keys = append(keys, keyAt{name, key})
			walk(sub, name+"."+key)
		}
	}
	walk(root, "plan")
	return keys, func(path []string) (keyAt, bool) {
		var v any = root
		at := keyAt{block: "plan"}
		for _, key := range path {
			of, name := block(v, strings.TrimSuffix(at.block+"."+at.key, "."))
			if v = of[key]; v == nil {
				return keyAt{}, false
			}
			at = keyAt{name, key}
		}
		return at, true
	}
}

// keyWithValue is a line of a plan that gives a key, behind any # or none.
var keyWithValue = regexp.MustCompile(`^([ #]*)(- )?([a-z_]+):(?: +(.*))?$`)

// prose tells whether a line is a comment that is no key.
func prose(line string) bool {
	text, found := strings.CutPrefix(strings.TrimLeft(line, " "), "#")
	return found && strings.TrimLeft(text, " #") != "" && !keyWithValue.MatchString(line)
}

// A toldKey is a key that a plan tells, in use or behind a #, by the keys that lead to it.
type toldKey struct {
	path      []string
	explained bool // beside it, or right above or under it
	line      string
}

// toldKeys lists the keys of a plan as a person reads it, who takes the # away.
func toldKeys(t *testing.T, text string) (told []toldKey) {
	t.Helper()
	type open struct {
		column int
		path   []string
	}
	var above []open
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		m := keyWithValue.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		column := strings.Count(m[1], " ") + len(m[2])
		for len(above) > 0 && above[len(above)-1].column >= column {
			above = above[:len(above)-1]
		}
		var path []string
		if len(above) > 0 {
			path = above[len(above)-1].path
		}
		path = append(slices.Clone(path), m[3])
		above = append(above, open{column, path})
		beside := strings.Contains(m[4], "# ") || i > 0 && prose(lines[i-1]) || i+1 < len(lines) && prose(lines[i+1])
		told = append(told, toldKey{path, beside, line})
		var value any
		if err := yaml.Unmarshal([]byte(m[4]), &value); err != nil {
			continue // prose that looks like a key
		}
		var inside func(v any, path []string)
		inside = func(v any, path []string) {
			switch v := v.(type) {
			case []any:
				for _, one := range v {
					inside(one, path)
				}
			case map[string]any:
				for key, of := range v {
					sub := append(slices.Clone(path), key)
					told = append(told, toldKey{sub, beside, line})
					inside(of, sub)
				}
			}
		}
		inside(value, path)
	}
	return told
}

// TestNewTellsEveryKeyWhereItStands: each key of each block of the schema stands in every
// kind of plan in a place where the plan may have it, and nowhere else; and each is
// explained where it stands, or where one of its name does.
func TestNewTellsEveryKeyWhereItStands(t *testing.T) {
	keys, find := schemaKeys(t)
	require.Greater(t, len(keys), 250)
	for name, text := range newTexts(t) {
		got, explained := map[keyAt]bool{}, map[string]bool{}
		for _, k := range toldKeys(t, text) {
			if k.path[0] == "person" && len(k.path) > 1 {
				continue // keys of the user's own
			}
			at, known := find(k.path)
			if assert.True(t, known, "%s: the plan has no key %v: %q", name, k.path, k.line) {
				got[at] = true
				explained[at.key] = explained[at.key] || k.explained
			}
		}
		for _, key := range keys {
			assert.True(t, got[key], "%s: no line tells %s of %s", name, key.key, key.block)
			if key.block == "plan.traveller.time_factors" || key.block == "plan.traveller.walkers" {
				continue // the line of the block explains them
			}
			assert.True(t, explained[key.key], "%s: %s is nowhere explained, as in %s", name, key.key, key.block)
		}
	}
}
