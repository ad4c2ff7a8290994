package job

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/signal/sighting"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// placeHead is a search on the plain with a wall: the hut stands 540 m west of it.
const placeHead = `version: 1
zone: Etc/GMT+2
as_of: 2026-03-01 20:00
terrain: plain.asc
weather: {visibility: 20 km}
hours: [2026-03-01 22:00]
starts:
  - {name: hut, kind: last-known, position: 0.016 -29.989, error: 200 m, time: 2026-03-01 10:00}
traveller:
  rule: tobler
  signals:
    - {name: lamp, light: 20 cd}
    - {name: flag, flag: 1x1 m, reflectance: 0.4, on: 0.05}
likelihood:
  outside: 20 %
  by: KB
  within: 2 km
  views: [{name: there, weight: 1, by: KB, start: hut}]
`

func placePlan(t testing.TB, text string, files fstest.MapFS) (*Result, *run) {
	t.Helper()
	return placeText(t, placeHead+text, files)
}

// placeText answers the placement of a whole plan.
func placeText(t testing.TB, text string, files fstest.MapFS) (*Result, *run) {
	t.Helper()
	if files == nil {
		files = fstest.MapFS{}
	}
	if files["plain.asc"] == nil {
		files["plain.asc"] = plain(t)
	}
	files["plan.yaml"] = &fstest.MapFile{Data: []byte(text)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{Parts: Placing})
	require.NoError(t, err)
	return r, &run{plan: p, seers: []seer{{eyeM: 1.7}}, result: r}
}

const westLookout = "looking:\n  lookouts: [{name: west, position: 0.016 -29.998, people: 2, from: 2026-03-01 21:30, until: 2026-03-01 23:00}]\n"

// A site is worth the chance of a minute's look at its distance, averaged over the
// draws, for as long as somebody looks; two sites are missed together in the same draws.
func TestPlacementCountsChances(t *testing.T) {
	place := "placement: {signal: flag, candidates: [{name: a, position: 0.016 -29.9965}, {name: b, position: 0.0175 -29.998}], count: %d}\n"
	one, r := placePlan(t, westLookout+fmt.Sprintf(place, 1), nil)
	both, _ := placePlan(t, westLookout+fmt.Sprintf(place, 2), nil)
	flag := r.plan.Traveller.Signals[1]
	request, err := r.requestBy(flag, r.plan.Hours[0].Time, r.seers[0], true)
	require.NoError(t, err)
	q, err := request.ask(&SightResult{})
	require.NoError(t, err)
	// 0.0015 degrees: 166.98 m along the equator, 165.86 m along the meridian.
	rows, err := q.Looks(sighting.UsualSpread(q.Source.Kind()), 1, []float64{166.0})
	require.NoError(t, err)
	single, double := 0.0, 0.0
	for _, p := range rows[0] {
		single += float64(p) / sighting.Draws
		double += (1 - math.Pow(1-float64(p), 2)) / sighting.Draws
	}
	require.Greater(t, single, 0.3)
	require.Less(t, single, 0.95)
	require.InDelta(t, 2*5400.0, float64(one.Place[0].Total), 1e-6)
	assert.InDelta(t, single, float64(one.Place[0].Covered/one.Place[0].Total), 0.03, "rows of 4 %")
	assert.InDelta(t, double, float64(both.Place[0].Covered/both.Place[0].Total), 0.03)
	assert.Less(t, double, 1-math.Pow(1-single, 2)-0.005, "what dims one dims the other")
	assert.True(t, both.Place[0].Exact)

	hours := 0.0
	require.Len(t, both.Place[0].Hours, 2, "from 21:30 to 23:00")
	for _, h := range both.Place[0].Hours {
		hours += float64(h.NoticeS)
	}
	assert.InDelta(t, float64(both.Place[0].Covered), hours, 1e-6)
	assert.InDelta(t, 2*1800, float64(both.Place[0].Hours[0].LookS), 1e-6)
	by := one.Place[0].Sites[0].SeenBy
	require.Len(t, by, 1)
	assert.Equal(t, "west", by[0].Who)
	assert.InDelta(t, float64(one.Place[0].Covered), float64(by[0].NoticeS), 1e-6)
	assert.Equal(t, "21:30", by[0].From.Format("15:04"))
}

