package desk

import (
	"context"
	"errors"
	"io/fs"
	"net"
	"net/http"
	"sync"
	"time"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// Limits of a [Server].
const (
	mostRequests = 32 // at once, beside those that listen for events
	mostWindows  = 64 // that listen for events
	largestEdit  = 64 << 10
	largestFile  = 32 << 20

	headerWithin = 5 * time.Second
	readWithin   = time.Minute
	writeWithin  = time.Minute
	idleFor      = 2 * time.Minute
	endWithin    = 3 * time.Second // for requests that are under way when the server ends
)

// Options are what a [Server] needs from the verb.
type Options struct {
	Store    *Store           // nil: a start page that makes a plan first
	Token    string           // the first part of every address; the secret that keeps others out
	Now      func() time.Time // tells the time of backups and notes
	WithName bool             // the page and the export show the plan's person block
	Job      job.Options

	// Read reads the plan to compute, as farhail plan would.
	Read func(fsys fs.FS, name string) (*plan.Plan, error)
	// Make writes a new plan into the current folder, never over a file. name is free of
	// folders and signs.
	Make func(name string, a Asked) error
}

// A Server is the desk on a loopback address.
type Server struct {
	o       Options
	hosts   []string // that requests may name
	hub     *hub
	wake    chan struct{} // there is something new to compute
	slots   chan struct{}
	uploads sync.Mutex // files are large: one at a time is held
	writing sync.Mutex // one change at a time

	mu      sync.Mutex
	store   *Store
	changed bool // a file is not as the store read it
	status  status
	kept    outcome
	stop    context.CancelFunc // of the job under way
}

// NewServer returns a server that is not listening yet.
func NewServer(o Options) *Server {
	return &Server{
		o: o, store: o.Store, hub: newHub(), status: status{State: idle},
		wake: make(chan struct{}, 1), slots: make(chan struct{}, mostRequests), stop: func() {},
	}
}

// Address returns where the page is on a listener.
func (s *Server) Address(l net.Listener) string {
	return "http://" + l.Addr().String() + "/" + s.o.Token + "/"
}

// errNotLoopback says that a listener could be reached from other machines.
var errNotLoopback = errors.New("desk: not a loopback address")

// Serve answers until the context ends, and returns when all that it began has ended. It
// refuses a listener that is not on the loopback address.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	at, ok := l.Addr().(*net.TCPAddr)
	if !ok || !at.IP.IsLoopback() {
		return errors.Join(errNotLoopback, l.Close())
	}
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return errors.Join(err, l.Close())
	}
	s.hosts = []string{"127.0.0.1:" + port, "localhost:" + port}
	ctx, end := context.WithCancel(ctx)
	defer end()
	server := &http.Server{
		Handler: s, ReadHeaderTimeout: headerWithin, ReadTimeout: readWithin, WriteTimeout: writeWithin,
		IdleTimeout: idleFor, MaxHeaderBytes: 16 << 10, ErrorLog: nobody(),
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	var all sync.WaitGroup
	all.Go(func() { s.work(ctx) })
	all.Go(func() { s.watch(ctx) })
	all.Go(func() {
		<-ctx.Done()
		late, stop := context.WithTimeout(context.Background(), endWithin)
		defer stop()
		if server.Shutdown(late) != nil {
			// What still hangs on is cut off.
			_ = server.Close()
		}
	})
	s.renew()
	err = server.Serve(l)
	end()
	all.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// current returns the store, nil before a plan is made.
func (s *Server) current() *Store {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.store
}

// watchEvery is how often the files are compared with the disk.
const watchEvery = time.Second

// watch tells the windows when a file changes on disk.
func (s *Server) watch(ctx context.Context) {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		store := s.current()
		if store == nil {
			continue
		}
		s.setChanged(store, store.Changed() != nil)
	}
}

// setChanged keeps whether a file changed on disk, and tells the windows what is new.
func (s *Server) setChanged(store *Store, now bool) {
	s.mu.Lock()
	before := s.changed
	s.changed = now
	s.mu.Unlock()
	if before != now {
		s.hub.tell("changed", told{Number: store.State().Number, Changed: now})
	}
}
