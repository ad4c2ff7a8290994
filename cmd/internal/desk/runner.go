package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/page"
)

// What the computing is doing.
const (
	idle    = "idle"
	working = "working"
	done    = "done"
	failed  = "failed"
)

// A status says how far the computing is.
type status struct {
	State  string     `json:"state"`
	Number int        `json:"number"` // of the edit that it is of
	Fault  *cli.Fault `json:"fault"`  // null unless it failed
}

// An outcome is what was computed last, as it is sent. Only one is kept.
type outcome struct {
	number int
	result []byte // result.json
	viewer []byte
}

// renew asks for a result of the newest edit. A job under way is of older bytes and ends.
func (s *Server) renew() {
	s.mu.Lock()
	s.stop()
	s.mu.Unlock()
	select {
	case s.wake <- struct{}{}:
	default: // asked for already
	}
}

// work computes whenever there is something new.
func (s *Server) work(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.wake:
			s.compute(ctx)
		}
	}
}

// compute makes the result of the newest edit.
func (s *Server) compute(ctx context.Context) {
	store := s.current()
	if store == nil {
		return
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	s.mu.Lock()
	s.stop = stop
	s.mu.Unlock()
	number, fsys := store.Snapshot()
	s.settle("begun", status{State: working, Number: number}, nil)
	ended := make(chan struct{})
	var out outcome
	var err error
	go func() {
		defer close(ended)
		out, err = s.result(ctx, func() (*job.Result, error) {
			p, err := s.o.Read(fsys, store.Name())
			if err != nil {
				return nil, err
			}
			return job.Run(ctx, fsys, p, s.o.Job)
		})
	}()
	s.follow(number, ended)
	switch {
	case ctx.Err() != nil:
		// Superseded, or the desk ends: what comes next tells.
	case err != nil:
		fault := cli.Faults(err)[0]
		s.settle("failed", status{State: failed, Number: number, Fault: &fault}, nil)
	default:
		out.number = number
		s.settle("done", status{State: done, Number: number}, &out)
	}
}

// follow tells every second that a job is still under way, until it ends.
func (s *Server) follow(number int, ended <-chan struct{}) {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for seconds := 1; ; seconds++ {
		select {
		case <-ended:
			return
		case <-tick.C:
			s.hub.tell("progress", told{Number: number, Seconds: seconds})
		}
	}
}

// settle keeps how far the computing is, and what came of it, and tells the windows.
func (s *Server) settle(event string, now status, out *outcome) {
	s.mu.Lock()
	s.status = now
	if out != nil {
		s.kept = *out
	}
	s.mu.Unlock()
	s.hub.tell(event, told{Number: now.Number, Fault: now.Fault})
}

// result makes what is sent of a job. A panic, which is a fault of the program, fails this
// one job: the desk holds what people typed, and stays.
func (s *Server) result(ctx context.Context, run func() (*job.Result, error)) (out outcome, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = cli.WithHint(fmt.Errorf("a fault of the program: %v", fault), "undo the last edit; farhail plan FILE tells more")
		}
	}()
	r, err := run()
	if err != nil {
		return out, err
	}
	var result, viewer bytes.Buffer
	enc := json.NewEncoder(&result)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(r); err != nil {
		return out, err
	}
	if err := page.Viewer(ctx, &viewer, r); err != nil {
		return out, err
	}
	return outcome{result: result.Bytes(), viewer: viewer.Bytes()}, nil
}
