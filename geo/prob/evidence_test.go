package prob_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"farhail/geo/geotest"
	"farhail/geo/grid"
	"farhail/geo/prob"

	"github.com/stretchr/testify/require"
)

// three is a surface of three cells.
func three(a, b, c float64) *prob.Surface {
	return &prob.Surface{Frame: grid.Frame{DX: 1e-3, DY: 1e-3, Cols: 3, Rows: 1}, Mass: []float64{a, b, c}, Outside: 1 - a - b - c}
}

func TestSeveralSearches(t *testing.T) {
	geotest.Check(t, "prob-cumulative", func(in []string) ([]any, error) {
		h := prob.History{Start: three(0.5, 0.2, 0.1)}
		for _, pod := range geotest.Numbers(t, in) {
			h = h.With(prob.Entry{Input: prob.Search{POD: []float64{pod / 100, 0, 0}}})
		}
		s, _, err := h.Replay()
		if err != nil {
			return nil, err
		}
		// What was not searched keeps its share to the rest of what was not.
		require.InDelta(t, 2, s.Mass[1]/s.Mass[2], 1e-12)
		return []any{100 * (1 - s.Mass[0]/s.Mass[1]/(0.5/0.2))}, nil
	})
}

func TestSignalThatWasNotSeen(t *testing.T) {
	for _, c := range []struct {
		shown, noticed float64
		observed       bool
		want           float64
	}{
		{0.5, 0.9, false, 0.55}, {1, 1, false, prob.LeastLikelihood}, {1, 1, true, 0},
		{0.9, 0.95, false, prob.LeastLikelihood}, {0.9, 0.95, true, 0.145}, {0, 1, false, 1}, {1, 0, false, 1},
	} {
		cells, outside, err := prob.NotSeen{Shown: c.shown, Noticed: []float64{c.noticed}, Observed: c.observed}.Likelihood()
		require.NoError(t, err)
		require.InDelta(t, c.want, cells[0], 1e-12, "%+v", c)
		require.Equal(t, 1.0, outside)
	}
	_, _, err := prob.NotSeen{Shown: math.NaN()}.Likelihood()
	require.ErrorIs(t, err, prob.ErrNotSaid)
	for _, bad := range []prob.NotSeen{{Shown: 1.1}, {Shown: 0.5, Noticed: []float64{-1}}, {Shown: 0.5, Outside: 2}} {
		_, _, err := bad.Likelihood()
		require.Error(t, err)
	}
	// By hand: 0.4 0.3 0.2 outside 0.1; half shown, seen from the first with 0.8.
	h := prob.History{Start: three(0.4, 0.3, 0.2)}.With(prob.Entry{Name: "lamp", Input: prob.NotSeen{Shown: 0.5, Noticed: []float64{0.8, 0, 0}}})
	s, states, err := h.Replay()
	require.NoError(t, err)
	require.InDelta(t, 0.84, states[0].Expected, 1e-12)
	require.InDelta(t, 0.24/0.84, s.Mass[0], 1e-12)
	require.InDelta(t, 0.1/0.84, s.Outside, 1e-12)
}

// Evidence that weighs all places alike says nothing, and Bayes does not care about
// the order.
func TestEvidenceJoins(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	s := three(0.5, 0.25, 0.125)
	same, expected, err := s.Weigh([]float64{0.3, 0.3, 0.3}, 0.3)
	require.NoError(t, err)
	require.InDelta(t, 0.3, expected, 1e-15)
	require.InDeltaSlice(t, s.Mass, same.Mass, 1e-15)
	for range 50 {
		a := prob.Entry{Input: prob.NotSeen{Shown: r.Float64(), Noticed: []float64{r.Float64(), r.Float64(), r.Float64()}}}
		b := prob.Entry{Input: prob.Search{POD: []float64{r.Float64(), r.Float64(), r.Float64()}}}
		ab, _, err := prob.History{Start: s}.With(a).With(b).Replay()
		require.NoError(t, err)
		ba, _, err := prob.History{Start: s}.With(b).With(a).Replay()
		require.NoError(t, err)
		require.InDeltaSlice(t, ab.Mass, ba.Mass, 1e-14)
		require.InDelta(t, 1, ab.Sum()+ab.Outside, 1e-14)
	}
	_, _, err = s.Weigh([]float64{0, 0, 0}, 0)
	require.ErrorIs(t, err, prob.ErrEmpty)
	_, _, err = s.Weigh([]float64{1}, 1)
	require.Error(t, err)
	_, _, err = s.Weigh([]float64{1, 1, 2}, 1)
	require.Error(t, err)
	_, _, err = s.Weigh([]float64{1, 1, 1}, -1)
	require.Error(t, err)
}

