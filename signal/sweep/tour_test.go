package sweep

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// made returns an effort of random shares, areas, widths and ways in a plane.
func made(r *rand.Rand, parties, segments int) Effort {
	e := Effort{}
	sum := 0.0
	var at []Point
	for range segments {
		e.POA = append(e.POA, r.ExpFloat64())
		sum += e.POA[len(e.POA)-1]
		e.AreaM2 = append(e.AreaM2, 1e5+4e5*r.Float64())
		at = append(at, Point{3000 * r.Float64(), 3000 * r.Float64()})
	}
	for i := range e.POA {
		e.POA[i] *= 0.9 / sum
		var to []float64
		for k := range at {
			_, d := at[i].toward(at[k])
			to = append(to, d)
		}
		e.BetweenS = append(e.BetweenS, to)
	}
	for range parties {
		e.Parties = append(e.Parties, Party{People: 2 + r.IntN(6), SpeedMS: 0.4, Seconds: 3600 * (1 + 6*r.Float64())})
		var width, travel []float64
		base := Point{1500, 1500}
		for i := range at {
			_, d := base.toward(at[i])
			width, travel = append(width, 20+40*r.Float64()), append(travel, 2*d)
			if r.IntN(10) == 0 {
				travel[i] = math.Inf(1)
			}
		}
		e.WidthM, e.TravelS = append(e.WidthM, width), append(e.TravelS, travel)
	}
	return e
}

// Tours keep to every party's time, go nowhere twice and nowhere for less than is worth
// a way, find no less than one segment each does and no more than the bound.
func TestTours(t *testing.T) {
	gained, worst := 0.0, 1.0
	instances := 40
	if testing.Short() {
		instances = 10
	}
	for seed := range uint64(instances) {
		r := rand.New(rand.NewPCG(4, seed))
		e := made(r, 1+r.IntN(4), 3+r.IntN(25))
		if seed%4 == 0 {
			e.BetweenS = nil
		}
		tours, err := e.Tours()
		require.NoError(t, err)
		one, err := e.Assign(false)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, tours.POS, one.POS-1e-12)
		assert.LessOrEqual(t, tours.POS, tours.Bound+1e-9)
		coverage := make([]float64, len(e.POA))
		for j, tasks := range tours.Tasks {
			used, been := 0.0, map[int]bool{}
			for _, task := range tasks {
				assert.Equal(t, j, task.Party)
				assert.False(t, been[task.Segment], "seed %d: party %d goes to segment %d twice", seed, j, task.Segment)
				been[task.Segment] = true
				if len(tasks) > 1 {
					assert.GreaterOrEqual(t, task.Seconds, LeastTaskS*(1-1e-6))
				}
				used += task.Seconds + task.TravelS
				coverage[task.Segment] += e.perS(j, task.Segment) * task.Seconds
				assert.InDelta(t, e.AreaM2[task.Segment], task.SpacingM*task.LengthM, 1e-3)
			}
			assert.LessOrEqual(t, used, e.Parties[j].Seconds+2, "seed %d, party %d", seed, j)
			if len(tasks) > 0 {
				assert.InDelta(t, e.Parties[j].Seconds, used, 2, "no time is left over")
			}
		}
		pos := 0.0
		for i, c := range coverage {
			pos += e.POA[i] * -math.Expm1(-c)
			assert.InDelta(t, -math.Expm1(-c), tours.POD[i], 1e-9)
		}
		assert.InDelta(t, pos, tours.POS, 1e-9)
		gained += tours.POS/one.POS - 1
		worst = min(worst, tours.POS/tours.Bound)
	}
	t.Logf("tours find %.0f %% more than one segment each, and never less than %.2f of a bound that counts no ways between", 100*gained/float64(instances), worst)
	assert.Greater(t, gained/float64(instances), 0.1)
}

// Without ways and with time for all, tours come to the optimal division.
func TestToursWithoutWays(t *testing.T) {
	e := made(rand.New(rand.NewPCG(1, 1)), 2, 6)
	for j := range e.Parties {
		e.Parties[j].Seconds = 40 * 3600
		for i := range e.POA {
			e.TravelS[j][i] = 0
		}
	}
	for i := range e.BetweenS {
		for k := range e.BetweenS[i] {
			e.BetweenS[i][k] = 0
		}
	}
	tours, err := e.Tours()
	require.NoError(t, err)
	// By random search, while times are divided by lines in good order.
	assert.InDelta(t, tours.Bound, tours.POS, 0.01)
}

// The time that is best to stay makes the mean gain for the whole time, way
// included, as large as can be.
func TestStay(t *testing.T) {
	for _, rate := range []float64{1e-5, 1e-3, 0.1} {
		for _, way := range []float64{1, 600, 1e4} {
			for _, covered := range []float64{0, 0.4, 1.2} {
				worth := func(s float64) float64 {
					return (math.Erf(math.Sqrt(math.Pi)/2*(covered+rate*s)) - math.Erf(math.Sqrt(math.Pi)/2*covered)) / (way + s)
				}
				s := stayS(rate, way, covered)
				assert.Greater(t, worth(s), worth(s*1.02))
				assert.Greater(t, worth(s), worth(s/1.02))
			}
		}
	}
	assert.InDelta(t, 0, stayS(0.1, 0, 0), 1e-6)
}

func TestToursRefuse(t *testing.T) {
	for name, spoil := range map[string]func(*Effort){
		"few rows":  func(e *Effort) { e.BetweenS = e.BetweenS[:2] },
		"short row": func(e *Effort) { e.BetweenS[1] = nil },
		"no time":   func(e *Effort) { e.BetweenS[0][1] = math.NaN() },
	} {
		e := made(rand.New(rand.NewPCG(2, 2)), 1, 3)
		spoil(&e)
		_, err := e.Tours()
		assert.ErrorIs(t, err, ErrEffort, name)
	}
	e := made(rand.New(rand.NewPCG(3, 3)), 1, 3)
	e.TravelS[0] = []float64{math.Inf(1), math.Inf(1), math.Inf(1)}
	tours, err := e.Tours()
	require.NoError(t, err)
	assert.Empty(t, tours.Tasks[0])
	assert.Zero(t, tours.POS)
}
