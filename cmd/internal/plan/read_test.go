package plan

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
)

// lineOf returns the line of the full plan that holds a text first.
func lineOf(t *testing.T, text string) int {
	before, _, found := strings.Cut(full, text)
	require.True(t, found, text)
	return 1 + strings.Count(before, "\n")
}

func TestReadsEveryKey(t *testing.T) {
	line := func(text string) int { return lineOf(t, text) }
	p, err := read(full)
	require.NoError(t, err)
	andorra, err := time.LoadLocation("Europe/Andorra")
	require.NoError(t, err)
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		require.NoError(t, err)
		return v.In(andorra)
	}

	// The hash is that of sha256sum on the same bytes.
	require.Equal(t, "trip/plan.yaml", p.File)
	require.Equal(t, []string{"trip/places.gpx"}, p.WaypointFiles)
	require.Len(t, p.Hash, 8)
	require.Equal(t, 1, p.Version)
	require.Equal(t, "Two days over the pass", p.Title)
	require.True(t, p.Example)
	require.Equal(t, andorra, p.Zone)
	require.Equal(t, at("2026-11-24T08:00:00+01:00"), p.AsOf)
	require.Equal(t, "112", p.Emergency)
	require.Equal(t, "six", p.Distress)
	require.EqualValues(t, 7, p.Seed)
	require.Equal(t, []PersonField{{"name", "Quill Underwood"}, {"phone", "555 0100, 555 0101"}, {"clothes", "green: jacket"}}, p.Person.Fields())
	require.Equal(t, []string{"trip/dem/N42E001.hgt", "/data/more"}, p.Terrain)
	require.Equal(t, line("terrain:"), p.TerrainLine)
	require.Equal(t, Weather{Line: line("visibility:"), VisibilityM: 20000, Refraction: 0.15, Cloud: "broken", LightsAbout: "some", WindMS: 2.5, HazeHeightM: 1000, CloudBaseM: 900, TemperatureC: 10, Humidity: 0.4}, p.Weather)
	require.Equal(t, []Hour{{line("2026-11-24 12:00"), at("2026-11-24T12:00:00+01:00")}, {line("2026-11-24T22:00:00Z"), at("2026-11-24T23:00:00+01:00")}}, p.Hours)

	require.Len(t, p.Starts, 2)
	s := p.Starts[0]
	// 95 % radius over sd: sqrt(-2 ln 0.05) = 2.447746830680816.
	require.InDelta(t, 100/2.447746830680816, s.SDM, 1e-9)
	s.SDM = 0
	require.Equal(t, Start{
		Line: line("name: hut"), Name: "hut", Kind: LastKnown, Point: orb.Point{1.60, 42.55}, Radius95M: 100,
		Time: at("2026-11-23T17:10:00+01:00"), Source: "the hut book", SupersededBy: "ford",
	}, s)
	require.InDelta(t, 40*2.447746830680816, p.Starts[1].Radius95M, 1e-9)
	require.Equal(t, line("name: ford"), p.Starts[1].Line)
	require.Equal(t, LastSeen, p.Starts[1].Kind)

	w := p.Traveller
	require.Equal(t, "trip/legs.txt", w.Log)
	require.Equal(t, "trip/t.gpx", w.Track)
	require.Equal(t, []string{"trip/trails.geojson"}, w.Trails)
	require.Equal(t, []string{"trip/streams.geojson"}, w.Barriers)
	require.Equal(t, Footing{Crossing: "streams", TimeFactors: map[string]float64{"wood": 3, "wetland": 4.5}}, w.Footing)
	require.Equal(t, Cover{Line: line("cover: ["), Files: []string{"trip/cover.geojson"}, Elsewhere: "grass", CanopyM: 18}, p.Cover)
	require.InDeltaSlice(t, []float64{0.04, 2.5, 0.01, 1}, []float64{w.SigmaDistance, w.SigmaBearingDeg, w.ScaleBias, w.BearingBiasDeg}, 1e-12)
	require.Equal(t, "tobler", w.Rule)
	require.Equal(t, line("rule:"), w.RuleLine)
	require.Equal(t, Walkers{0.5, 0.9, 1.5}, w.Walkers)
	require.Equal(t, []float64{1800, 3600, 7200}, w.After)
	require.Len(t, w.Signals, 18)

	lamp := w.Signals[0]
	require.Equal(t, "lamp", lamp.Name)
	require.Equal(t, Light, lamp.Kind)
	require.Equal(t, line("name: lamp"), lamp.Line)
	require.InDeltaSlice(t, []float64{1, 100, 0.1, 1, 40, 120, -5, 21600},
		[]float64{lamp.HeightM, lamp.IntensityCD, lamp.FlashS, lamp.PeriodS, lamp.BeamDeg, lamp.AzimuthDeg, lamp.TiltDeg, lamp.RatedS}, 1e-12)
	require.Equal(t, at("2026-11-24T18:00:00+01:00"), lamp.LitFrom)
	require.EqualValues(t, 300, w.Signals[1].FluxLM)
	require.EqualValues(t, 100, w.Signals[2].BeamDistanceM)
	cloth := w.Signals[3]
	require.Equal(t, Flag, cloth.Kind)
	require.InDeltaSlice(t, []float64{0.5, 1, 0.4, 0.1}, []float64{cloth.FlagWidthM, cloth.FlagHeightM, cloth.Reflectance, cloth.BackgroundReflectance}, 1e-12)
	fire := w.Signals[4]
	require.Equal(t, Fire, fire.Kind)
	require.InDeltaSlice(t, []float64{1e5, 0.6, DefaultSignalHeightM}, []float64{fire.PowerW, fire.BedM, fire.HeightM}, 1e-9)
	smoke := w.Signals[5]
	require.Equal(t, Smoke, smoke.Kind)
	require.InDeltaSlice(t, []float64{0.012, 0.1, 0.8}, []float64{smoke.FuelKGS, smoke.SmokeYield, smoke.BackgroundReflectance}, 1e-12)
	require.Equal(t, []string{"E", "dark"}, []string{smoke.Stability, smoke.Column})
	glass := w.Signals[6]
	require.Equal(t, Mirror, glass.Kind)
	require.InDeltaSlice(t, []float64{0.076, 0.127, 0.6, 5, 120, -3},
		[]float64{glass.MirrorWidthM, glass.MirrorHeightM, glass.MirrorReflectivity, glass.MirrorSweepDegS, glass.TowardAzDeg, glass.TowardElDeg}, 1e-12)
	require.True(t, glass.SecondMirror)
	require.False(t, glass.Heard())
	pipe, voice := w.Signals[7], w.Signals[8]
	require.Equal(t, []string{Whistle, Shout}, []string{pipe.Kind, voice.Kind})
	require.Equal(t, Sound{SoundDB: 115, ToneHz: 2500, NoiseDB: 45, FoliageM: 50}, pipe.Sound)
	require.Equal(t, Sound{SoundDB: 90, ToneHz: DefaultToneHz, NoiseDB: DefaultNoiseDB}, voice.Sound)
	require.True(t, pipe.Heard() && voice.Heard())
	things := []Thing{
		{Cloth: "fluorescent-orange", Behind: "snow", Lit: "shade", Hangs: true, ClothWindMS: 2},
		{Posture: "lying", Clothing: "high"},
		{Letter: "X", LengthM: 4, StrokeM: 0.6},
		{ReflectorM2: 0.01, Reflectivity: 400, HeadlampCD: 800},
		{Fires: 3, ApartM: 30},
	}
	for i, want := range things {
		require.Equal(t, want, w.Signals[9+i].Thing)
	}
	require.Equal(t, []string{Flag, Figure, Symbol, Reflector, Fire},
		[]string{w.Signals[9].Kind, w.Signals[10].Kind, w.Signals[11].Kind, w.Signals[12].Kind, w.Signals[13].Kind})
	lamps := []Lamp{
		{BeamTable: [][2]float64{{0, 500}, {20, 80}}, Colour: "red", Pulses: 2, GapS: 0.2, PulseShape: "triangular", FlashLaw: "modified-allard-2008", FlashConstantS: 0.21},
		{BeamShape: "smooth", Spill: 0.05, Fade: "falling", Cold: 0.6},
		{Output: [][2]float64{{0, 1}, {21600, 0.1}}},
		{Standard: ParachuteFlare},
	}
	for i, want := range lamps {
		require.Equal(t, want, w.Signals[14+i].Lamp)
		require.Equal(t, Light, w.Signals[14+i].Kind)
	}
	require.EqualValues(t, []float64{DefaultSignalHeightM, parachuteFlareM, 0}, []float64{w.Signals[16].HeightM, w.Signals[17].HeightM, w.Signals[11].HeightM})

	all := Eyes{AgeYears: 50, Unadapted: true, GlareLx: 0.1, GlareDeg: 30, OwnLampLM: 200, Law: "adrian-1989", Clutter: "scrub", SectorWidthDeg: 120, SectorHeightDeg: 30, Attention: 0.4, LookS: 120}
	withGlasses, device := all, all
	withGlasses.Observer, withGlasses.Magnification, withGlasses.ObjectiveMM, withGlasses.OnStand, withGlasses.AgeYears = Glasses, 8, 40, true, 30
	device.Observer, device.ThresholdLx, device.ThresholdContrast = Intensifier, 1e-6, 0.05
	require.Equal(t, Looking{
		Line: line("eye_height:"), EyeHeightM: 1.6, Eyes: all,
		Parties: []Party{
			{Line: line("name: first"), Name: "first", Track: "trip/t.gpx", People: 4, SpacingM: 20, Eyes: all},
			{Line: line("name: second"), Name: "second", Route: "trip/t.gpx", Start: at("2026-11-24T10:00:00+01:00"), People: 1, Eyes: withGlasses},
		},
		Lookouts: []Lookout{{
			Line: line("name: ridge"), Name: "ridge", Point: orb.Point{1.62, 42.57},
			From: at("2026-11-24T18:00:00+01:00"), Until: at("2026-11-24T23:00:00+01:00"), People: 2, Eyes: device,
		}},
		Aircraft: []Flight{
			{Line: line("name: north"), Name: "north", AltitudeM: 300, Track: "trip/t.gpx", People: 2, Going: Going{Task: Past, SpeedMS: p.Looking.Aircraft[0].SpeedMS, Fatigued: true}},
			{Line: line("name: south"), Name: "south", AltitudeM: 152.4, Route: "trip/t.gpx", Start: at("2026-11-24T10:00:00+01:00"), People: 1, Going: Going{Task: Scan}},
		},
	}, p.Looking)
	require.InDelta(t, 46.3, p.Looking.Aircraft[0].SpeedMS, 1e-9) // 90 x 1852 m an hour
	require.Equal(t, Plants{Line: line("plants:"), StemsPerM2: 0.08, StemWidthM: 0.25, LeafAreaIndex: 3, CanopyM: 20}, p.Plants)
}

