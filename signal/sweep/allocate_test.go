package sweep

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

func list(t *testing.T, s string) []float64 { return geotest.Numbers(t, strings.Split(s, ",")) }

func TestAllocate(t *testing.T) {
	geotest.Check(t, "sweep-allocate", func(in []string) ([]any, error) {
		s, err := Allocate(list(t, in[0]), list(t, in[1]), list(t, in[2])[0])
		if err != nil {
			return nil, err
		}
		return []any{s.POS, s.Seconds[0], s.Seconds[1]}, nil
	})
	// Narrow rings about the middle stand for the plane; sd 1, effort is area.
	geotest.Check(t, "sweep-normal", func(in []string) ([]any, error) {
		h := geotest.Numbers(t, in)[0]
		var poa, perS []float64
		const step = 0.01
		for i := range 800 {
			a, b := float64(i)*step, float64(i+1)*step
			poa = append(poa, math.Exp(-a*a/2)-math.Exp(-b*b/2))
			perS = append(perS, 1/(math.Pi*(b*b-a*a)))
		}
		s, err := Allocate(poa, perS, math.Pi*h*h)
		return []any{s.POS}, err
	})
}

func TestAllocateIsOptimal(t *testing.T) {
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 6))
		n := 1 + int(seed%8)
		poa, perS := make([]float64, n), make([]float64, n)
		for i := range n {
			poa[i], perS[i] = r.Float64()/float64(n), math.Exp(2*r.NormFloat64())/1000
		}
		seconds := math.Exp(r.NormFloat64()) * 1000
		s, err := Allocate(poa, perS, seconds)
		require.NoError(t, err)
		total := 0.0
		for i, x := range s.Seconds {
			require.GreaterOrEqual(t, x, 0.0)
			total += x
			slope := poa[i] * perS[i] * math.Exp(-perS[i]*x)
			if x > 0 {
				require.InEpsilon(t, s.Lambda, slope, 1e-6, "seed %d: one slope wherever there is a search", seed)
			} else {
				require.LessOrEqual(t, slope, s.Lambda*(1+1e-9), "seed %d: no more elsewhere", seed)
			}
		}
		require.InEpsilon(t, seconds, total, 1e-12)
		more, err := Allocate(poa, perS, seconds*1.1)
		require.NoError(t, err)
		require.GreaterOrEqual(t, more.POS, s.POS, "more time finds more")
		// Going on from what is left gives what all the time at once gives.
		left := make([]float64, n)
		for i := range left {
			left[i] = poa[i] * (1 - s.POD[i])
		}
		if s.POS > sum(poa)*(1-1e-12) {
			continue // found, as far as numbers go
		}
		rest, err := Allocate(left, perS, seconds*0.1)
		require.NoError(t, err)
		require.InDelta(t, more.POS, s.POS+rest.POS, 1e-12, "seed %d", seed)
	}
}

func sum(v []float64) (total float64) {
	for _, x := range v {
		total += x
	}
	return total
}

// A fine grid of divisions finds nothing better.
func TestAllocateAgainstGrid(t *testing.T) {
	poa, perS, seconds := []float64{0.3, 0.25, 0.1}, []float64{0.4, 0.9, 1.5}, 4.0
	s, err := Allocate(poa, perS, seconds)
	require.NoError(t, err)
	best := 0.0
	const n = 400
	for i := range n + 1 {
		for j := range n + 1 - i {
			times := []float64{float64(i), float64(j), float64(n - i - j)}
			pos := 0.0
			for k, x := range times {
				pos += poa[k] * -math.Expm1(-perS[k]*x*seconds/n)
			}
			best = max(best, pos)
		}
	}
	assert.LessOrEqual(t, best, s.POS+1e-12)
	assert.InDelta(t, best, s.POS, 1e-5)
}

