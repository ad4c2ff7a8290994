package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const small = `# A search.
version: 1
title: overdue # who
as_of: "2026-11-24T19:00:00-01:00"
starts:
  - name: gate
    kind: last-seen
    position: "46.00751 -20.01161"
    error: 100 m
    time: "2026-11-24T15:40:00-01:00"
traveller:
  log: log.txt
`

const leg = "start: 46.0 -20.0\n060 1000 m\n"

// clock is a time that goes on by a second each time it is asked.
func clock() func() time.Time {
	t := time.Date(2026, 11, 24, 20, 0, 0, 0, time.UTC)
	return func() time.Time { t = t.Add(time.Second); return t }
}

func open(t *testing.T) (*Store, string) {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), []byte(small), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(leg), 0o644))
	s, err := Open(filepath.Join(dir, "plan.yaml"), clock())
	require.NoError(t, err)
	return s, dir
}

func onDisk(t *testing.T, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	return string(data)
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var list []string
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

func TestEditsAreWrittenAndUndone(t *testing.T) {
	s, dir := open(t)
	first := s.State()
	assert.Equal(t, small, string(first.Text))
	assert.Empty(t, first.Undo)
	assert.NotContains(t, names(t, dir), backupFolder, "nothing is written before the first edit")

	require.NoError(t, s.Edit("move the gate", plan.Change{Path: "starts[0].position", Value: "46.1 -20.2"}, plan.Change{Path: "weather.visibility", Value: "5 km"}))
	want := strings.Replace(small, "46.00751 -20.01161", "46.1 -20.2", 1) + "weather:\n  visibility: 5 km\n"
	assert.Equal(t, want, onDisk(t, dir, "plan.yaml"))
	p, err := s.Plan()
	require.NoError(t, err)
	assert.Equal(t, 5000.0, p.Weather.VisibilityM)
	assert.Equal(t, "move the gate", s.State().Undo)
	assert.NotEqual(t, first.Number, s.State().Number)

	require.NoError(t, s.Append("a leg", filepath.Join(dir, "log.txt"), "090 500 m to the ford", func([]byte) error { return nil }))
	assert.Equal(t, leg+"090 500 m to the ford\n", onDisk(t, dir, "log.txt"))

	require.NoError(t, s.Undo())
	require.NoError(t, s.Undo())
	assert.Equal(t, small, onDisk(t, dir, "plan.yaml"))
	assert.Equal(t, leg, onDisk(t, dir, "log.txt"))
	assert.ErrorIs(t, s.Undo(), ErrNothing)
	require.NoError(t, s.Redo())
	assert.Equal(t, want, onDisk(t, dir, "plan.yaml"))
	require.NoError(t, s.Edit("title", plan.Change{Path: "title", Value: "two overdue"}))
	assert.ErrorIs(t, s.Redo(), ErrNothing, "a new step forgets what was undone")
}

func TestNothingUnreadableIsWritten(t *testing.T) {
	s, dir := open(t)
	for _, c := range []plan.Change{
		{Path: "starts[0].position", Value: "nowhere"},
		{Path: "starts[0].kind", Value: nil},
		{Path: "unknown", Value: "x"},
		{Path: "weather.visibility", Value: "20"},
	} {
		assert.Error(t, s.Edit("x", c), c.Path)
	}
	assert.Error(t, s.Edit("both or none", plan.Change{Path: "title", Value: "y"}, plan.Change{Path: "unknown", Value: "x"}))
	no := errors.New("no leg")
	assert.ErrorIs(t, s.Append("a leg", filepath.Join(dir, "log.txt"), "north a bit", func([]byte) error { return no }), no)
	assert.Equal(t, small, onDisk(t, dir, "plan.yaml"))
	assert.Equal(t, leg, onDisk(t, dir, "log.txt"))
	assert.Equal(t, []string{"log.txt", "plan.yaml"}, names(t, dir))
}

func TestAFaultyPlanIsMendedOneByOne(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "plan.yaml")
	faulty := "version: 1\ntitle: t\nas_of: \"2026-11-24T19:00:00-01:00\"\nseed: many\nstarts:\n  - name: a\n    kind: nothing\n    position: \"46 -20\"\n    error: 100 m\n    time: \"2026-11-24T15:40:00-01:00\"\n"
	require.NoError(t, os.WriteFile(path, []byte(faulty), 0o644))
	s, err := Open(path, clock())
	require.NoError(t, err)
	require.NoError(t, s.Edit("kind", plan.Change{Path: "starts[0].kind", Value: "planning"}))
	assert.Error(t, s.Edit("worse", plan.Change{Path: "unknown", Value: "x"}))
	require.NoError(t, s.Edit("seed", plan.Change{Path: "seed", Value: 7}))
	_, err = s.Plan()
	assert.NoError(t, err)
	require.NoError(t, s.Undo())
	require.NoError(t, s.Undo())
	assert.Equal(t, faulty, onDisk(t, dir, "plan.yaml"), "what was faulty before can be gone back to")
}

