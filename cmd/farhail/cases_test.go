package main

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/geotest"
)

// This file and its neighbours cases_*_test.go go through the shared list of
// faults of this kind of work. Every vector of it is run through the program, or
// by the package where the program cannot show it, or stands here with the test
// that runs it.

// A vector is one input of the list with its right answer.
type vector map[string]json.RawMessage

// text returns a value of the vector that is a text, "" for any other.
func (v vector) text(key string) string {
	var s string
	_ = json.Unmarshal(v[key], &s)
	return s
}

// number returns a value of the vector that is a number, NaN for any other.
func (v vector) number(key string) float64 {
	f := math.NaN()
	_ = json.Unmarshal(v[key], &f)
	return f
}

// part returns an object in the vector.
func (v vector) part(key string) vector {
	var p vector
	_ = json.Unmarshal(v[key], &p)
	return p
}

// numbers returns a list of numbers in the vector.
func (v vector) numbers(key string) []float64 {
	var list []float64
	_ = json.Unmarshal(v[key], &list)
	return list
}

// String returns the vector as JSON, with its signs as they are.
func (v vector) String() string {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(map[string]json.RawMessage(v)); err != nil {
		return err.Error()
	}
	return b.String()
}

// A caseRun runs one vector, or names the test that does.
type caseRun struct {
	has string // words of the vector, so that answers stay with their questions
	run func(t *testing.T, v vector)
	by  string // "geo/terrain TestX"
}

// caseRuns are the vectors of each case, in the order of the list.
func caseRuns() map[string][]caseRun {
	all := map[string][]caseRun{}
	for _, runs := range []map[string][]caseRun{gpxCases, geojsonCases, groundCases, positionCases, skyCases} {
		maps.Copy(all, runs)
	}
	return all
}

// TestCases: no vector of the list is left out.
func TestCases(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(geotest.Shared(t), "cases", "cases.json"))
	require.NoError(t, err)
	var file struct {
		Cases []struct {
			ID      string
			Vectors []vector
		}
	}
	require.NoError(t, json.Unmarshal(data, &file))
	runs := caseRuns()
	ran, named := 0, 0
	var ids []string
	for _, c := range file.Cases {
		ids = append(ids, c.ID)
		require.Len(t, runs[c.ID], len(c.Vectors), "runs of %s", c.ID)
		for i, v := range c.Vectors {
			r := runs[c.ID][i]
			t.Run(c.ID+"-"+strconv.Itoa(i), func(t *testing.T) {
				require.NotEmpty(t, r.has)
				require.Contains(t, v.String(), r.has, "the vector is another than the one answered here")
				if r.by != "" {
					named++
					requireTest(t, r.by)
					return
				}
				ran++
				r.run(t, v)
			})
		}
	}
	require.ElementsMatch(t, ids, slices.Collect(maps.Keys(runs)))
	t.Logf("%d vectors run here, %d by the tests that are named", ran, named)
}

// requireTest fails where a package has no test of that name.
func requireTest(t *testing.T, by string) {
	folder, name, ok := strings.Cut(by, " ")
	require.True(t, ok, by)
	files, err := filepath.Glob(filepath.Join(geotest.Root(t), folder, "*_test.go"))
	require.NoError(t, err)
	for _, file := range files {
		src, err := os.ReadFile(file)
		require.NoError(t, err)
		if strings.Contains(string(src), "\nfunc "+name+"(t *testing.T)") {
			return
		}
	}
	t.Errorf("no test %s in %s", name, folder)
}

// An answer is what the program said under --json.
type answer struct {
	code int
	v    any
	text string
}

// ask runs the program with --json.
func ask(t *testing.T, args ...string) answer {
	t.Helper()
	code, out, msg := farhail(append(args, "--json")...)
	a := answer{code: code, text: out + msg}
	require.NoError(t, json.Unmarshal([]byte(out), &a.v), a.text)
	return a
}

// get runs the program, which must not fail.
func get(t *testing.T, args ...string) answer {
	t.Helper()
	a := ask(t, args...)
	require.Equal(t, cli.ExitDone, a.code, a.text)
	return a
}

// absent is what an answer has where it has nothing, not even null.
type absent struct{}

// at returns the value at a path of keys and indices.
func (a answer) at(path string) any {
	v := a.v
	for _, key := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			of, found := x[key]
			if !found {
				return absent{}
			}
			v = of
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(x) {
				return absent{}
			}
			v = x[i]
		default:
			return absent{}
		}
	}
	return v
}

// number returns the number at a path, NaN where there is none.
func (a answer) number(path string) float64 {
	if f, ok := a.at(path).(float64); ok {
		return f
	}
	return math.NaN()
}

// fault runs the program, which must refuse its arguments or files with these
// words.
func fault(t *testing.T, code int, words []string, args ...string) {
	t.Helper()
	a := ask(t, args...)
	require.Equal(t, code, a.code, a.text)
	for _, w := range words {
		require.Contains(t, a.text, w)
	}
	require.NotNil(t, a.at("error.hint"), "what to do next")
}
