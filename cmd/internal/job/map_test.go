package job

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/los"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rolling is a country of hills and hollows of up to 60 m, 120 x 120 cells of about 30 m.
func rolling() *fstest.MapFile {
	var b strings.Builder
	b.WriteString("ncols 120\nnrows 120\nxllcenter -30.0\nyllcenter 0.0\ncellsize 0.00027\nnodata_value -9999\n")
	for row := range 120 {
		for col := range 120 {
			if row < 4 && col < 4 {
				b.WriteString("-9999 ")
				continue
			}
			fmt.Fprintf(&b, "%.2f ", 100+30*math.Sin(float64(col)/7)+30*math.Cos(float64(row)/9+float64(col)/23))
		}
		b.WriteByte('\n')
	}
	return &fstest.MapFile{Data: []byte(b.String())}
}

const mapHead = `version: 1
as_of: 2026-03-01T10:00:00Z
terrain: rolling.asc
weather: {visibility: 5 km, wind: 1 m/s}
hours: [2026-03-01T15:00:00Z, 2026-03-01T23:00:00Z]
starts:
  - {name: hut, kind: last-known, position: 0.0161 -29.9843, error: 50 m, time: 2026-03-01T09:00:00Z}
traveller:
  signals:
    - {name: lamp, light: 2 cd, height: 1 m, lit_from: 2026-03-01T20:00:00Z, rated_time: 100 h}
    - {name: beam, light: 200 cd, beam: 40 deg, azimuth: 70 deg, beam_shape: smooth, spill: 5 %, height: 2 m, lit_from: 2026-03-01T20:00:00Z, rated_time: 100 h}
    - {name: flag, flag: 1x1 m, reflectance: 0.4}
    - {name: smoke, smoke: 20 g/s, height: 1 m}
    - {name: whistle, whistle: 115 dB}
`

// mapPlan runs a plan whole, and hands its run to the test besides.
func mapPlan(t testing.TB, text string) (*Result, *run) {
	t.Helper()
	files := fstest.MapFS{"plan.yaml": {Data: []byte(text)}, "rolling.asc": rolling(), "plain.asc": plain(t)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	var kept *run
	r, err := Run(context.Background(), files, p, Options{then: func(_ context.Context, r *run) error { kept = r; return nil }})
	require.NoError(t, err)
	return r, kept
}

// marginAt is the margin that the sight verb tells at a distance of a request.
func marginAt(t *testing.T, request SightRequest, distM float64) float64 {
	t.Helper()
	request.ToM = distM
	at, err := Sight(request)
	require.NoError(t, err)
	return float64(at.MarginLog10)
}

// TestMarginsAreSights: a margin is what the sight verb tells at that distance, and it is
// there where the line of sight is clear.
func TestMarginsAreSights(t *testing.T) {
	for _, c := range []struct {
		name, text string
		signals    int
		every      int  // sample is looked at
		fromSite   bool // the eye stands there
	}{
		{"what the traveller shows", mapHead, 4, 7, false}, // lamp and beam by night, the flag by both
		{"a site", mapHead + `
looking: {lookouts: [{name: top, position: 0.0140 -29.9830, from: 2026-03-01T09:00:00Z, until: 2026-03-01T23:30:00Z}]}
placement: {signal: lamp, candidates: [{name: knoll, position: 0.0121 -29.9813}]}
`, 1, 2, false},
		{"a lookout", mapHead + `
likelihood: {outside: 20 %, by: KB, within: 1 km, views: [{name: there, weight: 1, by: KB, start: hut}]}
placement: {question: lookouts, signal: lamp, candidates: [{name: knoll, position: 0.0121 -29.9813}]}
`, 1, 2, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			res, r := mapPlan(t, c.text)
			judged, hidden, signals := 0, 0, 0
			for _, m := range res.Map.Margins {
				if m.Signal == "smoke" {
					continue // seen at several heights: TestMarginArea
				}
				signals++
				require.Len(t, m.Log10, m.Frame.Cols*m.Frame.Rows)
				require.Len(t, m.Samples, sampleSide*sampleSide)
				var s plan.Signal
				for _, o := range r.plan.Traveller.Signals {
					if o.Name == m.Signal {
						s = o
					}
				}
				k := r.mapSeer(m.Question)
				request, err := r.requestBy(s, *m.At, k, true)
				require.NoError(t, err)
				zero := marginAt(t, request, float64(m.NoticedM))
				request.Heights = r.heights
				for i, sample := range m.Samples {
					if i%c.every != 0 {
						continue
					}
					there := orb.Point{float64(sample.Lon), float64(sample.Lat)}
					eye, lamp := there, m.Point
					if c.fromSite {
						eye, lamp = lamp, eye
					}
					request.From, request.Toward = &eye, &lamp
					distM, _, _ := earth.Inverse(eye, lamp)
					want := marginAt(t, request, max(distM, nearRowM)) - zero
					state := los.Line(r.heights, request.station(eye, k.eyeM), request.station(lamp, r.standsM(s)), r.sightLines()).State
					if h := r.heights.Sample(there); math.IsNaN(h) {
						assert.True(t, math.IsNaN(float64(sample.HeightM)))
					} else {
						assert.InDelta(t, h, float64(sample.HeightM), 0.01)
					}
					got := float64(sample.MarginLog10)
					switch {
					case state != los.Seen:
						assert.True(t, math.IsNaN(got), "%s at %v: %s", m.Signal, there, state)
						hidden++
					case math.IsNaN(got):
						// Beyond the beam, or what is perceptible: its V is 1.616, that of a
						// signal that is just noticed about 4.
						assert.False(t, want > -0.3, "%s at %.0f m: no margin where sight tells %.3f", m.Signal, distM, want)
					default:
						assert.InDelta(t, want, got, 0.004, "%s at %.0f m", m.Signal, distM)
						judged++
					}
				}
			}
			assert.Equal(t, c.signals, signals)
			assert.Greater(t, judged, 5*c.signals, "cells that tell something")
			assert.Positive(t, hidden)
		})
	}
}

