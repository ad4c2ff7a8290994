package desk

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if os.Getenv("FARHAIL_DESK_VICTIM") != "" {
		os.Exit(m.Run())
	}
	goleak.VerifyTestMain(m)
}

const secret = "0123456789abcdef0123456789abcdef"

// A client talks to a desk that a test runs.
type client struct {
	t    *testing.T
	http *http.Client
	host string
	dir  string
	s    *Server
}

// serve runs a desk over the small plan, or over no plan, until the test ends.
func serve(t *testing.T, store *Store, dir string, adapt func(o *Options)) *client {
	t.Helper()
	o := Options{
		Store: store, Token: secret, Now: clock(),
		Read: func(fsys fs.FS, name string) (*plan.Plan, error) { return plan.Read(fsys, name) },
	}
	if adapt != nil {
		adapt(&o)
	}
	l, err := net.Listen("tcp4", "127.0.0.1:0")
	require.NoError(t, err)
	s := NewServer(o)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	transport := &http.Transport{MaxIdleConnsPerHost: 64}
	c := &client{t, &http.Client{Transport: transport, Timeout: 30 * time.Second}, l.Addr().String(), dir, s}
	t.Cleanup(func() {
		transport.CloseIdleConnections()
		stop()
		select {
		case err := <-ended:
			assert.NoError(t, err)
		case <-time.After(10 * time.Second):
			t.Error("the desk does not end")
		}
	})
	return c
}

func smallDesk(t *testing.T, adapt func(o *Options)) *client {
	t.Helper()
	s, dir := open(t)
	return serve(t, s, dir, adapt)
}

// An answer is what came back.
type answer struct {
	code   int
	header http.Header
	body   []byte
}

// request sends a request as the page would, changed by adapt.
func (c *client) request(method, name, body string, adapt func(r *http.Request)) answer {
	c.t.Helper()
	r, err := http.NewRequest(method, "http://"+c.host+"/"+secret+"/"+name, strings.NewReader(body))
	require.NoError(c.t, err)
	if method == http.MethodPost {
		r.Header.Set("Origin", "http://"+c.host)
		r.Header.Set("Content-Type", jsonType)
		if strings.HasPrefix(name, "upload") {
			r.Header.Set("Content-Type", "application/octet-stream")
		}
	}
	if adapt != nil {
		adapt(r)
	}
	a, err := c.send(r)
	require.NoError(c.t, err)
	return a
}

