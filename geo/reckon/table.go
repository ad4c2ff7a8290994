package reckon

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// A log may be a table (CSV): after the headers, which may stand above it as
// in a text log, a row of column names and one leg a row:
//
//	north: magnetic
//	bearing,distance,time,slope,note
//	060,1000 m,10:40,,
//	130,850 paces,11:05,+12%,crossed the stream
//
// The marks between cells are commas, semicolons or tabs. Where they are not
// commas, a comma in a number is its decimal sign. A column may name the unit
// of its numbers, as in "distance (m)" or bearing_true_deg. A row whose bearing
// cell begins with at, on, resection or break is a line about a known place.

// A column is one column of a table, by what it holds.
type column struct {
	name  string // bearing, distance, time, slope, note, or a header's
	unit  string // of numbers that have none; "" for none
	north North  // of bearings that have none; "" for the log's
}

const columnNames = "bearing, distance, unit, time, slope, note, north, date, start, declination, convergence, condition, pace, at"

// findTable returns the line of a table's row of names and the mark between its
// cells, 0 for a log that is no table.
func findTable(lines []string) (line int, mark rune) {
	for i, text := range lines {
		lower := strings.ToLower(text)
		if strings.HasPrefix(strings.TrimSpace(text), "#") || !strings.Contains(lower, "bearing") && !strings.Contains(lower, "distance") {
			continue
		}
		for _, mark := range ";\t," {
			cells, err := cutCells(text, mark)
			if err != nil || len(cells) < 2 {
				continue
			}
			known := 0
			for _, cell := range cells {
				if _, ok := columnOf(cell.text); ok {
					known++
				}
			}
			if known > 1 {
				return i, mark
			}
		}
	}
	return 0, 0
}

// unnamedTable tells of a line that looks like a row of a table, where the log has
// no row of names, what such a row is. Other errors are as they were.
func (p *parser) unnamedTable(err error, line string) error {
	var e *LogError
	cells := strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(";\t,", r) })
	if errors.As(err, &e) && len(p.log.Legs) == 0 && len(cells) > 1 && strings.ContainsAny(line, ";\t") {
		e.Advice = "a table begins with a row that names its columns: " + columnNames
	}
	return err
}

// columnNorths are the letters of a bearing column's north; in its name an m is no
// metre.
var columnNorths = map[string]North{"t": True, "m": Magnetic, "g": Grid}

// columnOf reads a name of a column: its words with the unit in brackets or
// joined by underscores.
func columnOf(name string) (c column, ok bool) {
	name = strings.Replace(strings.ToLower(name), "pace count", "paces", 1)
	var unit []string
	for _, w := range strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" _()[]", r) }) {
		switch bare := strings.TrimPrefix(w, "°"); {
		case w == "notes" || w == "comment":
			w = "note"
		case w == "units":
			w = "unit"
		case c.name == "bearing" && columnNorths[bare] != "":
			if c.north != "" {
				return column{}, false
			}
			c.north = columnNorths[bare]
			continue
		}
		_, angle := angleUnits[w]
		_, length := lengthUnits[w]
		north, knowsNorth := norths[w]
		switch {
		case c.name == "" && slices.Contains(strings.Split(columnNames, ", "), w):
			c.name = w
		case c.name == "bearing" && angle, c.name == "distance" && length:
			unit = append(unit, w)
		case (c.name == "" || c.name == "bearing") && knowsNorth:
			c.north = north
		case (c.name == "" || c.name == "distance") && (w == "single" || w == "double"):
			unit = append(unit, w)
		case (c.name == "" || c.name == "distance") && isPace(w):
			c.name = "distance" // a column may be called paces
			unit = append(unit, w)
		case c.name == "slope" && (w == "%" || w == "percent"):
			unit = append(unit, "%")
		case c.name == "slope" && (w == "deg" || w == "°"):
			unit = append(unit, "deg")
		default:
			return column{}, false
		}
	}
	if c.north != "" && c.name != "bearing" || len(unit) > 0 && c.name == "" {
		return column{}, false
	}
	c.unit = strings.Join(unit, " ")
	return c, c.name != ""
}

// parseTable reads the rows from a table's row of names on.
func (p *parser) parseTable(lines []string, head int, mark rune) error {
	p.line = head + 1
	columns, err := p.tableColumns(lines[head], mark)
	if err != nil {
		return err
	}
	t := &table{parser: p, columns: columns, comma: mark == ',', stated: map[string]string{}}
	for i, line := range lines[head+1:] {
		p.line = head + 2 + i
		if strings.Trim(line, string(mark)+" \t") == "" || strings.HasPrefix(strings.TrimSpace(line), "#") {
			continue
		}
		cells, err := cutCells(line, mark)
		if err != nil {
			return err
		}
		if err := t.row(cells); err != nil {
			return err
		}
	}
	return nil
}