func TestReadsALikelihood(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	l := p.Likelihood
	require.Equal(t, []any{0.1, "KB", 8000.0, 50.0, "trip/trails.geojson"}, []any{l.Outside, l.By, l.WithinM, l.CellM, l.Segments})
	require.Len(t, l.Views, 7)
	var kinds []string
	for _, v := range l.Views {
		kinds = append(kinds, v.Kind)
	}
	require.Equal(t, []string{ViewLog, ViewDistances, ViewPublished, ViewAreas, ViewWander, ViewStart, ViewEven}, kinds)
	require.InDeltaSlice(t, []float64{210, 10, 2000, 600}, []float64{l.Views[0].CourseDeg, l.Views[0].CourseSDDeg, l.Views[0].GoneM, l.Views[0].GoneSDM}, 1e-9)
	require.Equal(t, []DistanceRow{{0.1, 0}, {0.5, 1200}, {0.9, 6000}}, l.Views[1].Distances)
	require.Equal(t, []Pull{{"trip/trails.geojson", 3, 80, "our own cases"}}, l.Views[1].Near)
	require.Equal(t, "hut", l.Views[5].Around)

	for text, want := range map[string]string{
		"{name: a, weight: 1, by: K, distances: [50 % 1 km, 40 % 2 km]}": "not above the row before",
		"{name: a, weight: 1, by: K, distances: 1 km}":                   "not a share in percent",
		"{name: a, weight: 1, by: K, distances: 50 % 1}":                 "unit",
		"{name: a, weight: 1, by: K, even: true, gone: 2 km}":            "belongs to a log or a start",
		"{name: a, weight: 1, by: K, log: true, gone: 2 km}":             "carried on by a course and a distance",
		"{name: a, weight: 1, by: K, log: true, even: true}":             "has both",
		"{name: a, weight: 0, by: K, even: true}":                        "no view has a weight",
		"{name: a, weight: 1, by: K, even: false}":                       "no view",
		"{name: a, weight: 1, by: K, start: nowhere}":                    "no start is named",
		"{name: a, weight: 1, even: true}":                               `needs the key "by"`,
		"{name: a, weight: 1, by: K, areas: [{name: b, file: t.gpx}]}":   `needs the key "share"`,
		"{name: a, weight: 1, by: K, wander: 3 h, direction: 3 deg}":     "belongs to distances",
	} {
		_, err := read(head + "likelihood: {outside: 5 %, by: K, views: [" + text + "]}\n")
		require.ErrorContains(t, err, want, text)
	}
	for text, want := range map[string]string{
		"outside: 100 %, by: K":                 "nothing is left on the map",
		"by: K":                                 `needs the key "outside"`,
		"outside: 5 %, by: K, area_from: 1 km2": "search areas need room",
		"outside: 5 %, by: K, area_to: 2 km2, search_areas: t.gpx":                                                 "no meaning where search areas are drawn",
		"outside: 5 %, by: K, area_to: 2 km2, search_party: {people: 3, spacing: 20 m, speed: 2 km/h, hours: 4 h}": "no meaning beside search_party",
	} {
		_, err := read(head + "likelihood: {" + text + ", views: [{name: a, weight: 1, by: K, even: true}]}\n")
		require.ErrorContains(t, err, want, text)
	}
}

