package cli

import (
	"strings"
	"unicode/utf8"
)

// Nearest returns the word of the list that was most likely meant by a
// misspelt one, or "" when none is near: at most one edit for words up to four
// letters, two up to eight, three beyond, where an edit adds, drops or changes
// a letter or swaps two neighbours, and never all of a word's letters. The first
// of equals wins.
func Nearest(word string, list []string) string {
	word = strings.ToLower(word)
	limit := 1
	switch n := len(word); {
	case n > 8:
		limit = 3
	case n > 4:
		limit = 2
	}
	best, bestEdits := "", limit+1
	for _, w := range list {
		if d := edits(word, strings.ToLower(w)); d < bestEdits && d < utf8.RuneCountInString(w) {
			best, bestEdits = w, d
		}
	}
	return best
}

// Meant returns the hint that names the word of the list which was most likely
// meant, or else another hint.
func Meant(word string, list []string, otherwise string) string {
	if near := Nearest(word, list); near != "" {
		return "did you mean " + near
	}
	return otherwise
}

// edits is the optimal string alignment distance.
func edits(a, b string) int {
	x, y := []rune(a), []rune(b)
	d := make([][]int, len(x)+1)
	for i := range d {
		d[i] = make([]int, len(y)+1)
		d[i][0] = i
	}
	for j := range d[0] {
		d[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(x)][len(y)]
}
