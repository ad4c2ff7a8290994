package sweep_test

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/prob"
	"farhail/geo/terrain"
	"farhail/geo/walk"
	"farhail/signal/sweep"
)

// A mission is a search to be planned: ground cut into segments, where the person is
// likely to be, parties at a base.
type mission struct {
	ground
	scene
	base    sweep.Point
	surface *prob.Surface
	part    []int32 // segment by cell
	middles []sweep.Point
	effort  sweep.Effort
	widthM  float64
}

// wandering is how the lost walk, as [ground.lost] does it.
func (g ground) wandering(from sweep.Point, seconds float64) prob.Walkers {
	speed := make([]float32, g.Cols*g.Rows)
	for i := range speed {
		slope := math.Tan(terrain.SlopeDeg(g.Heights, i%g.Cols, i/g.Cols) * math.Pi / 180)
		if math.IsNaN(slope) {
			slope = 0
		}
		// All headings on a slope, as good as four.
		speed[i] = float32(1 / ((tobler(slope) + tobler(-slope) + 2*tobler(0)) / 4))
	}
	return prob.Walkers{From: g.Point(g.cell(from)), SpeedMS: speed, Seconds: seconds, Straight: math.Exp(-turnSD * turnSD / 2), Seed: 3}
}

const (
	lostForS  = 2.5 * 3600
	partySize = 6
)

// newMission plans for parties of six with so many seconds each.
func newMission(t testing.TB, g ground, s scene, parties int, seconds float64) *mission {
	ctx := context.Background()
	m := &mission{ground: g, scene: s, base: g.place(float64(g.Cols)/2, float64(g.Rows)/2)}
	weights, err := prob.Wander(ctx, g.Frame, g.wandering(m.base, lostForS))
	require.NoError(t, err)
	m.surface, err = prob.FromWeights(g.Frame, weights.Mass(g.Frame), weights.Beyond)
	require.NoError(t, err)
	m.part, err = prob.Split(ctx, g.Frame, prob.Parts{})
	require.NoError(t, err)
	n := int(slices.Max(m.part)) + 1
	curve, err := s.pass().Solve()
	require.NoError(t, err)
	m.widthM = curve.WidthM
	rule, _ := walk.Named("tobler-off")
	col, row := g.cell(m.base)
	field, err := walk.Reach(ctx, g.Heights, walk.Options{Starts: []walk.Start{{Col: int(col), Row: int(row)}}, Rule: rule, MaxSeconds: 1e5})
	require.NoError(t, err)
	e := &m.effort
	e.POA, e.AreaM2 = make([]float64, n), make([]float64, n)
	m.middles = make([]sweep.Point, n)
	travel := make([]float64, n)
	for i := range travel {
		travel[i] = math.Inf(1)
	}
	for i, p := range m.part {
		if p < 0 {
			continue
		}
		area := g.AreaM2(i / g.Cols)
		at := g.place(float64(i%g.Cols), float64(i/g.Cols))
		e.POA[p] += m.surface.Mass[i]
		e.AreaM2[p] += area
		m.middles[p].EastM += area * at.EastM
		m.middles[p].NorthM += area * at.NorthM
		travel[p] = min(travel[p], 2*float64(field.Seconds[i]))
	}
	for p := range m.middles {
		m.middles[p].EastM /= e.AreaM2[p]
		m.middles[p].NorthM /= e.AreaM2[p]
	}
	for i := range m.middles {
		var to []float64
		for k := range m.middles {
			to = append(to, math.Hypot(m.middles[k].EastM-m.middles[i].EastM, m.middles[k].NorthM-m.middles[i].NorthM)*tobler(0.1))
		}
		e.BetweenS = append(e.BetweenS, to)
	}
	for range parties {
		e.Parties = append(e.Parties, sweep.Party{People: partySize, SpeedMS: s.speedMS, Seconds: seconds})
		widths := make([]float64, n)
		for i := range widths {
			widths[i] = m.widthM
		}
		e.WidthM, e.TravelS = append(e.WidthM, widths), append(e.TravelS, travel)
	}
	return m
}

