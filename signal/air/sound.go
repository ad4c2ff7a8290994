package air

import (
	"fmt"
	"math"
)

// Sound is the air as a sound meets it. The zero value is not usable; begin
// with [DefaultSound].
type Sound struct {
	TemperatureC float64 // [C], -20 to 50
	Humidity     float64 // relative, 0.05 to 1
	PressurePa   float64 // [Pa], 50 to 110 kPa
}

// DefaultSound is mild, fairly humid air at sea level: 10 C and 70 %, a column
// of ISO 9613-2's table 2. Own choice.
func DefaultSound() Sound { return Sound{TemperatureC: 10, Humidity: 0.7, PressurePa: referencePa} }

const (
	referencePa  = 101325 // p_r
	referenceK   = 293.15 // T_0
	triplePointK = 273.16 // T_01
	zeroC        = 273.15 // [K]
	nepersToDB   = 8.686  // dB in a neper, 20 lg e, rounded as the standard has it
)

// Check returns an error that names the first value outside of the range of
// ISO 9613-1's tables, pressures of mountains added.
func (s Sound) Check() error {
	switch {
	case !(s.TemperatureC >= -20 && s.TemperatureC <= 50):
		return fmt.Errorf("sound: temperature %g C is outside -20 to 50", s.TemperatureC)
	case !(s.Humidity >= 0.05 && s.Humidity <= 1):
		return fmt.Errorf("sound: humidity %g is outside 0.05 to 1", s.Humidity)
	case !(s.PressurePa >= 50_000 && s.PressurePa <= 110_000):
		return fmt.Errorf("sound: pressure %g Pa is outside 50000 to 110000", s.PressurePa)
	}
	return nil
}

// AbsorptionDBPerM returns how much the air takes of a pure tone [dB/m] of the
// given frequency [Hz], 50 to 10000: ISO 9613-1:1993, equations (3) to (5) with
// annex B for the water vapour, stated there to be good to 10 % from 0.05 to 5
// % of vapour by volume. Of a whole band, the value of its middle. NaN outside
// of [Sound.Check].
func (s Sound) AbsorptionDBPerM(toneHz float64) float64 {
	if s.Check() != nil {
		return math.NaN()
	}
	var (
		kelvin = s.TemperatureC + zeroC
		warmth = kelvin / referenceK        // T/T_0
		press  = s.PressurePa / referencePa // p_a/p_r
		f2     = toneHz * toneHz
	)
	saturation := math.Pow(10, -6.8346*math.Pow(triplePointK/kelvin, 1.261)+4.6151)              // (B.2), (B.3): p_sat/p_r
	h := 100 * s.Humidity * saturation / press                                                   // (B.1) [%]
	frO := press * (24 + 4.04e4*h*(0.02+h)/(0.391+h))                                            // (3)
	frN := press / math.Sqrt(warmth) * (9 + 280*h*math.Exp(-4.170*(math.Pow(warmth, -1.0/3)-1))) // (4)
	return nepersToDB * f2 * (1.84e-11/press*math.Sqrt(warmth) +                                 // (5)
		math.Pow(warmth, -2.5)*(0.01275*math.Exp(-2239.1/kelvin)/(frO+f2/frO)+
			0.1068*math.Exp(-3352.0/kelvin)/(frN+f2/frN)))
}

// foliage is ISO 9613-2:1996 table A.1, from the octave of 63 Hz up: for 10 to
// 20 m of dense foliage in all, and for each metre of 20 to 200 m.
var (
	foliageDB     = []float64{0, 0, 1, 1, 1, 1, 2, 3}
	foliageDBPerM = []float64{0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.09, 0.12}
)

// FoliageMostM is how much dense foliage counts at most [m] (ISO 9613-2, A.1).
const FoliageMostM = 200

// FoliageDB returns what dense foliage takes of a sound [dB] whose way leads
// through so much of it [m] that nothing can be seen through: ISO 9613-2:1996,
// table A.1, in the octave of the tone [Hz], the outer ones beyond 63 Hz and
// 8 kHz. Nothing below 10 m, no more than [FoliageMostM]; by the table's own
// step 20 m may take up to 0.6 dB less than 19 m.
func FoliageDB(toneHz, distM float64) float64 {
	octave := int(math.Round(math.Log2(toneHz / 62.5)))
	octave = min(max(octave, 0), len(foliageDB)-1)
	switch {
	case !(distM >= 10):
		return 0
	case distM < 20:
		return foliageDB[octave]
	}
	return foliageDBPerM[octave] * min(distM, FoliageMostM)
}
