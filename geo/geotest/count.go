package geotest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// atMost is how many rows of one table count.
const atMost = 8

// Counting returns how many rows stand in the check files whose names begin with
// one of the prefixes and a hyphen, at most 8 of a file: outside those that were
// printed in a source or computed by an independent program, formula those
// computed from a stated formula.
func Counting(t testing.TB, prefixes ...string) (outside, formula int) {
	t.Helper()
	dir := filepath.Join(Root(t), "testdata", "check")
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		for _, prefix := range prefixes {
			if !strings.HasPrefix(e.Name(), prefix+"-") {
				continue
			}
			f, err := ReadCheck(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
			n := min(len(f.Rows), atMost)
			if f.Kind == Formula {
				formula += n
			} else {
				outside += n
			}
		}
	}
	return outside, formula
}