// TestModesAndLinksStay: a plan that only its owner may read stays so, with its
// backup, and one that is a link stays a link.
func TestModesAndLinksStay(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("modes and links are others there")
	}
	dir, other := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(other, "real.yaml"), []byte(strings.Replace(small, "log.txt", "real.txt", 1)), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "real.txt"), []byte(leg), 0o644))
	require.NoError(t, os.Symlink(filepath.Join(other, "real.yaml"), filepath.Join(dir, "plan.yaml")))
	s, err := Open(filepath.Join(dir, "plan.yaml"), clock())
	require.NoError(t, err)
	require.NoError(t, s.Edit("x", plan.Change{Path: "title", Value: "y"}))
	info, err := os.Lstat(filepath.Join(dir, "plan.yaml"))
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&fs.ModeSymlink)
	assert.Contains(t, onDisk(t, other, "real.yaml"), `title: "y"`)
	info, err = os.Stat(filepath.Join(other, "real.yaml"))
	require.NoError(t, err)
	assert.Equal(t, fs.FileMode(0o600), info.Mode().Perm())
	info, err = os.Stat(filepath.Join(dir, backupFolder))
	require.NoError(t, err)
	assert.Zero(t, info.Mode().Perm()&0o077, "backups hold the person block too")
}

func TestALogKeepsItsLineEnds(t *testing.T) {
	s, dir := open(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte("start: 46.0 -20.0\r\n060 1000 m"), 0o644))
	require.NoError(t, s.Append("a leg", filepath.Join(dir, "log.txt"), "090 500 m", func([]byte) error { return nil }))
	assert.Equal(t, "start: 46.0 -20.0\r\n060 1000 m\r\n090 500 m\r\n", onDisk(t, dir, "log.txt"))
}

func TestAChangeOnDiskIsAsked(t *testing.T) {
	s, dir := open(t)
	require.NoError(t, s.Changed())
	other := strings.Replace(small, "overdue", "found", 1)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), []byte(other), 0o644))
	assert.ErrorIs(t, s.Changed(), ErrChanged)
	assert.ErrorIs(t, s.Edit("x", plan.Change{Path: "title", Value: "y"}), ErrChanged)
	assert.Equal(t, other, onDisk(t, dir, "plan.yaml"), "what another wrote stays")
	require.NoError(t, s.Reload())
	assert.Equal(t, other, string(s.State().Text))
	require.NoError(t, s.Edit("x", plan.Change{Path: "title", Value: "y"}))
	require.NoError(t, os.Remove(filepath.Join(dir, "plan.yaml")))
	assert.ErrorIs(t, s.Undo(), ErrChanged)
}

func TestBackups(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "plan.yaml")
	require.NoError(t, os.WriteFile(path, []byte(small), 0o644))
	now := clock()
	for i := range Backups + 3 {
		s, err := Open(path, now)
		require.NoError(t, err)
		require.NoError(t, s.Edit("x", plan.Change{Path: "title", Value: fmt.Sprintf("session %d", i)}))
		require.NoError(t, s.Edit("x", plan.Change{Path: "title", Value: fmt.Sprintf("session %d, later", i)}))
	}
	stranger := filepath.Join(dir, backupFolder, "mine.yaml")
	require.NoError(t, os.WriteFile(stranger, []byte("x"), 0o644))
	list, err := backups(path)
	require.NoError(t, err)
	require.Len(t, list, Backups)
	data, err := os.ReadFile(list[0])
	require.NoError(t, err)
	assert.Contains(t, string(data), "session 2, later", "the oldest kept is the plan before session 3")
	n, err := ClearBackups(path)
	require.NoError(t, err)
	assert.Equal(t, Backups, n)
	assert.Equal(t, []string{"mine.yaml"}, names(t, filepath.Join(dir, backupFolder)))
	n, err = ClearBackups(filepath.Join(t.TempDir(), "none.yaml"))
	assert.NoError(t, err)
	assert.Zero(t, n)
}

