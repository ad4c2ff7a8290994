package job

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/geotest"
	"farhail/geo/los"
	"farhail/geo/prob"
	"farhail/geo/walk"
	"farhail/signal/sweep"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// This file tries the next effort out as people get it: a plan is run, and parties do
// what its tasks say, over ground on which somebody has lost their way. Whether they are
// seen is rolled step by step from the chance of a glimpse, for the threshold of the day
// and of each watcher, plants, low growth and ground in between. What the sums of signal/sweep make
// of it, its own tests try on finer ground and with more chances.

const advicePlan = `version: 1
as_of: 2026-06-20T06:00:00Z
zone: UTC
terrain: %s
plants: {stems: 2000 /ha, stem_width: 0.25 m}
starts:
  - {name: camp, kind: last-known, position: "%.6f, %.6f", error: 10 m, time: "2026-06-20T06:00:00Z"}
likelihood:
  outside: 0 %%
  by: KB
  within: 1.9 km
  views:
    - {name: lost, weight: 1, by: KB, from: nothing else, wander: 2.5 h}
effort:
  from: 2026-06-20T09:00:00Z
  looked_for: person
  parties:
`

// A tryout is a plan that was run, and what is needed to walk it.
type tryout struct {
	r     *run
	w     *sweeping
	crews []*crew
	hubs  []hub
	watch []float64 // chance of a glimpse by offset and distance, see glimpse
	pass  sweep.Pass
	clear float64 // mean clear line [m]
}

const (
	adviceHours            = 4
	advicePeople           = 6
	offsetEach, offsetMost = 0.05, 1.6
	metresEach, metresMost = 2.0, 300.0
)

func tryPlan(t *testing.T, fsys fs.FS, terrain string, camp orb.Point) *tryout {
	text := fmt.Sprintf(advicePlan, terrain, camp.Lat(), camp.Lon())
	for party := range 3 {
		text += fmt.Sprintf("    - {name: party %d, people: %d, hours: %d h, speed: 0.4 m/s, position: \"%.6f, %.6f\"}\n", party+1, advicePeople, adviceHours, camp.Lat(), camp.Lon())
	}
	x := &tryout{}
	p, err := plan.Read(overlaid{fsys, fstest.MapFS{"advice.yaml": {Data: []byte(text)}}}, "advice.yaml")
	require.NoError(t, err)
	_, err = Run(t.Context(), fsys, p, Options{Parts: Chances | Sweeping, then: func(ctx context.Context, r *run) (err error) {
		x.r = r
		x.w, err = r.newSweeping(r.result.Chance)
		require.NoError(t, err)
		for _, party := range r.plan.Effort.Parties {
			c := &crew{plan: party}
			require.NoError(t, x.w.ready(ctx, r.plan.Effort, c))
			x.crews = append(x.crews, c)
		}
		x.hubs, err = x.w.hubs(ctx, r.plan.Effort, x.crews, x.w.shares(x.w.before))
		return err
	}})
	require.NoError(t, err)
	by := x.r.searcher(plan.Eyes{}, 0.4, false)
	request, err := x.r.requestBy(plan.SomebodyLying(), x.crews[0].at, by, true)
	require.NoError(t, err)
	q, err := request.ask(&SightResult{Kind: plan.Figure})
	require.NoError(t, err)
	x.pass, x.clear = request.passOf(q, 0.4), x.w.kinds[0].plants.ClearM()
	require.InDelta(t, 20, x.clear, 0.5)
	watch, err := x.pass.Query.Watch()
	require.NoError(t, err)
	for u := -offsetMost; u <= offsetMost+1e-9; u += offsetEach {
		raised := watch.Raised(u)
		for m := metresEach / 2; m < metresMost; m += metresEach {
			x.watch = append(x.watch, raised.GlimpseChance(m))
		}
	}
	return x
}

// overlaid is a file system with some files of another.
type overlaid struct{ under, over fs.FS }

func (o overlaid) Open(name string) (fs.File, error) {
	if f, err := o.over.Open(name); err == nil {
		return f, nil
	}
	return o.under.Open(name)
}

// glimpse returns the chance of one glimpse.
func (x *tryout) glimpse(offset, m float64) float64 {
	const perOffset = int(metresMost / metresEach)
	i := int(math.Round((min(max(offset, -offsetMost), offsetMost) + offsetMost) / offsetEach))
	return x.watch[i*perOffset+min(int(m/metresEach), perOffset-1)]
}

