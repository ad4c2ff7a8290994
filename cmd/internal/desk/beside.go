package desk

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

// Backups is how many sessions' backups are kept.
const Backups = 20

// backupFolder lies beside the plan.
const backupFolder = ".farhail-backup"

// backup writes the plan as it was before the first edit of a session.
func (s *Store) backup() error {
	if s.saved {
		return nil
	}
	dir := filepath.Join(filepath.Dir(s.path), backupFolder)
	// The owner's alone: a plan may hold a person block.
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	name := s.now().UTC().Format("20060102T150405.000000000Z") + " " + filepath.Base(s.path)
	data := s.files[s.path]
	if err := cli.WriteFile(filepath.Join(dir, name), nil, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}); err != nil {
		return err
	}
	s.saved = true
	list, err := backups(s.path)
	if err != nil {
		return err
	}
	for len(list) > Backups {
		if err := os.Remove(list[0]); err != nil {
			return err
		}
		list = list[1:]
	}
	return nil
}

// backups returns the paths of a plan's backups, oldest first. Other files in the
// folder are not farhail's.
func backups(path string) ([]string, error) {
	dir := filepath.Join(filepath.Dir(path), backupFolder)
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var list []string
	for _, e := range entries {
		stamp, name, _ := strings.Cut(e.Name(), " ")
		if _, bad := time.Parse("20060102T150405.000000000Z", stamp); bad == nil && name == filepath.Base(path) && e.Type().IsRegular() {
			list = append(list, filepath.Join(dir, e.Name()))
		}
	}
	slices.Sort(list)
	return list, err
}

// ClearBackups removes the backups of a plan and returns how many there were.
func ClearBackups(path string) (int, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return 0, err
	}
	list, err := backups(path)
	if err != nil {
		return 0, err
	}
	for i, name := range list {
		if err := os.Remove(name); err != nil {
			return i, err
		}
	}
	// The folder goes when nothing else is in it.
	_ = os.Remove(filepath.Join(filepath.Dir(path), backupFolder))
	return len(list), nil
}

// notesFile is the log of decisions beside the plan.
const notesFile = "notes.txt"

// longestNote is the longest note [bytes].
const longestNote = 4000

// Note appends a decision to notes.txt beside the plan: when it was taken, when it was
// written, and the words, on one line. Lines are only ever added.
func (s *Store) Note(at time.Time, text string) error {
	text = strings.Join(strings.FieldsFunc(text, func(c rune) bool { return unicode.IsControl(c) || c == '\u2028' || c == '\u2029' }), " ")
	text = strings.TrimSpace(text)
	if text == "" || len(text) > longestNote {
		return fmt.Errorf("desk: a note has 1 to %d bytes", longestNote)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	f, err := os.OpenFile(filepath.Join(filepath.Dir(s.path), notesFile), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o666)
	if err != nil {
		return err
	}
	// One write, so that a line is there whole or not at all.
	_, err = fmt.Fprintf(f, "of %s, written %s: %s\n", at.Format(time.RFC3339), s.now().Format(time.RFC3339), text)
	return errors.Join(err, f.Close())
}

// largestNotes is the largest notes.txt that is read here [bytes].
const largestNotes = 16 << 20

// notes returns notes.txt, nothing where there is none.
func (s *Store) notes() ([]byte, error) {
	f, err := os.Open(filepath.Join(filepath.Dir(s.path), notesFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, largestNotes+1))
	if err == nil && len(data) > largestNotes {
		err = fmt.Errorf("%s: more than %d bytes", notesFile, largestNotes)
	}
	return data, err
}

// Notes returns the last notes, at most that many, oldest first.
func (s *Store) Notes(most int) ([]string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	data, err := s.notes()
	list := strings.Split(strings.TrimRight(string(data), "\r\n"), "\n")
	if list[0] == "" && len(list) == 1 {
		list = []string{}
	}
	return list[max(0, len(list)-most):], err
}

// Export writes a ZIP of all that was typed: the plan, changed by redact, its leg log and
// the notes. The files bear no time, so that the same files give the same bytes.
func (s *Store) Export(w io.Writer, redact func(text []byte) []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	z := zip.NewWriter(w)
	add := func(name string, data []byte) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		_, err = f.Write(data)
		return err
	}
	if err := add(filepath.Base(s.path), redact(s.files[s.path])); err != nil {
		return err
	}
	// A plan with faults has no log to be sure of.
	if p, err := plan.Read(s.with(nil), s.name); err == nil && p.Traveller.Log != "" {
		data, err := fs.ReadFile(s.with(nil), p.Traveller.Log)
		if err != nil {
			return err
		}
		if err := add("log-"+filepath.Base(p.Traveller.Log), data); err != nil {
			return err
		}
	}
	data, err := s.notes()
	if err != nil {
		return err
	}
	if data != nil {
		if err := add(notesFile, data); err != nil {
			return err
		}
	}
	return z.Close()
}

// Longest name of a file that is saved, and of its ending [characters].
const (
	longestName = 60
	longestExt  = 8
)

// Save writes a file that somebody handed in beside the plan, under a name made of
// the one it had: only letters, figures, dots, dashes and blanks are kept, no folder
// is left, and where there is a file of that name already a number is added. It
// returns the name. No file is ever written over.
func (s *Store) Save(name string, data []byte) (string, error) {
	stem, ext := cleanName(name)
	s.mu.Lock()
	defer s.mu.Unlock()
	dir := filepath.Dir(s.path)
	temp, err := os.CreateTemp(dir, ".farhail-")
	if err != nil {
		return "", err
	}
	defer os.Remove(temp.Name())
	_, err = temp.Write(data)
	if err := errors.Join(err, temp.Chmod(0o644), temp.Close()); err != nil {
		return "", err
	}
	for i := 1; i < 1000; i++ {
		name := stem + ext
		if i > 1 {
			name = fmt.Sprintf("%s-%d%s", stem, i, ext)
		}
		path := filepath.Join(dir, name)
		// The name is taken first, by a file that nobody else can have made, and the
		// whole file moved over that.
		taken, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		switch {
		case errors.Is(err, fs.ErrExist):
			continue
		case err != nil:
			return "", err
		}
		if err := errors.Join(taken.Close(), os.Rename(temp.Name(), path)); err != nil {
			return "", errors.Join(err, os.Remove(path))
		}
		return name, nil
	}
	return "", fmt.Errorf("desk: no free name for %s", stem+ext)
}

// reserved are names that mean something else on some machines.
var reserved = regexp.MustCompile(`^(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])$`)

// cleanName makes a safe name of one that came from outside, in two parts.
func cleanName(name string) (stem, ext string) {
	name = name[strings.LastIndexAny(name, `/\:`)+1:]
	var clean []rune
	for _, c := range name {
		if unicode.IsLetter(c) || unicode.IsDigit(c) || strings.ContainsRune("-_. ", c) {
			clean = append(clean, c)
		}
	}
	if e := []rune(filepath.Ext(string(clean))); len(e) > 1 && len(e) <= longestExt {
		clean, ext = clean[:len(clean)-len(e)], strings.ToLower(string(e))
	}
	if len(clean) > longestName {
		clean = clean[:longestName]
	}
	stem = strings.Trim(string(clean), ". ")
	if base, _, _ := strings.Cut(stem, "."); reserved.MatchString(base) {
		stem = "file-" + stem
	}
	if stem == "" {
		stem = "file"
	}
	return stem, ext
}