// Lookouts go where the likely ground is in sight, not behind the wall.
func TestLookoutsWatchTheLikelyGround(t *testing.T) {
	r, _ := placePlan(t, `placement:
  - {question: lookouts, count: 1, candidates: [{name: behind, position: 0.016 -29.982}, {name: before, position: 0.016 -29.987}]}
  - {question: lookouts, count: 2, signal: flag, spacing: 300 m, within: 300 m}
`, nil)
	require.Len(t, r.Place, 2)
	p := r.Place[0]
	assert.Equal(t, "before", p.Sites[0].Name)
	assert.Equal(t, UnitShare, p.Unit)
	// 98 % of what the map holds, at most; some of it lies behind the wall.
	assert.InDelta(t, 0.98*0.8, float64(p.Total), 0.01)
	assert.LessOrEqual(t, p.Covered, p.Bound)
	assert.LessOrEqual(t, p.Bound, p.Total*(1+1e-9))
	assert.Greater(t, float64(p.Covered), 0.5*0.8)
	var names []string
	for _, l := range p.LooksFor {
		names = append(names, l.Signal)
		assert.Positive(t, float64(l.NoticedM))
	}
	assert.Equal(t, []string{"lamp", "flag"}, names)
	assert.Equal(t, "flag", r.Place[1].Signal)
	assert.Positive(t, r.Place[1].Cells)
	assert.Greater(t, r.Place[1].Candidates, 4)
}

// What has been searched has been: posts are chosen for the ground that is likely still.
func TestLookoutsAfterASearch(t *testing.T) {
	track := `<?xml version="1.0"?><gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>`
	for i := range 40 {
		lat := 0.0142 + 0.0001*float64(i)
		track += fmt.Sprintf(`<trkpt lat="%.5f" lon="%.5f"><time>2026-03-01T%02d:%02d:00Z</time></trkpt>`, lat, -29.9892+0.0004*float64(i%2), 15+i/20, 3*(i%20))
	}
	track += `</trkseg></trk></gpx>`
	ask := "placement: {question: lookouts, count: 1, candidates: [{name: before, position: 0.016 -29.987}]}\n"
	before, _ := placePlan(t, ask, nil)
	after, r := placePlan(t, "searched: [{name: first, looked_for: person, width: 60 m, parties: [{name: a, tracks: a.gpx}]}]\n"+ask, fstest.MapFS{"a.gpx": {Data: []byte(track)}})
	require.NotNil(t, after.Sweep)
	require.Equal(t, after.Sweep.Surface, r.surface())
	assert.Less(t, float64(after.Place[0].Total), float64(before.Place[0].Total)-0.002, "more of it is outside now")
}

func TestWithoutLikelihoodNothingAttracts(t *testing.T) {
	files := fstest.MapFS{"plain.asc": plain(t)}
	text := placeHead[:strings.Index(placeHead, "likelihood:")] + "placement: [{question: attract, signal: lamp}, {question: lookouts}, {question: relay}]\n"
	files["plan.yaml"] = &fstest.MapFile{Data: []byte(text)}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{Parts: Placing})
	require.NoError(t, err)
	assert.Empty(t, r.Place)
	assert.Contains(t, r.LeftOut, "placement (lookouts): where they are likely to be is not known (likelihood:)")
	assert.Contains(t, r.LeftOut, "placement (relay): neither anybody who looks nor where they are likely to be is known")
	assert.Contains(t, r.LeftOut, "placement (attract): where they are likely to be is not known (likelihood:)")
}