func TestReadsWhatHasBeenSearched(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	first, second := p.Searched[0], p.Searched[1]
	require.Equal(t, []any{"first evening", "cloth", 0.5, 30.0, lineOf(t, "name: first evening")}, []any{first.Name, first.LookedFor, first.Shown, first.Own.WidthM, first.Line})
	require.Equal(t, 4*time.Hour, first.Until.Sub(first.From))
	valley := first.Parties[0]
	require.Equal(t, []any{"Valley", 5, 20.0, 2, 0.5, true, 30.0, []string{"trip/t.gpx"}},
		[]any{valley.Name, valley.People, valley.SpacingM, valley.Carrier, valley.SpeedMS, valley.Fatigued, valley.Eyes.AgeYears, valley.Tracks})
	require.Equal(t, []any{1, 50.0}, []any{first.Parties[1].People, first.Parties[1].Eyes.AgeYears}, "the eyes of all where none are said")
	require.Equal(t, OwnWidth{RangeM: 25, Conspicuity: "high"}, second.Own)
	require.Equal(t, AnyPerson, second.LookedFor)
	heli := second.Parties[1]
	require.Equal(t, []any{150.0, 1, Eyes{}}, []any{heli.AltitudeM, heli.People, heli.Eyes}, "the eyes of all are for the ground")
	require.InDelta(t, 46.3, heli.SpeedMS, 1e-9)
	require.Equal(t, []string{"trip/t.gpx", "trip/t.gpx", "trip/t.gpx", "trip/t.gpx"}, p.SearchFiles())

	require.Equal(t, []any{"no lamp", 0.6, []string{"first", "ridge"}, true}, []any{p.NotSeen[0].Name, p.NotSeen[0].Shown, p.NotSeen[0].By, p.NotSeen[0].Observed})
	require.Equal(t, "cloth not seen", p.NotSeen[1].Name)
	undone, err := read(full)
	require.NoError(t, err)
	require.True(t, undone.Undo("second"))
	require.True(t, undone.Undo("no lamp"))
	require.False(t, undone.Undo("second"))
	require.Equal(t, p.Searched[:1], undone.Searched)
	require.Equal(t, p.NotSeen[1:2:2][0].Name, undone.NotSeen[0].Name)
	require.Len(t, undone.NotSeen, 1)
	require.True(t, math.IsNaN(p.NotSeen[1].Shown), "no default")
	require.Equal(t, 0.2, p.Mobile)
	e := p.Effort
	require.Equal(t, []any{30.0, "walker", 4.0}, []any{e.MaxSlopeDeg, e.LookedFor, e.Until.Sub(e.From).Hours()})
	require.Equal(t, []any{4 * 3600.0, 5, true, orb.Point{1.60, 42.55}}, []any{e.Parties[0].Hours, e.Parties[0].People, e.Parties[0].ByNight, e.Parties[0].Point})
	require.Equal(t, []any{5400.0, 1, DefaultSearchSpeedMS}, []any{e.Parties[1].Hours, e.Parties[1].People, e.Parties[1].SpeedMS})

	for text, want := range map[string]string{
		"searched: [{name: a, parties: [{name: b, tracks: t.gpx, people: 3}]}]":                        "without its spacing",
		"searched: [{name: a, parties: [{name: b, tracks: t.gpx, carrier: 2}]}]":                       "person 2 of 1 carries",
		"searched: [{name: a, parties: [{name: b, tracks: t.gpx, altitude: 150 m, people: 3}]}]":       "people with an altitude",
		"searched: [{name: a, parties: [{name: b, tracks: none.gpx}]}]":                                "no such file",
		"searched: [{name: a, looked_for: flag, parties: [{name: b, tracks: t.gpx}]}]":                 "no signal is named",
		"searched: [{name: a, width: 3 m, detection_range: 3 m, parties: [{name: b, tracks: t.gpx}]}]": "both say how wide",
		"searched: [{name: a, detection_range: 3 m, parties: [{name: b, tracks: t.gpx}]}]":             "without its conspicuity",
		"searched: [{name: a, conspicuity: low, parties: [{name: b, tracks: t.gpx}]}]":                 "without its detection_range",
		"searched: [{name: a}]": `needs the key "parties"`,
		"mobile: 120 %":         "1",
		"effort: {from: 2026-11-25T08:00Z, until: 2026-11-25T07:00Z, parties: [{name: a, hours: 1 h, position: '1, 2'}]}": "ends before it begins",
		"effort: {parties: [{name: a, hours: 1 h, position: '1, 2'}]}":                                                    `needs the key "from"`,
		"not_seen: [{signal: lamp, from: 2026-11-25T08:00Z, until: 2026-11-25T09:00Z}]":                                   "no signal is named",
		"not_seen: [{signal: lamp, by: you, from: 2026-11-25T08:00Z, until: 2026-11-25T09:00Z}]":                          "no party or lookout is named",
	} {
		_, err := read(head + text + "\n")
		require.ErrorContains(t, err, want, text)
	}
}

