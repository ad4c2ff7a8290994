package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"time"
	"unicode"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/geo/mapfile"
)

// reply sends JSON.
func (s *Server) reply(w http.ResponseWriter, code int, v any) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic("desk: " + err.Error()) // our own structs
	}
	w.Header().Set("Content-Type", jsonType)
	w.WriteHeader(code)
	// A window that went away needs no answer.
	_, _ = w.Write(b.Bytes())
}

// An errorReply tells what is wrong, like --json does: the first fault, and all of them.
type errorReply struct {
	Error  cli.Fault   `json:"error"`
	Errors []cli.Fault `json:"errors"`
}

func (s *Server) refuse(w http.ResponseWriter, code int, kind, text, hint string) {
	s.refuseWith(w, code, faultsOf(&askedError{text, hint}, kind))
}

func (s *Server) refuseWith(w http.ResponseWriter, code int, list []cli.Fault) {
	s.reply(w, code, errorReply{list[0], list})
}

// fail answers with an error of the store or of a reader.
func (s *Server) fail(w http.ResponseWriter, err error) {
	var large *http.MaxBytesError
	var asked *askedError
	var located interface{ Where() (string, int, int) }
	switch {
	case errors.As(err, &large):
		s.refuse(w, http.StatusRequestEntityTooLarge, "large", "more than can be taken at once", "split it")
	case errors.As(err, &asked):
		s.refuseWith(w, http.StatusBadRequest, faultsOf(err, "request"))
	case errors.Is(err, errBehind):
		s.refuse(w, http.StatusConflict, "behind", "the plan was changed in another window", "look at what is new, then make the change again")
	case errors.Is(err, ErrChanged):
		s.refuse(w, http.StatusConflict, "changed", "the file was changed by another program", "reload it: the page then shows what the other program wrote, and nothing of that is lost")
	case errors.Is(err, ErrNothing):
		s.refuse(w, http.StatusConflict, "nothing", "nothing to undo or do again", "")
	case errors.Is(err, plan.ErrNoPlace):
		s.refuse(w, http.StatusUnprocessableEntity, "plan", "the plan has no such place", "load the page again")
	case errors.Is(err, plan.ErrForm):
		s.refuse(w, http.StatusUnprocessableEntity, "plan", "this part of the plan is written in a form that only a text editor can change", "change the file and reload it")
	case errors.As(err, &located):
		s.refuseWith(w, http.StatusUnprocessableEntity, faultsOf(err, "plan"))
	default:
		s.refuseWith(w, http.StatusInternalServerError, faultsOf(err, "failed"))
	}
}

// plan returns the store, or answers that there is no plan yet.
func (s *Server) plan(w http.ResponseWriter) *Store {
	store := s.current()
	if store == nil {
		s.refuse(w, http.StatusConflict, "none", "there is no plan yet", "make one on the start page")
	}
	return store
}

// A shown is what GET state answers.
type shown struct {
	Number   int         `json:"number"`
	File     string      `json:"file"`
	Text     string      `json:"text"`
	Withheld bool        `json:"person_withheld"` // the person block is not in the text
	Faults   []cli.Fault `json:"faults"`
	Fields   []field     `json:"fields"`
	Log      string      `json:"log"` // "" where the plan names none
	Undo     string      `json:"undo"`
	Redo     string      `json:"redo"`
	Changed  bool        `json:"changed"` // on disk, by another program
	Result   status      `json:"result"`
	Notes    []string    `json:"notes"` // the last ones
}

// A field is one of the most used values of a plan.
type field struct {
	Path  string `json:"path"`
	Title string `json:"title"`
	Value string `json:"value"` // "" where it is not set
}

// state is what there is to show now.
func (s *Server) state(store *Store) (shown, error) {
	st := store.State()
	out := shown{
		Number: st.Number, File: filepath.Base(store.Name()), Text: string(st.Text), Faults: []cli.Fault{},
		Fields: fieldsOf(st.Text), Undo: st.Undo, Redo: st.Redo,
	}
	if !s.o.WithName {
		redacted := string(plan.Redact(st.Text))
		out.Text, out.Withheld = redacted, redacted != out.Text
	}
	p, err := store.Plan()
	switch {
	case err != nil:
		out.Faults = faultsOf(err, "plan")
	case p.Traveller.Log != "":
		out.Log = filepath.Base(p.Traveller.Log)
	}
	s.mu.Lock()
	out.Changed, out.Result = s.changed, s.status
	s.mu.Unlock()
	out.Notes, err = store.Notes(mostNotes)
	return out, err
}

// mostNotes is how many notes the state holds.
const mostNotes = 50

