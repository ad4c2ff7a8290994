package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
	"farhail/geo/terrain"
)

// hgtOfSize checks a file of zeros with that many bytes.
func hgtOfSize(columns, rows int) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		bytes := int64(v.part("input").number("bytes"))
		if testing.Short() && bytes > 30e6 {
			t.Skip("a large file")
		}
		inNewFolder(t, nil)
		f, err := os.Create("N46E007.hgt")
		require.NoError(t, err)
		require.NoError(t, f.Truncate(bytes))
		require.NoError(t, f.Close())
		if columns == 0 {
			a := ask(t, "check", "N46E007.hgt")
			require.Equal(t, cli.ExitInput, a.code, a.text)
			require.Contains(t, a.text, "2884802", "the known sizes")
			return
		}
		a := get(t, "check", "N46E007.hgt")
		require.Equal(t, []float64{float64(columns), float64(rows)}, []float64{a.number("files.0.terrain.columns"), a.number("files.0.terrain.rows")})
		require.InDelta(t, 1, float64(columns-1)*a.number("files.0.terrain.cell_x_m")/77046, 0.01, "a degree of longitude at 46.5 N")
	}
}

// tileOf wants the tile of the vector's position, latitude first.
func tileOf(name string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		p := v.numbers("input")
		require.Equal(t, []string{name}, terrain.TilesFor(orb.Point{p[1], p[0]}.Bound()))
	}
}

// sampled checks a small grid and returns its height at a place, in the grid's
// own coordinates.
func sampled(t *testing.T, rows, xy string) answer {
	inNewFolder(t, map[string]string{"a.asc": "ncols 2\nnrows 2\nxllcenter 7\nyllcenter 46\ncellsize 1\nNODATA_value -32768\n" + rows})
	return get(t, "check", "a.asc", "--sample-xy", xy)
}

