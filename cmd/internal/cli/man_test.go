package cli

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

func TestManText(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"--light 100cd", `\-\-light 100cd`},
		{`a\b`, `a\eb`},
		{".hgt files", `\&.hgt files`},
		{"'quoted'", `\&'quoted'`},
		{"a …", `a \[u2026]`},
	} {
		require.Equal(t, c.want, manText(c.in))
	}
}

// The page says what --help says, and roff reads it without a complaint.
func TestMan(t *testing.T) {
	var stdout bytes.Buffer
	a := NewApp(strings.NewReader(""), &stdout, &stdout, "farhail test")
	look := a.Command(Verb{
		Use: "look POSITION [TARGET]", Short: "look at things", Long: "look looks.\n\nTwice.",
		Examples: []Example{{"farhail look 42,1", "one"}}, Input: "a file is wrong", MinArgs: 1, MaxArgs: 2,
	})
	var far float64
	Quantity(look, &far, "radius", Length.Positive(), "10km", "how far")
	a.Add(look)
	var page, again, top bytes.Buffer
	require.NoError(t, a.Man(&page, look))
	require.NoError(t, a.Man(&again, look))
	require.NoError(t, a.Man(&top, a.Root()))
	require.Equal(t, page.String(), again.String(), "no date of the run")
	for _, want := range []string{".TH FARHAIL-LOOK 1", "farhail\\-look \\- look at things", ".PP\nTwice.", ".B \\-\\-radius length\nhow far (10km when not given)", ".SH EXIT STATUS\n.TP\n.B 0\ndone",
		".B 3\na file is wrong", "farhail look 42,1", ".B \\-q, \\-\\-quiet", "farhail(1)"} {
		require.Contains(t, page.String(), want)
	}
	require.Contains(t, top.String(), ".SH VERBS\n.TP\n.B look\nlook at things")
	cmd := exec.Command(geotest.Tool(t, "groff"), "-man", "-Tascii", "-ww", "-z")
	cmd.Stdin = &page
	out, err := cmd.CombinedOutput()
	require.NoError(t, err)
	require.Empty(t, string(out))
}