// TestFullLeavesNoFieldOut: whatever the model holds, some item of the full
// plan sets, so that no key can be added without a line there.
func TestFullLeavesNoFieldOut(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	unset := map[string]bool{}
	findUnset(reflect.ValueOf(*p), "Plan", unset)
	for name, left := range unset {
		require.False(t, left, "%s is set nowhere in the full plan", name)
	}
	require.Greater(t, len(unset), 50)
}

// findUnset notes for each field whether all its values are zero or NaN.
func findUnset(v reflect.Value, name string, unset map[string]bool) {
	opaque := v.Type() == reflect.TypeFor[time.Time]() || v.Type() == reflect.TypeFor[orb.Point]() || v.Kind() == reflect.Pointer
	switch {
	case v.Kind() == reflect.Struct && !opaque:
		if v.Type() == reflect.TypeFor[Eyes]() || v.Type() == reflect.TypeFor[Going]() || v.Type() == reflect.TypeFor[OwnWidth]() {
			name = v.Type().Name() // whoever's
		}
		for i := range v.NumField() {
			findUnset(v.Field(i), name+"."+v.Type().Field(i).Name, unset)
		}
	case v.Kind() == reflect.Slice:
		before, seen := unset[name]
		unset[name] = v.Len() == 0 && (!seen || before)
		for i := range v.Len() {
			findUnset(v.Index(i), name+"[]", unset)
		}
	default:
		empty := v.IsZero() || v.Kind() == reflect.Float64 && math.IsNaN(v.Float())
		before, seen := unset[name]
		unset[name] = empty && (!seen || before)
	}
}

func TestDefaultsWhereThePlanIsSilent(t *testing.T) {
	p, err := read(head + "emergency:\nweather:\n")
	require.NoError(t, err)
	want := newPlan()
	want.File, want.Hash, want.Version, want.AsOf = p.File, p.Hash, 1, p.AsOf
	require.Equal(t, want, p)
}

