package main

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"farhail/cmd/internal/cli"
	"farhail/geo/earth"
)

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// pair writes two numbers as the command line takes a position.
func pair(a, b float64) string { return number(a) + ", " + number(b) }

// texts reads an object of texts.
func texts(t *testing.T, raw json.RawMessage) map[string]string {
	var m map[string]string
	require.NoError(t, json.Unmarshal(raw, &m))
	require.NotEmpty(t, m)
	return m
}

// refractionOf reads "k=0.13" or "horizon k=1/7".
func refractionOf(t *testing.T, name string) float64 {
	m := regexp.MustCompile(`k=([0-9.]+)(?:/([0-9]+))?`).FindStringSubmatch(name)
	require.NotNil(t, m, name)
	k, err := strconv.ParseFloat(m[1], 64)
	require.NoError(t, err)
	if m[2] != "" {
		d, err := strconv.ParseFloat(m[2], 64)
		require.NoError(t, err)
		k /= d
	}
	return k
}

func metresOf(t *testing.T, text string) float64 {
	v, err := cli.ParseQuantity(text, cli.Length)
	require.NoError(t, err)
	return v
}

// oneDegree reads the vector's single angle, made a position by a partner of
// the other axis.
func oneDegree(key, partner string, before bool) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		text := v.text("input") + ", " + partner
		if before {
			text = partner + ", " + v.text("input")
		}
		require.InDelta(t, v.number("want"), get(t, "fix", text).number(key), 1e-8)
	}
}

const east, north = `10°00'00"E`, `10°00'00"N`

// noDegree wants the same refused.
func noDegree(partner string, words ...string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		text, _, _ := strings.Cut(v.text("input"), " as ")
		fault(t, cli.ExitUsage, words, "fix", text+", "+partner)
	}
}

func place(lat, lon, within float64) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		a := get(t, "fix", v.text("input"))
		require.InDelta(t, lat, a.number("lat"), within, a.text)
		require.InDelta(t, lon, a.number("lon"), within, a.text)
	}
}

// placeOfWant is place for a want of two numbers.
func placeOfWant(t *testing.T, v vector) {
	w := v.numbers("want")
	place(w[0], w[1], 1e-6)(t, v)
}

// dms writes the vector's angle as a latitude in degrees, minutes and seconds.
func dms(want string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		require.Equal(t, v.text("want"), want, "the answer of the list")
		got, _ := get(t, "fix", pair(v.number("format"), 10)).at("dms").(string)
		if v.text("style") == "dms0" {
			// The command prints tenths; these are zero where the whole seconds are right.
			got = strings.Replace(got, ".0\"", "\"", 1)
		}
		require.True(t, strings.HasPrefix(got, want+" "), got)
	}
}

func fixOf(t *testing.T, v vector, more ...string) answer {
	p := v.numbers("input")
	return get(t, append([]string{"fix", pair(p[0], p[1])}, more...)...)
}

// mgrs wants the vector's position as grid references of 5, 4, 3 digits.
func mgrs(refs ...string) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		for i, want := range refs {
			require.Equal(t, want, fixOf(t, v, "--mgrs-digits", strconv.Itoa(5-i)).at("mgrs"))
		}
	}
}

// logBearing runs a log of the vector's bearings and returns the true bearing
// from its start to its end.
func logBearing(t *testing.T, lines ...string) float64 {
	inNewFolder(t, map[string]string{"walk.log": strings.Join(lines, "\n") + "\n"})
	a := get(t, "reckon", "walk.log")
	return earth.Wrap360(math.Atan2(a.number("east_m"), a.number("north_m")) * 180 / math.Pi)
}

// fixBearing turns a bearing through a log with the vector's declination.
func turned(t *testing.T, v vector, north string, deg, decl, want float64) {
	side := "E"
	if decl < 0 {
		side = "W"
	}
	letter := map[string]string{"true": "T", "magnetic": "M"}[north]
	inNewFolder(t, map[string]string{"walk.log": fmt.Sprintf("north: true\ndeclination: %g%s\n%g%s 100 m\n", math.Abs(decl), side, deg, letter)})
	a := get(t, "reckon", "walk.log")
	if north == "magnetic" {
		require.InDelta(t, want, a.number("legs.0.bearing_true_deg"), 0.01)
		return
	}
	// The way home is the leg's back bearing.
	require.InDelta(t, 0, earth.Wrap180(want+180-a.number("home.bearing_magnetic_deg")), 0.01)
}

