package cli

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestStaleFilesGo: what an earlier run wrote and this one does not is taken out, and
// nothing else, whatever a result.json there says.
func TestStaleFilesGo(t *testing.T) {
	text := func(s string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
	}
	root := t.TempDir()
	dir := filepath.Join(root, "out")
	require.NoError(t, os.Mkdir(dir, 0o700))
	put := func(name string) { require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("x"), 0o600)) }
	for _, name := range []string{"thesis.pdf", "next-1-ours.gpx.bak", "next-9-theirs.gpx", "trip.txt"} {
		put(name)
	}
	require.NoError(t, os.WriteFile(filepath.Join(root, "plan.gpx"), []byte("x"), 0o600))
	require.NoError(t, os.Symlink(filepath.Join(root, "plan.gpx"), filepath.Join(dir, "next-3-link.gpx")))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "next-4-folder.gpx"), 0o700))

	listed := `{"files": ["next-1-ours.gpx", "chance.tif", "brief.txt", "result.json",
		"thesis.pdf", "../plan.gpx", "next-3-link.gpx", "next-4-folder.gpx", "next-1-ours.gpx.bak", "out/trip.txt"]}`
	first := []File{{"next-1-ours.gpx", text("a")}, {"chance.tif", text("b")}, {"brief.txt", text("c")}, {"result.json", text(listed)}}
	require.NoError(t, WriteFolder(context.Background(), dir, nil, first))
	second := []File{{"next-1-others.gpx", text("a")}, {"brief.txt", text("d")}, {"result.json", text("{}")}}
	require.NoError(t, WriteFolder(context.Background(), dir, nil, second))
	names := func() (list []string) {
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		for _, e := range entries {
			list = append(list, e.Name())
		}
		return list
	}
	left := []string{"brief.txt", "next-1-others.gpx", "next-1-ours.gpx.bak", "next-3-link.gpx", "next-4-folder.gpx", "next-9-theirs.gpx", "result.json", "thesis.pdf", "trip.txt"}
	require.Equal(t, left, names(), "a party's file that nobody listed may be the user's own")
	_, err := os.Stat(filepath.Join(root, "plan.gpx"))
	require.NoError(t, err)

	// A result.json that is none takes nothing out.
	put("result.json")
	require.NoError(t, WriteFolder(context.Background(), dir, nil, []File{{"result.json", text("{}")}}))
	require.Equal(t, left, names())
}
