package plan

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestWrongEyes(t *testing.T) {
	watch := "from: 2026-11-24T18:00Z, until: 2026-11-24T23:00Z"
	lookout := func(eyes string) string {
		return head + "looking: {lookouts: [{name: a, position: \"42.5, 1.5\", " + watch + ", eyes: {" + eyes + "}}]}\n"
	}
	flight := func(keys string) string {
		return head + "looking: {aircraft: [{name: a, altitude: 300 m, " + keys + "}]}\n"
	}
	party := func(keys string) string {
		return head + "looking: {parties: [{name: a, route: t.gpx, " + keys + "}]}\n"
	}
	for text, want := range map[string]string{
		lookout("optics: 7"):                                       "not a width and a height",
		lookout("optics: 0.5x50"):                                  "magnification outside 1 to 60",
		lookout("observer: eye, optics: 7x50"):                     "optics are field glasses",
		lookout("observer: intensifier"):                           "image intensifier without its threshold",
		lookout("observer: glasses, threshold: 1e-7 lx"):           "both say what the eye needs",
		lookout("observer: eye, on_stand: true"):                   "a stand is for field glasses",
		lookout("observer: hawk"):                                  "not one of the choices",
		lookout("glare: 0.1 lx"):                                   "not a light and an angle",
		lookout("glare: 0.1 lx@200 deg"):                           "at most 100",
		lookout("sector: 90x200 deg"):                              "higher than 180",
		lookout("age: 80"):                                         "at most 75",
		lookout("attention: 0"):                                    "above 0",
		lookout("law: crumey"):                                     "not one of the choices",
		lookout("task: pass"):                                      "unknown key \"task\" in eyes",
		party("speed: 3 km/h"):                                     "speed without its pass",
		party("fatigue: true"):                                     "fatigue counts for the width of a pass",
		party("task: pass, eyes: {look: 30 s}"):                    "a look does not count",
		flight("task: scan, fatigue: true"):                        "fatigue counts for the width of a pass",
		flight("track: t.gpx, route: t.gpx"):                       "has both",
		flight("track: t.gpx, start: 2026-11-24T18:00Z"):           "a start without its route",
		head + "looking: {aircraft: [{name: a}]}\n":                `needs the key "altitude"`,
		head + "looking: {aircraft: [{name: a, altitude: 0 m}]}\n": "above 0",
		head + "plants: {stems: 800 /ha}\n":                        "stems without its stem_width",
		head + "plants: {canopy_height: 20 m}\n":                   "canopy_height without its leaf_area",
		head + "plants: {stems: 800, stem_width: 0.2 m}\n":         "needs its unit",
	} {
		_, err := read(text)
		require.ErrorContains(t, err, want, text)
	}
}

// What holds for all is said once; who names a device starts it anew, and
// aircraft have their own eyes.
func TestEyesAreHandedDown(t *testing.T) {
	p, err := read(head + `looking:
  eyes: {observer: glasses, optics: 10x42, age: 40}
  lookouts:
    - {name: a, position: "42.5, 1.5", from: 2026-11-24T18:00Z, until: 2026-11-24T23:00Z}
    - {name: b, position: "42.5, 1.5", from: 2026-11-24T18:00Z, until: 2026-11-24T23:00Z, eyes: {observer: eye}}
    - {name: c, position: "42.5, 1.5", from: 2026-11-24T18:00Z, until: 2026-11-24T23:00Z, eyes: {age: 30}}
  aircraft:
    - {name: d, altitude: 300 m}
`)
	require.NoError(t, err)
	l := p.Looking.Lookouts
	require.Equal(t, Eyes{Observer: Glasses, Magnification: 10, ObjectiveMM: 42, AgeYears: 40}, l[0].Eyes)
	require.Equal(t, Eyes{Observer: Eye, AgeYears: 40}, l[1].Eyes)
	require.Equal(t, Eyes{Observer: Glasses, Magnification: 10, ObjectiveMM: 42, AgeYears: 30}, l[2].Eyes)
	require.Equal(t, Eyes{}, p.Looking.Aircraft[0].Eyes)
	require.Equal(t, Going{Task: Past}, p.Looking.Aircraft[0].Going)
}