// A job is to search some segments, as one, for a time.
type job struct {
	segments []int
	seconds  float64
	passes   int     // goes in which the lines are walked; 0: one
	wayS     float64 // to it, for who has many segments to search as one [s]
}

// walked returns the ways of a party's people who do one job after another from the base
// and are back in time. Each job's ground is covered once, by parallel lines as far
// apart as fill its time, of which each walks an equal part.
func (m *mission) walked(party int, jobs []job) []watcher {
	people := make([]watcher, partySize)
	end := m.effort.Parties[party].Seconds
	now, at := 0.0, -1
	for _, j := range jobs {
		now += j.wayS
		if len(j.segments) == 1 {
			if at < 0 {
				now = m.effort.TravelS[party][j.segments[0]] / 2
			} else {
				now += m.effort.BetweenS[at][j.segments[0]]
			}
			at = j.segments[0]
		}
		until := now + j.seconds
		for _, path := range m.comb(j) {
			passS := length(path) / (m.speedMS * partySize)
			for i, piece := range pieces(path, partySize) {
				for _, st := range m.watcher(m.scene, m.track(m.scene, piece), now).steps {
					if st.atS < min(until, end) {
						people[i].steps = append(people[i].steps, st)
					}
				}
			}
			now += passS
		}
		now = until
	}
	for i := range people {
		people[i].box()
	}
	return people
}

// comb returns ways to and fro over the segments of a job, one for each go, that take
// its time together.
func (m *mission) comb(j job) [][]sweep.Point {
	lengthM, area := j.seconds*m.speedMS*partySize, 0.0
	for _, i := range j.segments {
		area += m.effort.AreaM2[i]
	}
	spacing := area / lengthM
	var ways [][]sweep.Point
	for range 6 {
		ways = m.lines(j.segments, spacing, max(1, j.passes))
		sum := 0.0
		for _, w := range ways {
			sum += length(w)
		}
		if sum == 0 || math.Abs(sum/lengthM-1) < 0.02 {
			break
		}
		spacing *= sum / lengthM
	}
	return ways
}

func length(way []sweep.Point) float64 {
	sum := 0.0
	for i := 1; i < len(way); i++ {
		sum += math.Hypot(way[i].EastM-way[i-1].EastM, way[i].NorthM-way[i-1].NorthM)
	}
	return sum
}

// lines returns north-south lines over segments, joined to one way for each go.
func (m *mission) lines(segments []int, spacingM float64, passes int) [][]sweep.Point {
	in := make([]bool, len(m.part))
	col0, row0, col1, row1 := m.Cols, m.Rows, 0, 0
	for i, p := range m.part {
		if slices.Contains(segments, int(p)) {
			in[i] = true
			col0, col1 = min(col0, i%m.Cols), max(col1, i%m.Cols)
			row0, row1 = min(row0, i/m.Cols), max(row1, i/m.Cols)
		}
	}
	west, east := m.place(float64(col0)-0.5, 0).EastM, m.place(float64(col1)+0.5, 0).EastM
	north, south := m.place(0, float64(row0)-0.5).NorthM, m.place(0, float64(row1)+0.5).NorthM
	n := max(1, math.Round((east-west)/spacingM))
	ways := make([][]sweep.Point, passes)
	for k := range int(n) {
		line := m.run(in, west+(float64(k)+0.5)*(east-west)/n, north, south)
		if k/passes%2 == 1 {
			slices.Reverse(line)
		}
		ways[k%passes] = append(ways[k%passes], line...)
	}
	return ways
}

// run returns the ends of the pieces of a line from north to south that lie in cells.
func (m *mission) run(in []bool, x, north, south float64) (list []sweep.Point) {
	const stepM = 5
	inside := false
	for y := north - stepM/2; y > south-stepM; y -= stepM {
		col, row := m.cell(sweep.Point{EastM: x, NorthM: y})
		c, r := int(math.Round(col)), int(math.Round(row))
		now := y > south && c >= 0 && c < m.Cols && r >= 0 && r < m.Rows && in[r*m.Cols+c]
		if now != inside {
			list = append(list, sweep.Point{EastM: x, NorthM: y + stepM/2})
			inside = now
		}
	}
	return list
}

