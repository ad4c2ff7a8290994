package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/desk"
)

// openDesk runs farhail desk until the test ends, and returns its address: its one line.
func openDesk(t *testing.T, args ...string) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	ended := make(chan int, 1)
	var messages bytes.Buffer
	go func() {
		code := run(ctx, append([]string{"desk"}, args...), strings.NewReader(""), in, &messages)
		_ = in.Close()
		ended <- code
	}()
	line := make([]byte, 200)
	n, err := out.Read(line)
	if err != nil {
		stop()
		require.Failf(t, "no address", "exit code %d: %s", <-ended, messages.String())
	}
	t.Cleanup(func() {
		http.DefaultClient.CloseIdleConnections()
		stop()
		rest, err := io.ReadAll(out)
		require.NoError(t, err)
		require.Empty(t, string(rest), "one line only")
		require.Equal(t, cli.ExitDone, <-ended)
	})
	address := strings.TrimSpace(string(line[:n]))
	require.Regexp(t, `^http://127\.0\.0\.1:[0-9]+/[0-9a-f]{32}/$`, address)
	return address
}

// askDesk sends a request as the desk's page does.
func askDesk(t *testing.T, method, address, name, body string) []byte {
	t.Helper()
	r, err := http.NewRequest(method, address+name, strings.NewReader(body))
	require.NoError(t, err)
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", address[:len(address)-len("/0123456789abcdef0123456789abcdef/")])
	got, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, got.StatusCode, string(data))
	return data
}

// TestDeskGivesThePlansNumbers makes the demo search on the start page, edits it there,
// and asks that farhail plan gives the same result of the file, to the last figure.
func TestDeskGivesThePlansNumbers(t *testing.T) {
	if testing.Short() {
		t.Skip("computes a plan twice")
	}
	inNewFolder(t, nil)
	address := openDesk(t)
	require.Contains(t, string(askDesk(t, "GET", address, "", "")), "A new plan")
	askDesk(t, "POST", address, "make", `{"kind":"search","name":"mine"}`)
	askDesk(t, "POST", address, "edit", `{"number":0,"changes":[{"path":"weather.visibility","value":"12 km"}]}`)
	askDesk(t, "POST", address, "leg", `{"number":1,"line":"045 120 m"}`)
	require.Eventually(t, func() bool {
		var s struct {
			Result struct {
				State  string
				Number int
			}
		}
		require.NoError(t, json.Unmarshal(askDesk(t, "GET", address, "state", ""), &s))
		require.NotEqual(t, "failed", s.Result.State)
		return s.Result.State == "done" && s.Result.Number == 2
	}, 2*time.Minute, 50*time.Millisecond)
	live := parsed(t, askDesk(t, "GET", address, "result", ""))

	code, _, msg := farhail("plan", "mine.yaml", "-q", "-o", "out")
	require.Equal(t, cli.ExitDone, code, msg)
	data, err := os.ReadFile("out/result.json")
	require.NoError(t, err)
	want := parsed(t, data)
	// Only the list of files that plan wrote is its own.
	delete(live, "files")
	delete(want, "files")
	require.NotEmpty(t, want["sight"])
	require.Equal(t, want, live)
}

// parsed reads a JSON object, figures as they are written.
func parsed(t *testing.T, data []byte) map[string]any {
	t.Helper()
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var v map[string]any
	require.NoError(t, dec.Decode(&v))
	return v
}

func TestDeskCommandLine(t *testing.T) {
	inNewFolder(t, map[string]string{"p.yaml": "version: 1\ntitle: t\nas_of: \"2026-11-24T19:00:00Z\"\n"})
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"none.yaml"}, cli.ExitInput, "none.yaml"},
		{[]string{"--port", "70000"}, cli.ExitUsage, "no such port"},
		{[]string{"--port", "-1"}, cli.ExitUsage, "no such port"},
		{[]string{"--clear-backups"}, cli.ExitUsage, "needs the plan"},
		{[]string{"a", "b"}, cli.ExitUsage, "does not take"},
	} {
		code, out, msg := farhail(append([]string{"desk"}, c.args...)...)
		require.Equal(t, c.code, code, "%v: %s", c.args, msg)
		require.Empty(t, out)
		require.Contains(t, msg, c.want)
	}
	address := openDesk(t, "p.yaml")
	port := address[len("http://127.0.0.1:"):]
	port = port[:strings.IndexByte(port, '/')]
	code, _, msg := farhail("desk", "p.yaml", "--port", port)
	require.Equal(t, cli.ExitFailed, code, msg)
	require.Contains(t, msg, "leave --port away")

	askDesk(t, "POST", address, "edit", `{"number":0,"changes":[{"path":"title","value":"two"}]}`)
	require.DirExists(t, ".farhail-backup")
	code, out, msg := farhail("desk", "p.yaml", "--clear-backups")
	require.Equal(t, cli.ExitDone, code, msg)
	require.Equal(t, "backups removed: 1\n", out)
	require.NoDirExists(t, ".farhail-backup")
}

// TestDeskMakesNoPlanOverAFile asks what the start page refuses.
func TestDeskMakesNoPlanOverAFile(t *testing.T) {
	inNewFolder(t, map[string]string{"plan.yaml": "mine", "way.gpx": wayGPX})
	app := newRoot(strings.NewReader(""), io.Discard, io.Discard)
	for _, c := range []struct {
		name string
		a    desk.Asked
		want string
	}{
		{"plan.yaml", desk.Asked{Kind: "search"}, "is there already"},
		{"p.yaml", desk.Asked{Kind: "feast"}, "no kind of plan"},
		{"p.yaml", desk.Asked{Kind: "trip", Place: "nowhere"}, ""},
		{"p.yaml", desk.Asked{Kind: "trip", Place: "way.gpx#hut"}, ""},
		{"p.yaml", desk.Asked{Kind: "trip", Place: "42.55 1.6", At: "soon"}, ""},
	} {
		require.ErrorContains(t, makePlan(app, c.name, c.a), c.want, "%+v", c)
		require.NoFileExists(t, "p.yaml")
	}
	require.NoError(t, makePlan(app, "p.yaml", desk.Asked{Kind: "trip", Place: "42.55 1.6", At: "2026-11-24T15:20:00+01:00"}))
	require.FileExists(t, "p.yaml")
	data, err := os.ReadFile("plan.yaml")
	require.NoError(t, err)
	require.Equal(t, "mine", string(data))
}
