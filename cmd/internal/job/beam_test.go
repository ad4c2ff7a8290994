package job

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// beamPlan runs a plan of one lamp at the foot of the wall's western plain, with a
// watcher 300 m to its west and another 300 m to its east.
func beamPlan(t *testing.T, lamp string) *Result {
	t.Helper()
	text := fmt.Sprintf(`version: 1
as_of: 2026-03-01T20:00:00Z
terrain: dem.asc
hours: [2026-03-01T23:00:00Z]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.990, error: 50 m, time: 2026-03-01T10:00:00Z}
traveller:
  signals:
    - {name: lamp, light: 0.05 cd, %s}
looking:
  lookouts:
    - {name: west, position: 0.016 -29.9927, from: 2026-03-01T22:00:00Z, until: 2026-03-02T00:00:00Z}
    - {name: east, position: 0.016 -29.9873, from: 2026-03-01T22:00:00Z, until: 2026-03-02T00:00:00Z, people: 3}
placement:
  count: 1
  candidates: [{name: hut, position: 0.016 -29.990}]
`, lamp)
	files := fstest.MapFS{"plan.yaml": {Data: []byte(text)}, "dem.asc": plain(t)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	return r
}

// A narrow beam that points up a slope is noticed there and not from the level beside
// the lamp, however far it shines; pointed along the level it is not noticed up there.
func TestTiltedBeam(t *testing.T) {
	// Level ground in the west, and from the lamp on a slope of 20 degrees eastward.
	const cellM = 0.00027 * 111_320
	var dem strings.Builder
	dem.WriteString("ncols 120\nnrows 120\nxllcenter -30.0\nyllcenter 0.0\ncellsize 0.00027\nnodata_value -9999\n")
	for range 120 {
		for col := range 120 {
			fmt.Fprintf(&dem, "%.2f ", 100+max(0, float64(col-60))*cellM*math.Tan(math.Pi/9))
		}
		dem.WriteByte('\n')
	}
	noticed := func(beam string) *Sighting {
		files := fstest.MapFS{"dem.asc": {Data: []byte(dem.String())}, "plan.yaml": {Data: []byte(`version: 1
as_of: 2026-03-01T20:00:00Z
terrain: dem.asc
hours: [2026-03-01T23:00:00Z]
starts: [{name: hut, kind: last-known, position: 0.016 -29.9843, error: 50 m, time: 2026-03-01T10:00:00Z}]
traveller: {signals: [{name: lamp, light: 50 cd, height: 2 m` + beam + `}]}
`)}}
		p, err := plan.Read(files, "plan.yaml")
		require.NoError(t, err)
		r, err := Run(context.Background(), files, p, Options{Parts: Sights})
		require.NoError(t, err)
		return &r.Sight[0]
	}
	round, up, level := noticed(""), noticed(", beam: 10 deg, azimuth: 90 deg, tilt: 20 deg"), noticed(", beam: 10 deg, azimuth: 90 deg")
	assert.Greater(t, float64(up.SeenAreaM2), 0.0)
	assert.Less(t, float64(up.SeenAreaM2), 0.2*float64(round.SeenAreaM2))
	assert.Greater(t, float64(up.NoticedM), 1000.0)
	assert.Less(t, float64(level.NoticedM), 100.0, "the beam runs into the slope")
	for _, r := range up.Lamp.Reach {
		assert.Zero(t, float64(r.NoticedM), "nothing on the level, at %v", r.AzimuthDeg)
	}
}

// TestAimedLamps: a beam that points east is noticed by those in the east, from the
// ground there; one that is turned to whoever looks by all; a table counts as a
// width does, and what spills beside a beam is noticed from nearer.
func TestAimedLamps(t *testing.T) {
	const both, east, west = 2*3600 + 3*2*3600, 3 * 2 * 3600, 2 * 3600
	round := beamPlan(t, "height: 2 m")
	noticed := float64(round.Sight[0].NoticedM)
	require.Greater(t, noticed, 300.0)
	require.Empty(t, round.Sight[0].Lamp.Reach)
	// Both stand as far off: each look finds the lamp with one chance, beam or not.
	chance := float64(round.Place[0].Covered) / both
	require.InDelta(t, 0.95, chance, 0.05)
	for _, c := range []struct {
		beam     string
		covered  float64
		seenPart float64 // of the ground that sees it all round
		side     float64 // of the distance, to the west
	}{
		{"beam: 60 deg", both, 1, 1},
		{"beam: 60 deg, azimuth: 90 deg", east, 60.0 / 360, 0},
		{"beam: 60 deg, azimuth: 270 deg", west, 60.0 / 360, 1},
		{"beam: 60 deg, azimuth: 180 deg", 0, 60.0 / 360, 0},
	} {
		r := beamPlan(t, c.beam)
		require.Len(t, r.Place, 1)
		assert.InDelta(t, chance*c.covered, float64(r.Place[0].Covered), 1, c.beam)
		assert.InDelta(t, c.seenPart, float64(r.Sight[0].SeenAreaM2/round.Sight[0].SeenAreaM2), 0.02, c.beam)
		if c.covered == 0 {
			require.Empty(t, r.Place[0].Sites)
			continue
		}
		assert.InDelta(t, c.seenPart, float64(r.Place[0].Sites[0].SeenAreaM2/round.Place[0].Sites[0].SeenAreaM2), 0.02, c.beam)
		if reach := r.Sight[0].Lamp.Reach; len(reach) > 0 {
			require.Len(t, reach, 72)
			assert.InDelta(t, c.side*noticed, float64(reach[270/beamStepDeg].NoticedM), 1, c.beam)
		}
	}

	// A sixteenth of the light to the north: a quarter of the distance, and a little
	// more since there is less haze.
	r := beamPlan(t, "beam: 60 deg, azimuth: 90 deg, beam_shape: smooth, spill: 6.25 %")
	reach := float64(r.Sight[0].Lamp.Reach[0].NoticedM)
	light := func(d float64) float64 { return math.Exp(-math.Log(20)/10e3*d) / (d * d) }
	assert.InEpsilon(t, light(noticed), light(reach)/16, 1e-9)
	assert.InDelta(t, chance*east, float64(r.Place[0].Covered), 1)
	assert.Greater(t, float64(r.Sight[0].SeenAreaM2), 0.0)
	assert.Less(t, float64(r.Sight[0].SeenAreaM2), 0.6*float64(round.Sight[0].SeenAreaM2))
}

// TestBeamsAreEven: alike to either side of the axis, and dark behind a lamp whose
// light spills over the half space ahead of it.
func TestBeamsAreEven(t *testing.T) {
	r := beamPlan(t, "beam: 60 deg, azimuth: 90 deg, beam_shape: smooth, spill: 6.25 %")
	on := r.Sight[0].Lamp.Reach
	for i := range on {
		mirrored := on[(180/beamStepDeg-i+len(on))%len(on)]
		assert.InDelta(t, float64(on[i].NoticedM), float64(mirrored.NoticedM), 1e-6*float64(on[i].NoticedM)+1e-9)
	}
	assert.Zero(t, on[270/beamStepDeg].NoticedM)
}