// TestHash checks the printed hash: sha256sum of the bytes begins with it.
func TestHash(t *testing.T) {
	// printf 'version: 1\nas_of: 2026-11-24T08:00Z\n' | sha256sum
	p, err := read(head)
	require.NoError(t, err)
	require.Equal(t, "c1ef16d9", p.Hash)
	q, err := read(strings.ReplaceAll(head, "\n", "\r\n"))
	require.NoError(t, err)
	require.NotEqual(t, p.Hash, q.Hash, "the hash is of the bytes as they are")
}

const head = "version: 1\nas_of: 2026-11-24T08:00Z\n"

// TestWrongPlans gives for each faulty text every fault with its place, its
// offending text and what its message and hint must hold. The texts follow
// the two lines of head, so that their first line is line 3.
func TestWrongPlans(t *testing.T) {
	signal := "traveller:\n  signals:\n  - name: a\n    "
	start := "starts:\n- name: a\n  kind: planning\n  position: 42.5, 1.5\n  time: 2026-11-24T08:00Z\n  "
	cases := []struct{ name, text, want string }{
		{"unknown key", "wether: {}\n", "3:1 wether|unknown key \"wether\" in the plan|did you mean weather"},
		{"unknown key, nothing near", "colour: red\n", "3:1 colour|unknown key|the keys here are version"},
		{"unknown key inside", "weather:\n  visibilty: 3 km\n", "4:3 visibilty|unknown key \"visibilty\" in weather|did you mean visibility"},
		{"key given twice", "title: a\ntitle: b\n", "4:1 title|key \"title\" given twice, first on line 3|remove one"},
		{"key given twice, once empty", "title:\ntitle: b\n", "4:1 title|given twice|remove"},
		{"key not a word", "? title\n: b\n", "3:1|not a key|plain word"},
		{"number for a key", "12: b\n", "3:1|not a key|plain word"},
		{"merge key", "<<: {title: x}\n", "3:1|not a key|plain word"},
		{"no unit", "weather:\n  visibility: 20\n", "4:15 20|a length needs its unit|write one of m, km"},
		{"wrong unit", "weather:\n  visibility: 20 min\n", "4:15 20 min|\"min\" is not a unit of length|write one of"},
		{"unit in wrong case", "weather: {visibility: 20 KM}\n", "3:23 20 KM|not a unit|did you mean km"},
		{"comma for a point", "weather:\n  visibility: 2,5 km\n", "4:15 2,5 km|a comma in a number|decimal point"},
		{"not a number", "weather:\n  visibility: far\n", "4:15 far|not a length|5km"},
		{"zero visibility", "weather:\n  visibility: 0 km\n", "4:15 0 km|above 0|"},
		{"infinite", "weather:\n  visibility: .inf\n", "4:15 .inf|not a length|"},
		{"after a wide character", "weather: {cloud: été, visibility: 3}\n", "3:18 été|not one of the choices|clear, broken, overcast;3:35 3|needs its unit|"},
		{"list for a value", "weather:\n  visibility: [1 km]\n", "4:15|one quantity is needed here|"},
		{"value for a block", "weather: fine\n", "3:10|weather takes keys|write visibility"},
		{"value for a list", "starts: here\n", "3:9|starts is a list|begin each item"},
		{"empty item", "hours:\n-\n", "4:1|an empty item in hours|"},
		{"quoted boolean", "example: \"true\"\n", "3:10 true|neither true nor false|write true or false"},
		{"yes", "example: yes\n", "3:10 yes|neither true nor false|"},
		{"anchor", "title: &a x\n", "3:8|anchors and aliases|write the value out"},
		{"tag", "title: !!str x\n", "3:8|tags are not used|"},
		{"second document", "---\ntitle: x\n", "4:1|a second document|"},
		{"tab", "weather:\n\tvisibility: 3 km\n", "4:1|a tab in the indentation|indent with blanks"},
		{"two tabs", "weather:\n\tvisibility: 3 km\n \tcloud: clear\n", "4:1|a tab|;5:2|a tab|"},
		{"control character", "title: a\x01b\n", "3:1|a character that no text holds|UTF-8"},
		{"Latin-1", "title: caf\xe9\n", "3:1|a character that no text holds|UTF-8"},
		{"escaped line break", "title: \"a\\nb\"\n", "3:8|a line break|one line"},
		{"long text", "title: " + strings.Repeat("x", 201) + "\n", "3:8 " + strings.Repeat("x", 60) + "…|more than 200 characters|"},
		{"open quote", "title: 'x\n", "3:8 'x|could not find end character|close the quotation mark"},
		{"colon in a value", "title: a: b\n", "3:8 a: b|mapping value is not allowed|in quotes"},
		{"open bracket", "hours: [1\ntitle: x\n", "4:1 title: x|must be specified|"},
		{"bad indentation", "weather:\n   cloud: clear\n  visibility: 3 km\n", "5:3 visibility: 3 km|not allowed|"},

		{"abbreviated zone", "zone: CET\n", "3:7 CET|abbreviation can mean several offsets|Europe/Andorra"},
		{"unknown zone", "zone: Europe/Nowhere\n", "3:7 Europe/Nowhere|not an IANA time zone|"},
		{"local time without a zone", "hours: 2026-11-24 12:00\n", "3:8 2026-11-24 12:00|a local time needs its zone|+01:00"},
		{"abbreviation in a time", "hours: 2026-11-24 12:00 CET\n", "3:8 2026-11-24 12:00 CET|abbreviation|"},
		// tz database: Europe/Andorra follows the EU rule, clocks forward on
		// 2026-03-29 at 02:00 and back on 2026-10-25 at 03:00.
		{"time that does not exist", "hours: 2026-03-29 02:30 Europe/Andorra\n", "3:8 2026-03-29 02:30 Europe/Andorra|does not exist in Europe/Andorra|offset"},
		{"time that occurs twice", "zone: Europe/Andorra\nhours: 2026-10-25 02:30\n", "4:8 2026-10-25 02:30|occurs twice in Europe/Andorra|2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00"},
		{"no such day", "hours: 2026-02-30T12:00:00Z\n", "3:8 2026-02-30T12:00:00Z|not a date and time|"},
		{"hour twice", "hours: [2026-11-24T12:00Z, 2026-11-24T13:00+01:00]\n", "3:28 2026-11-24T13:00+01:00|the hour of line 3 again|"},

		{"start without its error", start + "source: me\n", "4:3|a start needs one of the keys error, sd|"},
		{"start with both errors", start + "error: 1 m\n  sd: 1 m\n", "9:3 sd|both \"error\" and \"sd\"|keep one"},
		{"start without keys", "starts:\n- source: me\n", "4:3|needs the key \"name\"|;4:3|needs the key \"kind\"|;4:3|needs the key \"position\"|;4:3|needs the key \"time\"|;4:3|one of the keys error, sd|"},
		{"start of another kind", strings.Replace(start, "planning", "lastknown", 1) + "sd: 1 m\n", "5:9 lastknown|not one of the choices|did you mean last-known"},
		{"position as a list", strings.Replace(start, "42.5, 1.5", "[42.5, 1.5]", 1) + "sd: 1 m\n", "6:13|one position is needed|latitude first"},
		{"no position", strings.Replace(start, "42.5, 1.5", "the hut", 1) + "sd: 1 m\n", "6:13 the|position \"the hut\"|"},
		{"position off the earth", strings.Replace(start, "42.5, 1.5", "42.5, 191", 1) + "sd: 1 m\n", "6:19 191|position|"},
		{"the same in quotes", strings.Replace(start, "42.5, 1.5", "\"42.5, 191\"", 1) + "sd: 1 m\n", "6:20 191|position|"},
		{"square larger than its error", strings.Replace(start, "42.5, 1.5", "31T CH 68 25", 1) + "error: 100 m\n", "6:3 position|square of 1000 m|more digits"},
		{"superseded by nobody", start + "sd: 1 m\n  superseded_by: b\n", "9:3 superseded_by|no start is named \"b\"|the names are a"},
		{"superseded in a circle", start + "sd: 1 m\n  superseded_by: a\n", "4:1 a|superseded in a circle|newest"},
		{"two starts of one name", start + "sd: 1 m\n" + strings.TrimPrefix(start, "starts:\n") + "sd: 1 m\n", "9:9 a|the name \"a\" again, first on line 4|"},

		{"no such log", "traveller:\n  log: nothing.txt\n", "4:8 nothing.txt|no such file|folder of the plan"},
		{"bare percentage", "traveller:\n  scale_bias: 3\n", "4:15 3|a percentage needs its unit|5%"},
		{"too much", "traveller:\n  scale_bias: 300 %\n", "4:15 300 %|at most 100%|"},
		{"rule", "traveller:\n  rule: toblers\n", "4:9 toblers|not one of the choices|did you mean tobler"},
		{"walkers out of order", "traveller:\n  walkers: {slow: 1.2}\n", "4:12|walkers out of order|slow is the least"},
		{"times of rings out of order", "traveller:\n  after: [2 h, 1 h]\n", "4:16 1 h|not later than the one before|increasing"},
		{"minutes as m", "traveller:\n  after: [30 m]\n", "4:11 30 m|\"m\" is not a unit of time|min"},
		{"signal of no kind", "traveller:\n  signals:\n  - name: a\n", "5:5|one of the keys light, lumens, beam_distance, beam_table, standard, flag, fire|"},
		{"signal of two kinds", signal + "light: 1 cd\n    fire: 1 kW\n", "7:5 fire|both \"light\" and \"fire\"|"},
		{"key of another kind", signal + "fire: 1 kW\n    beam: 3 deg\n", "7:5 beam|\"beam\" belongs to a light, this is a fire|"},
		{"key of two other kinds", signal + "fire: 1 kW\n    on: 0.1\n", "7:5 on|\"on\" belongs to a flag or person or symbol or smoke, this is a fire|"},
		{"smoke without its unit", signal + "smoke: 10\n", "6:12 10|a burning rate needs its unit|10g/s"},
		{"lumens without beam", signal + "lumens: 300 lm\n", "6:5 lumens|without the beam|add beam"},
		{"lumens in candelas", signal + "lumens: 300 cd\n    beam: 3 deg\n", "6:13 300 cd|not a unit of luminous flux|"},
		{"flash without period", signal + "light: 1 cd\n    flash: 1 s\n", "7:5 flash|without its period|"},
		{"period without flash", signal + "light: 1 cd\n    every: 1 s\n", "7:5 every|without its flash|"},
		{"flash too long", signal + "light: 1 cd\n    flash: 2 s\n    every: 1 s\n", "7:5 flash|longer than its period|"},
		{"lit but not for how long", signal + "light: 1 cd\n    lit_from: 2026-11-24T08:00Z\n", "7:5 lit_from|without rated_time|"},
		{"pointed without beam", signal + "light: 1 cd\n    tilt: 3 deg\n", "7:5 tilt|without the beam|"},
		{"flag of one length", signal + "flag: 1 m\n", "6:11 1 m|not a width and a height|0.5x0.5m"},
		{"reflectance above 1", signal + "flag: 1x1 m\n    reflectance: 40\n", "7:18 40|at most 1|"},
		{"period zero", signal + "light: 1 cd\n    flash: 1 s\n    every: 0/min\n", "8:12 0/min|out of range|"},

		{"party without a way", "looking:\n  parties:\n  - name: a\n", "5:5|one of the keys track, route|"},
		{"party with track and start", "looking:\n  parties:\n  - name: a\n    track: t.gpx\n    start: 2026-11-24T08:00Z\n", "7:5 start|a track has its own times|"},
		{"nobody", "looking:\n  parties:\n  - {name: a, track: t.gpx, people: 0}\n", "5:37 0|not a whole number from 1|"},
		{"half a person", "looking:\n  parties:\n  - {name: a, track: t.gpx, people: 1.5}\n", "5:37 1.5|not a whole number|"},
		{"watch that ends first", "looking:\n  lookouts:\n  - {name: a, position: \"42.5, 1.5\", from: 2026-11-24T08:00Z, until: 2026-11-24T07:00Z}\n", "5:63 until|ends before it begins|"},
		{"party and lookout of one name", "looking:\n  parties:\n  - {name: a, track: t.gpx}\n  lookouts:\n  - {name: a, position: \"42.5, 1.5\", from: 2026-11-24T08:00Z, until: 2026-11-24T09:00Z}\n", "7:12 a|the name \"a\" again|"},

		{"placement of no signal", "placement:\n  signal: lamp\n", "4:3 signal|no signal is named \"lamp\"|no signal has a name"},
		{"too few candidates", "placement:\n  count: 2\n  candidates:\n  - {name: a, position: \"42.5, 1.5\"}\n", "4:3 count|2 sites asked for, 1 candidates given|"},
		{"base of another question", "placement:\n  base: a\n  candidates:\n  - {name: a, position: \"42.5, 1.5\"}\n", "4:3 base|\"base\" belongs to the question relay|question: relay"},
		{"one end of a chain", "placement:\n  question: relay\n  to: a\n  candidates:\n  - {name: a, position: \"42.5, 1.5\"}\n", "5:3 to|to without its base|"},
		{"both ends in one", "placement:\n  question: relay\n  base: a\n  to: a\n  candidates:\n  - {name: a, position: \"42.5, 1.5\"}\n", "6:3 to|base and to are one candidate|"},
		{"spacing with candidates", "placement:\n  count: 1\n  spacing: 5 m\n  candidates:\n  - {name: a, position: \"42.5, 1.5\"}\n", "5:3 spacing|no meaning where candidates are given|"},

		{"person a text", "person: Quill Underwood\n", "3:9|the person block takes keys|"},
		{"person with a block", "person:\n  name: {first: Quill}\n", "4:9|one text is needed here|"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := read(head + c.text)
			var problems Problems
			require.ErrorAs(t, err, &problems)
			wants := strings.Split(c.want, ";")
			require.Len(t, problems, len(wants), "%v", err)
			for i, want := range wants {
				parts := strings.Split(want, "|")
				p := problems[i]
				got := fmt.Sprintf("%d:%d %s", p.Line, p.Column, p.Text)
				require.Equal(t, parts[0], strings.TrimSpace(got), p.Message)
				require.Contains(t, p.Message, parts[1])
				require.Contains(t, p.Advice, parts[2])
				require.NotEmpty(t, p.Advice, "what to do about %s", p.Message)
				require.Equal(t, "trip/plan.yaml", p.File)
				require.Equal(t, strings.ToLower(p.Message[:1]), p.Message[:1])
				require.False(t, strings.HasSuffix(p.Message, "."))
			}
		})
	}
}

