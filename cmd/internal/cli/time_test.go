package cli

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
)

// The clock changes are those of the tz database: Europe by Directive
// 2000/84/EC, New York by the Energy Policy Act of 2005, Lord Howe by half an
// hour, Samoa without a 30 December 2011 (all from memory).
func TestParseTime(t *testing.T) {
	berlin, err := LoadZone("Europe/Berlin")
	require.NoError(t, err)
	for _, c := range []struct {
		text string
		zone *time.Location
		want string
	}{
		{"2026-11-24T18:30:00+01:00", nil, "2026-11-24T18:30:00+01:00"},
		{"2026-11-24T18:30:00.25Z", nil, "2026-11-24T18:30:00.25Z"},
		{"2026-11-24T18:30Z", nil, "2026-11-24T18:30:00Z"},
		{"2026-11-24 18:30 -05:00", nil, "2026-11-24T18:30:00-05:00"},
		{"2026-11-24 18:30 Europe/Andorra", nil, "2026-11-24T18:30:00+01:00"},
		{"2026-07-24T18:30:15 Europe/Andorra", nil, "2026-07-24T18:30:15+02:00"},
		{"2026-11-24 18:30", berlin, "2026-11-24T18:30:00+01:00"},
		{"2026-11-24 18:30 UTC", berlin, "2026-11-24T18:30:00Z"},
		{"2026-11-24 18:30 America/New_York", berlin, "2026-11-24T18:30:00-05:00"},
		{"2026-03-29 01:59:59", berlin, "2026-03-29T01:59:59+01:00"},
		{"2026-03-29 03:00", berlin, "2026-03-29T03:00:00+02:00"},
		{"2026-10-25 01:59", berlin, "2026-10-25T01:59:00+02:00"},
		{"2026-10-25 03:00", berlin, "2026-10-25T03:00:00+01:00"},
		{"2011-12-29 23:59 Pacific/Apia", nil, "2011-12-29T23:59:00-10:00"},
		{"2011-12-31 00:00 Pacific/Apia", nil, "2011-12-31T00:00:00+14:00"},
	} {
		got, err := ParseTime(c.text, c.zone)
		require.NoError(t, err, c.text)
		require.Equal(t, c.want, got.Format(time.RFC3339Nano), c.text)
	}
	for _, c := range []struct {
		text          string
		message, hint string
	}{
		{"", "not a date and time", "2026-11-24 18:30 Europe/Andorra"},
		{"18:30", "not a date and time", ""},
		{"2026-11-24", "not a date and time", ""},
		{"2026-13-24T18:30Z", "not a date and time", ""},
		{"2026-11-24 25:30 Europe/Berlin", "not a date and time", ""},
		{"2026-11-24 18:30Europe/Berlin", "not a date and time", ""},
		{"2026-11-24 18:30", "needs its zone", ""},
		{"1979-12-31T23:59:00Z", "a year from 1980 to 2199", ""},
		{"2200-01-01 00:00 Europe/Berlin", "a year from 1980 to 2199", ""},
		{"2026-11-24 18:30 CET", "abbreviation", "Europe/Andorra"},
		{"2026-11-24 18:30 EST", "abbreviation", ""},
		{"2026-11-24 18:30 Local", "not an IANA time zone", ""},
		{"2026-11-24 18:30 ../etc/zone", "not an IANA time zone", ""},
		{"2026-03-29 02:00 Europe/Berlin", "does not exist in Europe/Berlin", "offset"},
		{"2026-03-29 02:59:59 Europe/Berlin", "does not exist", ""},
		{"2026-03-08 02:30 America/New_York", "does not exist", ""},
		{"2011-12-30 12:00 Pacific/Apia", "does not exist", ""},
		{"2026-10-25 02:00 Europe/Berlin", "occurs twice in Europe/Berlin", "2026-10-25T02:00:00+02:00 or 2026-10-25T02:00:00+01:00"},
		{"2026-10-25 02:59:59 Europe/Berlin", "occurs twice", ""},
		{"2026-04-05 01:45 Australia/Lord_Howe", "occurs twice", "2026-04-05T01:45:00+11:00 or 2026-04-05T01:45:00+10:30"},
	} {
		got, err := ParseTime(c.text, nil)
		var q *QuantityError
		require.ErrorAs(t, err, &q, c.text)
		require.True(t, got.IsZero())
		require.Contains(t, q.Message, c.message, c.text)
		require.Contains(t, q.Advice, c.hint, c.text)
	}
}

// TestParseTimeReadsItsOwnOutput walks a year in steps that meet every clock
// change: each moment is read back from RFC 3339, and from its wall time where
// this names only one moment.
func TestParseTimeReadsItsOwnOutput(t *testing.T) {
	zone, err := LoadZone("Australia/Lord_Howe")
	require.NoError(t, err)
	twice := 0
	for at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC); at.Year() < 2027; at = at.Add(15 * time.Minute) {
		got, err := ParseTime(at.In(zone).Format(time.RFC3339), nil)
		require.NoError(t, err)
		require.True(t, got.Equal(at))
		if got, err = ParseTime(at.In(zone).Format("2006-01-02 15:04"), zone); err != nil {
			twice++
			continue
		}
		require.True(t, got.Equal(at))
	}
	require.Equal(t, 4, twice, "two quarters of an hour, each shown twice")
}

func FuzzParseTime(f *testing.F) {
	f.Add("2026-11-24 18:30 Europe/Andorra")
	f.Add("2026-11-24T18:30:00+01:00")
	f.Add("2026-10-25 02:30 Europe/Berlin")
	f.Add("0000-10-01 00:00 Europe/Berlin") // local mean time, an offset with seconds
	f.Fuzz(func(t *testing.T, s string) {
		got, err := ParseTime(s, nil)
		if err != nil {
			return
		}
		again, err := ParseTime(got.Format(time.RFC3339Nano), nil)
		require.NoError(t, err)
		require.True(t, again.Equal(got))
	})
}