func (c *client) send(r *http.Request) (answer, error) {
	got, err := c.http.Do(r)
	if err != nil {
		return answer{}, err
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	return answer{got.StatusCode, got.Header, data}, err
}

func (c *client) get(name string) answer {
	c.t.Helper()
	return c.request(http.MethodGet, name, "", nil)
}

func (c *client) post(name string, v any) answer {
	c.t.Helper()
	body, err := json.Marshal(v)
	require.NoError(c.t, err)
	return c.request(http.MethodPost, name, string(body), nil)
}

func (c *client) state() shown {
	c.t.Helper()
	return stateOf(c.t, c.get("state"))
}

func stateOf(t *testing.T, a answer) shown {
	t.Helper()
	require.Equal(t, http.StatusOK, a.code, string(a.body))
	var s shown
	require.NoError(t, json.Unmarshal(a.body, &s))
	return s
}

// fault asserts that an answer is a refusal of that kind.
func fault(t *testing.T, a answer, code int, kind string) cli.Fault {
	t.Helper()
	require.Equal(t, code, a.code, string(a.body))
	var e errorReply
	require.NoError(t, json.Unmarshal(a.body, &e))
	require.Equal(t, kind, e.Error.Kind, string(a.body))
	require.NotEmpty(t, e.Errors)
	return e.Error
}

func set(number int, path string, value any) map[string]any {
	return map[string]any{"number": number, "changes": []map[string]any{{"path": path, "value": value}}}
}

// settled waits until the newest edit is computed.
func (c *client) settled() shown {
	c.t.Helper()
	var s shown
	require.Eventually(c.t, func() bool {
		s = c.state()
		return s.Result.Number == s.Number && (s.Result.State == done || s.Result.State == failed)
	}, 20*time.Second, 5*time.Millisecond)
	return s
}

func TestEditAndUndoThroughTheServer(t *testing.T) {
	c := smallDesk(t, nil)
	first := c.state()
	assert.Equal(t, small, first.Text)
	assert.Equal(t, "plan.yaml", first.File)
	assert.Equal(t, "log.txt", first.Log)
	assert.Empty(t, first.Faults)
	assert.Contains(t, first.Fields, field{"starts[0].position", "Position of gate", "46.00751 -20.01161"})
	assert.Contains(t, first.Fields, field{"weather.visibility", "Visibility", ""})

	second := stateOf(t, c.post("edit", set(first.Number, "starts[0].position", "46.1 -20.2")))
	assert.Equal(t, strings.Replace(small, "46.00751 -20.01161", "46.1 -20.2", 1), second.Text)
	assert.Equal(t, second.Text, onDisk(t, c.dir, "plan.yaml"))
	assert.Equal(t, "set starts[0].position", second.Undo)
	third := stateOf(t, c.post("edit", map[string]any{"number": second.Number, "changes": []any{
		map[string]any{"path": "weather", "value": json.RawMessage(`{"visibility": "5 km", "wind": "3 m/s"}`)},
		map[string]any{"path": "example", "value": true},
	}}))
	assert.True(t, strings.HasSuffix(third.Text, "weather:\n  visibility: 5 km\n  wind: 3 m/s\nexample: true\n"), third.Text)
	assert.Equal(t, "set weather and 1 more", third.Undo)

	behind := fault(t, c.post("edit", set(first.Number, "title", "x")), http.StatusConflict, "behind")
	assert.NotEmpty(t, behind.Hint)
	fault(t, c.post("undo", map[string]any{"number": first.Number}), http.StatusConflict, "behind")
	s := stateOf(t, c.post("undo", map[string]any{"number": third.Number}))
	s = stateOf(t, c.post("undo", map[string]any{"number": s.Number}))
	assert.Equal(t, small, onDisk(t, c.dir, "plan.yaml"))
	fault(t, c.post("undo", map[string]any{"number": s.Number}), http.StatusConflict, "nothing")
	s = stateOf(t, c.post("redo", map[string]any{"number": s.Number}))
	assert.Equal(t, second.Text, s.Text)
}

func TestFaultsSayWhatToDo(t *testing.T) {
	c := smallDesk(t, nil)
	f := fault(t, c.post("edit", set(0, "starts[0].position", "nowhere")), http.StatusUnprocessableEntity, "plan")
	assert.Equal(t, 8, *f.Line)
	assert.NotNil(t, f.Column)
	assert.NotEmpty(t, *f.Hint)
	assert.Equal(t, "nowhere", *f.Near)
	fault(t, c.post("edit", set(0, "starts[7].name", "x")), http.StatusUnprocessableEntity, "plan")
	fault(t, c.post("edit", set(0, "title[3]", "x")), http.StatusUnprocessableEntity, "plan")
	for _, path := range []string{"/etc/passwd", `C:\x`, "../other.txt", "a/../../b", `..\b`, "~/x", "/etc/passwd#x", "../x.gpx#hut"} {
		for _, key := range []string{"traveller.log", "terrain", "starts[0].position", "title"} {
			fault(t, c.post("edit", set(0, key, path)), http.StatusBadRequest, "request")
		}
		fault(t, c.post("edit", set(0, "terrain", []string{path})), http.StatusBadRequest, "request")
		fault(t, c.post("edit", set(0, "traveller", map[string]any{"log": path})), http.StatusBadRequest, "request")
	}
	assert.Equal(t, small, onDisk(t, c.dir, "plan.yaml"))
	assert.Equal(t, []string{"log.txt", "plan.yaml"}, names(t, c.dir))
}

func TestAPlanWithFaultsIsServed(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "plan.yaml")
	require.NoError(t, os.WriteFile(path, []byte(strings.Replace(small, "version: 1", "version: 1\nseed: many", 1)), 0o644))
	store, err := Open(path, clock())
	require.NoError(t, err)
	c := serve(t, store, dir, nil)
	s := c.settled()
	require.NotEmpty(t, s.Faults)
	assert.Equal(t, 3, *s.Faults[0].Line)
	assert.Equal(t, failed, s.Result.State)
	fault(t, c.get("result"), http.StatusNotFound, "none")
	fault(t, c.post("leg", map[string]any{"number": 0, "line": "060 1 km"}), http.StatusUnprocessableEntity, "plan")
}

