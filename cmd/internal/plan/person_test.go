package plan

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestDamagedPlansKeepThePerson damages a plan that has a person block, a
// thousand times over, in ways that a slip of the hand does, everywhere but
// inside the secret words themselves. No message may hold one of these.
func TestDamagedPlansKeepThePerson(t *testing.T) {
	secrets := []string{"Quillfeather", "Underwoods", "5550100", "greenjacket"}
	whole := strings.NewReplacer(
		"Quill Underwood", "Quillfeather Underwoods", "[555 0100, 555 0101]", "[5550100, 5550100]", `"green: jacket"`, `"hat: greenjacket"`,
	).Replace(full)
	pieces := []string{"\n", " ", "  ", ":", ": ", "- ", "'", `"`, "[", "]", "{", "}", ",", "#", "|", ">", "&a ", "*a", "!t ", "?", "\t", "@", "---\n", "é", "\x01"}
	rng := rand.New(rand.NewPCG(1, 2))
	n := 1200
	if testing.Short() {
		n = 200
	}
	broken := 0
	for range n {
		text := whole
		for range 1 + rng.IntN(3) {
			text = damage(text, secrets, pieces, rng)
		}
		_, err := read(text)
		if err == nil {
			continue
		}
		broken++
		var list Problems
		require.True(t, errors.As(err, &list))
		for _, p := range list {
			for _, secret := range secrets {
				require.NotContains(t, p.Error()+"\n"+p.Offending()+"\n"+p.Hint(), secret, "%.400s", text)
			}
		}
	}
	require.Greater(t, broken, n/2)
}

// damage takes a piece out of a text, puts one in, or takes the indentation off
// a line, away from the secret words.
func damage(text string, secrets, pieces []string, rng *rand.Rand) string {
	at := 0
	// Half of the damage is done near the person block.
	if from := strings.Index(text, "person"); from >= 0 && rng.IntN(2) == 0 {
		at = min(len(text)-1, max(0, from-20+rng.IntN(180)))
	} else {
		at = rng.IntN(len(text))
	}
	for _, s := range secrets {
		for i := 0; ; {
			k := strings.Index(text[i:], s)
			if k < 0 {
				break
			}
			if at > i+k && at < i+k+len(s) {
				at = i + k
			}
			i += k + len(s)
		}
	}
	switch rng.IntN(3) {
	case 0:
		for _, s := range secrets {
			if strings.HasPrefix(text[at:], s) {
				return text
			}
		}
		return text[:at] + text[at+1:]
	case 1:
		start := strings.LastIndexByte(text[:at], '\n') + 1
		return text[:start] + strings.TrimLeft(text[start:], " ")
	}
	return text[:at] + pieces[rng.IntN(len(pieces))] + text[at:]
}