// tableColumns reads the row of names. Columns of other names are passed over
// with a warning.
func (p *parser) tableColumns(row string, mark rune) ([]column, error) {
	cells, err := cutCells(row, mark)
	if err != nil {
		return nil, err
	}
	var columns []column
	var unread []string
	seen := map[string]bool{}
	for _, cell := range cells {
		c, ok := columnOf(cell.text)
		switch {
		case !ok && cell.text != "":
			p.warn(cell.col, fmt.Sprintf("the column %q is not read", cell.text), "columns are "+columnNames)
			unread = append(unread, strconv.Quote(cell.text))
			c = column{}
		case ok && seen[c.name]:
			return nil, cell.fault("a second column of "+c.name, "leave one of them")
		case ok && p.seen[c.name] && c.name != "declination" && c.name != "convergence": // those may be a leg's own
			return nil, cell.fault(c.name+" stands above the table too", "leave one of them")
		}
		seen[c.name] = ok
		columns = append(columns, c)
	}
	for _, name := range []string{"bearing", "distance"} {
		if !seen[name] {
			text := "the table has no column " + name
			if len(unread) > 0 {
				text += ", and does not tell what holds " + strings.Join(unread, ", ")
			}
			return nil, &LogError{Text: text, Advice: "columns are " + columnNames}
		}
	}
	return columns, nil
}

// A table is the state of a table being read.
type table struct {
	*parser
	columns []column
	comma   bool              // cells are parted by commas
	stated  map[string]string // headers given in columns
}

// row reads one leg.
func (t *table) row(cells []word) error {
	if len(cells) > len(t.columns) {
		for _, extra := range cells[len(t.columns):] {
			if extra.text != "" {
				return extra.fault("more cells than the table has columns", "put a cell that holds the mark between cells in quotation marks")
			}
		}
		cells = cells[:len(t.columns)]
	}
	if known, err := t.known(cells); known || err != nil {
		return err
	}
	leg := Leg{Line: t.line}
	cell := map[string]word{}
	unit := map[string]string{}
	for i, c := range cells {
		of := t.columns[i]
		if of.name == "" || c.text == "" {
			continue
		}
		cell[of.name], unit[of.name] = c, of.unit
		if of.north != "" {
			leg.North = of.north
		}
	}
	for _, name := range []string{"start", "pace", "date"} {
		if w, given := cell[name]; given {
			if err := t.state(name, w); err != nil {
				return err
			}
		}
	}
	if leg.North == "" {
		leg.North = t.log.North
	}
	if w, given := cell["north"]; given {
		var err error
		if leg.North, err = parseNorth(w); err != nil {
			return err
		}
	}
	if err := t.norths(&leg, cell["declination"], cell["convergence"]); err != nil {
		return err
	}
	first := cell["bearing"]
	if first.text == "" && cell["distance"].text == "" && cell["at"].text != "" {
		return t.at(cell["at"], cell["note"])
	}
	if err := t.onward(first); err != nil {
		return err
	}
	if err := t.bearing(&leg, first, unit["bearing"]); err != nil {
		return err
	}
	if w, given := cell["unit"]; given {
		unit["distance"] = w.text
	}
	if err := t.distance(&leg, cell["distance"], unit["distance"], cell["condition"]); err != nil {
		return err
	}
	if err := t.timeAndSlope(&leg, cell["time"], cell["slope"], unit["slope"]); err != nil {
		return err
	}
	leg.Note = strings.Join(strings.Fields(cell["note"].text), " ")
	t.log.Legs = append(t.log.Legs, leg)
	if cell["at"].text != "" {
		return t.at(cell["at"], word{})
	}
	return nil
}

// known reads a row about a known place, which begins like the line of a text.
func (t *table) known(cells []word) (bool, error) {
	for i, c := range cells {
		if i >= len(t.columns) || t.columns[i].name != "bearing" {
			continue
		}
		words := c.split()
		if len(words) == 0 || !isKnown(words[0].text) {
			return false, nil
		}
		note := ""
		for k, other := range cells {
			switch {
			case k >= len(t.columns):
			case t.columns[k].name == "note":
				note = other.text
			case t.columns[k].name == "distance" && other.text != "" && len(words) == 1:
				// how far a break went
				other.text = t.decimals(other.text)
				words = append(words, other.split()...)
				if unit := t.columns[k].unit; unit != "" && len(words) == 2 {
					words = append(words, word{unit, other.col}.split()...)
				}
			}
		}
		return true, t.parseKnown(words, note)
	}
	return false, nil
}