// meanOf wants the mean of the vector's readings.
func meanOf(want float64) func(*testing.T, vector) {
	return func(t *testing.T, v vector) {
		var list []string
		for _, b := range v.numbers("input") {
			list = append(list, number(b))
		}
		require.InDelta(t, 0, earth.Wrap180(want-logBearing(t, "north: true", strings.Join(list, ",")+" 100 m")), 0.01)
	}
}

func near(t *testing.T, lat, lon, metres float64, a answer) {
	d, _, _ := earth.Inverse(orb.Point{lon, lat}, orb.Point{a.number("lon"), a.number("lat")})
	require.LessOrEqual(t, d, metres, a.text)
}

var positionCases = map[string][]caseRun{
	"K01": {
		{has: `0°30'00\"W`, run: oneDegree("lon", north, true)},
		{has: "00 30 00.0 S", run: oneDegree("lat", east, false)},
		{has: "-0 30 0", run: oneDegree("lat", "10 0 0", false)},
		{has: "46°31′12,5″N", run: oneDegree("lat", east, false)},
		{has: "N 46 31 12.5", run: oneDegree("lat", "E 10 0 0", false)},
		{has: "46 31 12.5 N", run: oneDegree("lat", "10 0 0 E", false)},
		{has: "46-31-12.5N", run: oneDegree("lat", "10-0-0E", false)},
		{has: "W000 07.2, N51 30.0", run: place(51.5, -0.12, 1e-8)},
		{has: "0.12W, 51.5N", run: place(51.5, -0.12, 1e-8)},
		{has: "-7.5W", run: func(t *testing.T, _ vector) {
			fault(t, cli.ExitUsage, []string{"sign"}, "fix", "45N, -7.5W")
		}},
		{has: `46°60'00\"N`, run: noDegree(east, "60")},
		{has: `46°31'60\"N`, run: func(t *testing.T, v vector) {
			a := ask(t, "fix", v.text("input")+", "+east)
			if a.code == cli.ExitDone {
				require.InDelta(t, 46.53333333, a.number("lat"), 1e-8)
				require.Contains(t, a.text, "60")
				return
			}
			require.Contains(t, a.text, "60")
		}},
		{has: "91°N", run: noDegree(east, "90")},
		{has: "as latitude", run: noDegree(east, "longitude")},
		{has: "46.9999999", run: dms(`47°00'00.0"N`)},
		{has: "-1e-05", run: dms(`0°00'00.0"S`)},
		{has: "41.99999444", run: dms(`42°00'00"N`)},
	},
	"K03": {
		{has: "59G 625676.332 E", run: func(t *testing.T, v vector) {
			a := fixOf(t, v)
			require.Equal(t, []any{59.0, "G", "south"}, []any{a.at("utm.zone"), a.at("utm.band"), a.at("utm.hemisphere")})
			require.InDelta(t, 625676.332, a.number("utm.easting_m"), 0.01)
			require.InDelta(t, 5432405.140, a.number("utm.northing_m"), 0.01)
		}},
		{has: "59 south 625676.332", run: placeOfWant},
		{has: "59G 625676.332 5432405.140", run: placeOfWant},
		{has: "59 north 625676.332", run: placeOfWant},
		{has: "59S 625676 5432405", run: func(t *testing.T, v vector) {
			fault(t, cli.ExitUsage, []string{"band S", "south"}, "fix", v.text("input"))
		}},
		{has: "59S 500000 4000000", run: func(t *testing.T, v vector) {
			fault(t, cli.ExitUsage, []string{"36.1", "54.1", "south"}, "fix", v.text("input"))
		}},
	},
	"K05": {
		{has: "32TMS9999950000", run: mgrs("32TMS9999950000", "32TMS99995000", "32TMS999500")},
		{has: "32TNS1234599999", run: mgrs("32TNS1234599999")},
		{has: "02WMR7750397182", run: func(t *testing.T, v vector) {
			mgrs("02WMR7750397182")(t, v)
			p := v.numbers("input")
			near(t, p[0], p[1], 1, get(t, "fix", "02WMR7750397182"))
		}},
		{has: "ZAK4500045522", run: func(t *testing.T, v vector) {
			mgrs("ZAK4500045522")(t, v)
			a := fixOf(t, v)
			require.InDelta(t, 2045000.230, a.number("ups.easting_m"), 0.01)
			require.InDelta(t, 2245522.427, a.number("ups.northing_m"), 0.01)
		}},
		{has: "1607232.312", run: func(t *testing.T, v vector) {
			a := fixOf(t, v)
			require.Equal(t, "A", a.at("ups.band"), a.text)
			require.InDelta(t, 1607232.312, a.number("ups.easting_m"), 0.01)
			require.InDelta(t, 2392767.688, a.number("ups.northing_m"), 0.01)
		}},
		{has: "2277728.696", run: func(t *testing.T, v vector) {
			a := fixOf(t, v)
			require.Equal(t, "B", a.at("ups.band"), a.text)
			require.InDelta(t, 2277728.696, a.number("ups.easting_m"), 0.01)
			require.InDelta(t, 1518959.788, a.number("ups.northing_m"), 0.01)
		}},
		{has: `"32TMS99995000"`, run: func(t *testing.T, v vector) {
			a := get(t, "fix", v.text("input"))
			require.Equal(t, 10.0, a.number("square_m"))
			require.InDelta(t, 499995, a.number("utm.easting_m"), 0.01)
			require.InDelta(t, 5150005, a.number("utm.northing_m"), 0.01)
		}},
		{has: "odd digits", run: func(t *testing.T, _ vector) {
			fault(t, cli.ExitUsage, []string{"odd number of digits"}, "fix", "32TMS9995000")
		}},
		{has: "32TIO1234512345", run: func(t *testing.T, v vector) {
			fault(t, cli.ExitUsage, []string{"I and O"}, "fix", v.text("input"))
		}},
	},
	"K06": {
		{has: "-106.720118", run: func(t *testing.T, v vector) {
			p := v.part("input").numbers("nad27")
			near(t, 41.0876278, -106.7207124, 5, get(t, "fix", pair(p[0], p[1]), "--datum", "NAD27"))
		}},
		{has: "nad27_utm", run: func(t *testing.T, v vector) {
			text, _, _ := strings.Cut(v.part("input").text("nad27_utm"), " (")
			near(t, 41.0876278, -106.7207124, 5, get(t, "fix", text, "--datum", "NAD27"))
			a, b := get(t, "fix", text), get(t, "fix", text, "--datum", "NAD27")
			d, _, _ := earth.Inverse(orb.Point{a.number("lon"), a.number("lat")}, orb.Point{b.number("lon"), b.number("lat")})
			require.InDelta(t, 214.7, d, 5, "what reading it as WGS84 costs")
			require.Contains(t, b.text, "give or take", "the error is stated")
		}},
		{has: "45.499913", run: func(t *testing.T, v vector) {
			p := v.part("input").numbers("nad27")
			near(t, 45.499913, -110.500813, 5, get(t, "fix", pair(p[0], p[1]), "--datum", "NAD27"))
		}},
		{has: "no transformation available", run: func(t *testing.T, _ vector) {
			a := ask(t, "fix", "-33.5, -70.5", "--datum", "NAD27") // South America has none
			if a.code == cli.ExitDone {
				require.Contains(t, a.text, "give or take")
				return
			}
			require.Equal(t, cli.ExitUsage, a.code)
			require.Contains(t, a.text, "NAD27")
		}},
		{has: "--datum unknown", run: func(t *testing.T, _ vector) {
			require.Contains(t, get(t, "fix", "45.5, 7.5", "--datum", "unknown").text, "500 m off")
		}},
	},
	"N01": {
		{has: `"decl":12`, run: func(t *testing.T, v vector) {
			in := v.part("input")
			turned(t, v, "true", in.number("true"), in.number("decl"), 78)
		}},
		{has: `"decl":-8`, run: func(t *testing.T, v vector) {
			in := v.part("input")
			turned(t, v, "true", in.number("true"), in.number("decl"), 98)
		}},
		{has: `"magnetic":350`, run: func(t *testing.T, v vector) {
			in := v.part("input")
			turned(t, v, "magnetic", in.number("magnetic"), in.number("decl"), 5)
		}},
		{has: "8W", run: declinationText},
		{has: "12 E", run: declinationText},
		{has: "-13.6891", run: func(t *testing.T, v vector) {
			in := v.part("input")
			a := get(t, "fix", pair(in.number("lat"), in.number("lon")), "--date", in.text("date"), "--height", number(in.number("h_m"))+"m")
			require.InDelta(t, -13.6891, a.number("declination_deg"), 0.01)
		}},
		{has: `"wmm":"2020"`, run: func(t *testing.T, v vector) {
			fault(t, cli.ExitFailed, []string{"2025-01-01"}, "fix", "42.283, -71.35", "--date", v.part("input").text("date"))
		}},
		{has: "2031-01-01", run: func(t *testing.T, v vector) {
			fault(t, cli.ExitFailed, []string{"2030-01-01"}, "fix", "42.283, -71.35", "--date", v.part("input").text("date"))
		}},
		{has: "no declination", run: func(t *testing.T, _ vector) {
			inNewFolder(t, map[string]string{"walk.log": "north: magnetic\n090 100 m\n"})
			fault(t, cli.ExitInput, []string{"no declination"}, "reckon", "walk.log")
		}},
		{has: "map annual change", run: func(t *testing.T, _ vector) {
			got := logBearing(t, "north: magnetic", "declination: 3.2E in 2015, 0.2E a year", "date: 2026-01-01", "090 100 m")
			require.InDelta(t, 95.4, got, 0.01)
		}},
	},
	"N02": {
		{has: "R=0.985", run: meanOf(0)},
		{has: "001.0", run: meanOf(1)},
		{has: "006.79", run: meanOf(6.79)},
		{has: `"lengths"`, run: func(t *testing.T, v vector) {
			in := v.part("input")
			b, m := in.numbers("bearings"), in.numbers("lengths")
			require.InDelta(t, 354.96, logBearing(t, "north: true", fmt.Sprintf("%g %g m", b[0], m[0]), fmt.Sprintf("%g %g m", b[1], m[1])), 0.01)
		}},
		{has: "undefined", run: func(t *testing.T, _ vector) {
			inNewFolder(t, map[string]string{"walk.log": "north: true\n090,270 100 m\n"})
			fault(t, cli.ExitInput, []string{"opposite"}, "reckon", "walk.log")
		}},
		{has: "359.96", run: func(t *testing.T, v vector) { require.Equal(t, "000.0", degrees(v.number("format"))) }},
		{has: `"input":360`, run: func(t *testing.T, _ vector) {
			require.InDelta(t, 0, logBearing(t, "north: true", "360 100 m"), 0.01)
		}},
		{has: `"input":-10`, run: func(t *testing.T, v vector) { require.Equal(t, 350.0, earth.Wrap360(v.number("input"))) }},
		{has: "difference 350 to 010", run: func(t *testing.T, _ vector) { require.Equal(t, 20.0, earth.Wrap180(10-350)) }},
		{has: "back bearing of 010", run: func(t *testing.T, _ vector) {
			require.InDelta(t, 190, logBearing(t, "north: true", "back 010 100 m"), 0.01)
			require.InDelta(t, 190, get(t, "fix", "46, 7", "--bearing", "010T").number("bearing.back_true_deg"), 0.01)
		}},
	},
	"N04": {
		{has: "70.00896362", run: func(t *testing.T, v vector) {
			in := v.part("input")
			c, r := in.numbers("centre"), in.number("radius_m")
			for _, side := range []struct {
				bearing  string
				lat, lon float64
			}{{"000T", 70.00896362, 25}, {"090T", 69.99999808, 25.02618724}, {"180T", 69.99103637, 25}, {"270T", 69.99999808, 24.97381276}} {
				a := get(t, "fix", "--from", pair(c[1], c[0]), "--bearing", side.bearing, "--distance", number(r)+"m")
				near(t, side.lat, side.lon, 1, a)
			}
			require.InEpsilon(t, 3.1416e6, get(t, "fix", pair(c[1], c[0]), "--circle", number(r)+"m").number("circle.area_m2"), 1e-3)
		}},
		{has: "r/111320", by: "geo/earth TestCircles"},
		{has: "(60,10)-(60,11)", run: func(t *testing.T, _ vector) {
			require.InDelta(t, 55799.47, get(t, "fix", "--from", "60, 10", "--to", "60, 11").number("distance_m"), 0.1)
		}},
		{has: "(0,179.95)", run: func(t *testing.T, _ vector) {
			require.InDelta(t, 11131.95, get(t, "fix", "--from", "0, 179.95", "--to", "0, -179.95").number("distance_m"), 0.1)
		}},
	},
}

// declinationText reads the vector's text as a log's declination.
func declinationText(t *testing.T, v vector) {
	got := logBearing(t, "north: magnetic", "declination: "+v.part("input").text("text"), "090 100 m")
	require.InDelta(t, v.number("want"), earth.Wrap180(got-90), 0.5)
}
