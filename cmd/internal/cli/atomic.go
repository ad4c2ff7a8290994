package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"
)

// A File is one file of an output folder. Files are written at the same time: what one
// writes must not change what another reads.
type File struct {
	Name  string
	Write func(w io.Writer) error
}

// lastFile is moved into its place after all others, so that whoever sees it
// sees the whole set.
const lastFile = "result.json"

// WriteFolder writes the files into dir: first all of them into a temporary
// folder beside it, then by renaming each into its place, result.json last.
// Other files in dir are left alone, but for those that the result.json there lists
// as written with it and that are not written now. A dir that holds one of the inputs is
// refused as a fault of the command line; when anything fails before the
// renaming starts, dir stays as it was.
func WriteFolder(ctx context.Context, dir string, inputs []string, files []File) error {
	if held, ok := holds(dir, inputs); ok {
		return &UsageError{
			Message: fmt.Sprintf("the output folder %s holds the input %s", dir, held),
			Text:    dir, Advice: "choose another folder with -o",
		}
	}
	temp, err := tempBeside(dir)
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	if err := writeAll(ctx, temp, files); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return &outputError{err}
	}
	gone := stale(dir, files)
	// An old result.json beside new files would tell of a set that is not there.
	if err := os.Remove(filepath.Join(dir, lastFile)); err != nil && !os.IsNotExist(err) {
		return &outputError{err}
	}
	ordered := slices.Clone(files)
	slices.SortStableFunc(ordered, func(x, y File) int { return last(x) - last(y) })
	for _, path := range gone {
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			return &outputError{err}
		}
	}
	for _, f := range ordered {
		if err := os.Rename(filepath.Join(temp, f.Name), filepath.Join(dir, f.Name)); err != nil {
			return &outputError{err}
		}
	}
	return nil
}

// last ranks the file that is moved after all others.
func last(f File) int {
	if f.Name == lastFile {
		return 1
	}
	return 0
}

// WriteFile writes one file so that it appears whole or not at all. A path
// that is one of the inputs is refused as a fault of the command line. A file that is
// written over keeps its permissions.
func WriteFile(path string, inputs []string, write func(w io.Writer) error) error {
	out, old := os.Stat(path)
	if old == nil {
		for _, in := range inputs {
			if i, err := os.Stat(in); err == nil && os.SameFile(i, out) {
				return &UsageError{
					Message: fmt.Sprintf("the output %s is the input %s", path, in),
					Text:    path, Advice: "choose another file with -o",
				}
			}
		}
	}
	temp, err := tempBeside(path)
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	name := filepath.Join(temp, filepath.Base(path))
	if err := writeOne(name, write); err != nil {
		return err
	}
	if old == nil {
		if err := os.Chmod(name, out.Mode().Perm()); err != nil {
			return &outputError{err}
		}
	}
	if err := os.Rename(name, path); err != nil {
		return &outputError{err}
	}
	return nil
}

// tempBeside makes a temporary folder on the same file system as path.
func tempBeside(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", &outputError{err}
	}
	parent := filepath.Dir(abs)
	if err := os.MkdirAll(parent, 0o777); err != nil {
		return "", &outputError{err}
	}
	temp, err := os.MkdirTemp(parent, ".farhail-")
	if err != nil {
		return "", &outputError{err}
	}
	return temp, nil
}

// writeAll writes files into a folder, with the folders that their names hold: as many at
// the same time as there are processors, begun in their order. Of several that fail it
// returns the error of the first.
func writeAll(ctx context.Context, dir string, files []File) error {
	faults := make([]error, len(files))
	workers, going := errgroup.WithContext(ctx)
	workers.SetLimit(runtime.GOMAXPROCS(0))
	for i, f := range files {
		if going.Err() != nil {
			break
		}
		workers.Go(func() error {
			faults[i] = writeInto(dir, f)
			return faults[i]
		})
	}
	if workers.Wait() != nil {
		return faults[slices.IndexFunc(faults, func(err error) bool { return err != nil })]
	}
	return ctx.Err()
}

func writeInto(dir string, f File) error {
	name := filepath.Join(dir, filepath.FromSlash(f.Name))
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return &outputError{err}
	}
	return writeOne(name, f.Write)
}

func writeOne(name string, write func(w io.Writer) error) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return &outputError{err}
	}
	defer func() {
		if e := f.Close(); e != nil && err == nil {
			err = &outputError{e}
		}
	}()
	w := bufio.NewWriter(f)
	if err := write(w); err != nil {
		return &outputError{fmt.Errorf("%s: %w", filepath.Base(name), err)}
	}
	if err := w.Flush(); err != nil {
		return &outputError{err}
	}
	return nil
}

// holds returns the first input that lies in dir, or is it, however the paths
// are written.
func holds(dir string, inputs []string) (string, bool) {
	folder, err := os.Stat(dir)
	if err != nil {
		return "", false // a folder that is not there yet holds nothing
	}
	for _, in := range inputs {
		path, err := filepath.Abs(in)
		if err != nil {
			continue
		}
		if real, err := filepath.EvalSymlinks(path); err == nil {
			path = real
		}
		for {
			if info, err := os.Stat(path); err == nil && os.SameFile(info, folder) {
				return in, true
			}
			up := filepath.Dir(path)
			if up == path {
				break
			}
			path = up
		}
	}
	return "", false
}