func TestLegs(t *testing.T) {
	c := smallDesk(t, nil)
	s := stateOf(t, c.post("leg", map[string]any{"number": 0, "line": " 090 500 m "}))
	assert.Equal(t, leg+"090 500 m\n", onDisk(t, c.dir, "log.txt"))
	assert.Equal(t, "add a leg", s.Undo)
	f := fault(t, c.post("leg", map[string]any{"number": s.Number, "line": "north a bit"}), http.StatusUnprocessableEntity, "plan")
	assert.Equal(t, 4, *f.Line)
	for _, line := range []string{"", "090 1 m\n100 1 m", strings.Repeat("1", 600)} {
		fault(t, c.post("leg", map[string]any{"number": s.Number, "line": line}), http.StatusBadRequest, "request")
	}
	fault(t, c.post("leg", map[string]any{"number": 0, "line": "090 1 m"}), http.StatusConflict, "behind")
	s = stateOf(t, c.post("undo", map[string]any{"number": s.Number}))
	assert.Equal(t, leg, onDisk(t, c.dir, "log.txt"))
	s = stateOf(t, c.post("edit", set(s.Number, "traveller", nil)))
	fault(t, c.post("leg", map[string]any{"number": s.Number, "line": "090 500 m"}), http.StatusBadRequest, "request")
}

func TestNotesAndExport(t *testing.T) {
	c := smallDesk(t, nil)
	s := stateOf(t, c.post("note", map[string]any{"at": "2026-11-24T18:30:00-01:00", "text": "valley first"}))
	require.Len(t, s.Notes, 1)
	assert.Contains(t, s.Notes[0], "of 2026-11-24T18:30:00-01:00, written 2026-11-24T20:00:")
	assert.Contains(t, s.Notes[0], ": valley first")
	s = stateOf(t, c.post("note", map[string]any{"text": "shelf later"}))
	assert.Len(t, s.Notes, 2)
	fault(t, c.post("note", map[string]any{"at": "soon", "text": "x"}), http.StatusUnprocessableEntity, "note")
	fault(t, c.post("note", map[string]any{"text": " "}), http.StatusUnprocessableEntity, "note")
	got := unzip(t, c.get("export"))
	assert.Equal(t, map[string]string{"plan.yaml": small, "log-log.txt": leg, "notes.txt": onDisk(t, c.dir, "notes.txt")}, got)
}

func unzip(t *testing.T, a answer) map[string]string {
	t.Helper()
	require.Equal(t, http.StatusOK, a.code, string(a.body))
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	require.NoError(t, err)
	got := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		got[f.Name] = string(data)
	}
	return got
}

const gpx = `<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="46" lon="-20"><name>hut</name></wpt></gpx>`

func TestUploads(t *testing.T) {
	c := smallDesk(t, nil)
	for _, tc := range []struct{ name, want string }{
		{"walk.gpx", "walk.gpx"}, {"walk.gpx", "walk-2.gpx"}, {"..%2f..%2fplan.yaml", "plan.yaml.gpx"}, {"", "file.gpx"}, {"a.GPX", "a.gpx"},
	} {
		a := c.request(http.MethodPost, "upload?name="+tc.name, gpx, nil)
		require.Equal(t, http.StatusOK, a.code, string(a.body))
		var u uploaded
		require.NoError(t, json.Unmarshal(a.body, &u))
		assert.Equal(t, uploaded{Name: tc.want, Waypoints: 1}, u)
		assert.Equal(t, gpx, onDisk(t, c.dir, tc.want))
	}
	before := names(t, c.dir)
	fault(t, c.request(http.MethodPost, "upload?name=x.gpx", "not gpx", nil), http.StatusUnprocessableEntity, "gpx")
	assert.Equal(t, before, names(t, c.dir), "what cannot be read is not kept")
	assert.Equal(t, small, onDisk(t, c.dir, "plan.yaml"))
}

