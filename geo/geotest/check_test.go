package geotest

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A tally is how many values of check files count by the project's rule: of one
// table at most 8 rows.
type tally struct {
	read    int // read in a source, or computed by an independent program
	formula int // computed from a formula
	sources map[string]bool
}

// tallyOf counts the check files whose names begin with one of the prefixes.
func tallyOf(t *testing.T, prefixes ...string) tally {
	paths, err := filepath.Glob(filepath.Join(Root(t), "testdata", "check", "*.check"))
	require.NoError(t, err)
	sum := tally{sources: map[string]bool{}}
	for _, p := range paths {
		f, err := ReadCheck(p)
		require.NoError(t, err)
		if !slices.ContainsFunc(prefixes, func(prefix string) bool { return strings.HasPrefix(f.Name, prefix) }) {
			continue
		}
		if n := min(8, len(f.Rows)); f.Kind == Formula {
			sum.formula += n
		} else {
			sum.read += n
			sum.sources[f.Source] = true
		}
	}
	t.Logf("check values that count: %d read or independent of %d sources, %d from formulas", sum.read, len(sum.sources), sum.formula)
	return sum
}

// TestEveryCheckFileHasASource reads every check file of the project and counts
// its values: rows computed from a formula may be at most half of the sum.
func TestEveryCheckFileHasASource(t *testing.T) {
	sum := tallyOf(t, "")
	require.GreaterOrEqual(t, sum.read+min(sum.formula, sum.read), 50)
}

// The model of seeing, from air and eye to sweep widths, is checked against at
// least 150 values of 30 sources, formulas not counted.
func TestSeeingIsChecked(t *testing.T) {
	sum := tallyOf(t, "air-", "observer-", "source-", "sighting-", "sweep-")
	require.GreaterOrEqual(t, sum.read, 150)
	require.GreaterOrEqual(t, len(sum.sources), 30)
}

// The check files of reckon, walk and prob together hold at least 90 values
// that were printed in a source or computed by another program, and more of
// them than of those computed from a formula.
func TestWaysAreChecked(t *testing.T) {
	sum := tallyOf(t, "reckon-", "walk-", "prob-")
	require.GreaterOrEqual(t, sum.read, 90)
	require.Greater(t, sum.read, sum.formula)
}

// Placing, sharing out effort, joint looks and the score of a surface are checked against
// at least 60 values that others computed or printed.
func TestPlacesAndEffortAreChecked(t *testing.T) {
	sum := tallyOf(t, "place-", "sweep-allocate", "sweep-assign", "sweep-pairs", "sweep-together", "sweep-ways", "prob-score")
	require.GreaterOrEqual(t, sum.read, 60)
}

func TestCheckFileFaults(t *testing.T) {
	good := "title: t\nsource: s\nread: r\nkind: published\ncolumns: a -> b\ntolerance: 1 m\nrows:\n1 -> 2\n"
	cases := []struct{ name, text, want string }{
		{"no source", strings.Replace(good, "source: s\n", "", 1), "no source"},
		{"no read", strings.Replace(good, "read: r\n", "", 1), "no read"},
		{"unknown kind", strings.Replace(good, "published", "guess", 1), "kind"},
		{"no tolerance", strings.Replace(good, "tolerance: 1 m\n", "", 1), "tolerance"},
		{"no arrow", good + "1 2\n", "no '->'"},
		{"too many columns", good + "1 -> 2 3\n", "2 expected values"},
		{"unknown header", "colour: red\n" + good, "unknown header"},
		{"no rows", strings.Replace(good, "1 -> 2\n", "", 1), "no rows"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "x.check")
			require.NoError(t, os.WriteFile(path, []byte(c.text), 0o600))
			_, err := ReadCheck(path)
			require.ErrorContains(t, err, c.want)
		})
	}
}

func TestCompare(t *testing.T) {
	cases := []struct {
		tolerance string
		got       any
		want      string
		ok        bool
	}{
		{"0.5 m", 10.4, "10", true},
		{"0.5 m", 10.6, "10", false},
		{"1 %", 101.0, "100", true},
		{"1 %", 102.0, "100", false},
		{"1 deg wrap", 359.5, "0.2", true},
		{"1 deg", 359.5, "0.2", false},
		{"exact", "31U", "31U", true},
		{"exact", "31U", "31V", false},
		{"1 m", nan(), "10", false},
		{"1 m", nan(), "NaN", true},
		{"1 m", 3, "-", true},
	}
	for _, c := range cases {
		tol, err := parseTolerances(c.tolerance)
		require.NoError(t, err)
		require.Equal(t, c.ok, tol[0].Compare(c.got, c.want) == "", "%s got %v want %s", c.tolerance, c.got, c.want)
	}
}

func nan() float64 { var zero float64; return zero / zero }