// Who is drawn by a light must not be drawn over the wall, whose sides are steeper than
// 40 degrees: a light behind it is not proposed, and forced only with the share told.
func TestNobodyIsDrawnOverACliff(t *testing.T) {
	shown := "shows: {name: beacon, light: 2000 cd, height: 150 m}"
	place := "placement: {question: attract, count: 1, %s, %s candidates: [{name: behind, position: 0.016 -29.978}%s]}\n"
	r, _ := placePlan(t, fmt.Sprintf(place, shown, "", ", {name: before, position: 0.016 -29.987}"), nil)
	require.Len(t, r.Place, 1)
	p := r.Place[0]
	require.Len(t, p.Sites, 1)
	assert.Equal(t, "before", p.Sites[0].Name)
	assert.Less(t, float64(p.Sites[0].CrossingShare), 0.1)
	assert.Equal(t, 1, p.Crossing.NotProposed)
	assert.True(t, p.Crossing.Checked)
	assert.InDelta(t, 40, float64(p.Crossing.LimitDeg), 0)
	assert.Positive(t, p.Crossing.SteepCells)

	r, _ = placePlan(t, fmt.Sprintf(place, shown, "", ""), nil)
	require.Len(t, r.Place, 1)
	assert.Empty(t, r.Place[0].Sites)
	forced, _ := placePlan(t, fmt.Sprintf(place, shown, "forced: true,", ""), nil)
	require.Len(t, forced.Place[0].Sites, 1)
	assert.Greater(t, float64(forced.Place[0].Sites[0].CrossingShare), 0.9)
	assert.Less(t, float64(forced.Place[0].Covered), 0.1, "who would have to cross does not count")

	// A sound goes over the wall, and is refused alike.
	sound := "shows: {name: siren, whistle: 130 dB, tone: 1 kHz}"
	r, _ = placePlan(t, fmt.Sprintf(place, sound, "", ", {name: before, position: 0.016 -29.987}"), nil)
	require.Len(t, r.Place[0].Sites, 1)
	assert.Equal(t, "before", r.Place[0].Sites[0].Name)
	do := map[string]bool{}
	for i, turn := range r.Place[0].Timetable {
		do[turn.Do] = true
		if i > 0 {
			assert.Equal(t, *r.Place[0].Timetable[i-1].Until, *turn.From)
		}
	}
	assert.Equal(t, map[string]bool{TurnShow: true, TurnDark: true, TurnSilent: true}, do)
}

// On cells over 35 m cliffs cannot be checked: 30 degrees are the limit, and somebody
// must have seen the ground.
func TestCoarseCellsNeedSomebodysWord(t *testing.T) {
	coarse := &fstest.MapFile{Data: []byte(strings.Replace(string(plain(t).Data), "0.00027", "0.0004", 1))}
	place := "placement: {question: attract, count: 1, shows: {name: beacon, light: 2000 cd}, %s candidates: [{name: here, position: 0.016 -29.987}]}\n"
	r, _ := placePlan(t, fmt.Sprintf(place, ""), fstest.MapFS{"plain.asc": coarse})
	assert.Empty(t, r.Place)
	assert.Contains(t, strings.Join(r.LeftOut, "\n"), "ground_seen_by: initials")
	r, _ = placePlan(t, fmt.Sprintf(place, "ground_seen_by: KB,"), fstest.MapFS{"plain.asc": coarse})
	require.Len(t, r.Place, 1)
	assert.Equal(t, "KB", r.Place[0].Crossing.GroundSeenBy)
	assert.False(t, r.Place[0].Crossing.Checked)
	assert.InDelta(t, 30, float64(r.Place[0].Crossing.LimitDeg), 0)
}

