package plan

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
)

// scalar returns the text of a single value as it was written, without quotes.
func (r *reader) scalar(n ast.Node, what string) (string, bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, true
	case *ast.LiteralNode:
		return strings.TrimRight(v.Value.Value, "\n"), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	r.wrongType(n, "one "+what+" is needed here", "write it on the line of its key")
	return "", false
}

// bad reports a fault of a single value.
func (r *reader) bad(n ast.Node, text, message, hint string) {
	line, column := place(n)
	r.report(line, column, text, message, hint)
}

// inset returns how many characters after the start of the node the inner
// place lies; 0 where the source does not hold the text as it is.
func (r *reader) inset(n ast.Node, text string, inner int) int {
	line, column := place(n)
	if line < 1 || line > len(r.lines) {
		return 0
	}
	chars := []rune(r.lines[line-1])
	if column > len(chars) {
		return 0
	}
	source, quote := string(chars[column-1:]), 0
	if source[0] == '"' || source[0] == '\'' {
		source, quote = source[1:], 1
	}
	if !strings.HasPrefix(source, text) {
		return 0
	}
	return quote + inner - 1
}

// fault is what the readers of quantities, times and positions return.
type fault interface {
	error
	Where() (file string, line, column int)
	Offending() string
	Hint() string
}

// badValue reports the error of such a reader, which may point into the text.
func (r *reader) badValue(n ast.Node, text string, err error) {
	var f fault
	if !errors.As(err, &f) {
		hint := ""
		var h interface{ Hint() string }
		if errors.As(err, &h) {
			hint = h.Hint()
		}
		r.bad(n, text, err.Error(), hint)
		return
	}
	line, column := place(n)
	if file, _, inner := f.Where(); file == "" && inner > 1 {
		column += r.inset(n, text, inner)
	}
	r.report(line, column, f.Offending(), f.Error(), f.Hint())
}

// parsed reads a single value by what parses its text and keeps it, if it can.
func (r *reader) parsed(what string, parse func(text string) error) func(ast.Node) {
	return func(n ast.Node) {
		if s, ok := r.scalar(n, what); ok {
			if err := parse(s); err != nil {
				r.badValue(n, s, err)
			}
		}
	}
}

func (r *reader) quantity(p *float64, d cli.Dimension) func(ast.Node) {
	return r.parsed("quantity", func(s string) error {
		v, err := cli.ParseQuantity(s, d)
		if err == nil {
			*p = v
		}
		return err
	})
}

// quantities reads a list of quantities that increases, or one alone.
func (r *reader) quantities(p *[]float64, what string, d cli.Dimension) func(ast.Node) {
	return func(n ast.Node) {
		add := func(n ast.Node) {
			var v float64
			before := len(r.problems)
			r.quantity(&v, d)(n)
			if len(r.problems) > before {
				return
			}
			if k := len(*p); k > 0 && v <= (*p)[k-1] {
				line, column := place(n)
				r.report(line, column, n.GetToken().Value, "not later than the one before", "write "+what+" in increasing order")
				return
			}
			*p = append(*p, v)
		}
		r.oneOrMany(n, what, add)
	}
}

func (r *reader) oneOrMany(n ast.Node, what string, item func(ast.Node)) {
	if _, ok := n.(*ast.SequenceNode); ok {
		r.list(n, what, item)
		return
	}
	item(n)
}

func (r *reader) size(width, height *float64) func(ast.Node) {
	return r.parsed("size", func(s string) error {
		w, h, err := cli.ParseSize(s, cli.Length.Positive())
		if err == nil {
			*width, *height = w, h
		}
		return err
	})
}

func (r *reader) time(p *time.Time) func(ast.Node) {
	return r.parsed("time", func(s string) error {
		t, err := cli.ParseTime(s, r.zone)
		if err != nil {
			return err
		}
		if r.zone != nil {
			t = t.In(r.zone)
		}
		*p = t
		return nil
	})
}

