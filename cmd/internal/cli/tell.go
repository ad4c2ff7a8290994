package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"syscall"
)

// Rules for what goes where: stdout carries the result and nothing else, so
// that it can be piped; messages go to stderr as "farhail: error: …",
// "farhail: warning: …" and "farhail: hint: …", lower case, no full stop.
// Under --json the result or the error is one JSON object on stdout, and the
// notes of the run stand in it. Nothing is ever coloured.

// Severities of notes.
const (
	SeverityWarning = "warning"
	SeverityHint    = "hint"
)

// A Note is something the user should know beside the result.
type Note struct {
	Severity string  `json:"severity"` // warning or hint
	Text     string  `json:"text"`
	Hint     *string `json:"hint"` // what to do next, null when there is nothing
}

// Warn notes something that may spoil the result, with what to do about it
// ("" for nothing). Notes told after Print are not in its JSON.
func (a *App) Warn(text, hint string) {
	a.Note(Note{SeverityWarning, text, known(hint)})
}

// Hint notes what the user may do next.
func (a *App) Hint(text string) { a.Note(Note{Severity: SeverityHint, Text: text}) }

// Note keeps a note for the JSON output and tells it on stderr; a note that is
// there already is not told twice.
func (a *App) Note(n Note) {
	for _, old := range a.notes {
		if old.Severity == n.Severity && old.Text == n.Text {
			return
		}
	}
	a.notes = append(a.notes, n)
	if a.Quiet {
		return
	}
	a.tell(n.Severity, a.Words.Sentence(n.Text))
	if n.Hint != nil {
		a.tell(SeverityHint, *n.Hint)
	}
}

// Notes returns the notes so far, never nil.
func (a *App) Notes() []Note { return append([]Note{}, a.notes...) }

// Print writes the result: under --json as one object with the notes as its
// last key, otherwise by text. The result must marshal to a JSON object;
// Print panics if it does not, which is a fault of the program.
func (a *App) Print(result any, text func(w Text)) error {
	var buf bytes.Buffer
	if a.JSON {
		if err := a.encode(&buf, result); err != nil {
			return err
		}
	} else {
		text(Text{&buf, a.Words})
	}
	a.meter.end()
	if _, err := a.Stdout.Write(buf.Bytes()); err != nil {
		return &outputError{fmt.Errorf("standard output: %w", err)}
	}
	return nil
}

func (a *App) encode(w *bytes.Buffer, result any) error {
	body, err := marshalPlain(result)
	if err != nil {
		return fmt.Errorf("encoding the result: %w", err)
	}
	notes, err := marshalPlain(a.Notes())
	if err != nil {
		return fmt.Errorf("encoding the notes: %w", err)
	}
	joined := append(withoutKey(body, "notes"), `"notes":`...)
	joined = append(append(joined, notes...), '}')
	if err := json.Indent(w, joined, "", "  "); err != nil {
		return fmt.Errorf("encoding the result: %w", err)
	}
	w.WriteByte('\n')
	return nil
}

// withoutKey returns a JSON object less one key and its closing brace, ready
// for more keys. A result that keeps notes of its own has told them to the
// App, whose list holds all.
func withoutKey(object []byte, key string) []byte {
	if object[0] != '{' {
		panic("cli: the result is not a JSON object")
	}
	dec := json.NewDecoder(bytes.NewReader(object))
	out := []byte{'{'}
	must := func(err error) {
		if err != nil {
			panic("cli: " + err.Error()) // Marshal wrote it
		}
	}
	_, err := dec.Token()
	for must(err); dec.More(); {
		name, err := dec.Token()
		must(err)
		var value json.RawMessage
		must(dec.Decode(&value))
		if name != key {
			quoted, err := marshalPlain(name)
			must(err)
			out = append(append(append(append(out, quoted...), ':'), value...), ',')
		}
	}
	return out
}

// marshalPlain is json.Marshal without the escapes that HTML needs.
func marshalPlain(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSpace(buf.Bytes()), nil
}

// tellError prints an error, and each of the errors in a joined one. Under
// --json the first is the error object; where there are several, all of them
// are listed in errors too.
func (a *App) tellError(err error) {
	list := faults(err)
	var told *toldError
	if a.JSON && errors.As(err, &told) {
		return
	}
	if a.JSON {
		report := struct {
			Error  Fault   `json:"error"`
			Errors []Fault `json:"errors,omitempty"`
		}{Error: list[0]}
		if len(list) > 1 {
			report.Errors = list
		}
		var buf bytes.Buffer
		if a.encode(&buf, report) == nil {
			// A stdout that cannot be written leaves only the exit code.
			_, _ = a.Stdout.Write(buf.Bytes())
		}
		return
	}
	last := ""
	for _, f := range list {
		a.tell("error", f.Text)
		// Many errors of one kind share a hint; told once it is enough.
		if f.Hint != nil && *f.Hint != last {
			a.tell(SeverityHint, *f.Hint)
			last = *f.Hint
		}
	}
}

func (a *App) tell(severity, text string) {
	a.meter.erase()
	fmt.Fprintf(a.Stderr, "farhail: %s: %s\n", severity, text)
}

// A pipe is stdout that may be closed by its reader, as head does when it has
// seen enough: from then on it swallows what is written.
type pipe struct {
	w      io.Writer
	closed bool
}

func (p *pipe) Write(b []byte) (int, error) {
	if p.closed {
		return len(b), nil
	}
	n, err := p.w.Write(b)
	if errors.Is(err, syscall.EPIPE) || errors.Is(err, io.ErrClosedPipe) {
		p.closed = true
		return len(b), nil
	}
	return n, err
}
