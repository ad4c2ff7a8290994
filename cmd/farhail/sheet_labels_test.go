package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
	"farhail/cmd/internal/sheet"
	"farhail/geo/geotest"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"github.com/stretchr/testify/require"
)

// TestDemoLabels: on the demo's own ground no two names of the sheet's map lie on each
// other and none leaves the frame, at 1:25 000 and at the scale that the demo is printed
// at; what every reader looks for is named, and names without room are told on the sheet.
func TestDemoLabels(t *testing.T) {
	p, err := plan.Read(demoFS{}, "demo/plan.yaml")
	require.NoError(t, err)
	r, err := job.Run(context.Background(), demoFS{}, p, job.Options{Program: "farhail test"})
	require.NoError(t, err)
	for _, tc := range []struct {
		scale int
		names []string
	}{
		{25_000, []string{"sheepfold gate 15:40"}},
		{0, []string{"sheepfold gate 15:40", "end of the log", "West spur", "Pass", "16:40 usual", "headlamp 21:00", "orange flag 14:30, headlamp 21:00"}},
	} {
		o := sheet.Options{Paper: sheet.A4, Scale: tc.scale}
		maps, err := sheet.Layouts(context.Background(), r, o)
		require.NoError(t, err)
		require.Len(t, maps, 1)
		m := maps[0]
		require.Greater(t, len(m.Names), 20)
		var texts []string
		for i, n := range m.Names {
			texts = append(texts, n.Text)
			for _, corner := range n.Box {
				require.True(t, m.Frame.Contains(corner), "%s leaves the map at 1:%d", n.Text, tc.scale)
			}
			for _, other := range m.Names[:i] {
				require.False(t, shareGround(n.Box, other.Box), "%s and %s at 1:%d", n.Text, other.Text, tc.scale)
			}
		}
		require.Subset(t, texts, tc.names)
		told := map[int]string{0: "", 1: "One name found no room here"}[m.Unnamed]
		if m.Unnamed > 1 {
			told = fmt.Sprintf("%d names found no room here", m.Unnamed)
		}
		require.Contains(t, firstPage(t, r, o), told)
	}
}

// shareGround reports whether two convex boxes do, by places on and in each that lie in
// the other.
func shareGround(a, b orb.Ring) bool {
	if !a.Bound().Intersects(b.Bound()) {
		return false
	}
	inner := func(one, other orb.Ring) bool {
		const n = 24
		for i := 0; i <= n; i++ {
			for j := 0; j <= n; j++ {
				u, v := 0.001+0.998*float64(i)/n, 0.001+0.998*float64(j)/n
				at := orb.Point{
					one[0][0] + u*(one[1][0]-one[0][0]) + v*(one[3][0]-one[0][0]),
					one[0][1] + u*(one[1][1]-one[0][1]) + v*(one[3][1]-one[0][1]),
				}
				if planar.RingContains(other, at) {
					return true
				}
			}
		}
		return false
	}
	return inner(a, b) || inner(b, a)
}

// firstPage is the text of the first page of a sheet.
func firstPage(t *testing.T, r *job.Result, o sheet.Options) string {
	geotest.Tool(t, "pdftotext")
	var pdf bytes.Buffer
	require.NoError(t, sheet.Write(context.Background(), &pdf, r, o))
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, os.WriteFile(file, pdf.Bytes(), 0o600))
	return strings.Join(strings.Fields(runTool(t, "pdftotext", "-l", "1", file, "-")), " ")
}