const withPerson = small + "person:\n  name: Vesterby Quillan\n  age: 44\n"

func TestThePersonBlockStays(t *testing.T) {
	for _, shownToo := range []bool{false, true} {
		t.Run(fmt.Sprint(shownToo), func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "plan.yaml"), []byte(withPerson), 0o600))
			require.NoError(t, os.WriteFile(filepath.Join(dir, "log.txt"), []byte(leg), 0o644))
			store, err := Open(filepath.Join(dir, "plan.yaml"), clock())
			require.NoError(t, err)
			c := serve(t, store, dir, func(o *Options) { o.WithName, o.Job.WithName = shownToo, shownToo })
			s := c.settled()
			require.Equal(t, done, s.Result.State)
			assert.Equal(t, !shownToo, s.Withheld)
			zipped := unzip(t, c.get("export"))["plan.yaml"]
			if shownToo {
				assert.Equal(t, withPerson, s.Text)
				assert.Equal(t, withPerson, zipped)
				stateOf(t, c.post("edit", set(s.Number, "person.age", "45")))
				return
			}
			assert.Equal(t, small+"# withheld\n# withheld\n# withheld\n", s.Text)
			assert.Equal(t, s.Text, zipped)
			for _, path := range []string{"person", "person.name", "person[0]"} {
				fault(t, c.post("edit", set(s.Number, path, "Somebody")), http.StatusForbidden, "withheld")
			}
			for _, a := range []answer{c.get(""), c.get("result"), c.get("viewer"), c.get("state"), c.post("edit", set(s.Number, "title", "y")),
				c.post("edit", set(s.Number, "title", "z")), c.post("edit", set(s.Number+1, "unknown", "Vesterby"))} {
				assert.NotContains(t, string(a.body), "Vesterby", a.code)
				assert.NotContains(t, string(a.body), "Quillan", a.code)
			}
		})
	}
}

func TestAChangeOnDiskIsTold(t *testing.T) {
	c := smallDesk(t, nil)
	events := c.listen()
	events.wait("hello")
	c.settled()
	other := strings.Replace(small, "overdue", "found", 1)
	require.NoError(t, os.WriteFile(filepath.Join(c.dir, "plan.yaml"), []byte(other), 0o644))
	assert.Contains(t, events.wait("changed"), `"changed":true`)
	assert.True(t, c.state().Changed)
	fault(t, c.post("edit", set(0, "title", "y")), http.StatusConflict, "changed")
	assert.Equal(t, other, onDisk(t, c.dir, "plan.yaml"))
	s := stateOf(t, c.post("reload", struct{}{}))
	assert.Equal(t, other, s.Text)
	assert.False(t, s.Changed)
	stateOf(t, c.post("edit", set(s.Number, "title", "y")))
}

// A listener reads events.
type listener struct {
	t     *testing.T
	texts chan string
	stop  func()
}

func (c *client) listen() *listener {
	c.t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+c.host+"/"+secret+"/events", nil)
	require.NoError(c.t, err)
	got, err := (&http.Client{Transport: c.http.Transport}).Do(r)
	require.NoError(c.t, err)
	require.Equal(c.t, http.StatusOK, got.StatusCode)
	require.Equal(c.t, "text/event-stream", got.Header.Get("Content-Type"))
	l := &listener{c.t, make(chan string, 1000), stop}
	var reading sync.WaitGroup
	reading.Go(func() {
		defer got.Body.Close()
		defer close(l.texts)
		lines := bufio.NewScanner(got.Body)
		for lines.Scan() {
			if text := lines.Text(); text != "" {
				l.texts <- text
			}
		}
	})
	c.t.Cleanup(func() {
		stop()
		reading.Wait()
	})
	return l
}