func TestEmptyAndUnversionedPlans(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "trip/plan.yaml:1:1: an empty plan"},
		{"# nothing\n", "trip/plan.yaml:1:1: an empty plan"},
		{"- a\n", "trip/plan.yaml:1:1: the plan takes keys"},
		{"as_of: 2026-11-24T08:00Z\n", `trip/plan.yaml:1:1: the plan needs the key "version"`},
		{"version: 2\nas_of: 2026-11-24T08:00Z\n", "trip/plan.yaml:1:10: not a form of plans that this program reads"},
		{"version: 1\n", `trip/plan.yaml:1:1: the plan needs the key "as_of"`},
	} {
		_, err := read(c.text)
		require.ErrorContains(t, err, c.want, c.text)
	}
}

func TestAllFaultsAreToldInFileOrder(t *testing.T) {
	_, err := read("placement: {count: 0}\nversion: 1\nwether: 1\nas_of: noon\n")
	var problems Problems
	require.ErrorAs(t, err, &problems)
	var lines []int
	for _, p := range problems {
		lines = append(lines, p.Line)
	}
	require.Equal(t, []int{1, 3, 4}, lines)

	_, err = read(head + "hours:\n" + strings.Repeat("- noon\n", 300))
	require.ErrorAs(t, err, &problems)
	require.Len(t, problems, maxProblems+1)
	require.Contains(t, problems[maxProblems].Message, "200 more faults")
}