// TestMarginArea: the ground on which a margin is 0 or more is the ground from which the
// signal is noticed, for all that the traveller shows and for sites.
func TestMarginArea(t *testing.T) {
	areaM2 := func(m Margin) float64 {
		sum := 0.0
		for row := range m.Frame.Rows {
			for _, v := range m.Log10[row*m.Frame.Cols : (row+1)*m.Frame.Cols] {
				if v >= 0 {
					sum += m.Frame.AreaM2(row)
				}
			}
		}
		return sum
	}
	res, _ := mapPlan(t, mapHead)
	compared := 0
	for _, s := range res.Sight {
		for _, m := range res.Map.Margins {
			if m.Signal == s.Signal && m.At.Equal(*s.At) {
				assert.InEpsilon(t, float64(s.SeenAreaM2), areaM2(m), 0.01, "%s at %v", s.Signal, s.At)
				compared++
			}
		}
	}
	assert.Equal(t, 6, compared, "lamp and beam by night, flag and smoke by both")

	res, _ = mapPlan(t, mapHead+`
looking: {lookouts: [{name: top, position: 0.0140 -29.9830, from: 2026-03-01T09:00:00Z, until: 2026-03-01T23:30:00Z}]}
placement: {signal: flag, count: 2, candidates: [{name: a, position: 0.0121 -29.9813}, {name: b, position: 0.0240 -29.9780}]}
`)
	require.NotEmpty(t, res.Place)
	compared = 0
	for _, p := range res.Place {
		for _, s := range p.Sites {
			for _, m := range res.Map.Margins {
				if m.Site == s.Name && m.At.Equal(*p.At) {
					assert.InEpsilon(t, float64(s.SeenAreaM2), areaM2(m), 0.01, s.Name)
					compared++
				}
			}
		}
	}
	assert.Positive(t, compared)
	for _, m := range res.Map.Margins {
		assert.Equal(t, plan.PlacePassive, m.Question, "where something is placed, nothing else is shown")
	}
}

// TestMapWithoutTerrain has nothing to show, and says so by null.
func TestMapWithoutTerrain(t *testing.T) {
	res, _ := mapPlan(t, strings.Replace(mapHead, "terrain: rolling.asc\n", "", 1))
	require.NotNil(t, res.Map)
	assert.Nil(t, res.Map.Ground)
	assert.True(t, math.IsNaN(float64(res.Map.CellM)))
	assert.Empty(t, res.Map.Margins)
}