// wait returns the data of the next event of a name.
func (l *listener) wait(name string) string {
	l.t.Helper()
	late := time.After(20 * time.Second)
	for {
		select {
		case text, ok := <-l.texts:
			require.True(l.t, ok, "the line is closed")
			if text == "event: "+name {
				return <-l.texts
			}
		case <-late:
			require.Fail(l.t, "no event "+name)
		}
	}
}

func TestWindowsStayInStep(t *testing.T) {
	c := smallDesk(t, nil)
	one, two := c.listen(), c.listen()
	assert.Contains(t, one.wait("hello"), `"number":0`)
	two.wait("hello")
	c.settled()
	stateOf(t, c.post("edit", set(0, "title", "y")))
	for _, l := range []*listener{one, two} {
		assert.Contains(t, l.wait("edit"), `"number":1`)
		assert.Contains(t, l.wait("begun"), `"number":1`)
		assert.Contains(t, l.wait("done"), `"number":1`)
	}
	c.post("note", map[string]any{"text": "x"})
	one.wait("note")
	two.wait("note")
}

// TestSupersededJobsEnd holds the job of one edit until the next is made: it ends without a
// result, and only the next one's is told.
func TestSupersededJobsEnd(t *testing.T) {
	held, release := make(chan bool, 1), make(chan bool)
	c := smallDesk(t, func(o *Options) {
		o.Read = func(fsys fs.FS, name string) (*plan.Plan, error) {
			p, err := plan.Read(fsys, name)
			if err == nil && p.Title == "slow" {
				held <- true
				<-release
			}
			return p, err
		}
	})
	c.settled()
	events := c.listen()
	events.wait("hello")
	stateOf(t, c.post("edit", set(0, "title", "slow")))
	<-held
	assert.Contains(t, events.wait("progress"), `"number":1`)
	stateOf(t, c.post("edit", set(1, "title", "quick")))
	close(release)
	assert.Contains(t, events.wait("done"), `"number":2`, "nothing is told of edit 1")
	assert.Equal(t, done, c.settled().Result.State)
}

func TestAPanicFailsOneJobOnly(t *testing.T) {
	c := smallDesk(t, func(o *Options) {
		o.Read = func(fsys fs.FS, name string) (*plan.Plan, error) {
			p, err := plan.Read(fsys, name)
			if err == nil && p.Title == "bad" {
				panic("oh")
			}
			return p, err
		}
	})
	require.Equal(t, done, c.settled().Result.State)
	s := stateOf(t, c.post("edit", set(0, "title", "bad")))
	got := c.settled()
	assert.Equal(t, failed, got.Result.State)
	assert.Contains(t, got.Result.Fault.Text, "a fault of the program")
	assert.Equal(t, "0", c.get("result").header.Get(numberHeader), "the last result stays")
	stateOf(t, c.post("undo", map[string]any{"number": s.Number}))
	assert.Equal(t, done, c.settled().Result.State)
}

func TestSlowWindowsAreDropped(t *testing.T) {
	h := newHub()
	slow, ok := h.join()
	require.True(t, ok)
	for i := range waiting + 1 {
		h.tell("edit", told{Number: i})
	}
	n := 0
	for range slow {
		n++
	}
	assert.Equal(t, waiting, n, "closed behind what was waiting")
	h.leave(slow)
	for range mostWindows {
		_, ok := h.join()
		require.True(t, ok)
	}
	_, ok = h.join()
	assert.False(t, ok)
}