// TestPersonIsNeverEchoed breaks plans in and around the person block in every
// way the reader knows of and looks for the names in what comes out.
func TestPersonIsNeverEchoed(t *testing.T) {
	const secret = "Quill"
	for _, text := range []string{
		"person: Quill\n",
		"person: [Quill, Quill]\n",
		"person:\n  - Quill\n",
		"person:\n  name: {Quill: Quill}\n",
		"person:\n  name: &a Quill\n",
		"person:\n  name: *Quill\n",
		"person:\n  name: !Quill Quill\n",
		"person:\n  name: 'Quill\n",
		"person:\n  name: \"Quill\n",
		"person:\n  name: Quill: Quill\n",
		"person:\n  name: @Quill\n",
		"person:\n  name: [Quill\n",
		"person:\n  name: {Quill\n",
		"person:\n  name: |3Quill\n",
		"person:\n    name: Quill\n   Quill: 3\n",
		"person:\n  ? [Quill]\n  : Quill\n",
		"person:\n  Quill Quill: 1\n",
		"person: {name: Quill\n",
		"person: {name: 'Quill}\n",
		"\"person\":\n  name: 'Quill\n",
		"person:\n\tname: Quill\n",
		"person:\n  name: Quill\x01\n",
		"persn:\n  name: Quill\n",
		"person:\nname: Quill\n",
		"title: 'x\nperson:\n  name: Quill\n",
		"title: [\nperson:\n  name: Quill\n",
		"hours: 'x\nperson:\n  name: Quill's\n",
	} {
		_, err := read(head + text)
		require.Error(t, err, text)
		for _, e := range err.(Problems) {
			require.NotContains(t, fmt.Sprintf("%s %s %s", e.Error(), e.Offending(), e.Hint()), secret, text)
		}
	}
	_, err := read("{version: 1,\nperson: {\nname: 'Quill,\nphone: Quill\n}}\n")
	require.NotContains(t, err.(Problems)[0].Text, secret)

	p, err := read(head + "person:\n  name: Quill\n")
	require.NoError(t, err)
	for _, format := range []string{"%v", "%+v", "%#v", "%s"} {
		require.NotContains(t, fmt.Sprintf(format, *p), secret, format)
		require.NotContains(t, fmt.Sprintf(format, p.Person), secret, format)
	}
	require.Equal(t, []PersonField{{"name", "Quill"}}, p.Person.Fields())
}

