package mapfile

import (
	"errors"
	"testing"
	"time"

	"farhail/geo/geotest"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestTimeChecks(t *testing.T) {
	for _, name := range []string{"gpx-time-rfc3339", "gpx-time-xsd", "gpx-time-date"} {
		geotest.Check(t, name, func(in []string) ([]any, error) {
			got, _, ok := parseTime(in[0])
			if !ok {
				return nil, errors.New("time cannot be read")
			}
			return []any{got.Format(time.RFC3339Nano)}, nil
		})
	}
}

// TestTimeForms holds the forms that files of this kind have been seen with and
// how each is told. The instants follow from ISO 8601.
func TestTimeForms(t *testing.T) {
	cases := []struct{ in, want, note string }{
		{"2026-03-01T06:00:00Z", "2026-03-01T06:00:00Z", ""},
		{"\n  2026-03-01T06:00:00Z\t", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01t06:00:00z", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01T08:00:00+02:00", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01T06:00:00+0000", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01T06:00:00-00:00", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01T06:00:00.5+02:00", "2026-03-01T04:00:00.5Z", ""},
		{"2026-03-01T06:00:00,25Z", "2026-03-01T06:00:00.25Z", ""},
		{"2026-03-01T06:00:00.1234567891Z", "2026-03-01T06:00:00.123456789Z", ""},
		{"2026-03-01 06:00:00 Z", "2026-03-01T06:00:00Z", ""},
		{"2026-03-01T06:00:00", "2026-03-01T06:00:00Z", noteNoZone},
		{"2026-03-01 06:00:00", "2026-03-01T06:00:00Z", noteNoZone},
		{"2026-03-01T06:00:00.678", "2026-03-01T06:00:00.678Z", noteNoZone},
		{"2026-03-01T06:00Z", "2026-03-01T06:00:00Z", noteNoSeconds},
		{"2026-03-01T24:00:00Z", "2026-03-02T00:00:00Z", ""},
		{"2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z", noteLeap},
	}
	for _, c := range cases {
		t.Run(c.in, func(t *testing.T) {
			got, note, ok := parseTime(c.in)
			assert.True(t, ok)
			assert.Equal(t, c.want, got.Format(time.RFC3339Nano))
			assert.Equal(t, time.UTC, got.Location())
			assert.Equal(t, c.note, note)
		})
	}
	for _, in := range []string{"", " ", "2026-03-01", "2026-02-30T06:00:00Z", "2026-13-01T06:00:00Z",
		"2026-03-00T06:00:00Z", "1772344800", "yesterday", "2026-03-01T25:00:00Z", "2026-03-01T24:00:00.5Z",
		"2026-03-01T06:60:00Z", "2026-03-01T06:00:61Z", "2026-03-01T06:00:00.Z", "2026-03-01T06:00:00+15:00",
		"2026-03-01T06:00:00+2:00", "2026-03-01T06:00:00+02:60", "2026-03-01T06:00:00ZZ", "2026-3-1T06:00:00Z",
		"0001-01-01T00:00:00Z", "0000-01-01T00:00:00Z", "12026-03-01T06:00:00Z", "-2026-03-01T06:00:00Z",
		"2026-03-01T06:00:00 CET", "20260301T060000Z", "01/03/2026 06:00"} {
		t.Run("unreadable "+in, func(t *testing.T) {
			got, _, ok := parseTime(in)
			assert.False(t, ok)
			assert.True(t, got.IsZero())
		})
	}
}

// TestTimeAgainstGo: what Go's own RFC 3339 reader takes must come out equal.
func TestTimeAgainstGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minutes := rapid.IntRange(-14*60, 14*60).Draw(t, "offset")
		instant := time.Unix(rapid.Int64Range(-60e9, 200e9).Draw(t, "s"), rapid.Int64Range(0, 999999999).Draw(t, "ns"))
		text := instant.In(time.FixedZone("", minutes*60)).Format(time.RFC3339Nano)
		want, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			t.Fatal(err)
		}
		got, note, ok := parseTime(text)
		if !ok || note != "" || !got.Equal(want) {
			t.Fatalf("%s: got %v, want %v", text, got, want)
		}
	})
}