func TestTheStartPageMakesAPlan(t *testing.T) {
	t.Chdir(t.TempDir())
	made := errors.New("there already")
	c := serve(t, nil, ".", func(o *Options) {
		o.Make = func(name string, a Asked) error {
			if _, err := os.Lstat(name); err == nil || a.Kind != "search" {
				return cli.WithHint(made, "choose another name")
			}
			return os.WriteFile(name, []byte(strings.Replace(small, "traveller:\n  log: log.txt\n", "", 1)), 0o644)
		}
	})
	require.NoError(t, os.WriteFile("mine.yaml", []byte("x"), 0o644))
	assert.Contains(t, string(c.get("").body), "A new plan")
	fault(t, c.get("state"), http.StatusConflict, "none")
	fault(t, c.get("export"), http.StatusConflict, "none")
	fault(t, c.post("edit", set(0, "title", "x")), http.StatusConflict, "none")
	fault(t, c.post("note", map[string]any{"text": "x"}), http.StatusConflict, "none")
	fault(t, c.request(http.MethodPost, "upload?name=x", gpx, nil), http.StatusConflict, "none")
	fault(t, c.post("make", map[string]any{"kind": "search", "name": "mine.yaml"}), http.StatusUnprocessableEntity, "plan")
	fault(t, c.post("make", map[string]any{"kind": "feast", "name": "p"}), http.StatusUnprocessableEntity, "plan")
	s := stateOf(t, c.post("make", map[string]any{"kind": "search", "name": "../../new one"}))
	assert.Equal(t, "new one.yaml", s.File)
	assert.FileExists(t, "new one.yaml")
	fault(t, c.post("make", map[string]any{"kind": "search", "name": "p"}), http.StatusBadRequest, "request")
	assert.Equal(t, done, c.settled().Result.State)
	assert.Contains(t, string(c.get("").body), "farhail desk")
	assert.NotContains(t, string(c.get("").body), "A new plan")
	assert.Equal(t, "x", onDisk(t, ".", "mine.yaml"))
}

// TestResultIsThatOfTheJob asks that what is served is what the job gives for the
// files as they are.
func TestResultIsThatOfTheJob(t *testing.T) {
	c := smallDesk(t, nil)
	c.settled()
	stateOf(t, c.post("edit", set(0, "starts[0].position", "46.01 -20.02")))
	s := c.settled()
	require.Equal(t, done, s.Result.State, s.Result.Fault)
	a := c.get("result")
	assert.Equal(t, "1", a.header.Get(numberHeader))
	name := c.s.current().Name()
	p, err := plan.Read(cli.Disk, name)
	require.NoError(t, err)
	want, err := job.Run(context.Background(), cli.Disk, p, job.Options{})
	require.NoError(t, err)
	data, err := json.Marshal(want)
	require.NoError(t, err)
	assert.JSONEq(t, string(data), string(a.body))
}

// TestManyWindows has twenty windows edit, read and listen at once for some seconds.
func TestManyWindows(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	c := smallDesk(t, nil)
	until := time.Now().Add(3 * time.Second)
	var all sync.WaitGroup
	var mu sync.Mutex
	codes := map[int]int{}
	made := 0
	for i := range 20 {
		all.Go(func() {
			l := c.listen()
			l.wait("hello")
			for n := 0; time.Now().Before(until); n++ {
				s := c.get("state")
				var st shown
				if s.code == http.StatusOK && assert.NoError(t, json.Unmarshal(s.body, &st)) {
					body, _ := json.Marshal(set(st.Number, "title", fmt.Sprintf("window %d edit %d", i, n)))
					s = c.request(http.MethodPost, "edit", string(body), nil)
				}
				mu.Lock()
				codes[s.code]++
				if s.code == http.StatusOK {
					made++
				}
				mu.Unlock()
			}
		})
	}
	all.Wait()
	for code := range codes {
		assert.Contains(t, []int{http.StatusOK, http.StatusConflict, http.StatusServiceUnavailable}, code)
	}
	s := c.settled()
	assert.Equal(t, made, s.Number, "each edit that was taken is counted, none twice")
	assert.Equal(t, s.Text, onDisk(t, c.dir, "plan.yaml"))
	assert.Greater(t, made, 20)
}
