package cli

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNearest(t *testing.T) {
	list := []string{"weather", "terrain", "title", "sd", "tilt", "A"}
	for _, c := range []struct{ word, want string }{
		{"wether", "weather"},
		{"Weather", "weather"},
		{"terrian", "terrain"},
		{"titel", "title"},
		{"sb", "sd"},
		{"colour", ""},
		{"", ""},
		{"g", ""},
	} {
		require.Equal(t, c.want, Nearest(c.word, list), c.word)
	}
	require.Equal(t, 3, edits("kitten", "sitting")) // Levenshtein's distance of the usual example
	require.Equal(t, 1, edits("ab", "ba"))
	require.Equal(t, 2, edits("", "éé"))
}