// at reads the known point at the end of a row's leg.
func (t *table) at(w, note word) error {
	words := append([]word{{"at", w.col}}, w.split()...)
	return t.parseKnown(words, note.text)
}

// norths reads a row's own declination and convergence. The first of each is the
// log's too.
func (t *table) norths(leg *Leg, declination, convergence word) (err error) {
	if declination.text != "" {
		declination.text = t.decimals(declination.text)
		if leg.Declination, err = parseDeclination(declination); err != nil {
			return err
		}
		if t.log.Declination == nil {
			t.log.Declination = leg.Declination
		}
	}
	if convergence.text != "" {
		convergence.text = t.decimals(convergence.text)
		if leg.Convergence, err = parseConvergence(convergence); err != nil {
			return err
		}
		if t.log.Convergence == nil {
			t.log.Convergence = leg.Convergence
		}
	}
	return nil
}

// state takes a header from a column. It holds for the whole log, so that all
// rows that give it agree; only the date may move on.
func (t *table) state(name string, w word) error {
	before, again := t.stated[name]
	switch {
	case before == w.text:
		return nil
	case again && name == "date":
		t.stated[name] = w.text
		return t.nextDay(w)
	case again:
		return w.fault(fmt.Sprintf("another %s than the rows above, %s", name, before), "a log has one "+name+": write a log for each")
	}
	t.stated[name] = w.text
	if name == "pace" {
		w.text = t.decimals(w.text)
	}
	return t.setHeader(name, w)
}

func (t *table) bearing(leg *Leg, w word, unit string) error {
	if w.text == "" {
		return &LogError{Text: "a leg without a bearing", Advice: bearingForm}
	}
	if !t.comma && readingsOrDecimals.MatchString(w.text) {
		return w.fault("either two readings or a decimal comma", "part readings by a comma and a blank, like 350, 010")
	}
	w.text = t.decimals(w.text)
	words := w.split()
	last := words[len(words)-1]
	if unit != "" && strings.Trim(last.text, "0123456789.,") == "" {
		words = append(words, word{unit, last.col}.split()...)
	}
	rest, err := t.parseBearing(leg, words)
	if err == nil && len(rest) > 0 {
		err = rest[0].fault("not part of a bearing", "the distance has a column of its own")
	}
	return err
}

func (t *table) distance(leg *Leg, w word, unit string, condition word) error {
	if w.text == "" {
		return &LogError{Text: "a leg without a distance", Advice: distanceForm}
	}
	w.text = t.decimals(w.text)
	words := w.split()
	if unit != "" && len(words) == 1 && strings.Trim(w.text, "0123456789.") == "" {
		words = append(words, word{unit, w.col}.split()...)
	}
	words = append(words, condition.split()...)
	rest, err := t.parseDistance(leg, words)
	if err == nil && leg.Condition == "" && len(rest) > 0 && len(rest) == len(condition.split()) {
		if _, told := paceEffects[strings.ToLower(condition.text)]; leg.Paces > 0 && !told {
			t.warn(condition.col, fmt.Sprintf("no pace for the condition %q, the pace on level ground is taken", condition.text), "add a line pace "+condition.text+": above the table")
		}
		rest = nil
	}
	if err == nil && len(rest) > 0 {
		err = rest[0].fault("not part of a distance", "notes have a column of their own")
	}
	return err
}

func (t *table) timeAndSlope(leg *Leg, clock, slope word, unit string) (err error) {
	if clock.text != "" {
		if leg.Time, err = t.parseClock(clock); err != nil {
			return err
		}
	}
	if slope.text == "" {
		return nil
	}
	slope.text = strings.ReplaceAll(t.decimals(slope.text), " ", "")
	if strings.Trim(slope.text, "+-0123456789.") == "" {
		slope.text += unit
	}
	leg.Slope, err = parseSlope(slope)
	return err
}

// decimals turns decimal commas into points, where commas do not part cells.
func (t *table) decimals(s string) string {
	if t.comma {
		return s
	}
	return decimalComma.ReplaceAllString(s, "$1.$2")
}

var readingsOrDecimals = regexp.MustCompile(`(^|[^0-9])[0-9]{3},[0-9]{3}([^0-9]|$)`)