// A way crosses what the straight line meets, and what no way goes around.
func TestHazardsBetween(t *testing.T) {
	h := &hazards{Heights: &grid.Heights{Frame: grid.Frame{Cols: 9, Rows: 7}}}
	h.mask, h.pieces = make([]bool, 63), make([]int32, 63)
	at := func(col, row float64) candidate { return candidate{col: col, row: row} }
	reset := func(rows ...int) {
		for i := range h.mask {
			h.mask[i], h.pieces[i] = false, -1
		}
		for _, row := range rows {
			h.mask[row*9+4] = true
		}
		h.join(0, 0, 8, 6)
	}
	reset(0, 1, 2, 3, 4, 5) // open in the last row
	assert.True(t, h.between(at(1, 2), at(7, 2)), "straight")
	assert.False(t, h.between(at(1, 6), at(7, 6)), "through the gap")
	assert.True(t, h.between(at(4, 3), at(7, 3)), "stands on it")
	assert.False(t, h.between(at(1, 0), at(3, 5)))
	reset(0, 1, 2, 3, 4, 5, 6)
	assert.True(t, h.between(at(1, 6), at(7, 6)), "no way around")
}

// Of a route over the wall the part behind it is blind to a lookout before it, and no
// other.
func TestBlindStretches(t *testing.T) {
	gpx := `<?xml version="1.0"?><gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><rte><rtept lat="0.016" lon="-29.995"/><rtept lat="0.016" lon="-29.975"/></rte></gpx>`
	r, _ := placePlan(t, westLookout+"placement: {question: route, route: way.gpx, signal: lamp, count: 1, spacing: 100 m}\n",
		fstest.MapFS{"way.gpx": {Data: []byte(strings.ReplaceAll(gpx, "0.016", "0.0161"))}})
	require.Len(t, r.Place, 1)
	b := r.Place[0].Blind
	require.NotNil(t, b)
	assert.InDelta(t, 0.02*111319.5, float64(b.RouteM), 5)
	require.NotEmpty(t, b.Stretches)
	last := b.Stretches[len(b.Stretches)-1]
	// The wall stands at -29.9838: 1247 m along.
	assert.InDelta(t, 1247, float64(last.FromM), 60)
	assert.InDelta(t, 0.02*111319.5-1247, float64(last.LengthM), 60)
	require.Len(t, r.Place[0].Sites, 1)
	assert.Less(t, float64(r.Place[0].Sites[0].Lon), -29.984, "not behind the wall")
	assert.Zero(t, float64(b.UnknownM))
}

// Two posts that the wall parts see each other by one on top of it.
func TestRelayOverTheWall(t *testing.T) {
	shows := "shows: {name: lamp of theirs, light: 100 cd}"
	posts := "candidates: [{name: west, position: 0.016 -29.990}, {name: top, position: 0.0162 -29.9838}, {name: east, position: 0.016 -29.978}, {name: far, position: 0.004 -29.990}]"
	r, _ := placePlan(t, "placement: {question: relay, base: west, to: east, count: 3, "+shows+", "+posts+"}\n", nil)
	require.Len(t, r.Place, 1)
	var names []string
	for _, s := range r.Place[0].Sites {
		names = append(names, s.Name)
	}
	assert.Equal(t, []string{"west", "top", "east"}, names)
	require.Len(t, r.Place[0].Links, 2, "west and east do not see each other")
	for _, l := range r.Place[0].Links {
		assert.Greater(t, float64(l.Chance), 0.9)
	}
	assert.True(t, math.IsNaN(float64(r.Place[0].Bound)))

	r, _ = placePlan(t, "placement: {question: relay, base: west, count: 2, "+shows+", "+posts+"}\n", nil)
	require.NotEmpty(t, r.Place[0].Sites)
	assert.Equal(t, "west", r.Place[0].Sites[0].Name)
	assert.LessOrEqual(t, r.Place[0].Covered, r.Place[0].Bound)

	none := strings.Replace(posts, "{name: top, position: 0.0162 -29.9838}, ", "", 1)
	r, _ = placePlan(t, "placement: {question: relay, base: west, to: east, count: 3, "+shows+", "+none+"}\n", nil)
	assert.Empty(t, r.Place)
	assert.Contains(t, strings.Join(r.LeftOut, "\n"), "no chain of posts")
}

