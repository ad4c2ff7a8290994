package prob_test

import (
	"context"
	"testing"

	"farhail/geo/earth"
	"farhail/geo/prob"

	"github.com/stretchr/testify/require"
)

// Steps of many cells jump no line that is one cell thin, and pass no chain of cells
// that touch by their corners.
func TestWanderersJumpNothing(t *testing.T) {
	f, centre := about(41, 50)
	for name, wall := range map[string]func(col, row int) bool{
		"upright":  func(col, _ int) bool { return col == 24 },
		"slanting": func(col, row int) bool { return col == row+4 },
	} {
		speed := make([]float32, f.Cols*f.Rows)
		for i := range speed {
			if !wall(i%f.Cols, i/f.Cols) {
				speed[i] = 1
			}
		}
		for _, stepS := range []float64{60, 600} {
			w, err := prob.Wander(context.Background(), f, prob.Walkers{From: centre, SpeedMS: speed, Seconds: 3600, StepS: stepS, Seed: 1, Count: 5000})
			require.NoError(t, err)
			for i, m := range w.Mass(f) {
				beyond := i%f.Cols >= 24
				if name == "slanting" {
					beyond = i%f.Cols >= i/f.Cols+4
				}
				if beyond {
					require.Zero(t, m, name)
				}
			}
		}
	}
}

// Who may begin in a lake begins beside it.
func TestWanderersBeginWherePeopleWalk(t *testing.T) {
	f, centre := about(41, 50)
	speed := make([]float32, f.Cols*f.Rows)
	for i := range speed {
		if i%f.Cols < 20 {
			speed[i] = 1
		}
	}
	w, err := prob.Wander(context.Background(), f, prob.Walkers{
		From: centre, Covariance: earth.Covariance{NN: 1e4, EE: 1e4}, SpeedMS: speed, Seconds: 60, Seed: 1, Count: 5000,
	})
	require.NoError(t, err)
	for i, m := range w.Mass(f) {
		if i%f.Cols >= 20 {
			require.Zero(t, m)
		}
	}
}
