package job

import (
	"context"
	"fmt"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/require"
)

const timetablePlan = `version: 1
zone: Europe/Andorra
as_of: 2026-11-24 %s
starts: [{name: hut, kind: planning, position: "42.55, 1.60", error: 100 m, time: 2026-11-24 09:00}]
traveller:
  signals:
    - {name: lamp, light: 50 cd, lit_from: 2026-11-24 20:30, rated_time: 3 h}
    - {name: flag, flag: 1x1 m, reflectance: 0.4, on: 0.05}
    - {name: pipe, whistle: 110 dB}
looking:
  aircraft: [{name: north, altitude: 300 m}]
  lookouts: [{name: west, position: "42.56, 1.60", from: 2026-11-24 20:00, until: 2026-11-24 23:00}]
`

func timetableOf(t *testing.T, asOf string) *Result {
	files := fstest.MapFS{"plan.yaml": &fstest.MapFile{Data: []byte(fmt.Sprintf(timetablePlan, asOf))}}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{Parts: Sights | Mapping})
	require.NoError(t, err)
	require.NotNil(t, r.Timetable)
	return r
}

func TestTimetable(t *testing.T) {
	r := timetableOf(t, "19:00")
	tt := r.Timetable
	require.Equal(t, "24 Nov 12:00 25 Nov 12:00", tt.From.Format("02 Jan 15:04")+" "+tt.Until.Format("02 Jan 15:04"))
	// A day from noon to noon: the dark of the sky's own day, and each kind of light in
	// its turn. United States Naval Observatory's tables round to the minute.
	var lights []string
	dark := 0.0
	last := tt.From
	for _, s := range tt.Light {
		require.True(t, s.From.Equal(*last), "without gaps")
		last = s.Until
		lights = append(lights, s.Light)
		if s.Light == Darkness {
			dark += s.Until.Sub(*s.From).Seconds()
		}
	}
	require.True(t, last.Equal(*tt.Until))
	require.Equal(t, []string{Daylight, Twilight, Darkness, Twilight, Daylight}, lights)
	// The two noons are not those of the clock, but the dark lies between both.
	require.InDelta(t, float64(r.Sky[0].Day.DarkS), dark, 2)
	require.Len(t, tt.Lamps, 1)
	require.Equal(t, "20:30 23:30", tt.Lamps[0].From.Format("15:04")+" "+tt.Lamps[0].Until.Format("15:04"))
	require.Len(t, tt.Signals, 2, "a sound has no light")
	lamp, flag := tt.Signals[0].NoticedM, tt.Signals[1].NoticedM
	require.Len(t, lamp, 25)
	for h := range 25 { // 12:00 is hour 0: the lamp burns at 21, 22 and 23
		require.Equal(t, h >= 9 && h <= 11, lamp[h] > 0, "lamp, hour %d", h)
	}
	require.Greater(t, float64(flag[1]), 3*float64(flag[9]), "a flag is for the day")
	require.Less(t, float64(flag[1]), 4000.0, "by eye from the ground, not from the aircraft that is named first")

	require.Equal(t, "00:00", timetableOf(t, "08:00").Timetable.From.Format("15:04"), "a morning's plan")
}
