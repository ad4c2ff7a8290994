package geotest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryCheckFileHasASource reads every check file of the project and
// counts its values by the project's rule: of one table at most 8 rows count,
// and rows computed from a formula may be at most half of the sum.
func TestEveryCheckFileHasASource(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(Root(t), "testdata", "check", "*.check"))
	require.NoError(t, err)
	read, formula := 0, 0
	sources := map[string]bool{}
	for _, p := range paths {
		f, err := ReadCheck(p)
		require.NoError(t, err)
		n := min(8, len(f.Rows))
		sources[f.Source] = true
		if f.Kind == Formula {
			formula += n
		} else {
			read += n
		}
	}
	t.Logf("check values that count: %d read or independent, %d from formulas, %d sources", read, formula, len(sources))
	counted := read + min(formula, read)
	require.GreaterOrEqual(t, counted, 50, "read or independent %d, formula %d", read, formula)
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
