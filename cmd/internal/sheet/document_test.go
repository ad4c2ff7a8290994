package sheet

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// blank is a document with one page to try text on.
func blank() *doc {
	d := newDoc("title", "farhail", nil)
	d.page(210, 297)
	d.font(regular, 10)
	return d
}

func TestSameBytes(t *testing.T) {
	page := func() []byte {
		d := newDoc("title", "farhail 0.1", nil)
		for range 2 {
			d.page(210, 297)
			for _, f := range []face{regular, bold, mono} {
				d.font(f, 10)
				d.text(20, 20, "Zażółć gęślą jaźń, Δ ж 0123")
			}
		}
		var b bytes.Buffer
		require.NoError(t, d.write(&b))
		return b.Bytes()
	}
	first := page()
	for range 5 {
		require.True(t, bytes.Equal(first, page()), "two runs differ")
	}
	assert.Contains(t, string(first), "D:20000101000000", "the date of an undated plan is fixed")
}

func TestDateIsThePlans(t *testing.T) {
	at := time.Date(2026, 11, 24, 20, 0, 0, 0, time.FixedZone("", 3600))
	d := newDoc("title", "farhail", &at)
	d.page(210, 297)
	var b bytes.Buffer
	require.NoError(t, d.write(&b))
	assert.Contains(t, b.String(), "D:20261124190000")
}

func TestPrintable(t *testing.T) {
	d := blank()
	for _, c := range []struct{ text, want string }{
		{"Sant Julià de Lòria", "Sant Julià de Lòria"},
		{"Лес, λόφος", "Лес, λόφος"},
		{"山 🏔", "? ?"},
		{"a\tb\u00a0c\x00", "a b c"},
	} {
		assert.Equal(t, c.want, d.printable(c.text))
	}
}

func TestLinesFit(t *testing.T) {
	d := blank()
	text := "Signal fires have become wildfires, and a Donaudampfschifffahrtsgesellschaftskapitän is longer than most lines of it"
	for _, room := range []float64{0.5, 5, 20, 33.3, 70, 500} {
		list := d.lines(text, room)
		for _, line := range list {
			if len([]rune(line)) > 1 {
				assert.LessOrEqual(t, d.width(line), room, line)
			}
		}
		assert.Equal(t, strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(strings.Join(list, ""), " ", ""), "nothing is lost")
	}
	assert.Empty(t, d.lines("  ", 20))
}

func TestShort(t *testing.T) {
	d := blank()
	for _, room := range []float64{3, 10, 30, 200} {
		assert.LessOrEqual(t, d.width(d.short("Walker overdue in the Askel valley", room)), max(room, d.width("...")))
	}
	assert.Equal(t, "Askel", d.short("Askel", 200))
}
