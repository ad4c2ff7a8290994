package cli

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestParseTable(t *testing.T) {
	got, err := ParseTable("0deg:500cd, 10 deg : 300 cd", Direction, Intensity)
	assert.NoError(t, err)
	assert.Equal(t, [][2]float64{{0, 500}, {10, 300}}, got)
	for _, tt := range []struct{ text, word string }{
		{"", "two quantities"},
		{"0deg", "two quantities"},
		{"0deg:500", "needs its unit"},
		{"0:500cd", "needs its unit"},
		{"0deg:500cd,", "two quantities"},
		{"0deg:500lm", "is not a unit"},
	} {
		_, err := ParseTable(tt.text, Direction, Intensity)
		assert.ErrorContains(t, err, tt.word, tt.text)
	}
}

func TestParseWordOrTable(t *testing.T) {
	words := []string{"constant", "falling"}
	word, table, err := ParseWordOrTable(" falling ", words, Duration, Number)
	assert.NoError(t, err)
	assert.Equal(t, "falling", word)
	assert.Empty(t, table)
	word, table, err = ParseWordOrTable("0h:100%,2h:60%", words, Duration, Number)
	assert.NoError(t, err)
	assert.Empty(t, word)
	assert.Equal(t, [][2]float64{{0, 1}, {7200, 0.6}}, table)
	_, _, err = ParseWordOrTable("fallin", words, Duration, Number)
	var q *QuantityError
	assert.ErrorAs(t, err, &q)
	assert.Equal(t, "did you mean falling", q.Hint())
}