// fieldsOf are the most used values of a plan. The first start is always among them.
func fieldsOf(text []byte) []field {
	list := []field{{Path: "title", Title: "Title"}, {Path: "as_of", Title: "As of"}, {Path: "weather.visibility", Title: "Visibility"}}
	for i := range mostStarts {
		at := fmt.Sprintf("starts[%d].", i)
		name, ok := plan.Lookup(text, at+"name")
		if !ok && i > 0 {
			break
		}
		if name == "" {
			name = "start " + strconv.Itoa(i+1)
		}
		list = append(list, field{Path: at + "position", Title: "Position of " + name}, field{Path: at + "error", Title: "Error of " + name}, field{Path: at + "time", Title: "Time of " + name})
	}
	for i := range list {
		list[i].Value, _ = plan.Lookup(text, list[i].Path)
	}
	return list
}

// mostStarts is how many starts are among the fields.
const mostStarts = 8

func (s *Server) getState(w http.ResponseWriter, _ *http.Request) {
	if store := s.plan(w); store != nil {
		s.sendState(w, store)
	}
}

func (s *Server) sendState(w http.ResponseWriter, store *Store) {
	out, err := s.state(store)
	if err != nil {
		s.fail(w, err)
		return
	}
	s.reply(w, http.StatusOK, out)
}

// numberHeader tells of which edit an answer is.
const numberHeader = "Farhail-Number"

func (s *Server) getResult(w http.ResponseWriter, _ *http.Request) {
	s.sendKept(w, jsonType, func(o outcome) []byte { return o.result })
}

func (s *Server) getViewer(w http.ResponseWriter, _ *http.Request) {
	s.sendKept(w, "text/html; charset=utf-8", func(o outcome) []byte { return o.viewer })
}