// An errand is to search cells once, in lines, from some time on.
type errand struct {
	cells         []int
	fromS, lastsS float64
}

// A stepped is one step of somebody's way.
type stepped struct {
	at, dir sweep.Point
	atS     float64
	watcher int
}

// walk returns the steps of a party's people: lines from north to south, as far apart as
// fill the time, of which each walks an equal part.
func (x *tryout) walk(party int, errands []errand, length float64) (steps []stepped) {
	for _, e := range errands {
		in := map[int]bool{}
		west, east, south, north, area := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1), 0.0
		for _, cell := range e.cells {
			in[cell] = true
			p := x.w.centres[cell]
			west, east, south, north = min(west, p.EastM), max(east, p.EastM), min(south, p.NorthM), max(north, p.NorthM)
			area += x.w.areaM2[cell]
		}
		all := e.lastsS * 0.4 * advicePeople
		half := math.Sqrt(x.w.areaM2[e.cells[0]]) / 2
		lines := max(1, math.Round((east-west+2*half)*all/area))
		var points []sweep.Point
		for k := range int(lines) {
			var line []sweep.Point
			for y := north + half; y > south-half; y -= length {
				p := sweep.Point{EastM: west - half + (float64(k)+0.5)*(east-west+2*half)/lines, NorthM: y}
				if in[x.w.cellAt(p)] {
					line = append(line, p)
				}
			}
			if k%2 == 1 {
				slices.Reverse(line)
			}
			points = append(points, line...)
		}
		each := len(points) / advicePeople
		for person := range advicePeople {
			for i := range each {
				p := points[person*each+i]
				next := points[min(person*each+i+1, len(points)-1)]
				d := math.Hypot(next.EastM-p.EastM, next.NorthM-p.NorthM)
				at := e.fromS + float64(i)*length/0.4
				if d == 0 || d > 2*length || at > e.fromS+e.lastsS { // to another line; no time left
					continue
				}
				steps = append(steps, stepped{p, sweep.Point{EastM: (next.EastM - p.EastM) / d, NorthM: (next.NorthM - p.NorthM) / d}, at, party*advicePeople + person})
			}
		}
	}
	return steps
}

// told are the errands of a party by the tasks that the plan tells it.
func (x *tryout) told(party int) (list []errand) {
	from := x.r.plan.Effort.From
	for _, task := range x.r.result.Sweep.Next {
		if task.Party == x.crews[party].plan.Name && task.Segment != "" {
			list = append(list, errand{x.cellsOf(x.segment(task.Segment)), task.Begin.Sub(from).Seconds(), float64(task.SearchS)})
		}
	}
	return list
}

func (x *tryout) segment(name string) int {
	return slices.IndexFunc(x.w.areas, func(a SearchArea) bool { return a.Name == name })
}

func (x *tryout) cellsOf(segments ...int) (cells []int) {
	for cell, p := range x.w.part {
		if p >= 0 && slices.Contains(segments, int(p)) {
			cells = append(cells, cell)
		}
	}
	return cells
}

// open lists the segments that a party can search.
func (x *tryout) open() (list []int) {
	for i, way := range x.crews[0].ways {
		if !math.IsInf(way.wayS, 1) {
			list = append(list, i)
		}
	}
	return list
}

// even covers all that is open at one spacing, a strip for each party, ways counted.
func (x *tryout) even() [3][]errand {
	order := x.open()
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(x.w.areas[a].Lon, x.w.areas[b].Lon) })
	var out [3][]errand
	for party := range 3 {
		strip := order[party*len(order)/3 : (party+1)*len(order)/3]
		nearest, back := math.Inf(1), 0.0
		for _, i := range strip {
			nearest = min(nearest, x.crews[party].ways[i].wayS)
			back += x.crews[party].ways[i].wayS / float64(len(strip))
		}
		out[party] = []errand{{x.cellsOf(strip...), nearest, adviceHours*3600 - nearest - back}}
	}
	return out
}

// betweenS returns the time from one segment to another, where the verb knows it, else
// straight and level.
func (x *tryout) betweenS(from, to int) float64 {
	for _, h := range x.hubs {
		if s := h.ways[to].wayS; h.segment == from && !math.IsInf(s, 1) {
			return s
		}
	}
	a, b := x.w.areas[from], x.w.areas[to]
	return earth.Distance(orb.Point{float64(a.Lon), float64(a.Lat)}, orb.Point{float64(b.Lon), float64(b.Lat)}) * x.r.rule().MapPace(0)
}

