package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// woodFiles are the case's profile on the equator in cells of 100 m: flat ground, and
// a wood between 300 and 600 m, which takes four cells.
func woodFiles() map[string]string {
	const head = "ncols 11\nnrows 1\nxllcenter 10\nyllcenter 0\ncellsize 0.0008983\n"
	return map[string]string{
		"dtm.asc": head + "0 0 0 0 0 0 0 0 0 0 0\n",
		"dsm.asc": head + "0 0 0 20 20 20 20 0 0 0 0\n",
		"wood.geojson": `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"landuse":"forest"},"geometry":{"type":"Polygon",
"coordinates":[[[10.0026,-0.001],[10.0055,-0.001],[10.0055,0.001],[10.0026,0.001],[10.0026,-0.001]]]}}]}`,
	}
}

// woodBetween: over the bare ground everything is seen, the light at 1000 m with it;
// with the wood only what lies before it and its near edge, as on a surface model,
// on which the wood is not put a second time.
func woodBetween(t *testing.T, _ vector) {
	inNewFolder(t, woodFiles())
	wood := []string{"--cover", "wood.geojson", "--canopy-height", "20m"}
	see := func(terrain string) answer {
		return get(t, append([]string{"see", "--terrain", terrain, "--from", "0N 10E", "--eye-height", "1.7m", "--target-height", "1.5m"}, wood...)...)
	}
	bare := see("dtm.asc")
	require.Equal(t, 4.0, bare.number("seen"), bare.text)
	require.Equal(t, 11.0, bare.number("cover.open.seen"), bare.text)
	require.Equal(t, "ground", bare.at("inputs.surface"))
	light := get(t, append([]string{"sight", "--light", "100cd", "--terrain", "dtm.asc", "--from", "0N 10E", "--toward", "0N 10.008983E", "--eye-height", "1.7m", "--signal-height", "1.5m"}, wood...)...)
	require.Equal(t, 0.0, light.number("perceptible_m"), light.text)
	require.Equal(t, "vegetation", light.at("limit"))
	tops := see("dsm.asc")
	require.Equal(t, 4.0, tops.number("seen"), tops.text)
	require.Equal(t, 4.0, tops.number("cover.open.seen"), tops.text)
	require.Contains(t, tops.text, "holds treetops and roofs already")
}
