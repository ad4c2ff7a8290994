package job

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
	"farhail/geo/mapfile"

	"github.com/paulmach/orb"
)

// A DrillReport is what somebody said to have found.
type DrillReport struct {
	Who   string
	What  string    // name of something hidden, "" where it is not said
	At    time.Time // zero: not said
	Point orb.Point
	Line  int
}

// maxReportsBytes keeps a file of reports to what people write on one day.
const maxReportsBytes = 1 << 20

// reportColumns are the columns of a file of reports: position, or lat and lon.
const reportColumns = "who,time,position,what"

// ReadReports reads a CSV file of reports whose first row names the columns: who,
// time, position (or lat and lon) and what, in any order; who and what may be left
// out. A time of the day alone, like 10:42, is the first such moment from begins on,
// in its zone. Faults are [*mapfile.Error] with line and column.
func ReadReports(r io.Reader, name string, begins time.Time) ([]DrillReport, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxReportsBytes+1))
	switch {
	case err != nil:
		return nil, cli.InputError(name, err)
	case len(data) > maxReportsBytes:
		return nil, &mapfile.Error{File: name, Text: fmt.Sprintf("more than %d bytes", maxReportsBytes), Fix: "hand in the reports of one drill", Err: mapfile.ErrTooLarge}
	}
	c := csv.NewReader(bytes.NewReader(data))
	c.FieldsPerRecord, c.TrimLeadingSpace = -1, true
	head, err := c.Read()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, csvFault(name, err)
	}
	rows := reportRows{file: name, csv: c, begins: begins, columns: map[string]int{}}
	for i, h := range head {
		rows.columns[strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff")))] = i
	}
	if !rows.has("position") && !(rows.has("lat") && rows.has("lon")) || !rows.has("time") {
		return nil, &mapfile.Error{File: name, Line: 1, Column: 1, Text: "the first row does not name the columns time and position", Fix: "begin with a row " + reportColumns}
	}
	var list []DrillReport
	for {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, csvFault(name, err)
		}
		one, err := rows.report(row)
		if err != nil {
			return nil, err
		}
		list = append(list, one)
	}
	return list, nil
}

// csvFault tells where a file is no CSV.
func csvFault(name string, err error) error {
	e := &mapfile.Error{File: name, Text: "not a table with commas", Fix: "write text with a comma or a quote in it between quotes", Err: err}
	var p *csv.ParseError
	if errors.As(err, &p) {
		e.Line, e.Column, e.Text = p.Line, p.Column, p.Err.Error()
	}
	return e
}

// reportRows reads the rows below the head.
type reportRows struct {
	file    string
	csv     *csv.Reader
	begins  time.Time
	columns map[string]int
}

func (r reportRows) has(column string) bool { _, ok := r.columns[column]; return ok }

// field returns what stands in a column, "" where the row ends before it.
func (r reportRows) field(row []string, column string) string {
	if i, ok := r.columns[column]; ok && i < len(row) {
		return strings.TrimSpace(row[i])
	}
	return ""
}

// fault returns an error that names a column of the row.
func (r reportRows) fault(row []string, column, text, found, fix string) error {
	line, at := r.csv.FieldPos(0)
	if i, ok := r.columns[column]; ok && i < len(row) {
		line, at = r.csv.FieldPos(i)
	}
	return &mapfile.Error{File: r.file, Line: line, Column: at, Text: text, Found: found, Fix: fix}
}

func (r reportRows) report(row []string) (DrillReport, error) {
	line, _ := r.csv.FieldPos(0)
	out := DrillReport{Who: r.field(row, "who"), What: r.field(row, "what"), Line: line}
	for _, column := range []string{"who", "what"} {
		if s := r.field(row, column); !utf8.ValidString(s) {
			return out, r.fault(row, column, "not UTF-8 text", "", "save the file as UTF-8")
		}
	}
	where, column := r.field(row, "position"), "position"
	if where == "" && r.field(row, "lat") != "" {
		where, column = r.field(row, "lat")+", "+r.field(row, "lon"), "lat"
	}
	pos, err := coord.Parse(where)
	if err != nil {
		return out, r.fault(row, column, "no position: "+err.Error(), where, "write it in any notation, between quotes if it has a comma: \"46.0075, -20.0116\"")
	}
	out.Point = pos.Point
	if s := r.field(row, "time"); s != "" {
		if out.At, err = r.moment(s); err != nil {
			return out, r.fault(row, "time", "no time: "+err.Error(), s, "write it like 10:42 or 2026-11-28T10:42:00+01:00, or leave it empty")
		}
	}
	return out, nil
}

// moment reads a time, or a time of the day from the beginning of the drill on.
func (r reportRows) moment(s string) (time.Time, error) {
	for _, layout := range []string{"15:04", "15:04:05"} {
		clock, err := time.Parse(layout, s)
		if err != nil {
			continue
		}
		b := r.begins
		at := time.Date(b.Year(), b.Month(), b.Day(), clock.Hour(), clock.Minute(), clock.Second(), 0, b.Location())
		if at.Before(b.Truncate(time.Minute)) {
			at = time.Date(b.Year(), b.Month(), b.Day()+1, clock.Hour(), clock.Minute(), clock.Second(), 0, b.Location())
		}
		return at, nil
	}
	return cli.ParseTime(s, r.begins.Location())
}