// TestMapGround: the ground is that of the terrain around what the plan is about, and no
// more of it than can be shown.
func TestMapGround(t *testing.T) {
	f := grid.Frame{X0: -30, Y0: 1, DX: 0.0005, DY: 0.0005, Cols: 1800, Rows: 1800}
	big := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i := range big.Z {
		big.Z[i] = float32(i % f.Cols)
	}
	r := &run{plan: &plan.Plan{Starts: []plan.Start{{Point: orb.Point{-29.55, 0.55}, Radius95M: 100}}}, result: &Result{}, heights: big}
	require.NoError(t, r.mapGround(context.Background()))
	m := r.result.Map
	assert.Equal(t, 1, m.Coarsened)
	east, north := m.Ground.Metres(m.Rows / 2)
	assert.InDelta(t, 2*leastMapM, float64(m.Columns)*east, 3*east)
	assert.InDelta(t, 2*leastMapM, float64(m.Rows)*north, 3*north)
	assert.InDelta(t, big.Sample(orb.Point{-29.56, 0.54}), m.Ground.Sample(orb.Point{-29.56, 0.54}), 1e-3)

	// Of 80 km at 56 m there are 2 million cells: two by two become one.
	r.plan.Starts[0].Radius95M = 30_000
	require.NoError(t, r.mapGround(context.Background()))
	m = r.result.Map
	assert.Equal(t, 2, m.Coarsened)
	assert.LessOrEqual(t, m.Columns*m.Rows, mostGround)
	east, _ = m.Ground.Metres(m.Rows / 2)
	assert.InDelta(t, east, float64(m.CellM), 1)
	assert.InDelta(t, big.Sample(orb.Point{-29.56, 0.54}), m.Ground.Sample(orb.Point{-29.56, 0.54}), 1e-2, "a plane keeps its heights")

	r.plan.Starts[0].Point = orb.Point{-20, 0.5}
	require.NoError(t, r.mapGround(context.Background()))
	assert.Nil(t, r.result.Map.Ground, "no terrain there")
}

// TestMarginsCoarse: of many margins fewer cells are kept, at the places of the fine ones.
func TestMarginsCoarse(t *testing.T) {
	assert.Equal(t, 1, wholeFactor(mostMargins))
	assert.Equal(t, 2, wholeFactor(mostMargins+1))
	assert.Equal(t, 3, wholeFactor(9*mostMargins))

	_, r := mapPlan(t, mapHead)
	ask, err := r.marginAsk(shown{site: "x", signal: r.plan.Traveller.Signals[0], at: r.plan.Hours[1].Time, point: orb.Point{-29.9843, 0.0161}})
	require.NoError(t, err)
	fine, err := ask.margin(context.Background(), 1)
	require.NoError(t, err)
	coarse, err := ask.margin(context.Background(), 3)
	require.NoError(t, err)
	assert.InDelta(t, 3*float64(fine.CellM), float64(coarse.CellM), 0.1)
	same := 0
	for row := range coarse.Frame.Rows {
		for col := range coarse.Frame.Cols {
			if 3*row+1 >= fine.Frame.Rows || 3*col+1 >= fine.Frame.Cols {
				continue // the middle lies off the edge
			}
			a, b := coarse.Log10[row*coarse.Frame.Cols+col], fine.Log10[(3*row+1)*fine.Frame.Cols+3*col+1]
			if a != a {
				assert.True(t, b != b)
				continue
			}
			assert.InDelta(t, b, a, 1e-5)
			same++
		}
	}
	assert.Greater(t, same, 100)
}

func TestMarginsStop(t *testing.T) {
	files := fstest.MapFS{"plan.yaml": {Data: []byte(mapHead)}, "rolling.asc": rolling()}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	_, err = Run(context.Background(), files, p, Options{then: func(_ context.Context, r *run) error {
		gone, cancel := context.WithCancel(context.Background())
		cancel()
		return r.mapMargins(gone)
	}})
	require.ErrorIs(t, err, context.Canceled)
}

// BenchmarkMargins is what the map adds to a plan.
func BenchmarkMargins(b *testing.B) {
	_, r := mapPlan(b, mapHead)
	b.ReportAllocs()
	for b.Loop() {
		r.result.Map.Margins, r.shown = nil, nil
		if err := r.mapMargins(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}
