package desk

import (
	"errors"
	"net/http"
)

// Asked is what the start page asks for. Empty texts are the built-in example's.
type Asked struct {
	Kind  string `json:"kind"` // trip, search or drill
	Place string `json:"place"`
	At    string `json:"at"`
}

// postMake makes a plan in the current folder, and opens it.
func (s *Server) postMake(w http.ResponseWriter, r *http.Request) {
	var sent struct {
		Asked
		Name string `json:"name"` // of the file, without a folder
	}
	if err := readJSON(r.Body, &sent); err != nil {
		s.fail(w, err)
		return
	}
	store, err := s.make(sent.Name, sent.Asked)
	var asked *askedError
	switch {
	case errors.As(err, &asked):
		s.fail(w, err)
		return
	case err != nil:
		s.refuseWith(w, http.StatusUnprocessableEntity, faultsOf(err, "plan"))
		return
	}
	s.hub.tell("made", told{Number: store.State().Number})
	s.renew()
	s.sendState(w, store)
}

func (s *Server) make(name string, a Asked) (*Store, error) {
	s.writing.Lock()
	defer s.writing.Unlock()
	if s.current() != nil {
		return nil, &askedError{"there is a plan already", "load the page again"}
	}
	stem, ext := cleanName(name)
	if ext != ".yaml" && ext != ".yml" {
		stem, ext = stem+ext, ".yaml"
	}
	if err := s.o.Make(stem+ext, a); err != nil {
		return nil, err
	}
	store, err := Open(stem+ext, s.o.Now)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	s.store = store
	s.mu.Unlock()
	return store, nil
}
