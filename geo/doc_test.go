package geo

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The table and the levels of the package comment hold for the packages that
// there are.
func TestDocumentation(t *testing.T) {
	source, err := os.ReadFile("doc.go")
	require.NoError(t, err)
	level := map[string]int{}
	for _, m := range regexp.MustCompile(`(?m)^//\tlevel (\d)   (.*)$`).FindAllStringSubmatch(string(source), -1) {
		n, err := strconv.Atoi(m[1])
		require.NoError(t, err)
		for _, name := range strings.Fields(m[2]) {
			level[name] = n
		}
	}
	entries, err := os.ReadDir(".")
	require.NoError(t, err)
	for _, e := range entries {
		if !e.IsDir() {
			continue
		}
		assert.Regexp(t, `(?m)^//\t.* geo/`+e.Name()+`$`, string(source), "%s is missing in the table", e.Name())
		if e.Name() == "geotest" {
			continue
		}
		require.Contains(t, level, e.Name(), "%s has no level", e.Name())
		for _, imported := range imports(t, e.Name()) {
			assert.Less(t, level[imported], level[e.Name()], "%s imports %s", e.Name(), imported)
		}
	}
}

// imports lists the packages of geo that the code of one of them imports, tests
// left out.
func imports(t *testing.T, pkg string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(pkg, "*.go"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var list []string
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, spec := range f.Imports {
			path, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			if under, ok := strings.CutPrefix(path, "farhail/geo/"); ok {
				list = append(list, under)
			}
		}
	}
	return list
}