func (s *Server) sendKept(w http.ResponseWriter, kind string, part func(outcome) []byte) {
	s.mu.Lock()
	kept := s.kept
	s.mu.Unlock()
	data := part(kept)
	if data == nil {
		s.refuse(w, http.StatusNotFound, "none", "nothing is computed yet", "wait for the event done")
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set(numberHeader, strconv.Itoa(kept.number))
	_, _ = w.Write(data)
}

func (s *Server) getExport(w http.ResponseWriter, _ *http.Request) {
	store := s.plan(w)
	if store == nil {
		return
	}
	redact := plan.Redact
	if s.o.WithName {
		redact = func(text []byte) []byte { return text }
	}
	var b bytes.Buffer
	if err := store.Export(&b, redact); err != nil {
		s.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="farhail-export.zip"`)
	_, _ = w.Write(b.Bytes())
}

// change makes one change of the store by itself, and tells all windows.
func (s *Server) change(w http.ResponseWriter, do func(store *Store) error) {
	store := s.plan(w)
	if store == nil {
		return
	}
	s.writing.Lock()
	err := do(store)
	s.writing.Unlock()
	if err != nil {
		if errors.Is(err, ErrChanged) {
			s.setChanged(store, true)
		}
		s.fail(w, err)
		return
	}
	s.hub.tell("edit", told{Number: store.State().Number})
	s.renew()
	s.sendState(w, store)
}

// errBehind says that a page did not see the newest edit.
var errBehind = errors.New("desk: the page is behind")

// at refuses a change by a page that is behind.
func at(store *Store, number int) error {
	if store.State().Number != number {
		return errBehind
	}
	return nil
}

func (s *Server) postEdit(w http.ResponseWriter, r *http.Request) {
	e, err := readEdit(r.Body)
	if err != nil {
		s.fail(w, err)
		return
	}
	what := "set " + e.Changes[0].Path
	if n := len(e.Changes); n > 1 {
		what += fmt.Sprintf(" and %d more", n-1)
	}
	for _, c := range e.Changes {
		if mine(c) && !s.o.WithName {
			s.refuse(w, http.StatusForbidden, "withheld", "the person block is not shown here", "start farhail desk with --with-name, or change the file with a text editor")
			return
		}
	}
	s.change(w, func(store *Store) error {
		if err := at(store, e.Number); err != nil {
			return err
		}
		return store.Edit(what, e.Changes...)
	})
}

// seen is what undo and redo send: the number that the page saw.
type seen struct {
	Number *int `json:"number"`
}

func (s *Server) postUndo(w http.ResponseWriter, r *http.Request) { s.step(w, r, (*Store).Undo) }
func (s *Server) postRedo(w http.ResponseWriter, r *http.Request) { s.step(w, r, (*Store).Redo) }

func (s *Server) step(w http.ResponseWriter, r *http.Request, do func(*Store) error) {
	var sent seen
	err := readJSON(r.Body, &sent)
	if err == nil && sent.Number == nil {
		err = asking("a step without the number that the page saw")
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	s.change(w, func(store *Store) error {
		if err := at(store, *sent.Number); err != nil {
			return err
		}
		return do(store)
	})
}

func (s *Server) postReload(w http.ResponseWriter, r *http.Request) {
	if err := readJSON(r.Body, &struct{}{}); err != nil {
		s.fail(w, err)
		return
	}
	s.change(w, func(store *Store) error {
		if err := store.Reload(); err != nil {
			return err
		}
		s.setChanged(store, false)
		return nil
	})
}

// longestLeg is the longest line of a log that is added here [bytes].
const longestLeg = 500

func (s *Server) postLeg(w http.ResponseWriter, r *http.Request) {
	var sent struct {
		Number *int   `json:"number"`
		Line   string `json:"line"`
	}
	err := readJSON(r.Body, &sent)
	line := strings.TrimSpace(sent.Line)
	switch {
	case err != nil:
	case sent.Number == nil:
		err = asking("a leg without the number that the page saw")
	case line == "" || len(line) > longestLeg || strings.ContainsFunc(line, unicode.IsControl):
		err = &askedError{"a leg is one line", "write it like 060 1000 m"}
	}
	if err != nil {
		s.fail(w, err)
		return
	}
	s.change(w, func(store *Store) error {
		if err := at(store, *sent.Number); err != nil {
			return err
		}
		return addLeg(store, line)
	})
}

// addLeg adds a line to the log that the plan names, where the reader of logs takes it.
func addLeg(store *Store, line string) error {
	p, err := store.Plan()
	if err != nil {
		return err
	}
	name := p.Traveller.Log
	if name == "" {
		return &askedError{"the plan names no log", "write log: log.txt into the plan's traveller block, and the file beside it"}
	}
	path, err := filepath.Abs(filepath.FromSlash(name))
	if err != nil {
		return err
	}
	return store.Append("add a leg", path, line, func(data []byte) error {
		_, err := job.ReadLog(overlaid{over: map[string][]byte{path: data}}, name)
		return err
	})
}

func (s *Server) postNote(w http.ResponseWriter, r *http.Request) {
	var sent struct {
		At   string `json:"at"` // of the event, "" for now
		Text string `json:"text"`
	}
	if err := readJSON(r.Body, &sent); err != nil {
		s.fail(w, err)
		return
	}
	store := s.plan(w)
	if store == nil {
		return
	}
	when := s.o.Now()
	if sent.At != "" {
		var zone *time.Location
		if p, err := store.Plan(); err == nil {
			zone = p.Zone
		}
		var err error
		if when, err = cli.ParseTime(sent.At, zone); err != nil {
			s.refuseWith(w, http.StatusUnprocessableEntity, faultsOf(err, "note"))
			return
		}
	}
	if err := store.Note(when, sent.Text); err != nil {
		s.refuseWith(w, http.StatusUnprocessableEntity, faultsOf(err, "note"))
		return
	}
	s.hub.tell("note", told{Number: store.State().Number})
	s.sendState(w, store)
}

// An uploaded is what POST upload answers.
type uploaded struct {
	Name      string `json:"name"` // beside the plan
	Waypoints int    `json:"waypoints"`
	Routes    int    `json:"routes"`
	Tracks    int    `json:"tracks"`
	Dropped   int    `json:"dropped"` // points that the reader could not use
}

// postUpload keeps a GPX file beside the plan, once the reader of GPX takes it.
func (s *Server) postUpload(w http.ResponseWriter, r *http.Request) {
	store := s.plan(w)
	if store == nil {
		return
	}
	s.uploads.Lock()
	defer s.uploads.Unlock()
	data, err := io.ReadAll(r.Body)
	if err != nil {
		s.fail(w, err)
		return
	}
	stem, ext := cleanName(r.URL.Query().Get("name"))
	if ext != ".gpx" {
		stem, ext = stem+strings.TrimSpace(ext), ".gpx"
	}
	g, err := mapfile.ReadGPX(bytes.NewReader(data), stem+ext)
	if err != nil {
		s.refuseWith(w, http.StatusUnprocessableEntity, faultsOf(err, "gpx"))
		return
	}
	name, err := store.Save(stem+ext, data)
	if err != nil {
		s.fail(w, err)
		return
	}
	s.reply(w, http.StatusOK, uploaded{name, len(g.Waypoints), len(g.Routes), len(g.Tracks), len(g.Problems)})
}
