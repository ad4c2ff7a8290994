package cli

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWriteNewFolder(t *testing.T) {
	text := func(s string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
	}
	root := t.TempDir()
	dir := filepath.Join(root, "out")
	files := []File{{"a/one.txt", text("1")}, {"b/c/two.txt", text("2")}}
	require.NoError(t, WriteNewFolder(context.Background(), dir, []string{"a"}, files))
	data, err := os.ReadFile(filepath.Join(dir, "b", "c", "two.txt"))
	require.NoError(t, err)
	require.Equal(t, "2", string(data))
	info, err := os.Stat(filepath.Join(dir, "a"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), info.Mode().Perm())

	// What is there is never touched.
	var usage *UsageError
	require.ErrorAs(t, WriteNewFolder(context.Background(), dir, nil, files), &usage)
	require.ErrorAs(t, WriteNewFolder(context.Background(), filepath.Join(dir, "b", "c", "two.txt"), nil, files), &usage)

	// A failure leaves nothing, not even the temporary folder.
	broken := append(files, File{"b/three.txt", func(io.Writer) error { return errors.New("no") }})
	other := filepath.Join(root, "other")
	require.Error(t, WriteNewFolder(context.Background(), other, nil, broken))
	list, err := os.ReadDir(root)
	require.NoError(t, err)
	require.Len(t, list, 1)

	require.NoError(t, os.Mkdir(other, 0o700))
	require.NoError(t, WriteNewFolder(context.Background(), other, nil, files), "an empty folder is taken")
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, WriteNewFolder(stopped, filepath.Join(root, "third"), nil, files), context.Canceled)
}
