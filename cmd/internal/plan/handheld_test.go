package plan

import (
	"testing"

	"github.com/stretchr/testify/require"

	"farhail/geo/mapfile"
)

func TestHandheld(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	require.Equal(t, Handheld{Profile: "points-500", RouteLimit: 50}, p.Handheld)

	p, err = read(head)
	require.NoError(t, err)
	require.Equal(t, Handheld{Profile: mapfile.DefaultProfile}, p.Handheld)

	for text, want := range map[string]string{
		"handheld: points-400\n": `"points-400" is not one of the choices`,
		"handheld: 500\n":        "points-500",
		"route_limit: 1\n":       "from 2 to 10000",
		"route_limit: 50 m\n":    "from 2 to 10000",
	} {
		_, err := read(head + text)
		require.ErrorContains(t, err, "plan.yaml")
		var hints string
		for _, e := range err.(Problems) {
			hints += e.Error() + " " + e.Hint()
		}
		require.Contains(t, hints, want)
	}
}
