package desk

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"sync"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

// Errors of a [Store].
var (
	// ErrChanged says that a file is no longer as it was read: somebody else wrote it.
	ErrChanged = errors.New("desk: the file changed on disk")
	// ErrNothing says that there is nothing to undo or to do again.
	ErrNothing = errors.New("desk: nothing to undo or do again")
)

// mostSteps is how many edits can be undone.
const mostSteps = 500

// A Store is a plan file that is edited, with the files beside it. Its methods may
// be called at once from several goroutines.
type Store struct {
	name string // of the plan as it was given, which faults and results tell
	path string // of the plan
	now  func() time.Time

	mu     sync.Mutex
	files  map[string][]byte // as last read or written here, by path
	undo   []step
	redo   []step
	saved  bool // a backup of this session is there
	number int  // of edits made, undone and done again
}

// A step is one edit: splices of files in the order in which they were made.
type step struct {
	what    string // for people
	splices []fileSplice
}

type fileSplice struct {
	path string
	plan.Splice
}

// Open reads a plan to be edited. A plan that the strict reader refuses is opened too:
// edits may be what mends it. now tells the time of backups and notes.
func Open(name string, now func() time.Time) (*Store, error) {
	path, err := filepath.Abs(name)
	if err != nil {
		return nil, err
	}
	s := &Store{name: name, path: path, now: now, files: map[string][]byte{}}
	if _, err := s.read(path); err != nil {
		return nil, err
	}
	return s, nil
}

// Name returns the plan's file as it was given.
func (s *Store) Name() string { return s.name }

// Snapshot returns the number of the newest edit, and the files as they are then, on
// the disk: later edits do not reach it.
func (s *Store) Snapshot() (number int, fsys fs.FS) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.number, overlaid{maps.Clone(s.files), nil}
}

// largest is the largest file that is edited here: plans and leg logs.
const largest = 1 << 20

// read takes a file as it is on disk.
func (s *Store) read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, largest+1))
	if err != nil {
		return nil, err
	}
	if len(data) > largest {
		return nil, fmt.Errorf("%s: more than %d bytes", filepath.Base(path), largest)
	}
	s.files[path] = data
	return data, nil
}

// A State is what there is to show of a store.
type State struct {
	Number int    // of edits, so that a page sees whether it is behind
	Text   []byte // of the plan
	Undo   string // what undo would take back, "" for nothing
	Redo   string
}

// State returns what there is to show.
func (s *Store) State() State {
	s.mu.Lock()
	defer s.mu.Unlock()
	st := State{Number: s.number, Text: bytes.Clone(s.files[s.path])}
	if n := len(s.undo); n > 0 {
		st.Undo = s.undo[n-1].what
	}
	if n := len(s.redo); n > 0 {
		st.Redo = s.redo[n-1].what
	}
	return st
}

// Plan reads the plan as the store has it.
func (s *Store) Plan() (*plan.Plan, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return plan.Read(s.with(nil), s.name)
}

// Edit makes changes of the plan as one step and writes the file. what tells people
// what it was. Nothing is written where the plan cannot be read afterwards, unless it
// could not be read before either and the change brings no new kind of fault.
func (s *Store) Edit(what string, changes ...plan.Change) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	text := s.files[s.path]
	st := step{what: what}
	for _, c := range changes {
		splice, err := plan.Edit(text, c)
		if err != nil {
			return err
		}
		if text, err = splice.Apply(text); err != nil {
			return err
		}
		st.splices = append(st.splices, fileSplice{s.path, splice})
	}
	return s.do(st)
}

// Append adds a line to a text file that the plan names, a leg log, as one step. check
// reads the file as it would be and says whether it may be written.
func (s *Store) Append(what, path, line string, check func(data []byte) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	text, known := s.files[path]
	if !known {
		var err error
		if text, err = s.read(path); err != nil {
			return err
		}
	}
	newline := "\n"
	if bytes.Contains(text, []byte("\r\n")) {
		newline = "\r\n"
	}
	added := line + newline
	if len(text) > 0 && text[len(text)-1] != '\n' {
		added = newline + added
	}
	splice := plan.Splice{At: len(text), New: added}
	after, err := splice.Apply(text)
	if err != nil {
		return err
	}
	if err := check(after); err != nil {
		return err
	}
	return s.do(step{what, []fileSplice{{path, splice}}})
}

// do makes a new step: what was undone before it is forgotten.
func (s *Store) do(st step) error {
	if err := s.apply(st.splices, s.readable); err != nil {
		return err
	}
	s.undo, s.redo = append(s.undo, st), nil
	if len(s.undo) > mostSteps {
		s.undo = s.undo[1:]
	}
	return nil
}

