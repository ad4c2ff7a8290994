package reckon

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// cutCells cuts a row into its cells without the blanks around them. A cell may
// stand in quotation marks, which are doubled inside it.
func cutCells(row string, mark rune) ([]word, error) {
	var cells []word
	chars := []rune(row)
	blank := func(i int) bool { return i < len(chars) && chars[i] != mark && (chars[i] == ' ' || chars[i] == '\t') }
	for i := 0; ; i++ {
		for blank(i) {
			i++
		}
		from := i
		var text []rune
		if i < len(chars) && chars[i] == '"' {
			closed := false
			for i++; i < len(chars) && !closed; i++ {
				switch {
				case chars[i] != '"':
					text = append(text, chars[i])
				case i+1 < len(chars) && chars[i+1] == '"':
					text = append(text, '"')
					i++
				default:
					closed = true
				}
			}
			for blank(i) {
				i++
			}
			switch {
			case !closed:
				return nil, word{string(chars[from:]), from + 1}.fault("a quotation mark is not closed on its line", "close it; a note stands on one line")
			case i < len(chars) && chars[i] != mark:
				return nil, word{string(chars[i:]), i + 1}.fault("text behind a closing quotation mark", "double a quotation mark that belongs to the text")
			}
			from++
		} else {
			for i < len(chars) && chars[i] != mark {
				text = append(text, chars[i])
				i++
			}
		}
		cells = append(cells, word{strings.TrimSpace(string(text)), from + 1})
		if i >= len(chars) {
			return cells, nil
		}
	}
}

// headerCells turns a row above the table's names into a line "key: value".
// Spreadsheets fill such rows up with empty cells, put the value into a cell of
// its own, and may begin with a line sep=; that names the mark.
func headerCells(line string, mark rune) string {
	line = strings.TrimRight(line, string(mark)+" \t")
	if isSeparatorLine(line) {
		return ""
	}
	cells, err := cutCells(line, mark)
	if err != nil {
		return line
	}
	// Blanks keep the columns that errors tell.
	lead := strings.Repeat(" ", cells[0].col-1)
	if len(cells) == 1 {
		return lead + headerDecimals(cells[0].text, mark)
	}
	key := strings.TrimSuffix(cells[0].text, ":")
	if !isHeader(strings.Join(strings.Fields(strings.ToLower(key)), " ")) {
		return line
	}
	var value []string
	for _, c := range cells[1:] {
		value = append(value, c.text)
	}
	gap := max(0, cells[1].col-cells[0].col-utf8.RuneCountInString(key)-1)
	return lead + headerDecimals(key+":"+strings.Repeat(" ", gap)+strings.Join(value, ", "), mark)
}

// isSeparatorLine says whether a line is one like sep=; with which spreadsheets
// name the mark between cells.
func isSeparatorLine(line string) bool { return strings.HasPrefix(strings.ToLower(line), "sep=") }

// headerDecimals turns the decimal commas of a header's value into points, where
// commas do not part cells. A position keeps its own rule.
func headerDecimals(line string, mark rune) string {
	if key, _, ok := header(line); mark == ',' || ok && strings.EqualFold(key, "start") {
		return line
	}
	return decimalComma.ReplaceAllString(line, "$1.$2")
}

var decimalComma = regexp.MustCompile(`([0-9]),([0-9])`)
