package job

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/walk"

	"github.com/stretchr/testify/require"
)

func TestOpenStart(t *testing.T) {
	f := grid.Frame{DX: 1, DY: 1, Cols: 4, Rows: 3}
	start := func(col, row int) walk.Start { return walk.Start{Col: col, Row: row} }
	for _, c := range []struct {
		name   string
		starts []walk.Start
		opened int // -1: none
	}{
		{"on it", []walk.Start{start(1, 1), start(2, 1)}, 5},
		{"on it, beside free ground", []walk.Start{start(1, 1), start(1, 0)}, 5},
		{"beside it", []walk.Start{start(1, 0), start(1, 1)}, -1},
		{"off the grid", []walk.Start{start(-1, 1)}, -1},
	} {
		o := walk.Options{Starts: c.starts, Barrier: make([]bool, 12)}
		for i := 4; i < 8; i++ {
			o.Barrier[i] = true
		}
		notes := OpenStart(&o, f)
		require.Equal(t, c.opened >= 0, len(notes) == 1, c.name)
		for i := 4; i < 8; i++ {
			require.Equal(t, i != c.opened, o.Barrier[i], c.name)
		}
	}
	require.Empty(t, OpenStart(&walk.Options{Starts: []walk.Start{start(1, 1)}}, f))
}

// A start on a stream that nobody crosses has rings on both of its sides.
func TestStartOnABarrierOfAPlan(t *testing.T) {
	text := strings.Replace(fmt.Sprintf(planText, "terrain: plain.asc"), "  after: [5 min]\n", "  after: [5 min]\n  barriers: stream.geojson\n", 1)
	text = strings.Replace(text, "error: 50 m", "error: 1 m", 1)
	files := fstest.MapFS{"plain.asc": plain(t), "plan.yaml": {Data: []byte(text)},
		"stream.geojson": {Data: []byte(`{"type":"LineString","coordinates":[[-29.995,-1],[-29.995,1]]}`)}}
	p, err := plan.Read(files, "plan.yaml")
	require.NoError(t, err)
	r, err := Run(context.Background(), files, p, Options{})
	require.NoError(t, err)
	require.NotNil(t, r.Rings)
	box := r.Rings.Rings[0].Shape.Bound()
	require.Less(t, box.Min.Lon(), -29.9955)
	require.Greater(t, box.Max.Lon(), -29.9945)
	require.Contains(t, textsOf(r), "the start lies in a cell that is not crossed")
}