// point reads a position, or FILE.gpx#NAME with the path taken from the plan's
// folder. square, where it is wanted, gets the side of the square that a grid
// reference names, 0 for other notations.
func (r *reader) point(p *orb.Point, square *float64) func(ast.Node) {
	return func(n ast.Node) {
		if _, list := n.(*ast.SequenceNode); list {
			r.wrongType(n, "one position is needed here", `write it as one text, like "42.5, 1.5", latitude first`)
			return
		}
		if s, ok := r.scalar(n, "position"); ok {
			pos, err := r.position(s)
			if err != nil {
				r.badValue(n, s, err)
				return
			}
			*p = pos.Point
			if square != nil {
				*square = pos.SquareM
			}
		}
	}
}

// position reads the text of a position. A GPX file that it names is noted.
func (r *reader) position(s string) (coord.Position, error) {
	file := cli.WaypointFile(s)
	if file == "" {
		return coord.Parse(s)
	}
	full := r.join(file)
	if !slices.Contains(r.waypoints, full) {
		r.waypoints = append(r.waypoints, full)
	}
	pos, _, err := cli.Waypoint(r.fsys, full+s[len(file):])
	if errors.Is(err, fs.ErrNotExist) {
		err = cli.WithHint(errors.New("no such file"), "paths start from the folder of the plan")
	}
	return pos, err
}

// text reads a text of one line.
func (r *reader) text(p *string) func(ast.Node) {
	const most = 200
	return func(n ast.Node) {
		s, ok := r.scalar(n, "text")
		s = strings.TrimSpace(s)
		switch {
		case !ok:
		case s == "":
			r.bad(n, s, "an empty text", "write one or remove the key")
		case utf8.RuneCountInString(s) > most:
			r.bad(n, s, fmt.Sprintf("a text of more than %d characters", most), "shorten it")
		case strings.ContainsFunc(s, unicode.IsControl):
			r.bad(n, "", "a line break or control character in the text", "write it on one line")
		default:
			*p = s
		}
	}
}

// word reads one of a few words.
func (r *reader) word(p *string, words ...string) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := r.scalar(n, "word")
		if !ok {
			return
		}
		for _, w := range words {
			if s == w {
				*p = w
				return
			}
		}
		hint := cli.Meant(s, words, "write one of "+strings.Join(words, ", "))
		r.bad(n, s, fmt.Sprintf("%q is not one of the choices", clip(s)), hint)
	}
}

func (r *reader) boolean(p *bool) func(ast.Node) {
	return func(n ast.Node) {
		if v, ok := n.(*ast.BoolNode); ok {
			*p = v.Value
			return
		}
		if s, ok := r.scalar(n, "answer"); ok {
			r.bad(n, s, "neither true nor false", "write true or false")
		}
	}
}

// whole reads a whole number without a unit.
func (r *reader) whole(p *int, low, high int) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := r.scalar(n, "whole number")
		if !ok {
			return
		}
		v, err := strconv.Atoi(s)
		if _, quoted := n.(*ast.StringNode); err != nil || quoted || v < low || v > high {
			r.bad(n, s, fmt.Sprintf("not a whole number from %d to %d", low, high), "write a figure without a unit, like 3")
			return
		}
		*p = v
	}
}

// file reads a path. Where the plan needs the file to be there, check says so.
func (r *reader) path(p *string, check bool) func(ast.Node) {
	return func(n ast.Node) {
		var s string
		if r.text(&s)(n); s == "" {
			return
		}
		full := r.join(s)
		if check && !r.exists(full) {
			r.bad(n, s, "no such file", "paths start from the folder of the plan")
			return
		}
		*p = full
	}
}

// paths reads one path or a list of them.
func (r *reader) paths(p *[]string, what string, check bool) func(ast.Node) {
	return func(n ast.Node) {
		r.oneOrMany(n, what, func(n ast.Node) {
			var s string
			if r.path(&s, check)(n); s != "" {
				*p = append(*p, s)
			}
		})
	}
}
