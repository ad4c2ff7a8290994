package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"farhail/geo/geotest"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPageInChromium opens the desk, edits and undoes there, and asks that the map
// follows, that nothing is complained of and that nothing is asked for elsewhere.
func TestPageInChromium(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(geotest.Tool(t, "chromium")), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.WindowSize(1280, 860))
	c := smallDesk(t, nil)
	alone, stop := chromedp.NewExecAllocator(context.Background(), options...)
	defer stop()
	ctx, closed := chromedp.NewContext(alone)
	defer closed()
	ctx, late := context.WithTimeout(ctx, 2*time.Minute)
	defer late()
	var mu sync.Mutex
	var said, sent []string
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		mu.Lock()
		defer mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			said = append(said, fmt.Sprint(e.Type, e.Args))
		case *runtime.EventExceptionThrown:
			said = append(said, fmt.Sprint(*e.ExceptionDetails))
		case *log.EventEntryAdded:
			said = append(said, e.Entry.Text)
		case *network.EventRequestWillBeSent:
			sent = append(sent, e.Request.URL)
		}
	}))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, log.Enable, cdp.Empty{})
	require.NoError(t, err)
	wait := func(expression string) {
		t.Helper()
		require.NoError(t, chromedp.Do(ctx, chromedp.Poll[chromedp.Void](expression)), expression)
	}
	run := func(script string) {
		t.Helper()
		_, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("(() => {"+script+"; return true})()"))
		require.NoError(t, err, script)
	}
	enter := func(path, value string) {
		t.Helper()
		run(fmt.Sprintf(`const i = document.querySelector('[data-path="%s"]'); i.value = %q; i.dispatchEvent(new Event("change"))`, path, value))
	}
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(1280, 860), chromedp.Navigate("http://"+c.host+"/"+secret+"/")))
	wait(`window.farhail !== undefined && document.getElementById("status").textContent.startsWith("Computed")`)
	wait(`document.querySelector("#viewer h1").textContent === "overdue"`)

	enter("title", "two overdue")
	wait(`document.querySelector("#viewer h1") && document.querySelector("#viewer h1").textContent === "two overdue"`)
	assert.Contains(t, onDisk(t, c.dir, "plan.yaml"), "title: two overdue # who")
	enter("starts[0].position", "nowhere")
	wait(`!document.getElementById("trouble").hidden`)
	assert.NotContains(t, onDisk(t, c.dir, "plan.yaml"), "nowhere")
	// The refusal is told in the browser's console too; that is no fault of the page.
	mu.Lock()
	require.Len(t, said, 1)
	assert.Contains(t, said[0], "422")
	said = nil
	mu.Unlock()
	run(`document.getElementById("leg").value = "090 500 m"; document.querySelector("#leg-form button").click()`)
	wait(`document.getElementById("undo").title.includes("add a leg")`)
	run(`document.getElementById("note").value = "valley first"; document.querySelector("#note-form button").click()`)
	wait(`document.getElementById("notes").textContent.includes("valley first")`)
	// Another window's edit arrives by itself.
	stateOf(t, c.post("edit", set(c.state().Number, "title", "three overdue")))
	wait(`document.querySelector("#viewer h1") && document.querySelector("#viewer h1").textContent === "three overdue"`)
	for _, next := range []string{"Undo: add a leg", "Undo: set title", ""} {
		run(`document.getElementById("undo").click()`)
		wait(fmt.Sprintf(`document.getElementById("undo").title === %q`, next))
	}
	assert.Equal(t, small, onDisk(t, c.dir, "plan.yaml"))
	assert.Equal(t, leg, onDisk(t, c.dir, "log.txt"))
	wait(`document.querySelector("#viewer h1") && document.querySelector("#viewer h1").textContent === "overdue"`)
	if folder := os.Getenv("FARHAIL_PICTURES"); folder != "" {
		for _, width := range []int64{1280, 360} {
			require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 860)))
			picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(folder, fmt.Sprintf("desk-%d.png", width)), picture, 0o644))
		}
	}
	mu.Lock()
	defer mu.Unlock()
	assert.Empty(t, said, "console")
	for _, address := range sent {
		assert.True(t, strings.HasPrefix(address, "http://"+c.host+"/"+secret+"/") || strings.HasPrefix(address, "data:"), address)
	}
}