func TestMatch(t *testing.T) {
	worth := func(cost [][]float64, columns []int) (sum float64) {
		for i, j := range columns {
			sum += cost[i][j]
		}
		return sum
	}
	geotest.Check(t, "sweep-pairs", func(in []string) ([]any, error) {
		var cost [][]float64
		for _, row := range strings.Split(in[0], ";") {
			cost = append(cost, list(t, row))
		}
		columns, err := Match(cost)
		return []any{worth(cost, columns)}, err
	})
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 7))
		rows := 1 + int(seed%5)
		cols := rows + int(seed%3)
		cost := make([][]float64, rows)
		for i := range cost {
			for range cols {
				cost[i] = append(cost[i], 10*r.NormFloat64())
			}
		}
		best := math.Inf(1)
		used := make([]bool, cols)
		var try func(row int, sum float64)
		try = func(row int, sum float64) {
			if row == rows {
				best = min(best, sum)
				return
			}
			for j := range cols {
				if !used[j] {
					used[j] = true
					try(row+1, sum+cost[row][j])
					used[j] = false
				}
			}
		}
		try(0, 0)
		columns, err := Match(cost)
		require.NoError(t, err)
		require.InDelta(t, best, worth(cost, columns), 1e-9, "seed %d", seed)
	}
	for _, bad := range [][][]float64{{{1}, {2}}, {{1, 2}, {1}}, {{math.NaN()}}} {
		_, err := Match(bad)
		require.Error(t, err)
	}
	none, err := Match(nil)
	require.NoError(t, err)
	assert.Empty(t, none)
}

// effort is a random division of parties among segments.
func effort(seed uint64, parties, segments int) Effort {
	r := rand.New(rand.NewPCG(seed, 8))
	var e Effort
	for range segments {
		e.POA = append(e.POA, r.Float64()/float64(segments))
		e.AreaM2 = append(e.AreaM2, 1e5+9e5*r.Float64())
	}
	for range parties {
		e.Parties = append(e.Parties, Party{People: 1 + r.IntN(6), SpeedMS: 0.3 + r.Float64(), Seconds: 7200 + 14400*r.Float64()})
		var width, travel []float64
		for range segments {
			width = append(width, 10+60*r.Float64())
			travel = append(travel, 12000*r.Float64())
			if r.Float64() < 0.15 {
				travel[len(travel)-1] = math.Inf(1)
			}
		}
		e.WidthM, e.TravelS = append(e.WidthM, width), append(e.TravelS, travel)
	}
	return e
}

func TestAssignAgainstEnumeration(t *testing.T) {
	for seed := range uint64(200) {
		e := effort(seed, 1+int(seed%4), 2+int(seed%5))
		for _, alone := range []bool{false, true} {
			best := 0.0
			at := make([]int, len(e.Parties))
			var try func(j int)
			try = func(j int) {
				if j == len(at) {
					if alone && double(at) {
						return
					}
					best = max(best, e.pos(at))
					return
				}
				for i := nobody; i < len(e.POA); i++ {
					at[j] = i
					try(j + 1)
				}
			}
			try(0)
			a, err := e.Assign(alone)
			require.NoError(t, err)
			require.True(t, a.Exact)
			require.InDelta(t, best, a.POS, 1e-9, "seed %d, alone %v", seed, alone)
			require.Equal(t, a.POS, a.Bound)
		}
	}
}

func double(at []int) bool {
	seen := map[int]bool{}
	for _, i := range at {
		if i != nobody && seen[i] {
			return true
		}
		seen[i] = true
	}
	return false
}

func TestAssignPublishedCase(t *testing.T) {
	e := Effort{POA: []float64{0.30, 0.35, 0.20}, AreaM2: []float64{1, 1, 1}}
	for _, pod := range [][]float64{{0.5, 0.5, 0.7}, {0.4, 0.35, 0.55}} {
		e.Parties = append(e.Parties, Party{People: 1, SpeedMS: 1, Seconds: 1})
		var width []float64
		for _, p := range pod {
			width = append(width, -math.Log1p(-p))
		}
		e.WidthM, e.TravelS = append(e.WidthM, width), append(e.TravelS, make([]float64, 3))
	}
	geotest.Check(t, "sweep-assign", func(in []string) ([]any, error) {
		v := geotest.Numbers(t, in)
		return []any{e.pos([]int{int(v[0]) - 1, int(v[1]) - 1})}, nil
	})
	for _, alone := range []bool{false, true} {
		a, err := e.Assign(alone)
		require.NoError(t, err)
		assert.Equal(t, []int{1, 0}, []int{a.Tasks[0].Segment, a.Tasks[1].Segment})
		assert.InDelta(t, 0.295, a.POS, 1e-12)
	}
}

