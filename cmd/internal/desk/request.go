package desk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
)

// Limits of one edit.
const (
	mostChanges = 64
	deepest     = 8    // blocks in blocks
	longestPath = 200  // bytes
	longestText = 4000 // bytes
)

// An edit is what POST edit sends.
type edit struct {
	Number  int // that the page saw
	Changes []plan.Change
}

// sentEdit is an edit as it is written.
type sentEdit struct {
	Number  *int `json:"number"`
	Changes []struct {
		Path  string          `json:"path"`
		Value json.RawMessage `json:"value"`
	} `json:"changes"`
}

// readEdit reads an edit: strictly, so that a slip of the page is not an edit of the plan.
func readEdit(r io.Reader) (edit, error) {
	var sent sentEdit
	if err := readJSON(r, &sent); err != nil {
		return edit{}, err
	}
	switch n := len(sent.Changes); {
	case sent.Number == nil:
		return edit{}, asking("an edit without the number that the page saw")
	case n == 0 || n > mostChanges:
		return edit{}, asking(fmt.Sprintf("an edit has 1 to %d changes", mostChanges))
	}
	e := edit{Number: *sent.Number}
	for _, c := range sent.Changes {
		if c.Path == "" || len(c.Path) > longestPath {
			return edit{}, asking("a change without a path")
		}
		if len(c.Value) == 0 {
			return edit{}, asking("a change without a value: null takes away")
		}
		value, err := readValue(c.Value)
		if err != nil {
			return edit{}, err
		}
		e.Changes = append(e.Changes, plan.Change{Path: c.Path, Value: value})
	}
	return e, nil
}

// readValue reads a value of an edit: the forms that [plan.Change] takes, the keys of a
// block in their order.
func readValue(raw []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	return nextValue(dec, 0)
}

var blockKey = regexp.MustCompile(`^[a-z_][a-z0-9_]{0,39}$`)

func nextValue(dec *json.Decoder, depth int) (any, error) {
	token, err := dec.Token()
	if err != nil {
		return nil, asking("not JSON")
	}
	switch v := token.(type) {
	case nil:
		if depth > 0 {
			return nil, asking("null stands for a whole value only")
		}
		return nil, nil
	case bool:
		return v, nil
	case string:
		return v, checkText(v)
	case json.Number:
		n, err := v.Int64()
		if err != nil || n != int64(int(n)) {
			return nil, asking("write a figure that is not whole as a text, with its unit")
		}
		return int(n), nil
	case json.Delim:
		if depth >= deepest {
			return nil, asking("blocks too deep in each other")
		}
		if v == '[' {
			return nextTexts(dec)
		}
		return nextBlock(dec, depth)
	}
	return nil, asking("not a value")
}

func nextTexts(dec *json.Decoder) (any, error) {
	list := []string{}
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return nil, asking("not JSON")
		}
		text, ok := token.(string)
		if !ok {
			return nil, asking("a list of texts holds texts only")
		}
		if err := checkText(text); err != nil {
			return nil, err
		}
		list = append(list, text)
	}
	if _, err := dec.Token(); err != nil {
		return nil, asking("not JSON")
	}
	return list, nil
}

func nextBlock(dec *json.Decoder, depth int) (any, error) {
	var fields []plan.Field
	for dec.More() {
		token, err := dec.Token()
		if err != nil {
			return nil, asking("not JSON")
		}
		key, _ := token.(string)
		if !blockKey.MatchString(key) || slices.ContainsFunc(fields, func(f plan.Field) bool { return f.Key == key }) {
			return nil, asking("a block with a key that no plan has, or twice the same")
		}
		value, err := nextValue(dec, depth+1)
		if err != nil {
			return nil, err
		}
		fields = append(fields, plan.Field{Key: key, Value: value})
	}
	if _, err := dec.Token(); err != nil {
		return nil, asking("not JSON")
	}
	if len(fields) == 0 {
		return nil, asking("an empty block")
	}
	return fields, nil
}

// outside is how a path begins that does not lie beside the plan.
var outside = regexp.MustCompile(`^([/\\]|[A-Za-z]:[/\\]|~[/\\])`)

// checkText refuses texts that no plan holds, and paths that lead away from the plan's
// folder: the page names files beside the plan only.
func checkText(text string) error {
	switch {
	case len(text) > longestText:
		return asking(fmt.Sprintf("a text of more than %d bytes", longestText))
	case !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl):
		return asking("a character that no text holds")
	case outside.MatchString(text) || slices.Contains(strings.FieldsFunc(text, func(c rune) bool { return c == '/' || c == '\\' }), ".."):
		return &askedError{"a path that leads away from the plan", "the page names files beside the plan only: copy it there, or write the path into the plan with a text editor"}
	}
	return nil
}

// readJSON reads one JSON value and refuses what it does not know.
func readJSON(r io.Reader, v any) error {
	dec := json.NewDecoder(r)
	dec.DisallowUnknownFields()
	text, err := "not what is asked for", dec.Decode(v)
	if err == nil {
		text = "something after the request"
		if _, err = dec.Token(); err == io.EOF {
			return nil
		}
	}
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return large
	}
	return asking(text)
}

// An askedError is a fault of a request.
type askedError struct{ text, hint string }

func asking(text string) error { return &askedError{text, "load the page again"} }

// Error returns what is wrong.
func (e *askedError) Error() string { return e.text }

// Hint says what to do next.
func (e *askedError) Hint() string { return e.hint }

// mine reports whether a change touches the person block.
func mine(c plan.Change) bool {
	return c.Path == "person" || strings.HasPrefix(c.Path, "person.") || strings.HasPrefix(c.Path, "person[")
}

// faultsOf are the faults of an error, each with the kind that the page goes by.
func faultsOf(err error, kind string) []cli.Fault {
	list := cli.Faults(err)
	for i := range list {
		list[i].Kind = kind
	}
	return list
}
