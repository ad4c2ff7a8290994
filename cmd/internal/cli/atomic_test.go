package cli

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

func broken(w io.Writer) error {
	if _, err := io.WriteString(w, "half"); err != nil {
		return err
	}
	return errors.New("no more")
}

// names lists what is in a folder, hidden files too.
func namesIn(t *testing.T, dir string) []string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	list := []string{}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

func content(t *testing.T, path string) string {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}

func TestWriteFolder(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "deep", "out")
	ctx := context.Background()
	require.NoError(t, WriteFolder(ctx, dir, nil, []File{{"result.json", text("1")}, {"brief.txt", text("one")}}))
	require.Equal(t, []string{"brief.txt", "result.json"}, namesIn(t, dir))

	// A second run replaces its own names and leaves the user's files.
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.txt"), []byte("mine"), 0o600))
	require.NoError(t, WriteFolder(ctx, dir, nil, []File{{"brief.txt", text("two")}, {"result.json", text("2")}}))
	require.Equal(t, []string{"brief.txt", "mine.txt", "result.json"}, namesIn(t, dir))
	require.Equal(t, "two", content(t, filepath.Join(dir, "brief.txt")))

	// A run that fails while writing changes nothing and leaves nothing.
	err := WriteFolder(ctx, dir, nil, []File{{"brief.txt", text("three")}, {"result.json", broken}})
	require.ErrorContains(t, err, "writing result.json: no more")
	require.Equal(t, ExitFailed, ExitCode(err))
	require.Equal(t, "two", content(t, filepath.Join(dir, "brief.txt")))
	require.Equal(t, "2", content(t, filepath.Join(dir, "result.json")))

	// So does one that is stopped.
	stopped, stop := context.WithCancel(ctx)
	err = WriteFolder(stopped, dir, nil, []File{{"brief.txt", func(w io.Writer) error { stop(); return nil }}, {"result.json", text("3")}})
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, "two", content(t, filepath.Join(dir, "brief.txt")))
	require.Equal(t, []string{"out"}, namesIn(t, filepath.Dir(dir)), "no temporary folder is left")
}

// TestFirstFaultIsTold lets a later file fail before an earlier one: what is told does not
// depend on which was quicker.
func TestFirstFaultIsTold(t *testing.T) {
	if runtime.GOMAXPROCS(0) < 2 {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	}
	failed := make(chan struct{})
	slow := func(io.Writer) error { <-failed; return errors.New("slow") }
	quick := func(io.Writer) error { close(failed); return errors.New("quick") }
	dir := filepath.Join(t.TempDir(), "out")
	err := WriteFolder(context.Background(), dir, nil, []File{{"a.txt", slow}, {"b.txt", quick}, {"c.txt", text("c")}})
	require.ErrorContains(t, err, "writing a.txt: slow")
	require.NoDirExists(t, dir)
}

// TestResultIsWrittenLast makes a name that cannot be replaced: when moving
// the files fails half way, no result.json tells of a whole set.
func TestResultIsWrittenLast(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "result.json"), []byte("old"), 0o600))
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "brief.txt", "in the way"), 0o700))
	err := WriteFolder(context.Background(), dir, nil, []File{{"result.json", text("new")}, {"a.gpx", text("a")}, {"brief.txt", text("b")}})
	require.Equal(t, ExitFailed, ExitCode(err))
	require.Error(t, err)
	require.Equal(t, []string{"a.gpx", "brief.txt"}, namesIn(t, dir))
}

func TestWriteFolderRefusesOneThatHoldsAnInput(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "trip")
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "dem"), 0o700))
	plan := filepath.Join(dir, "plan.yaml")
	tile := filepath.Join(dir, "dem", "N42E001.hgt")
	outside := filepath.Join(top, "track.gpx")
	for _, f := range []string{plan, tile, outside} {
		require.NoError(t, os.WriteFile(f, nil, 0o600))
	}
	link := filepath.Join(top, "link")
	require.NoError(t, os.Symlink(dir, link))
	t.Chdir(top)
	for _, c := range []struct {
		dir, input string
		refused    bool
	}{
		{dir, plan, true},
		{dir, tile, true},
		{dir, filepath.Join(dir, "dem"), true},
		{dir, dir, true},
		{"trip", plan, true},
		{"./trip/../trip/", plan, true},
		{link, plan, true},
		{dir, filepath.Join(link, "plan.yaml"), true},
		{dir, outside, false},
		{filepath.Join(dir, "out"), plan, false},
		{filepath.Join(dir, "dem", "out"), filepath.Join(dir, "dem"), false},
		{filepath.Join(top, "new"), plan, false},
		{dir, filepath.Join(top, "trip2", "absent"), false},
	} {
		err := WriteFolder(context.Background(), c.dir, []string{outside, c.input}, []File{{"brief.txt", text("x")}})
		if !c.refused {
			require.NoError(t, err, "%s %s", c.dir, c.input)
			continue
		}
		require.ErrorContains(t, err, "holds the input", "%s %s", c.dir, c.input)
		require.Equal(t, ExitUsage, ExitCode(err))
	}
	// An output in the middle of the tree of inputs is told by its own name.
	err := WriteFolder(context.Background(), dir, []string{plan}, nil)
	require.EqualError(t, err, "the output folder "+dir+" holds the input "+plan)
}

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "rings.geojson")
	require.NoError(t, WriteFile(path, nil, text("one")))
	require.Equal(t, "one", content(t, path))
	err := WriteFile(path, []string{filepath.Join(dir, "other")}, broken)
	require.ErrorContains(t, err, "no more")
	require.Equal(t, "one", content(t, path))

	// Output and input are one file, whatever their names are.
	alias := filepath.Join(dir, "alias")
	require.NoError(t, os.Link(path, alias))
	for _, in := range []string{path, alias} {
		err = WriteFile(path, []string{in}, text("two"))
		require.Equal(t, ExitUsage, ExitCode(err))
		require.ErrorContains(t, err, "is the input")
	}
	require.Equal(t, "one", content(t, path))
	require.Equal(t, []string{"alias", "rings.geojson"}, namesIn(t, dir))

	require.Equal(t, ExitFailed, ExitCode(WriteFile(filepath.Join(path, "below a file"), nil, text("x"))))
}