func TestNotes(t *testing.T) {
	s, dir := open(t)
	at := time.Date(2026, 11, 24, 18, 30, 0, 0, time.FixedZone("", -3600))
	require.NoError(t, s.Note(at, " valley first,\nshelf later "))
	require.NoError(t, s.Note(at, "called the police"))
	assert.Equal(t, "of 2026-11-24T18:30:00-01:00, written 2026-11-24T20:00:01Z: valley first, shelf later\n"+
		"of 2026-11-24T18:30:00-01:00, written 2026-11-24T20:00:02Z: called the police\n", onDisk(t, dir, "notes.txt"))
	assert.Error(t, s.Note(at, " \n "))
	assert.Error(t, s.Note(at, strings.Repeat("x", longestNote+1)))
}

func TestSavedNamesAreCleanAndNew(t *testing.T) {
	s, dir := open(t)
	for _, c := range []struct{ name, want string }{
		{"track.gpx", "track.gpx"},
		{"track.gpx", "track-2.gpx"},
		{"plan.yaml", "plan-2.yaml"},
		{"../../etc/passwd", "passwd"},
		{`C:\Users\x\walk one.GPX`, "walk one.gpx"},
		{"..", "file"},
		{".gpx", "file.gpx"},
		{"con.gpx", "file-con.gpx"},
		{"a\x00b\n<script>.gpx", "abscript.gpx"},
		{"Tür é 日.gpx", "Tür é 日.gpx"},
		{strings.Repeat("n", 300) + ".gpx", strings.Repeat("n", longestName) + ".gpx"},
		{".farhail-backup", "farhail-backup"},
		{"walk.longestext", "walk.longestext"},
		{"walk.", "walk"},
	} {
		got, err := s.Save(c.name, []byte(c.name))
		require.NoError(t, err)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.name, onDisk(t, dir, got))
	}
	assert.Equal(t, small, onDisk(t, dir, "plan.yaml"))
	for _, n := range names(t, dir) {
		assert.False(t, strings.HasPrefix(n, "."), "%s is left over", n)
	}
}

// TestKilled kills a process that edits without end and asks that the plan is
// always whole: one of the texts that an edit made.
func TestKilled(t *testing.T) {
	if path := os.Getenv("FARHAIL_DESK_VICTIM"); path != "" {
		s, err := Open(path, time.Now)
		if err != nil {
			panic(err)
		}
		for i := 0; ; i++ {
			if err := s.Edit("x", plan.Change{Path: "title", Value: strings.Repeat("long ", 10) + fmt.Sprint("edit ", i)}); err != nil {
				panic(err)
			}
		}
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "plan.yaml")
	require.NoError(t, os.WriteFile(path, []byte(small), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(leg), 0o644))
	rng := rand.New(rand.NewPCG(1, 2))
	for range 8 {
		cmd := exec.Command(os.Args[0], "-test.run", "TestKilled")
		cmd.Env = append(os.Environ(), "FARHAIL_DESK_VICTIM="+path)
		require.NoError(t, cmd.Start())
		begun := onDisk(t, dir, "plan.yaml")
		assert.Eventually(t, func() bool { return onDisk(t, dir, "plan.yaml") != begun }, 10*time.Second, time.Millisecond)
		time.Sleep(time.Duration(rng.IntN(20000)) * time.Microsecond)
		require.NoError(t, cmd.Process.Kill())
		require.Error(t, cmd.Wait(), "killed, not failed by itself")
		p, err := plan.Read(os.DirFS(dir), "plan.yaml")
		require.NoError(t, err)
		assert.Contains(t, p.Title, "edit ")
		list, err := backups(path)
		require.NoError(t, err)
		for _, b := range list {
			data, err := os.ReadFile(b)
			require.NoError(t, err)
			assert.True(t, strings.HasSuffix(string(data), "log: log.txt\n"), "a backup is whole")
		}
	}
}

func TestHeldFilesReadAsOnDisk(t *testing.T) {
	s, _ := open(t)
	info, err := fs.Stat(s.with(nil), s.Name())
	require.NoError(t, err)
	assert.Equal(t, int64(len(small)), info.Size())
	assert.Equal(t, "plan.yaml", info.Name())
	assert.False(t, info.IsDir())
}
