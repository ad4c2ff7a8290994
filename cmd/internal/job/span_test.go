package job

import (
	"fmt"
	"strings"
	"testing"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
)

func TestSpan(t *testing.T) {
	const swap = "in one of the two latitude and longitude are swapped"
	for _, tc := range []struct {
		name   string
		points []orb.Point
		says   string // "" where the plan is of one search
		hint   string
	}{
		{"none", nil, "", ""},
		{"one", []orb.Point{{1.6, 42.5}}, "", ""},
		{"500 km apart", []orb.Point{{0, 0}, {4.49, 0}}, "", ""},
		{"700 km apart", []orb.Point{{0, 0}, {6.29, 0}}, "the start s0 lies 700 km from the start s1", "look at its position: latitude comes first, south and west are negative"},
		{"across the 180th meridian", []orb.Point{{179.9, 10}, {-179.9, 10}}, "", ""},
		{"around the pole", []orb.Point{{0, 89}, {180, 89}}, "", ""},
		{"two, swapped", []orb.Point{{1.6, 42.5}, {42.5, 1.6}}, "the start s", swap},
		{"the third swapped", []orb.Point{{1.6, 42.5}, {1.7, 42.5}, {42.5, 1.6}}, "the start s2 lies", "did you mean 42.50000 N, 1.60000 E?"},
		{"the first swapped", []orb.Point{{42.5, 1.6}, {1.7, 42.5}, {1.6, 42.5}}, "the start s0 lies", "did you mean 42.50000 N, 1.60000 E?"},
		{"west forgotten", []orb.Point{{-110, 44}, {-110.1, 44}, {110, 44}}, "the start s2 lies", "look at its position: latitude comes first, south and west are negative"},
		{"no latitude the other way round", []orb.Point{{-110, 44}, {-110.1, 44}, {44, -90}}, "the start s2 lies", "look at its position"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p := &plan.Plan{File: "p.yaml"}
			for i, at := range tc.points {
				p.Starts = append(p.Starts, plan.Start{Line: i + 1, Name: fmt.Sprintf("s%d", i), Point: at})
			}
			err := (&run{plan: p, result: &Result{}}).checkSpan()
			if tc.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tc.says)
			require.Equal(t, cli.ExitInput, cli.ExitCode(err))
			var problem *plan.Problem
			require.ErrorAs(t, err, &problem)
			require.True(t, strings.HasPrefix(problem.Advice, tc.hint), problem.Advice)
		})
	}
}