// pieces cuts a way into n of equal length.
func pieces(way []sweep.Point, n int) [][]sweep.Point {
	list := make([][]sweep.Point, n)
	each := length(way) / float64(n)
	k, left := 0, each
	for i := 1; i < len(way); i++ {
		a, b := way[i-1], way[i]
		for {
			l := math.Hypot(b.EastM-a.EastM, b.NorthM-a.NorthM)
			if len(list[k]) == 0 {
				list[k] = append(list[k], a)
			}
			if l <= left || k == n-1 {
				list[k], left = append(list[k], b), left-l
				break
			}
			f := left / l
			a = sweep.Point{EastM: a.EastM + f*(b.EastM-a.EastM), NorthM: a.NorthM + f*(b.NorthM-a.NorthM)}
			list[k] = append(list[k], a)
			k, left = k+1, each
		}
	}
	return list
}

// advised follows [sweep.Effort.Assign].
func (m *mission) advised(t testing.TB) [][]job {
	a, err := m.effort.Assign(false)
	require.NoError(t, err)
	list := make([][]job, len(m.effort.Parties))
	for _, task := range a.Tasks {
		if task.Segment >= 0 {
			list[task.Party] = append(list[task.Party], job{segments: []int{task.Segment}, seconds: task.Seconds, passes: task.Passes})
		}
	}
	return list
}

// toured follows [sweep.Effort.Tours].
func (m *mission) toured(t testing.TB) [][]job {
	a, err := m.effort.Tours()
	require.NoError(t, err)
	list := make([][]job, len(m.effort.Parties))
	for p, tasks := range a.Tasks {
		for _, task := range tasks {
			list[p] = append(list[p], job{segments: []int{task.Segment}, seconds: task.Seconds, passes: task.Passes})
		}
	}
	return list
}

// even spreads all over the map at one spacing, a strip for each party: from the base to
// where its strip is nearest, all over it, and back from anywhere.
func (m *mission) even() [][]job {
	var order []int
	area := 0.0
	for i, a := range m.effort.AreaM2 {
		order = append(order, i)
		area += a
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(m.middles[a].EastM, m.middles[b].EastM) })
	list := make([][]job, len(m.effort.Parties))
	sum := 0.0
	for _, i := range order {
		p := min(int(sum/area*float64(len(list))), len(list)-1)
		sum += m.effort.AreaM2[i]
		if len(list[p]) == 0 {
			list[p] = []job{{}}
		}
		list[p][0].segments = append(list[p][0].segments, i)
	}
	for p := range list {
		j := &list[p][0]
		nearest, back := math.Inf(1), 0.0
		for _, i := range j.segments {
			nearest = min(nearest, m.effort.TravelS[p][i]/2)
			back += m.effort.TravelS[p][i] / 2 / float64(len(j.segments))
		}
		j.wayS = nearest
		j.seconds = m.effort.Parties[p].Seconds - nearest - back
	}
	return list
}

// likeliest lets parties in turn take the segment with the most probability that is
// left, and cover it once at the sweep width, for as long as there is time.
func (m *mission) likeliest() [][]job {
	order := make([]int, len(m.effort.POA))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(m.effort.POA[b], m.effort.POA[a]) })
	list := make([][]job, len(m.effort.Parties))
	free := make([]float64, len(list))
	last := make([]int, len(list))
	for _, i := range order {
		p := 0
		for q := range free {
			if free[q] < free[p] {
				p = q
			}
		}
		wayS := m.effort.TravelS[p][i] / 2
		if free[p] > 0 {
			wayS = m.effort.BetweenS[last[p]][i]
		}
		free[p], last[p] = free[p]+wayS, i
		left := m.effort.Parties[p].Seconds - m.effort.TravelS[p][i]/2 - free[p]
		if left <= 0 {
			free[p] = math.Inf(1)
			continue
		}
		seconds := min(m.effort.AreaM2[i]/(m.widthM*m.speedMS*partySize), left)
		list[p] = append(list[p], job{segments: []int{i}, seconds: seconds, passes: 1})
		free[p] += seconds
	}
	return list
}

