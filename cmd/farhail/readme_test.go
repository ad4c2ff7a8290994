package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/geo/geotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestReadmeShowsTrueOutput runs every command of README.md that is shown with
// its output and compares the two.
func TestReadmeShowsTrueOutput(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(geotest.Root(t), "README.md"))
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	shown := 0
	for _, block := range strings.Split(string(data), "```console\n")[1:] {
		block, _, found := strings.Cut(block, "```")
		require.True(t, found)
		for _, session := range strings.Split("\n"+block, "\n$ farhail ")[1:] {
			line, want, _ := strings.Cut(session, "\n")
			shown++
			var stdout, stderr bytes.Buffer
			code := run(context.Background(), splitWords(line), strings.NewReader(""), &stdout, &stderr)
			assert.Equal(t, cli.ExitDone, code, "farhail %s: %s", line, stderr.String())
			assert.Equal(t, strings.TrimRight(want, "\n"), strings.TrimRight(stdout.String(), "\n"), "farhail %s", line)
		}
	}
	assert.GreaterOrEqual(t, shown, 3, "commands shown with their output")
}

// splitWords splits a command line at blanks outside double quotes.
func splitWords(line string) []string {
	var words []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, part)
			continue
		}
		words = append(words, strings.Fields(part)...)
	}
	return words
}
