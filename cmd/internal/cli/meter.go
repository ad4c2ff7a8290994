package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"
)

// A meter shows on a terminal that a verb is still at work: one line that
// counts the seconds, begun after the first and erased at the end. A nil meter
// shows nothing.
type meter struct {
	w     io.Writer
	name  string
	mu    sync.Mutex
	width int // of the line that is on the screen
	stop  chan struct{}
	done  chan struct{}
}

// meterEvery is how often the line changes, and how long work is not worth one.
const meterEvery = time.Second

// newMeter starts a meter with that much time between its lines.
func newMeter(w io.Writer, name string, every time.Duration) *meter {
	m := &meter{w: w, name: name, stop: make(chan struct{}), done: make(chan struct{})}
	go func() {
		defer close(m.done)
		tick := time.NewTicker(every)
		defer tick.Stop()
		for n := 1; ; n++ {
			select {
			case <-m.stop:
				m.erase()
				return
			case <-tick.C:
				m.show(fmt.Sprintf("farhail: %s, %s", m.name, time.Duration(n)*every))
			}
		}
	}()
	return m
}

func (m *meter) show(line string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	fmt.Fprintf(m.w, "\r%-*s", m.width, line)
	m.width = max(m.width, len(line))
}

// erase takes the line away, so that a message can be printed; the next second
// brings it back.
func (m *meter) erase() {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.width > 0 {
		fmt.Fprintf(m.w, "\r%s\r", strings.Repeat(" ", m.width))
		m.width = 0
	}
}

// end stops the meter and erases its line. It may be called again.
func (m *meter) end() {
	if m == nil {
		return
	}
	select {
	case <-m.stop:
	default:
		close(m.stop)
	}
	<-m.done
}

// isTerminal says whether a stream is shown to somebody.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