// What the advice finds against what two common ways of searching do, on the same
// people who are lost on the same days, with the same dice for where they went and how
// well everybody sees: it finds more of them, and sooner. The time of who is not found
// is that of the end. Intervals are of 95 %, of the differences by person. (With
// segments that are all of one size, likeliest first finds 0.08 fewer in 4 h, 0.08 h later.
// In 12 h equal spacing finds as many as the advice, 1.4 h later.)
func TestAdviceFindsSooner(t *testing.T) {
	for _, hours := range []float64{4, 8} {
		t.Run(fmt.Sprintf("%g hours", hours), func(t *testing.T) {
			if testing.Short() && hours > 4 {
				t.Skip("long")
			}
			grounds := []ground{madeUp(1, 131, 30, 60), madeUp(2, 131, 30, 60), madeUp(3, 131, 30, 60)}
			people := 1000
			if testing.Short() {
				grounds, people = grounds[:1], 500
			}
			compareAdvice(t, hours, grounds, people)
		})
	}
}

// compareAdvice asserts that the advice finds more and sooner than others do.
func compareAdvice(t *testing.T, hours float64, grounds []ground, people int) {
	s := wood()
	tr := asBelieved(t, s)
	plans := []string{"advice", "one segment each", "equal spacing", "likeliest segments first"}
	times := make([][]float64, len(plans))
	for _, g := range grounds {
		m := newMission(t, g, s, 3, hours*3600)
		var watchers [4][]watcher
		for k, jobs := range [][][]job{m.toured(t), m.advised(t), m.even(), m.likeliest()} {
			for p, list := range jobs {
				watchers[k] = append(watchers[k], m.walked(p, list)...)
			}
		}
		for i := range people {
			r := rand.New(rand.NewPCG(9, uint64(i)))
			who := &person{place: m.lost(r, m.base, lostForS)}
			offsets := tr.offsets(r, 3*partySize)
			for k := range plans {
				r := rand.New(rand.NewPCG(10, uint64(i)))
				first := hours * 3600
				for n, w := range watchers[k] {
					first = min(first, tr.foundS(r, g, who, w, offsets[n]))
				}
				times[k] = append(times[k], first)
			}
		}
	}
	found := func(k, i int) float64 {
		if times[k][i] < hours*3600 {
			return 1
		}
		return 0
	}
	for k, name := range plans {
		var later, more sample
		var share, hoursMean sample
		for i := range times[k] {
			later.add((times[k][i] - times[0][i]) / 3600)
			more.add(found(0, i) - found(k, i))
			share.add(found(k, i))
			hoursMean.add(times[k][i] / 3600)
		}
		t.Logf("%-25s found %.3f, after %.2f h; advice finds %+.3f ± %.3f more, %.2f ± %.2f h sooner",
			name, share.mean(), hoursMean.mean(), more.mean(), more.half(), later.mean(), later.half())
		if k > 0 {
			assert.Positive(t, more.mean()-more.half(), "share found, against %s", name)
			assert.Positive(t, later.mean()-later.half(), "time, against %s", name)
		}
	}
}

// A sample sums up values.
type sample struct{ n, sum, squares float64 }

func (s *sample) add(v float64) { s.n, s.sum, s.squares = s.n+1, s.sum+v, s.squares+v*v }
func (s sample) mean() float64  { return s.sum / s.n }

// half returns half of the 95 % interval of the mean.
func (s sample) half() float64 {
	m := s.mean()
	return 1.96 * math.Sqrt((s.squares/s.n-m*m)/s.n)
}
