package sky

import "math"

// Cloud is how much of the sky clouds cover.
type Cloud string

// The kinds of sky. In eighths of the sky: clear up to 4, broken 5 to 7,
// overcast 8.
const (
	Clear    Cloud = "clear"
	Broken   Cloud = "broken"
	Overcast Cloud = "overcast"
)

// Clouds lists the kinds of sky, the usual first.
var Clouds = []Cloud{Clear, Broken, Overcast}

// A cover is what a kind of sky does to light.
type cover struct {
	share   float64 // of sun and moon that reaches the ground
	nightLx float64 // what is left without both, away from lamps [lx]
}

// covers are own choice within what is published. Circular 171 divides the
// light by 1 for less than 70 % of cloud, 2 for thin, 3 for average and 10 for
// dark stratus cloud, "rare" (as its transcriptions give it). Kasten and
// Czeplak, Solar Energy 24 (1980) 177-189, have 0.72 of the sun's heat left at
// 6 eighths and 0.25 at 8 (from memory); lists of daylight have 10 to 25 of
// 110 klx on an overcast noon. Real cloud spreads by a factor 2 either way.
//
// By night the ground has 2e-4 lx from the stars alone and 2e-3 with the
// airglow of a clear sky, of which the brighter is taken, as in lists of
// ordinary nights (RCA Electro-Optics Handbook, 1974; from memory), and 1e-4
// lx under an overcast sky, of the same lists. A town's lamps make a cloudy
// night brighter instead.
var covers = map[Cloud]cover{
	Clear:    {1, 2e-3},
	Broken:   {0.5, 1e-3},
	Overcast: {0.2, 1e-4},
}

// A Light is what falls on open level ground [lx]. A kind of sky that is not
// in [Clouds] makes NaN of all parts.
type Light struct {
	SunLx   float64 // the sun with its sky, twilight included
	MoonLx  float64
	NightLx float64 // stars and airglow
}

// TotalLx returns all parts together [lx].
func (l Light) TotalLx() float64 { return l.SunLx + l.MoonLx + l.NightLx }

// LightAt returns the light on open level ground under the sun and moon that
// stand as given, through average air at sea level, with cloud as in the
// covers' own choice: half of sun and moon under a broken sky and a fifth under
// an overcast one, and 2e-3, 1e-3 and 1e-4 lx of night. Within a factor 2 under
// a clear sky and 3 under cloud.
func LightAt(sun Direction, moon Lunar, c Cloud) Light {
	k, ok := covers[c]
	if !ok {
		k = cover{math.NaN(), math.NaN()}
	}
	return Light{
		SunLx:   k.share * SunIlluminance(sun.ElevationDeg),
		MoonLx:  k.share * MoonIlluminance(moon),
		NightLx: k.nightLx,
	}
}

// A row is one row of the table: log10 E = c0 + c1 x + c2 x^2 + c3 x^3
// with x = elevation / 90 degrees, from the given elevation up.
type row struct {
	fromDeg float64
	c       [4]float64
}

// sunRows and moonRows are the tables in Janiczek, P. M. and DeYoung, J. A.,
// Computer Programs for Sun and Moon Illuminance, USNO Circular 171 (1987),
// also in Vallado, Fundamentals of Astrodynamics, table 5-1. Rows meet to 1 %.
var (
	sunRows = []row{
		{20, [4]float64{3.74, 3.97, -4.07, 1.47}},
		{5, [4]float64{3.05, 13.28, -45.98, 64.33}},
		{-0.8, [4]float64{2.88, 22.26, -207.64, 1034.30}},
		{-5, [4]float64{2.88, 21.81, -258.11, -858.36}},
		{-12, [4]float64{2.70, 12.17, -431.69, -1899.83}},
		{-18, [4]float64{13.84, 262.72, 1447.42, 2797.93}},
	}
	moonRows = []row{
		{20, [4]float64{-1.95, 4.06, -4.24, 1.56}},
		{5, [4]float64{-2.58, 12.58, -42.58, 59.06}},
		{-0.8, [4]float64{-2.79, 24.27, -252.95, 1321.29}},
	}
)

// log10 returns the logarithm of the light that a table gives for an elevation
// [deg]: minus infinity below its last row, NaN for NaN.
func log10(table []row, elevationDeg float64) float64 {
	if math.IsNaN(elevationDeg) {
		return math.NaN()
	}
	for _, r := range table {
		if elevationDeg >= r.fromDeg {
			x := elevationDeg / 90
			return r.c[0] + x*(r.c[1]+x*(r.c[2]+x*r.c[3]))
		}
	}
	return math.Inf(-1)
}

// SunIlluminance returns the light of sun and sky on open level ground [lx]
// for the sun's true elevation [deg], under a clear sky and through average
// air at sea level (USNO Circular 171). It is 0 with the sun below -18
// degrees, where the table ends at 6e-4 lx, and NaN for NaN.
func SunIlluminance(elevationDeg float64) float64 {
	return math.Pow(10, log10(sunRows, elevationDeg))
}

// meanParallaxDeg is the moon's parallax that the table is made for [deg].
const meanParallaxDeg = 0.951

// MoonIlluminance returns the light of the moon on open level ground [lx],
// under a clear sky and through average air at sea level: the table for a full
// moon at its mean distance, less 8.68e-3 f + 2.2e-9 f^4 in the logarithm for
// the phase f in degrees, plus 2 log10(parallax / 0.951) for the distance (USNO
// Circular 171, stated good to 0.02 to 0.03 in the logarithm). It is 0 with the
// moon below -0.8 degrees, and NaN for NaN. The Circular leaves out eclipses,
// in which the moon gives hardly any light.
func MoonIlluminance(m Lunar) float64 {
	f := m.PhaseDeg
	return math.Pow(10, log10(moonRows, m.ElevationDeg)-8.68e-3*f-2.2e-9*f*f*f*f+2*math.Log10(m.ParallaxDeg/meanParallaxDeg))
}
