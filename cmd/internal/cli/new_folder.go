package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
)

// WriteNewFolder writes the files into a folder that is not there yet, or is empty:
// into a temporary one beside it, which is then renamed, so that the folder is there
// whole or not at all. Names of files may have folders in them, with slashes. Of these
// folders those that are named private can be entered by their owner alone. A folder
// that holds anything is refused as a fault of the command line.
func WriteNewFolder(ctx context.Context, dir string, private []string, files []File) error {
	switch held, err := os.ReadDir(dir); {
	case err == nil && len(held) > 0:
		return &UsageError{Message: fmt.Sprintf("the folder %s holds something", dir), Text: dir, Advice: "choose a new folder with -o"}
	case err != nil && !os.IsNotExist(err):
		return &UsageError{Message: err.Error(), Text: dir, Advice: "choose a new folder with -o"}
	}
	temp, err := tempBeside(dir)
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	if err := writeAll(ctx, temp, files); err != nil {
		return err
	}
	for _, p := range private {
		if err := os.Chmod(filepath.Join(temp, filepath.FromSlash(p)), 0o700); err != nil {
			return &outputError{err}
		}
	}
	if err := os.Chmod(temp, 0o755); err != nil { // a temporary folder is its owner's alone
		return &outputError{err}
	}
	if err := os.Remove(dir); err != nil && !os.IsNotExist(err) {
		return &outputError{err}
	}
	if err := os.Rename(temp, dir); err != nil {
		return &outputError{err}
	}
	return nil
}
