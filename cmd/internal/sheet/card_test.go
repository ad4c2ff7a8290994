package sheet

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/cmd/internal/plan"
	"farhail/geo/geotest"

	"github.com/stretchr/testify/require"
)

// cardSignalsText are seven signals of all kinds, one with a long name.
const cardSignalsText = `
    - name: headlamp with a name that is long
      light: 100 cd
    - name: orange flag
      flag: 1x1 m
    - name: mirror
      mirror: 76x127 mm
    - name: whistle
      whistle: 115 dB
    - name: signal fire
      fire: 100 kW
    - name: smoke
      smoke: 10 g/s
    - name: myself
      posture: standing
`

func cardOf(t *testing.T, more, signals string, w cli.Words) (overlay.Card, *job.Result) {
	t.Helper()
	text := "version: 1\ntitle: Card\nas_of: 2026-12-21T12:00:00+01:00\n" + more +
		"starts:\n  - {name: here, kind: planning, position: 42.55 1.60, error: 10 m, time: \"2026-12-21T12:00:00+01:00\"}\ntraveller:\n  signals:\n" + signals
	fsys := fstest.MapFS{"plan.yaml": {Data: []byte(text)}}
	p, err := plan.Read(fsys, "plan.yaml")
	require.NoError(t, err)
	c, r, err := job.MakeCard(t.Context(), fsys, p, p.AsOf, job.Options{Program: "farhail test", Words: w})
	require.NoError(t, err)
	return overlay.CardOf(c, w), r
}

// Whatever the card holds, no two texts overlap and none leaves the free edge.
func TestCardTextsKeepApart(t *testing.T) {
	one := "    - {name: lamp, light: 100 cd}\n"
	for _, c := range []struct {
		name, more, signals string
		words               cli.Words
	}{
		{"one signal", "emergency: 112\ndistress_signal: six\n", one, cli.Words{}},
		{"all kinds", "example: true\n", cardSignalsText, cli.Words{}},
		{"imperial", "distress_signal: three\n", cardSignalsText, cli.Words{Units: cli.Imperial, Notation: "dms"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			card, _ := cardOf(t, c.more, c.signals, c.words)
			d := newDoc("", "", nil)
			d.page(cardWMM, cardHMM)
			marks, ok := layCard(d, card)
			require.True(t, ok)
			var boxes []cardMark
			for _, m := range marks {
				if m.text == "" {
					continue
				}
				b := m.box()
				require.True(t, b.x0 >= cardEdge-0.01 && b.x1 <= cardWMM-cardEdge+0.01 && b.y0 >= cardEdge-0.5 && b.y1 <= cardHMM-cardEdge+0.8, "%q leaves the card: %v", m.text, b)
				for _, other := range boxes {
					o := other.box()
					deep := math.Min(math.Min(b.x1, o.x1)-math.Max(b.x0, o.x0), math.Min(b.y1, o.y1)-math.Max(b.y0, o.y0))
					require.LessOrEqual(t, deep, 0.05, "%q lies on %q", m.text, other.text)
				}
				require.GreaterOrEqual(t, m.pt, 5.0, "%q is too small to read", m.text)
				boxes = append(boxes, m)
			}
			require.Greater(t, len(boxes), 40)
		})
	}
}

func TestCardThatDoesNotFit(t *testing.T) {
	var signals strings.Builder
	for i := range 25 {
		fmt.Fprintf(&signals, "    - {name: lamp %d, light: 100 cd}\n", i)
	}
	card, r := cardOf(t, "", signals.String(), cli.Words{})
	require.ErrorIs(t, WriteCard(io.Discard, card, r), errCardFull)
	require.ErrorIs(t, WriteCardSVG(io.Discard, card), errCardFull)
}

func TestCardIsA6(t *testing.T) {
	card, r := cardOf(t, "emergency: 112\n", cardSignalsText, cli.Words{})
	var first, second bytes.Buffer
	require.NoError(t, WriteCard(&first, card, r))
	require.NoError(t, WriteCard(&second, card, r))
	require.Equal(t, first.Bytes(), second.Bytes(), "the same card gives the same bytes")
	name := filepath.Join(t.TempDir(), "card.pdf")
	require.NoError(t, os.WriteFile(name, first.Bytes(), 0o600))

	// 105 x 148 mm (ISO 216) is 297.64 x 419.53 points.
	info := runTool(t, "pdfinfo", name)
	require.Regexp(t, `Pages: +1\n`, info)
	require.Regexp(t, `Page size: +297\.64 x 419\.5[23] pts`, info)
	text := runTool(t, "pdftotext", "-layout", name, "-")
	for _, want := range []string{"Your emergency number: 112", "DAY", "DUSK", "NIGHT", "headlamp", "assistance", "SIX (Alps, Britain)", "THREE (North America)", "carbon monoxide", "Plan " + r.Plan.Hash} {
		require.Contains(t, text, want)
	}
}

// The drawing is well-formed, of true size, and draws every letter that it names.
func TestCardSVG(t *testing.T) {
	card, _ := cardOf(t, "", cardSignalsText, cli.Words{})
	var first, second bytes.Buffer
	require.NoError(t, WriteCardSVG(&first, card))
	require.NoError(t, WriteCardSVG(&second, card))
	require.Equal(t, first.String(), second.String())
	defined, used := map[string]bool{}, 0
	dec := xml.NewDecoder(&first)
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		at := map[string]string{}
		for _, a := range start.Attr {
			at[a.Name.Local] = a.Value
		}
		switch start.Name.Local {
		case "svg":
			require.Equal(t, []string{"105mm", "148mm", "0 0 105 148"}, []string{at["width"], at["height"], at["viewBox"]})
		case "path":
			if at["id"] != "" {
				defined[at["id"]] = true
			}
		case "use":
			require.True(t, defined[strings.TrimPrefix(at["href"], "#")], at["href"])
			used++
		}
	}
	require.Greater(t, used, 1000)
}

// The letters that are drawn are those of the font: the dot of an i lies over its stem.
func TestShape(t *testing.T) {
	d := newDoc("", "", nil)
	i, err := d.letters[regular].shape('i')
	require.NoError(t, err)
	require.Equal(t, 2, strings.Count(i, "M"), "a stem and a dot")
	blank, err := d.letters[regular].shape(' ')
	require.NoError(t, err)
	require.Empty(t, blank)
}

func runTool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(geotest.Tool(t, name), args...).CombinedOutput()
	require.NoError(t, err, "%s: %s", name, out)
	return string(out)
}