var groundCases = map[string][]caseRun{
	"D01": {
		{has: "-32768,440", run: func(t *testing.T, v vector) {
			in := v.part("input")
			c := in.numbers("corners")
			// v00 and v10 are the row at y0, which stands first in the file.
			rows := fmt.Sprintf("%g %g\n%g %g\n", c[0], c[1], c[2], c[3])
			a := sampled(t, rows, fmt.Sprintf("%g,%g", 7+in.number("fx"), 47-in.number("fy")))
			require.Nil(t, a.at("files.0.samples.0.height_m"), a.text)
			require.NotContains(t, a.text, "-12021")
		}},
		{has: "nearest", run: func(t *testing.T, _ vector) {
			a := sampled(t, "420 430\n-32768 440\n", "7,46")
			require.Nil(t, a.at("files.0.samples.0.height_m"), a.text)
		}},
		{has: "32767", run: func(t *testing.T, _ vector) {
			a := sampled(t, "420 430\n32767 440\n", "7,46")
			require.Nil(t, a.at("files.0.samples.0.height_m"), a.text)
			require.Contains(t, a.text, "1 cells hold a fill value that the file does not declare")
		}},
		{has: "four voids", run: func(t *testing.T, _ vector) {
			a := sampled(t, "-32768 -32768\n-32768 -32768\n", "7.5,46.5")
			require.Nil(t, a.at("files.0.samples.0.height_m"), a.text)
			require.Equal(t, 4.0, a.number("files.0.terrain.unknown"))
		}},
		{has: "middle sample is void", by: "geo/los TestVoids"},
	},
	"D02": {
		{has: "2884802", run: hgtOfSize(1201, 1201)},
		{has: "25934402", run: hgtOfSize(3601, 3601)},
		{has: "12970802", run: hgtOfSize(1801, 3601)},
		{has: "103708802", run: hgtOfSize(7201, 7201)},
		{has: "2801664", run: hgtOfSize(0, 0)},
		{has: "errorMessage", run: func(t *testing.T, v vector) {
			text := v.part("input").text("text")
			inNewFolder(t, map[string]string{"N46E007.hgt": text + strings.Repeat(" ", 70-len(text))})
			fault(t, cli.ExitInput, []string{"not a terrain file"}, "see", "--terrain", "N46E007.hgt", "--from", "46.5 7.5")
		}},
		{has: "721200", run: func(t *testing.T, v vector) {
			const size, offset = 1201, 721200
			data := make([]byte, 2*size*size)
			data[offset], data[offset+1] = 0x12, 0x34 // big-endian 4660
			inNewFolder(t, map[string]string{"S13W078.hgt": string(data)})
			p := v.numbers("input")
			require.Equal(t, []string{"S13W078"}, terrain.TilesFor(orb.Point{p[1], p[0]}.Bound()))
			a := get(t, "check", "S13W078.hgt", "--sample", pair(p[0], p[1]))
			require.Equal(t, 4660.0, a.number("files.0.samples.0.height_m"), a.text)
		}},
		{has: "S01E010", run: tileOf("S01E010")},
		{has: "N00E010", run: tileOf("N00E010")},
		{has: "N00W001", run: tileOf("N00W001")},
		{has: "S12W077", run: tileOf("S12W077")},
		{has: "N10W180", run: tileOf("N10W180")},
	},
	"D04": {
		{has: `"GTRasterType":2`, by: "geo/terrain TestRegistration"},
		{has: `"GTRasterType":1`, by: "geo/terrain TestRegistration"},
		{has: "key absent", by: "geo/terrain TestRegistration"},
		{has: "whole arc seconds", by: "geo/terrain TestRegistration"},
		{has: "xllcorner/yllcorner", by: "geo/terrain TestRegistration"},
		{has: "xllcenter/yllcenter", by: "geo/terrain TestRegistration"},
	},
	"D06": {
		{has: "light 1.5 m above ground", by: "geo/los TestSurfaceAndGround"},
		{has: "inside the canopy at 450 m", by: "geo/los TestSurfaceAndGround"},
		{has: "no statement of kind", run: func(t *testing.T, _ vector) {
			a := sampled(t, "1 2\n3 4\n", "7,46")
			require.Nil(t, a.at("files.0.terrain.surface"), a.text)
			require.Contains(t, a.text, "surface kind not stated")
			b := get(t, "see", "--terrain", "a.asc", "--from", "46.5 7.5", "--radius", "5km")
			require.Contains(t, b.text, "surface kind not stated")
		}},
		{has: "--canopy-height 20m", run: woodBetween},
	},
	"D07": {
		{has: "32.83", by: "geo/terrain TestSlopeAt60N"},
		{has: `"deg":30`, run: func(t *testing.T, v vector) {
			require.InDelta(t, 57.735, terrain.SlopePercent(v.part("input").number("deg")), 0.001)
		}},
		{has: `"percent":100`, run: func(t *testing.T, _ vector) { require.InDelta(t, 100, terrain.SlopePercent(45), 0.05) }},
		{has: `"percent":58`, run: func(t *testing.T, _ vector) { require.InDelta(t, 58, terrain.SlopePercent(30.11), 0.05) }},
		{has: "--max-slope 40", run: func(t *testing.T, _ vector) {
			fault(t, cli.ExitUsage, []string{"--max-slope", "needs its unit"}, "rings", "--terrain", "a.asc", "--from", "46 7", "--after", "1h", "--max-slope", "40")
		}},
		{has: "cell size used as metres", by: "geo/terrain TestSlopeAt60N"},
	},
	"V01": {
		{has: `"d_km":10`, run: drops(10)},
		{has: `"d_km":20`, run: drops(20)},
		{has: `"over":"sea"`, run: func(t *testing.T, v vector) {
			for name, text := range texts(t, v["want"]) {
				k := refractionOf(t, name)
				require.InDelta(t, metresOf(t, text), earth.HorizonM(v.part("input").number("eye_m"), k, earth.MeanRadiusM), 0.1, name)
			}
		}},
		{has: `"target_km":15`, run: func(t *testing.T, v vector) {
			in := v.part("input")
			for name, text := range texts(t, v["want"]) {
				k := refractionOf(t, name)
				beyond := in.number("target_km")*1000 - earth.HorizonM(in.number("eye_m"), k, earth.MeanRadiusM)
				require.InDelta(t, metresOf(t, text), earth.DropM(beyond, k, earth.MeanRadiusM), 0.01, name)
			}
		}},
		{has: "ridge at 11 km", by: "geo/los TestCurvature"},
		{has: "geographic grid", by: "geo/los TestCurvature"},
		{has: "800 km up", by: "geo/los TestFromOrbit"},
		{has: "height mode not given", run: func(t *testing.T, _ vector) {
			// On a plateau of 500 m an eye height of 2 m is above the ground, so that
			// the plateau is seen, and not 498 m below it.
			inNewFolder(t, map[string]string{"tile.asc": "ncols 5\nnrows 5\nxllcenter 7\nyllcenter 46\ncellsize 0.001\n" + strings.Repeat("500 500 500 500 500\n", 5)})
			a := get(t, "see", "--terrain", "tile.asc", "--from", "46.002 7.002", "--eye-height", "2m")
			require.Equal(t, 25.0, a.number("seen"), a.text)
		}},
	},
}

func drops(km float64) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		for name, text := range texts(t, v["want"]) {
			require.InDelta(t, metresOf(t, text), earth.DropM(km*1000, refractionOf(t, name), earth.MeanRadiusM), 0.01, name)
		}
	}
}
