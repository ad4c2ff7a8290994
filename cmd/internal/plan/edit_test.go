package plan

import (
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const edited = `# A search.
title: "Walker # one"   # who
version: 1
hours: ["2026-11-24T14:30:00-01:00",  "2026-11-24T21:00:00-01:00"] # both
weather:
  visibility: 20 km     # MOR

  # how light bends
  refraction: 0.13
starts:
  - name: sheepfold gate
    kind: last-seen
    position: "46.00751 -20.01161"
    error: 100 m

  # superseded
  - {name: ford, kind: planning, position: "46 -20"}
traveller:
  log:
  walkers:
    slow: 0.6 # of the rule
    usual: 1
sheet: {paper: A4}
#medical: nobody
`

func TestEdit(t *testing.T) {
	for _, c := range []struct {
		name     string
		change   Change
		old, new string // what the text holds then in the place of old
	}{
		{"a quoted text, its comment stays", Change{"title", "Two: walkers"}, `"Walker # one"   # who`, `"Two: walkers"   # who`},
		{"a quantity", Change{"weather.visibility", "5 km"}, "20 km     # MOR", "5 km     # MOR"},
		{"an item's key", Change{"starts[0].position", "46.1 -20.2"}, `"46.00751 -20.01161"`, `"46.1 -20.2"`},
		{"in braces", Change{"starts[1].kind", "last-known"}, "kind: planning", "kind: last-known"},
		{"in brackets", Change{"hours[1]", "2026-11-25T07:00:00-01:00"}, `"2026-11-24T21:00:00-01:00"]`, `"2026-11-25T07:00:00-01:00"]`},
		{"a key that had no value", Change{"traveller.log", "log.txt"}, "  log:\n", "  log: log.txt\n"},
		{"a new key of a block stands behind its last", Change{"weather.cloud", "broken"}, "refraction: 0.13\n", "refraction: 0.13\n  cloud: broken\n"},
		{"a new key in braces", Change{"sheet.scale", "1:25000"}, "{paper: A4}", `{paper: A4, scale: "1:25000"}`},
		{"a new key of the plan", Change{"radio", "channel 4"}, "sheet: {paper: A4}\n", "sheet: {paper: A4}\nradio: channel 4\n"},
		{"a new block", Change{"looking.eye_height", "1.6 m"}, "sheet: {paper: A4}\n", "sheet: {paper: A4}\nlooking:\n  eye_height: 1.6 m\n"},
		{"a new item", Change{"starts[2]", []Field{{"name", "mill"}, {"kind", "planning"}, {"position", "46.02 -20.01"}}},
			`position: "46 -20"}` + "\n", `position: "46 -20"}` + "\n  - name: mill\n    kind: planning\n    position: \"46.02 -20.01\"\n"},
		{"a new list", Change{"traveller.signals[0]", []Field{{"name", "lamp"}, {"light", "90 cd"}}},
			"    usual: 1\n", "    usual: 1\n  signals:\n    - name: lamp\n      light: 90 cd\n"},
		{"a new item in brackets", Change{"hours[2]", "2026-11-25T07:00:00-01:00"}, `21:00:00-01:00"]`, `21:00:00-01:00", "2026-11-25T07:00:00-01:00"]`},
		{"a block in place of a value", Change{"title", []Field{{"a", "b"}}}, ` "Walker # one"   # who`, "\n  a: b   # who"},
		{"a value in place of a block", Change{"weather", "fine"}, "\n  visibility: 20 km     # MOR\n\n  # how light bends\n  refraction: 0.13\n", " fine\n"},
		{"a key taken away", Change{"weather.visibility", nil}, "  visibility: 20 km     # MOR\n", ""},
		{"the first key behind a dash", Change{"starts[0].name", nil}, "- name: sheepfold gate\n    kind", "- kind"},
		{"an item taken away", Change{"starts[0]", nil}, "  - name: sheepfold gate\n    kind: last-seen\n    position: \"46.00751 -20.01161\"\n    error: 100 m\n", ""},
		{"an item in brackets", Change{"hours[0]", nil}, `["2026-11-24T14:30:00-01:00",  "`, `["`},
		{"in braces, taken away", Change{"starts[1].kind", nil}, "ford, kind: planning,", "ford,"},
		{"what YAML would take for something else", Change{"title", "yes"}, `"Walker # one"`, `"yes"`},
		{"a word of every script", Change{"title", "Ærø, <b> & \"x\""}, `"Walker # one"`, `"Ærø, <b> & \"x\""`},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(edited, c.old))
			for _, newline := range []string{"\n", "\r\n"} {
				in := func(s string) string { return strings.ReplaceAll(s, "\n", newline) }
				src := in(edited)
				s, err := Edit([]byte(src), c.change)
				require.NoError(t, err)
				got, err := s.Apply([]byte(src))
				require.NoError(t, err)
				assert.Equal(t, in(strings.Replace(edited, c.old, c.new, 1)), string(got))
				back, err := s.Back().Apply(got)
				require.NoError(t, err)
				assert.Equal(t, src, string(back))
			}
		})
	}
}