func TestHistory(t *testing.T) {
	at := time.Date(2026, 11, 24, 20, 0, 0, 0, time.UTC)
	first := prob.Entry{Name: "first", At: at, Input: prob.Search{POD: []float64{0.9, 0, 0}}}
	second := prob.Entry{Name: "second", At: at.Add(time.Hour), Input: prob.Search{POD: []float64{0, 0.5, 0}}}
	h := prob.History{Start: three(0.5, 0.3, 0.1)}
	one, both := h.With(first), h.With(first).With(second)
	sOne, states, err := one.Replay()
	require.NoError(t, err)
	require.InDelta(t, 0.45, 1-states[0].Expected, 1e-12, "probability of success")

	_, states, err = both.Replay()
	require.NoError(t, err)
	require.Len(t, states, 2)
	sUndone, _, err := one.Replay()
	require.NoError(t, err)
	require.Equal(t, sOne.Mass, sUndone.Mass, "undo gives the same bits")
	// Going another way from there does not change the history that was undone.
	other := one.With(prob.Entry{Name: "other", Input: prob.Search{POD: []float64{0, 0, 1}}})
	require.Equal(t, "second", both.Inputs[1].Name)
	require.Equal(t, "other", other.Inputs[1].Name)
	start, none, err := h.Replay()
	require.NoError(t, err)
	require.Empty(t, none)
	require.Same(t, h.Start, start)
	_, _, err = h.With(second).With(first).Replay()
	require.ErrorIs(t, err, prob.ErrOrder)
	_, _, err = h.With(prob.Entry{Name: "spoilt", Input: prob.Search{POD: []float64{1}}}).Replay()
	require.ErrorContains(t, err, "spoilt")
}

// diffusion is one on even ground with a given constant.
func diffusion(cells int, m2PerS, seconds float64) prob.Diffusion {
	d := prob.Diffusion{Seconds: seconds, SpeedMS: make([]float32, cells)}
	for i := range d.SpeedMS {
		d.SpeedMS[i] = float32(math.Sqrt(4 * m2PerS / 60))
	}
	return d
}

func TestDiffusion(t *testing.T) {
	const cells, cellM = 151, 200.0
	f, _ := about(cells, cellM)
	middle := cells * cells / 2
	geotest.Check(t, "prob-diffusion", func(in []string) ([]any, error) {
		s := &prob.Surface{Frame: f, Mass: make([]float64, cells*cells)}
		s.Mass[middle] = 1
		d := diffusion(len(s.Mass), 0.54101e6/3600, geotest.Numbers(t, in)[0]*3600)
		after, err := d.Carry(context.Background(), s)
		if err != nil {
			return nil, err
		}
		require.InDelta(t, 1, after.Sum()+after.Outside, 1e-12)
		// By area, from the middle outwards, on a circle's worth of cells.
		region := after.Region(0.5)
		return []any{math.Sqrt(region.AreaM2/math.Pi) / 1000}, nil
	})
}

func TestDiffusionKeepsToWalkedGround(t *testing.T) {
	const cells = 21
	f, _ := about(cells, 100)
	s := &prob.Surface{Frame: f, Mass: make([]float64, cells*cells)}
	d := diffusion(len(s.Mass), 50, 50_000)
	for row := range cells {
		d.SpeedMS[row*cells+10] = 0 // a river
	}
	s.Mass[10*cells+5], s.Mass[3*cells+10] = 0.6, 0.4
	after, err := d.Carry(context.Background(), s)
	require.NoError(t, err)
	for row := range cells {
		for col := 11; col < cells; col++ {
			require.Zero(t, after.Mass[row*cells+col], "nobody crosses")
		}
	}
	require.InDelta(t, 0.4, after.Mass[3*cells+10], 1e-12, "who is in it stays")
	require.Greater(t, after.Outside, 0.1, "some leave the map")
	for _, m := range after.Mass {
		require.GreaterOrEqual(t, m, 0.0)
	}
	for name, bad := range map[string]prob.Diffusion{
		"speeds": {Seconds: 1}, "time": {SpeedMS: d.SpeedMS, Seconds: -1}, "cosine": {SpeedMS: d.SpeedMS, Straight: 1},
		"turns": {SpeedMS: d.SpeedMS, StepS: -1}, "steps": {SpeedMS: d.SpeedMS, Seconds: 1e12},
	} {
		_, err := bad.Carry(context.Background(), s)
		require.ErrorContains(t, err, name)
	}
}

// A walk of many turns spreads as the diffusion says, with turns that keep a course
// too.
func TestDiffusionIsTheLimitOfTheWalk(t *testing.T) {
	d := prob.Diffusion{Straight: 0.8, StepS: 60}
	const n = 100_000
	require.InEpsilon(t, meanSquareM2(n, 1.2*60, 0.8), 4*d.M2PerS(1.2)*n*60, 1e-3)
}

func TestMotionBetweenSearches(t *testing.T) {
	s := three(0.6, 0.3, 0)
	swap := func(s *prob.Surface) (*prob.Surface, error) {
		return &prob.Surface{Frame: s.Frame, Mass: []float64{0, 0, s.Mass[0] + s.Mass[1]}, Outside: s.Outside}, nil
	}
	after, _, err := prob.History{Start: s}.With(prob.Entry{Input: prob.Motion{Mobile: 0.25, Carry: swap}}).Replay()
	require.NoError(t, err)
	require.InDeltaSlice(t, []float64{0.45, 0.225, 0.225}, after.Mass, 1e-12)
	require.InDelta(t, 0.1, after.Outside, 1e-12)
	still, _, err := prob.History{Start: s}.With(prob.Entry{Input: prob.Motion{}}).Replay()
	require.NoError(t, err)
	require.Same(t, s, still, "treated as staying put")
	lost := errors.New("lost")
	for _, m := range []prob.Motion{{Mobile: 2}, {Mobile: 1, Carry: func(*prob.Surface) (*prob.Surface, error) { return nil, lost }}} {
		_, _, err := prob.History{Start: s}.With(prob.Entry{Input: m}).Replay()
		require.Error(t, err)
	}
}
