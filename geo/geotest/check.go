package geotest

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Kinds of figures in a check file.
const (
	Published   = "published"
	Independent = "independent"
	Formula     = "formula"
)

// A Row is one line of a check file: input fields and what they must give.
type Row struct {
	Line int      // line in the file, from 1
	In   []string // input fields
	Want []string // expected fields; for a failing row the word in the error
}

// A File is a check file as read.
type File struct {
	Name                      string
	Title, Source, Read, Kind string
	Columns                   string
	Tolerances                []Tolerance
	Rows, Fails               []Row
}

// A Tolerance says how far a value may be from the expected one.
type Tolerance struct {
	Value    float64
	Relative bool // Value is a fraction of the expected value
	Wrap     bool // both are angles in degrees, compared around the circle
	Exact    bool // compared as text
}

// Check reads the check file NAME.check and runs eval on every row, comparing
// each value (float64, int or string) with the expected column; rows under
// "fails:" must give an error that contains the expected word.
func Check(t *testing.T, name string, eval func(in []string) ([]any, error)) {
	t.Helper()
	f, err := ReadCheck(filepath.Join(Root(t), "testdata", "check", name+".check"))
	require.NoError(t, err)
	for _, row := range f.Rows {
		t.Run(fmt.Sprintf("%s:%d", name, row.Line), func(t *testing.T) {
			got, err := eval(row.In)
			require.NoError(t, err, "input %q", row.In)
			require.Len(t, got, len(row.Want), "columns %s", f.Columns)
			for i, want := range row.Want {
				if msg := f.Tolerances[i].Compare(got[i], want); msg != "" {
					t.Errorf("%s:%d: input %q column %d: %s (source: %s)", name, row.Line, row.In, i+1, msg, f.Source)
				}
			}
		})
	}
	for _, row := range f.Fails {
		t.Run(fmt.Sprintf("%s:%d", name, row.Line), func(t *testing.T) {
			_, err := eval(row.In)
			require.Error(t, err, "input %q", row.In)
			require.Contains(t, err.Error(), strings.Join(row.Want, " "))
		})
	}
}

// Numbers reads the input fields of a row that are all numbers; one that is not
// fails the test.
func Numbers(t testing.TB, in []string) []float64 {
	t.Helper()
	out := make([]float64, len(in))
	for i, s := range in {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		out[i] = v
	}
	return out
}

// Compare returns "" where got is within the tolerance of want, otherwise what
// differs. "-" as the expected text stands for a column that is not checked.
func (tol Tolerance) Compare(got any, want string) string {
	if want == "-" {
		return ""
	}
	if s, ok := got.(string); ok || tol.Exact {
		if !ok {
			s = fmt.Sprint(got)
		}
		if s != want {
			return fmt.Sprintf("got %q, want %q", s, want)
		}
		return ""
	}
	var g float64
	switch v := got.(type) {
	case float64:
		g = v
	case int:
		g = float64(v)
	default:
		return fmt.Sprintf("got a %T, want a number", got)
	}
	w, err := strconv.ParseFloat(want, 64)
	if err != nil {
		return fmt.Sprintf("expected value %q is not a number", want)
	}
	diff, limit := math.Abs(g-w), tol.Value
	if tol.Wrap {
		diff = math.Abs(math.Remainder(g-w, 360))
	}
	if tol.Relative {
		limit = tol.Value * math.Abs(w)
	}
	// Written so that a NaN on either side fails.
	if diff <= limit || math.IsNaN(g) && math.IsNaN(w) {
		return ""
	}
	return fmt.Sprintf("got %.10g, want %.10g within %.3g", g, w, limit)
}

// ReadCheck reads one check file and refuses one without a source.
func ReadCheck(path string) (*File, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	f := &File{Name: strings.TrimSuffix(filepath.Base(path), ".check")}
	head := map[string]*string{"title": &f.Title, "source": &f.Source, "read": &f.Read, "kind": &f.Kind, "columns": &f.Columns}
	var tolerance string
	head["tolerance"] = &tolerance
	var section *[]Row
	var last *string
	for i, line := range strings.Split(string(data), "\n") {
		n := i + 1
		text := strings.TrimSpace(line)
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		if text == "rows:" {
			section = &f.Rows
			continue
		}
		if text == "fails:" {
			section = &f.Fails
			continue
		}
		if section == nil {
			if strings.HasPrefix(line, "  ") && last != nil {
				*last += " " + text
				continue
			}
			key, value, found := strings.Cut(text, ":")
			if !found || head[key] == nil {
				return nil, fmt.Errorf("%s:%d: unknown header %q", path, n, text)
			}
			last = head[key]
			*last = strings.TrimSpace(value)
			continue
		}
		in, want, found := strings.Cut(text, "->")
		if !found {
			return nil, fmt.Errorf("%s:%d: no '->' in %q", path, n, text)
		}
		*section = append(*section, Row{Line: n, In: fields(in), Want: fields(want)})
	}
	if f.Tolerances, err = parseTolerances(tolerance); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return f, f.validate(path)
}

func (f *File) validate(path string) error {
	for _, h := range []struct{ name, value string }{{"source", f.Source}, {"read", f.Read}, {"columns", f.Columns}} {
		if h.value == "" {
			return fmt.Errorf("%s: no %s", path, h.name)
		}
	}
	if f.Kind != Published && f.Kind != Independent && f.Kind != Formula {
		return fmt.Errorf("%s: kind %q is not published, independent or formula", path, f.Kind)
	}
	if len(f.Rows)+len(f.Fails) == 0 {
		return fmt.Errorf("%s: no rows", path)
	}
	for _, r := range f.Rows {
		if len(r.Want) != len(f.Tolerances) {
			return fmt.Errorf("%s:%d: %d expected values, %d tolerances", path, r.Line, len(r.Want), len(f.Tolerances))
		}
	}
	return nil
}

func parseTolerances(s string) ([]Tolerance, error) {
	var list []Tolerance
	for _, part := range strings.Split(s, ",") {
		words := strings.Fields(part)
		if len(words) == 0 {
			return nil, fmt.Errorf("no tolerance")
		}
		if words[0] == "exact" {
			list = append(list, Tolerance{Exact: true})
			continue
		}
		v, err := strconv.ParseFloat(words[0], 64)
		if err != nil || v < 0 {
			return nil, fmt.Errorf("tolerance %q is not a number", part)
		}
		tol := Tolerance{Value: v}
		for _, w := range words[1:] {
			switch w {
			case "%":
				tol.Relative, tol.Value = true, v/100
			case "wrap":
				tol.Wrap = true
			}
		}
		list = append(list, tol)
	}
	return list, nil
}

func fields(s string) []string {
	if !strings.Contains(s, "|") {
		return strings.Fields(s)
	}
	var list []string
	for _, p := range strings.Split(s, "|") {
		list = append(list, strings.TrimSpace(p))
	}
	return list
}

// Floats converts input fields to numbers.
func Floats(in []string) ([]float64, error) {
	list := make([]float64, len(in))
	for i, s := range in {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return nil, err
		}
		list[i] = v
	}
	return list, nil
}