func TestEditRefuses(t *testing.T) {
	for _, c := range []struct {
		name, src string
		change    Change
		want      error
	}{
		{"a path that is none", edited, Change{"a b", "x"}, ErrNoPlace},
		{"an item of the plan itself", edited, Change{"[0]", "x"}, ErrNoPlace},
		{"an item beyond the next", edited, Change{"starts[3]", "x"}, ErrNoPlace},
		{"a key of a value", edited, Change{"title.x", "y"}, ErrNoPlace},
		{"taking away what is not there", edited, Change{"radio", nil}, ErrNoPlace},
		{"the last of its block", edited, Change{"sheet.paper", nil}, ErrNoPlace},
		{"not YAML", "a: [", Change{"a", "x"}, ErrForm},
		{"no plan", "- a\n- b\n", Change{"a", "x"}, ErrForm},
		{"two documents", "a: b\n---\nc: d\n", Change{"a", "x"}, ErrForm},
		{"an anchor", "a: &x b\nc: *x\n", Change{"a", "x"}, ErrForm},
		{"a value that no plan holds", edited, Change{"title", 1.5}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Edit([]byte(c.src), c.change)
			require.Error(t, err)
			if c.want != nil {
				assert.ErrorIs(t, err, c.want)
			}
		})
	}
	_, err := Splice{3, "abc", "x"}.Apply([]byte("0123456"))
	assert.ErrorIs(t, err, ErrMoved)
	_, err = Splice{9, "", "x"}.Apply([]byte("0123456"))
	assert.ErrorIs(t, err, ErrMoved)
}

// places are the paths of a text's values and one past the end of each list.
func places(n *span, path string) []string {
	var list []string
	for i, e := range n.entries {
		at := path + "[" + strconv.Itoa(i) + "]"
		if n.kind == mappingSpan {
			at = strings.TrimPrefix(path+"."+e.key, ".")
		}
		list = append(list, at)
		if e.value != nil && e.value.kind != scalarSpan {
			list = append(list, places(e.value, at)...)
		}
	}
	if n.kind == sequenceSpan {
		return append(list, path+"["+strconv.Itoa(len(n.entries))+"]")
	}
	return append(list, strings.TrimPrefix(path+".new_key", "."))
}

// someValue is a value that an edit writes.
func someValue(rng *rand.Rand) any {
	texts := []string{"x", "20 km", "yes", "", " a", "a: b", "a #b", "#", "'", `"`, "é 日", "- a", "[", "46.1 -20.2", "1.5", "tab\there", "line\nbreak", "null", "\u2028", "|", "&a"}
	text := func() string { return texts[rng.IntN(len(texts))] }
	switch rng.IntN(6) {
	case 0:
		return nil
	case 1:
		return rng.IntN(2) == 0
	case 2:
		return []string{text(), text()}
	case 3:
		return []Field{{"name", text()}, {"inner", []Field{{"a", text()}}}, {"list", []string{text()}}}
	}
	return text()
}

// editAtRandom makes random changes of a text, checks each, and undoes them all.
func editAtRandom(t *testing.T, src []byte, seed uint64) (made int) {
	rng := rand.New(rand.NewPCG(seed, 1))
	now := src
	var done []Splice
	for range 12 {
		root := scan(string(now))
		if root == nil {
			break
		}
		all := places(root, "")
		s, err := Edit(now, Change{all[rng.IntN(len(all))], someValue(rng)})
		if err != nil {
			continue
		}
		next, err := s.Apply(now)
		require.NoError(t, err)
		assert.Equal(t, len(now)-len(s.Old)+len(s.New), len(next))
		_, err = parseTree(next)
		require.NoError(t, err, "an edit that cannot be read")
		now, done, made = next, append(done, s), made+1
	}
	for i := len(done) - 1; i >= 0; i-- {
		var err error
		now, err = done[i].Back().Apply(now)
		require.NoError(t, err)
	}
	assert.Equal(t, string(src), string(now))
	return made
}

func TestEditAndUndoGiveTheSameBytes(t *testing.T) {
	demo, err := os.ReadFile("../../farhail/demo/plan.yaml")
	require.NoError(t, err)
	for name, src := range map[string]string{"edited": edited, "demo": string(demo), "full": full} {
		made := 0
		for seed := range uint64(8) {
			made += editAtRandom(t, []byte(src), seed)
		}
		assert.Greater(t, made, 40, "%s: nearly all changes of a plan as people write it can be made", name)
	}
}

func FuzzEdit(f *testing.F) {
	f.Add([]byte(edited), uint64(1))
	f.Add([]byte("a: b"), uint64(2))
	f.Add([]byte("a:\n- b\n- c:\n    d\n  e: |\n   f\n\n   g\n"), uint64(3))
	f.Add([]byte("\uFEFF---\r\na: 'it''s'\r\nb: {c: [d, {e: f}], \"g\": }\r\n"), uint64(4))
	f.Add([]byte("a: plain\n  goes on\n  # not here\nb: \"two\n  lines\" # c\n"), uint64(5))
	f.Fuzz(func(t *testing.T, src []byte, seed uint64) { editAtRandom(t, src, seed) })
}
