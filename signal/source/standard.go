package source

import "time"

// A Standard is a kind of light that a rule or a standard describes, without a
// maker: the least that a light of that kind gives.
type Standard struct {
	Name   string
	Title  string
	Light  Light   // IntensityCD 0: the standard states none
	Figure string  // the figures in words
	FromM  float64 // height that it shows from [m]; 0: not stated
	Source string
	Read   string // how the figures were come by
	// NotSighted says why no sighting distance comes of it; "" when one does.
	NotSighted string
}

// read tells how far the figures of a standard can be trusted.
const (
	readPage   = "read in public pages that state the rule, 2026-11"
	readSecond = "second-hand"
)

// Standards lists the catalogue. Intensities are least values, over the
// directions that the rule names; a flashing light whose rule gives an
// effective intensity is taken as steady light of that intensity.
var Standards = []Standard{
	{
		Name: "lsa-lifejacket-light", Title: "lifejacket light",
		Light:  Light{IntensityCD: 0.75, Colour: WhiteLight, RatedS: hours(8), Battery: Battery{Fade: Constant}},
		Figure: "0.75 cd over the upper half space for 8 h, white; flashing 50 to 70 a minute with that effective intensity",
		Source: "LSA Code 2.2.3", Read: readPage,
	},
	{
		Name: "lsa-lifebuoy-light", Title: "self-igniting light of a lifebuoy",
		Light:  Light{IntensityCD: 2, Colour: WhiteLight, RatedS: hours(2), Battery: Battery{Fade: Constant}},
		Figure: "2 cd over the upper half space for 2 h; flashing 50 to 70 a minute with that effective intensity",
		Source: "LSA Code 2.1.2; UK SI 1992/2359 schedule 9", Read: readPage,
	},
	{
		Name: "lsa-liferaft-light", Title: "outside light of a liferaft or lifeboat",
		Light:  Light{IntensityCD: 4.3, Colour: WhiteLight, RatedS: hours(12), Battery: Battery{Fade: Constant}},
		Figure: "4.3 cd for 12 h",
		Source: "LSA Code 4.1.3; UK SI 1992/2359 schedules 1 and 4", Read: "12 h " + readPage + "; 4.3 cd from memory",
	},
	{
		Name: "lsa-hand-flare", Title: "hand flare",
		Light:  Light{IntensityCD: 15000, Colour: RedLight, RatedS: 60, Battery: Battery{Fade: Constant}},
		Figure: "15 000 cd on average for 1 min, red",
		Source: "LSA Code 3.2", Read: readPage,
	},
	{
		Name: "lsa-parachute-flare", Title: "rocket parachute flare",
		Light:  Light{IntensityCD: 30000, Colour: RedLight, RatedS: 40, Battery: Battery{Fade: Constant}},
		FromM:  200,
		Figure: "30 000 cd on average for 40 s, red, from 300 m down at no more than 5 m/s, so that it burns out at 100 m or above; taken at 200 m, the middle of its way",
		Source: "LSA Code 3.1", Read: readPage + "; the middle height is own choice",
	},
	{
		Name: "lsa-buoyant-smoke", Title: "buoyant smoke signal",
		Figure: "even smoke for 3 min, no flame",
		Source: "LSA Code 3.3", Read: readPage,
		NotSighted: "the rule states no rate of smoke",
	},
	colreg("1", 0.9), colreg("2", 4.3), colreg("3", 12), colreg("4", 27), colreg("5", 52), colreg("6", 94),
	{
		Name: "aircraft-anticollision", Title: "anti-collision light of an aircraft",
		Light:  Light{IntensityCD: 400},
		Figure: "400 cd effective near the level, 40 to 100 flashes a minute",
		Source: "14 CFR 25.1401", Read: "flash rate " + readPage + "; intensity " + readSecond,
	},
	{
		Name: "aircraft-wing-light", Title: "wing-tip position light of an aircraft, red or green",
		Light: Light{IntensityCD: 40, Beam: Beam{Table: []BeamPoint{
			{0, 1}, {10, 1}, {10, 0.75}, {20, 0.75}, {20, 0.125}, {110, 0.125},
		}}},
		Figure: "40 cd within 10 deg of dead ahead, 30 cd to 20 deg, 5 cd to 110 deg; the table is taken round the axis, though the rule's is level",
		Source: "14 CFR 29.1391", Read: readPage,
	},
	{
		Name: "aircraft-tail-light", Title: "rear position light of an aircraft",
		Light: Light{IntensityCD: 20, Colour: WhiteLight}, Figure: "20 cd, white",
		Source: "14 CFR 29.1391", Read: readPage,
	},
	{
		Name: "balloon-steady-light", Title: "steady position light of a balloon",
		Light: Light{IntensityCD: 20, Colour: WhiteLight}, Figure: "20 cd, white",
		Source: "14 CFR 31.65", Read: readPage,
	},
	{
		Name: "balloon-flashing-light", Title: "flashing position light of a balloon",
		Light: Light{IntensityCD: 40}, Figure: "40 cd effective",
		Source: "14 CFR 31.65", Read: readPage + "; that it is effective intensity is an assumption",
	},
	obstacle("a", 10, RedLight, "10 cd, red, fixed"),
	obstacle("b", 32, RedLight, "32 cd, red, fixed"),
	obstacle("c", 40, "", "40 cd, flashing 60 to 90 a minute"),
	{
		Name: "led-distress-light", Title: "electronic distress light",
		Light:  Light{IntensityCD: 50},
		Figure: "50 cd effective, cyan and red-orange by turns, SOS at 4 Hz",
		Source: "light tested by the US Coast Guard Research and Development Center, project 11011, 2019", Read: readPage,
	},
	fl1("50", 50), fl1("100", 100), fl1("200", 200),
}

func hours(h float64) float64 { return h * time.Hour.Seconds() }

func colreg(rangeNM string, cd float64) Standard {
	return Standard{
		Name: "colreg-" + rangeNM + "nm", Title: "navigation light of a range of " + rangeNM + " NM",
		Light:  Light{IntensityCD: cd},
		Figure: "the least intensity, at 2e-7 lx and 0.8 of the light left after each nautical mile",
		Source: "COLREG 72 Annex I section 8, 33 CFR 84.15", Read: readPage,
	}
}

func obstacle(kind string, cd float64, c Colour, figure string) Standard {
	return Standard{
		Name: "obstacle-low-" + kind, Title: "low-intensity obstacle light, type " + kind,
		Light: Light{IntensityCD: cd, Colour: c}, Figure: figure,
		Source: "ICAO Annex 14 volume I, chapter 6", Read: readSecond,
	}
}

func fl1(name string, distM float64) Standard {
	return Standard{
		Name: "fl1-" + name + "m", Title: "hand or head lamp of a beam distance of " + name + " m",
		Light:  Light{IntensityCD: FromBeamDistance(distM)},
		Figure: "the greatest intensity, that gives 0.25 lx at the beam distance; width and run time are on the package",
		Source: "ANSI/PLATO FL 1", Read: readPage,
	}
}

// FindStandard returns the entry of that name.
func FindStandard(name string) (Standard, bool) {
	for _, s := range Standards {
		if s.Name == name {
			return s, true
		}
	}
	return Standard{}, false
}
