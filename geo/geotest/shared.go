package geotest

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Root returns the module's top folder, found by walking up to go.mod.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	require.NoError(t, err)
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		require.NotEqual(t, dir, up, "no go.mod above the test's folder")
		dir = up
	}
}

// Shared returns the folder of shared data that lies beside the project, or
// where FARHAIL_SHARED points. Where it is absent the test is skipped, or
// fails when FARHAIL_REQUIRE_SHARED is 1, as the continuous checks set it.
func Shared(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("FARHAIL_SHARED")
	if dir == "" {
		dir = filepath.Join(filepath.Dir(Root(t)), "shared")
	}
	if _, err := os.Stat(filepath.Join(dir, "data", "REFERENCE.json")); err != nil {
		missing(t, "FARHAIL_REQUIRE_SHARED", "shared data not found: set FARHAIL_SHARED to its folder")
	}
	return dir
}

// Tool returns the path of a reference program, or skips the test where it is
// not installed; it fails when FARHAIL_REQUIRE_TOOLS is 1.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, "FARHAIL_REQUIRE_TOOLS", name+" is not installed")
	}
	return path
}

func missing(t testing.TB, require, message string) {
	t.Helper()
	if os.Getenv(require) == "1" {
		t.Fatal(message)
	}
	t.Skip(message)
}