// Candidates by the terrain, and the limits that drop them.
func TestCandidatesByTheGround(t *testing.T) {
	var b strings.Builder
	b.WriteString("ncols 81\nnrows 81\nxllcenter -30.0\nyllcenter 0.0\ncellsize 0.00027\n")
	for row := range 81 {
		for col := range 81 {
			// A cone of 80 m at 40, 40, and a ridge that falls to the south from it.
			z := max(0, 80-4*math.Hypot(float64(col-40), float64(row-40)))
			if row > 40 {
				z = max(z, 60-math.Abs(float64(col-40))*3-float64(row-40)/2)
			}
			fmt.Fprintf(&b, "%.1f ", 100+z)
		}
		b.WriteByte('\n')
	}
	hill := fstest.MapFS{"plain.asc": {Data: []byte(b.String())}}
	top := orb.Point{-30 + 40*0.00027, 40 * 0.00027}
	of := func(ask string) *Result {
		files := fstest.MapFS{"plain.asc": hill["plain.asc"], "wood.geojson": {Data: []byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"natural":"wood"},"geometry":{"type":"Polygon","coordinates":[[[-30,0],[-29.992,0],[-29.992,0.0216],[-30,0.0216],[-30,0]]]}}]}`)}}
		r, _ := placePlan(t, westLookout+ask, files)
		return r
	}
	r := of("placement: {signal: lamp, count: 1, among: knolls, within: 2 km, spacing: 100 m}\n")
	require.Len(t, r.Place, 1, "%v", r.LeftOut)
	require.Len(t, r.Place[0].Sites, 1)
	assert.Equal(t, 1, r.Place[0].Candidates)
	assert.InDelta(t, top.Lon(), float64(r.Place[0].Sites[0].Lon), 1e-9)
	assert.InDelta(t, top.Lat(), float64(r.Place[0].Sites[0].Lat), 1e-9)

	ridges := of("placement: {signal: lamp, count: 1, among: ridges, within: 2 km, spacing: 100 m}\n")
	assert.Greater(t, ridges.Place[0].Candidates, 3)
	grid := of("placement: {signal: lamp, count: 3, within: 2 km, spacing: 150 m}\n")
	flat := of("placement: {signal: lamp, count: 3, within: 2 km, spacing: 150 m, max_slope: 1 deg}\n")
	assert.Less(t, flat.Place[0].Candidates, grid.Place[0].Candidates-10, "the slopes of the hill")
	for _, s := range flat.Place[0].Sites {
		assert.LessOrEqual(t, float64(s.SlopeDeg), 1.0)
	}
	near := of("placement: {signal: lamp, count: 1, within: 2 km, spacing: 150 m, reach: 5 min}\n")
	assert.Less(t, near.Place[0].Candidates, grid.Place[0].Candidates)
	assert.LessOrEqual(t, float64(near.Place[0].Sites[0].WalkS), 300.0)

	// A clearing is open ground beside the wood, and no fire is put under trees.
	cleared := of("cover: wood.geojson\ncover_elsewhere: grass\nplacement: {signal: flag, count: 1, among: clearings, within: 2 km, spacing: 100 m}\n")
	require.NotEmpty(t, cleared.Place, "%v", cleared.LeftOut)
	for _, s := range cleared.Place[0].Sites {
		assert.Equal(t, "grass", s.Cover)
		assert.InDelta(t, -29.992, float64(s.Lon), 0.001)
	}
	fire := "placement: {question: attract, count: 1, shows: {name: fire, fire: 100 kW}, %s candidates: [{name: wood, position: 0.005 -29.996}, {name: grass, position: 0.005 -29.988}]}\n"
	r = of("cover: wood.geojson\ncover_elsewhere: grass\n" + fmt.Sprintf(fire, ""))
	require.Len(t, r.Place, 1)
	assert.Equal(t, 1, r.Place[0].Candidates, "not under trees")
	r = of("cover: wood.geojson\ncover_elsewhere: grass\n" + fmt.Sprintf(fire, "fire_allowed: false,"))
	assert.Empty(t, r.Place)
}