// likeliest lets parties in turn take the segment with the largest share that is left and
// cover it once at the sweep width.
func (x *tryout) likeliest() [3][]errand {
	order := x.open()
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x.w.areas[b].Share, x.w.areas[a].Share) })
	var out [3][]errand
	free, last := [3]float64{}, [3]int{-1, -1, -1}
	width := float64(x.r.result.Sweep.Next[0].SweepWidthM)
	for _, i := range order {
		p := 0
		for q := range free {
			if free[q] < free[p] {
				p = q
			}
		}
		way := x.crews[p].ways[i].wayS
		begin := free[p] + way
		if last[p] >= 0 {
			begin = free[p] + x.betweenS(last[p], i)
		}
		lasts := min(float64(x.w.areas[i].AreaM2)/(width*0.4*advicePeople), adviceHours*3600-way-begin)
		if lasts <= 0 {
			free[p] = math.Inf(1)
			continue
		}
		out[p] = append(out[p], errand{x.cellsOf(i), begin, lasts})
		free[p], last[p] = begin+lasts, i
	}
	return out
}

// lost is where somebody is who has walked about for so long without knowing where: they
// turn once a minute, and are slower up and down.
func (x *tryout) lost(r *rand.Rand, seconds float64) sweep.Point {
	rule, _ := walk.Named("tobler-off")
	at, _ := x.w.point(x.crews[0].plan.Point)
	heightM := func(p sweep.Point) float64 { return x.r.heights.Sample(x.w.local.Inverse(p.EastM, p.NorthM)) }
	heading, pace := 2*math.Pi*r.Float64(), math.Exp(prob.DefaultPaceSpread*r.NormFloat64())
	for ; seconds > 0; seconds -= 60 {
		heading += 0.8 * r.NormFloat64()
		east, north := math.Sin(heading), math.Cos(heading)
		slope := (heightM(sweep.Point{EastM: at.EastM + 10*east, NorthM: at.NorthM + 10*north}) - heightM(at)) / 10
		step := min(60, seconds) * pace / rule.MapPace(slope)
		next := sweep.Point{EastM: at.EastM + step*east, NorthM: at.NorthM + step*north}
		if math.IsNaN(step) || x.w.cellAt(next) < 0 {
			heading += math.Pi
			continue
		}
		at = next
	}
	return at
}

// firstS returns when somebody sees a person first, +Inf for never.
func (x *tryout) firstS(r *rand.Rand, near []stepped, at sweep.Point, day float64, own []float64, stepS float64) float64 {
	col, row := x.r.heights.Cell(x.w.local.Inverse(at.EastM, at.NorthM))
	eye, err := los.NewEye(x.r.heights, los.Station{Col: col, Row: row, HeightM: x.pass.Query.SignalM}, x.r.bareLines())
	first := math.Inf(1)
	for _, s := range near {
		east, north := at.EastM-s.at.EastM, at.NorthM-s.at.NorthM
		d := math.Hypot(east, north)
		if d >= metresMost || east*s.dir.EastM+north*s.dir.NorthM <= 0 || s.atS >= first {
			continue
		}
		glimpses := x.pass.Query.Search.Glimpses(stepS)
		clear := math.Exp(-d / x.clear) // of plants, and of low growth
		if x.pass.Grazing {
			clear *= math.Exp(-sweep.GrazingPerM * d / math.Abs(x.pass.Query.EyeM-x.pass.Query.SignalM))
		}
		chance := clear * -math.Expm1(glimpses*math.Log1p(-x.glimpse(day+own[s.watcher], math.Hypot(d, x.pass.Query.EyeM))))
		if r.Float64() >= chance || err != nil {
			continue
		}
		col, row := x.r.heights.Cell(x.w.local.Inverse(s.at.EastM, s.at.NorthM))
		if eye.State(los.Station{Col: col, Row: row, HeightM: x.pass.Query.EyeM}) == los.Seen {
			first = s.atS
		}
	}
	return first
}

// A gridded is steps by squares of 300 m.
type gridded map[[2]int][]stepped

func square(p sweep.Point) [2]int {
	return [2]int{int(math.Floor(p.EastM / metresMost)), int(math.Floor(p.NorthM / metresMost))}
}