func TestAtTellsThePlaceAsAnInputError(t *testing.T) {
	p, err := read(full)
	require.NoError(t, err)
	err = fmt.Errorf("rings: %w", p.At(p.Traveller.RuleLine, "no such rule", "x"))
	require.EqualError(t, err, fmt.Sprintf("rings: trip/plan.yaml:%d:1: no such rule", lineOf(t, "rule:")))
	require.Equal(t, cli.ExitInput, cli.ExitCode(err))
	_, err = read("version: 3\n")
	require.Equal(t, cli.ExitInput, cli.ExitCode(err))
}

func TestFilesThatCannotBeRead(t *testing.T) {
	_, err := Read(fstest.MapFS{}, "absent.yaml")
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.Equal(t, cli.ExitInput, cli.ExitCode(err))

	_, err = Read(fstest.MapFS{"big.yaml": {Data: make([]byte, maxSize+1)}}, "big.yaml")
	var problems Problems
	require.ErrorAs(t, err, &problems)
	require.Contains(t, problems[0].Message, "more than 262144 bytes")
	_, err = read(strings.Repeat("\n", maxLines))
	require.ErrorContains(t, err, "plan.yaml:10000:1: more than 10000 lines")
}

func TestByteOrderMarkAndCarriageReturns(t *testing.T) {
	p, err := read("\uFEFF" + strings.ReplaceAll(head+"title: x\n", "\n", "\r\n"))
	require.NoError(t, err)
	require.Equal(t, "x", p.Title)
}

func read(text string) (*Plan, error) {
	return Read(fstest.MapFS{
		"trip/plan.yaml":      {Data: []byte(text)},
		"trip/legs.txt":       {},
		"trip/t.gpx":          {},
		"trip/places.gpx":     {Data: []byte(`<gpx version="1.1" creator="t"><wpt lat="42.552" lon="1.602"><name>Shoulder</name></wpt></gpx>`)},
		"trip/trails.geojson": {}, "trip/streams.geojson": {}, "trip/cover.geojson": {},
	}, "trip/plan.yaml")
}

// FuzzRead looks for panics, for faults without a place, and for names out of
// the person block.
func FuzzRead(f *testing.F) {
	f.Add(full)
	f.Add(head)
	for _, s := range []string{"a: [", "a: {b: [c, {d: 'e", "? x", "- - - a", "a: |\n  b\n", "a: >-\n b\n\n c", "&a [*a]", "%YAML 1.2\n---\na: b", "\"\\u12\": x", "a:\n- b\n c"} {
		f.Add(head + s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := read(text)
		if err == nil {
			require.Equal(t, 1, p.Version)
			require.False(t, p.AsOf.IsZero())
			return
		}
		var problems Problems
		require.True(t, errors.As(err, &problems))
		for _, e := range problems {
			require.GreaterOrEqual(t, e.Line, 1, e.Message)
			require.GreaterOrEqual(t, e.Column, 1, e.Message)
			require.LessOrEqual(t, e.Line, 1+strings.Count(text, "\n"), e.Message)
		}
	})
}