// Undo takes the last step back, to the byte.
func (s *Store) Undo() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := len(s.undo)
	if n == 0 {
		return ErrNothing
	}
	st := s.undo[n-1]
	var back []fileSplice
	for i := len(st.splices) - 1; i >= 0; i-- {
		back = append(back, fileSplice{st.splices[i].path, st.splices[i].Back()})
	}
	if err := s.apply(back, asBefore); err != nil {
		return err
	}
	s.undo, s.redo = s.undo[:n-1], append(s.redo, st)
	return nil
}

// Redo makes the step again that was last taken back.
func (s *Store) Redo() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := len(s.redo)
	if n == 0 {
		return ErrNothing
	}
	st := s.redo[n-1]
	if err := s.apply(st.splices, asBefore); err != nil {
		return err
	}
	s.undo, s.redo = append(s.undo, st), s.redo[:n-1]
	return nil
}

// Reload takes the files as they are on disk now. What could be undone is
// forgotten, since it belongs to other bytes; the backup of the session stays.
func (s *Store) Reload() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for path := range s.files {
		if path != s.path {
			delete(s.files, path)
		}
	}
	if _, err := s.read(s.path); err != nil {
		return err
	}
	s.undo, s.redo = nil, nil
	s.number++
	return nil
}

// Changed returns [ErrChanged] where a file is no longer as it was read.
func (s *Store) Changed() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for path, data := range s.files {
		if err := same(path, data); err != nil {
			return err
		}
	}
	return nil
}

func same(path string, data []byte) error {
	now, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(now, data) {
		return fmt.Errorf("%w: %s", ErrChanged, filepath.Base(path))
	}
	return nil
}

// asBefore lets bytes be written that stood in the files before, whatever they say:
// a plan that had faults when it was opened can be gone back to.
func asBefore(map[string][]byte) error { return nil }

// apply makes splices and writes the files that they change. Nothing is written
// where a file changed on disk or may not become what it would be.
func (s *Store) apply(splices []fileSplice, may func(after map[string][]byte) error) error {
	after := map[string][]byte{}
	var order []string
	for _, sp := range splices {
		text, begun := after[sp.path]
		if !begun {
			text = s.files[sp.path]
			order = append(order, sp.path)
		}
		text, err := sp.Apply(text)
		if err != nil {
			return err
		}
		after[sp.path] = text
	}
	for _, path := range order {
		if err := same(path, s.files[path]); err != nil {
			return err
		}
	}
	if err := may(after); err != nil {
		return err
	}
	if err := s.backup(); err != nil {
		return err
	}
	for _, path := range order {
		// A link stays one: the file that it leads to is written.
		real, err := filepath.EvalSymlinks(path)
		if err != nil {
			return err
		}
		if err := cli.WriteFile(real, nil, func(w io.Writer) error {
			_, err := w.Write(after[path])
			return err
		}); err != nil {
			return err
		}
		s.files[path] = after[path]
	}
	s.number++
	return nil
}

// readable says whether the plan can be read with files as they would be. A plan
// that had faults before may keep as many, so that they can be mended one by one.
func (s *Store) readable(after map[string][]byte) error {
	_, err := plan.Read(s.with(after), s.name)
	if err == nil {
		return nil
	}
	_, before := plan.Read(s.with(nil), s.name)
	var now, then plan.Problems
	if errors.As(err, &now) && errors.As(before, &then) && len(now) <= len(then) {
		return nil
	}
	return err
}

// with is the file system with some files as the store has them, or as they would be.
func (s *Store) with(after map[string][]byte) fs.FS { return overlaid{s.files, after} }

// overlaid is the disk with files laid over it.
type overlaid struct{ under, over map[string][]byte }

func (o overlaid) Open(name string) (fs.File, error) {
	path, err := filepath.Abs(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	for _, files := range []map[string][]byte{o.over, o.under} {
		if data, ok := files[path]; ok {
			return held{bytes.NewReader(data), filepath.Base(path), int64(len(data))}, nil
		}
	}
	return cli.Disk.Open(name)
}

// held is a file in memory.
type held struct {
	*bytes.Reader
	name string
	size int64
}

func (h held) Stat() (fs.FileInfo, error) { return info{h.name, h.size}, nil }
func (h held) Close() error               { return nil }

type info struct {
	name string
	size int64
}

func (i info) Name() string       { return i.name }
func (i info) Size() int64        { return i.size }
func (i info) Mode() fs.FileMode  { return 0o444 }
func (i info) ModTime() time.Time { return time.Time{} }
func (i info) IsDir() bool        { return false }
func (i info) Sys() any           { return nil }
