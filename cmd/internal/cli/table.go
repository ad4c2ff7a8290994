package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// maxTableRows bounds a table that is written on one line.
const maxTableRows = 500

// ParseTable reads rows of two quantities, "0deg:500cd,10deg:300cd", each in the
// SI unit of its dimension.
func ParseTable(text string, x, y Dimension) ([][2]float64, error) {
	example := "write rows like " + x.example + ":" + y.example + ", separated by commas"
	parts := strings.Split(text, ",")
	if len(parts) > maxTableRows {
		return nil, &QuantityError{Text: shorten(text), Message: fmt.Sprintf("more than %d rows", maxTableRows), Advice: "give fewer: values between two rows are on the straight line"}
	}
	var rows [][2]float64
	for _, part := range parts {
		a, b, found := strings.Cut(part, ":")
		if !found {
			return nil, &QuantityError{Text: shorten(strings.TrimSpace(part)), Message: "not a row of two quantities", Advice: example}
		}
		var row [2]float64
		var err error
		if row[0], err = ParseQuantity(a, x); err != nil {
			return nil, err
		}
		if row[1], err = ParseQuantity(b, y); err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// ParseWordOrTable reads one of a few words, or else a table.
func ParseWordOrTable(text string, words []string, x, y Dimension) (word string, table [][2]float64, err error) {
	s := strings.TrimSpace(text)
	if slices.Contains(words, s) {
		return s, nil, nil
	}
	if strings.Contains(s, ":") {
		table, err = ParseTable(s, x, y)
		return "", table, err
	}
	advice := Meant(s, words, "write one of "+strings.Join(words, ", ")+", or rows like "+x.example+":"+y.example)
	return "", nil, &QuantityError{Text: shorten(s), Message: "neither one of the choices nor a table", Advice: advice}
}

// Table adds a flag that takes rows of two quantities.
func Table(cmd *cobra.Command, p *[][2]float64, name string, x, y Dimension, usage string) {
	v := &value{kind: "table", set: func(s string) (err error) {
		*p, err = ParseTable(s, x, y)
		return err
	}}
	v.register(cmd, name, usage)
}

// WordOrTable adds a flag that takes one of a few words, or rows of two
// quantities.
func WordOrTable(cmd *cobra.Command, word *string, table *[][2]float64, name string, words []string, x, y Dimension, usage string) {
	v := &value{kind: "word or table", set: func(s string) (err error) {
		*word, *table, err = ParseWordOrTable(s, words, x, y)
		return err
	}}
	v.register(cmd, name, usage)
}