func (g gridded) near(p sweep.Point) (list []stepped) {
	at := square(p)
	for dx := -1; dx <= 1; dx++ {
		for dy := -1; dy <= 1; dy++ {
			list = append(list, g[[2]int{at[0] + dx, at[1] + dy}]...)
		}
	}
	return list
}

// TestAdviceOfTheVerb: the tasks that a plan tells its parties find more than equal
// spacing and than covering the likeliest areas once each, the likeliest first, and find
// sooner, on made-up hills and on real ground; the same people, days and eyes for all
// three, ways by the same table. The time of who is not found is that of the end.
// Intervals are of 95 %, of the differences by person.
func TestAdviceOfTheVerb(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	for _, tc := range []struct {
		name string
		make func(t *testing.T) *tryout
	}{
		{"made up", func(t *testing.T) *tryout {
			return tryPlan(t, fstest.MapFS{"hills.asc": {Data: madeUpHills(5)}}, "hills.asc", orb.Point{-30 + 70*0.0003, 40 + 70*0.0003})
		}},
		{"Andorra", func(t *testing.T) *tryout {
			dir := filepath.Join(geotest.Shared(t), "data", "dem")
			return tryPlan(t, os.DirFS(dir), "N42E001.hgt.zip", orb.Point{1.5250, 42.5700})
		}},
	} {
		t.Run(tc.name, func(t *testing.T) { compareTasks(t, tc.make(t)) })
	}
}

func compareTasks(t *testing.T, x *tryout) {
	const people, end = 2500, adviceHours * 3600.0
	stepM := float64(sweep.WindowM)
	names := []string{"the tasks", "equal spacing", "likeliest first"}
	even, likeliest := x.even(), x.likeliest()
	ways := []gridded{{}, {}, {}}
	for k := range ways {
		for party := range 3 {
			for _, s := range x.walk(party, [][]errand{x.told(party), even[party], likeliest[party]}[k], stepM) {
				ways[k][square(s.at)] = append(ways[k][square(s.at)], s)
			}
		}
	}
	var sooner, more [3]mean
	var share, hours [3]mean
	for i := range people {
		r := rand.New(rand.NewPCG(21, uint64(i)))
		at := x.lost(r, 2.5*3600)
		day, own := 0.29/math.Sqrt2*r.NormFloat64(), make([]float64, 3*advicePeople)
		for n := range own {
			own[n] = 0.29 / math.Sqrt2 * r.NormFloat64()
		}
		var first, found [3]float64
		for k := range ways {
			s := x.firstS(rand.New(rand.NewPCG(22, uint64(i))), ways[k].near(at), at, day, own, stepM/0.4)
			if s < end {
				found[k] = 1
			}
			first[k] = min(s, end) / 3600
			share[k].add(found[k])
			hours[k].add(first[k])
			sooner[k].add(first[k] - first[0])
			more[k].add(found[0] - found[k])
		}
	}
	for k, name := range names {
		t.Logf("%-16s found %.3f, after %.2f h; the tasks find %+.3f ± %.3f more, %.2f ± %.2f h sooner", name, share[k].of(), hours[k].of(), more[k].of(), more[k].half(), sooner[k].of(), sooner[k].half())
		if k > 0 {
			assert.Positive(t, more[k].of()-more[k].half(), "share found, against %s", name)
			assert.Positive(t, sooner[k].of()-sooner[k].half(), "time, against %s", name)
		}
	}
	t.Logf("predicted for the tasks: %.3f", float64(x.r.result.Sweep.Then.POS))
}

// A mean sums up values.
type mean struct{ n, sum, squares float64 }

func (m *mean) add(v float64) { m.n, m.sum, m.squares = m.n+1, m.sum+v, m.squares+v*v }
func (m mean) of() float64    { return m.sum / m.n }

// half returns half of the 95 % interval.
func (m mean) half() float64 {
	v := m.of()
	return 1.96 * math.Sqrt((m.squares/m.n-v*v)/m.n)
}

// madeUpHills are hills of slopes of 15 degrees on the whole, as Esri ASCII.
func madeUpHills(seed uint64) []byte {
	const cells = 141
	z := geotest.Rough(seed, 60).Cells(cells, cells, 30)
	var b bytes.Buffer
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcenter -30\nyllcenter 40\ncellsize 0.0003\n", cells, cells)
	for row := range cells {
		for col := range cells {
			fmt.Fprintf(&b, "%.2f ", z[row*cells+col])
		}
		b.WriteByte('\n')
	}
	return []byte(strings.TrimSpace(b.String()))
}