func TestTasksCanBeFollowed(t *testing.T) {
	e := Effort{POA: []float64{0.5, 0.1}, AreaM2: []float64{3e5, 3e5},
		Parties: []Party{{People: 5, SpeedMS: 0.5, Seconds: 4 * 3600}, {People: 2, SpeedMS: 0.5, Seconds: 600}},
		WidthM:  [][]float64{{20, 20}, {20, 20}},
		TravelS: [][]float64{{3600, 1200}, {1200, math.Inf(1)}}}
	a, err := e.Assign(false)
	require.NoError(t, err)
	task := a.Tasks[0]
	assert.Equal(t, 0, task.Segment)
	assert.Equal(t, 3*3600.0, task.Seconds, "travel is counted")
	assert.InDelta(t, 27000, task.LengthM, 1e-9)
	assert.InDelta(t, 3e5/27000, task.SpacingM, 1e-9)
	assert.InDelta(t, -math.Expm1(-20*27000/3e5), task.POD, 1e-12)
	assert.Equal(t, -1, a.Tasks[1].Segment, "who cannot get there in time stays")
	assert.True(t, math.IsNaN(a.Tasks[1].SpacingM))
	e.WidthM[0][0] = -1
	_, err = e.Assign(false)
	require.ErrorIs(t, err, ErrEffort)
}

func TestShareIsAboveAnyAssignment(t *testing.T) {
	for seed := range uint64(60) {
		e := effort(seed, 1+int(seed%4), 2+int(seed%5))
		s, err := e.Share()
		require.NoError(t, err)
		require.LessOrEqual(t, s.POS, s.Bound+1e-12)
		require.InDelta(t, s.Bound, s.POS, 1e-6, "seed %d", seed)
		a, err := e.Assign(false)
		require.NoError(t, err)
		require.LessOrEqual(t, a.POS, s.Bound+1e-9, "seed %d: time is divided more freely than parties are", seed)
		for j, row := range s.Seconds {
			seconds, perS := e.shareS(j)
			total := 0.0
			for i, x := range row {
				require.True(t, x == 0 || perS[i] > 0, "nobody searches where they cannot go")
				total += x
			}
			require.True(t, total == 0 || math.Abs(total-seconds) <= 1e-9*seconds, "seed %d: hours sum to those given", seed)
		}
	}
	// One party is Allocate.
	e := effort(3, 1, 4)
	e.TravelS[0] = make([]float64, 4)
	s, err := e.Share()
	require.NoError(t, err)
	perS := make([]float64, 4)
	for i := range perS {
		perS[i] = e.perS(0, i)
	}
	one, err := Allocate(e.POA, perS, e.Parties[0].Seconds)
	require.NoError(t, err)
	assert.InDelta(t, one.POS, s.POS, 1e-12)
}

func TestSegments(t *testing.T) {
	part := []int32{0, 0, 1, -1, 1}
	area := []float64{100, 300, 200, 999, 200}
	mass := []float64{0.3, 0.1, 0, 0.5, 0}
	pod := []float64{0.9, 0.1, 0.2, 1, 0.4}
	list, err := Segments(3, part, area, mass, pod, []float64{40, 0, 0}, 10, Random)
	require.NoError(t, err)
	assert.InDelta(t, 0.28/0.4, list[0].POD, 1e-12)
	assert.InDelta(t, (90+30.0)/400, list[0].EvenPOD, 1e-12)
	assert.InDelta(t, 0.28, list[0].POS, 1e-12)
	assert.InDelta(t, 1.0, list[0].Coverage, 1e-12)
	assert.InDelta(t, 0.6321, list[0].LawPOD, 1e-4)
	assert.InDelta(t, 0.3, list[1].POD, 1e-12, "by area where nobody is likely")
	assert.True(t, math.IsNaN(list[2].POD), "no cells")
	_, err = Segments(1, part, area, mass, pod, []float64{40}, 10, Random)
	require.Error(t, err)
	for want, s := range map[Reason]Segment{
		Agrees: {POD: 0.5, LawPOD: 0.45, EvenPOD: 0.5}, Aimed: {POD: 0.8, EvenPOD: 0.5, LawPOD: 0.5},
		Astray: {POD: 0.2, EvenPOD: 0.5, LawPOD: 0.5}, Overlapped: {POD: 0.3, EvenPOD: 0.3, LawPOD: 0.6},
		Spread: {POD: 0.8, EvenPOD: 0.8, LawPOD: 0.6},
	} {
		_, reason := s.Gap()
		assert.Equal(t, want, reason)
	}
}

// Too large to be proven best, it still comes to an end with a bound.
func TestAssignManyParties(t *testing.T) {
	e := effort(11, 14, 40)
	a, err := e.Assign(false)
	require.NoError(t, err)
	require.LessOrEqual(t, a.POS, a.Bound)
	require.False(t, a.Exact)
	s, err := e.Share()
	require.NoError(t, err)
	require.LessOrEqual(t, a.POS, s.Bound)
}
