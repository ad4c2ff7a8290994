package desk

import (
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"farhail/cmd/internal/cli"
)

// A told is what an event tells.
type told struct {
	Number  int        `json:"number"` // of edits
	Seconds int        `json:"seconds,omitempty"`
	Changed bool       `json:"changed"`
	Fault   *cli.Fault `json:"fault,omitempty"`
}

// A hub hands events to all windows. A window that does not read them is dropped: its
// browser comes back and asks for the state.
type hub struct {
	mu      sync.Mutex
	windows map[chan []byte]bool
}

// waiting is how many events may wait for a window.
const waiting = 32

func newHub() *hub { return &hub{windows: map[chan []byte]bool{}} }

// join returns a channel of events, which is closed when the window is dropped; false
// where there are too many windows.
func (h *hub) join() (chan []byte, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.windows) >= mostWindows {
		return nil, false
	}
	c := make(chan []byte, waiting)
	h.windows[c] = true
	return c, true
}

func (h *hub) leave(c chan []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.windows, c)
}

func (h *hub) tell(event string, t told) {
	text := eventText(event, t)
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.windows {
		select {
		case c <- text:
		default:
			delete(h.windows, c)
			close(c)
		}
	}
}

func eventText(event string, t told) []byte {
	data, err := json.Marshal(t)
	if err != nil {
		panic("desk: " + err.Error()) // plain figures and texts
	}
	return fmt.Appendf(nil, "event: %s\ndata: %s\n\n", event, data)
}

const (
	heartbeat   = 15 * time.Second // between comments that keep a line open
	eventWithin = 10 * time.Second // that a window may take to read an event
)

// getEvents streams what happens until the window goes away.
func (s *Server) getEvents(w http.ResponseWriter, r *http.Request) {
	events, ok := s.hub.join()
	if !ok {
		s.refuse(w, http.StatusServiceUnavailable, "busy", "too many windows are open", "close some")
		return
	}
	defer s.hub.leave(events)
	line := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	send := func(text []byte) bool {
		// The limits of other requests do not hold for a line that stays open.
		_ = line.SetWriteDeadline(time.Now().Add(eventWithin))
		_, err := w.Write(text)
		return err == nil && line.Flush() == nil
	}
	_ = line.SetReadDeadline(time.Time{})
	first := told{}
	if store := s.current(); store != nil {
		first.Number = store.State().Number
	}
	s.mu.Lock()
	first.Changed = s.changed
	s.mu.Unlock()
	if !send(eventText("hello", first)) {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		text := []byte(": still here\n\n")
		select {
		case <-r.Context().Done():
			return
		case <-beat.C:
		case text, ok = <-events:
			if !ok {
				return
			}
		}
		if !send(text) {
			return
		}
	}
}
