package plan

import (
	"fmt"
	"sort"
	"strings"
)

// A Problem is one fault of a plan file.
type Problem struct {
	File         string
	Line, Column int    // from 1; columns count characters; 0 is unknown
	Message      string // what is wrong
	Text         string // the offending text, "" inside the person block
	Advice       string // what to do next
}

// Error returns "file:line:column: what is wrong".
func (p *Problem) Error() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.Message)
	}
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Column, p.Message)
}

// Where returns the place of the fault.
func (p *Problem) Where() (file string, line, column int) { return p.File, p.Line, p.Column }

// Offending returns the offending text.
func (p *Problem) Offending() string { return p.Text }

// Hint says what to do next.
func (p *Problem) Hint() string { return p.Advice }

// Problems are all faults of one plan file, in the order of the file.
type Problems []*Problem

// Error returns one fault a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the faults one by one, for errors.As.
func (ps Problems) Unwrap() []error {
	list := make([]error, len(ps))
	for i, p := range ps {
		list[i] = p
	}
	return list
}

// maxProblems is where a file is given up: it is not a plan.
const maxProblems = 100

// sorted brings the faults into file order and cuts a flood of them.
func (ps Problems) sorted() Problems {
	sort.SliceStable(ps, func(i, j int) bool {
		if ps[i].Line != ps[j].Line {
			return ps[i].Line < ps[j].Line
		}
		return ps[i].Column < ps[j].Column
	})
	if len(ps) <= maxProblems {
		return ps
	}
	last := ps[maxProblems]
	return append(ps[:maxProblems:maxProblems], &Problem{
		File: last.File, Line: last.Line, Column: last.Column,
		Message: fmt.Sprintf("%d more faults from here on are not told", len(ps)-maxProblems),
		Advice:  "mend these first; is it a plan",
	})
}

// At returns a fault of the item on a line of the plan, for whoever finds
// later that what it asks for cannot be.
func (p *Plan) At(line int, message, hint string) error {
	return &Problem{File: p.File, Line: line, Column: 1, Message: message, Advice: hint}
}
