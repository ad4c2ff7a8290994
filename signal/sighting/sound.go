package sighting

import (
	"fmt"
	"math"

	"farhail/signal/air"
	"farhail/signal/source"
)

// ClearlyOverDB is how far a sound must stand over the noise in its third
// octave to be noticed by somebody who does not wait for it [dB] (ISO 7731:2003,
// danger signals: 13 dB over the masked threshold in one third-octave band;
// from memory).
const ClearlyOverDB = 13

// QuietestDB is the least noise that a hearing may be asked for [dB]: under
// it the ear's own threshold counts, which is not modelled.
const QuietestDB = 10

// A Hearing is one sound and one listener. All but FoliageM is required.
type Hearing struct {
	Source   source.Whistle
	Air      air.Sound
	NoiseDB  float64 // in the third-octave band of the sound, at the listener [dB]
	FoliageM float64 // how much of the way is through dense foliage [m]; 0: none
}

// Check returns an error that names the first impossible value.
func (h Hearing) Check() error {
	if err := h.Source.Check(); err != nil {
		return err
	}
	if err := h.Air.Check(); err != nil {
		return err
	}
	switch {
	case !(h.NoiseDB >= QuietestDB && h.NoiseDB <= 150):
		return fmt.Errorf("hearing: noise of %g dB is outside %d to 150", h.NoiseDB, QuietestDB)
	case !(h.FoliageM >= 0) || math.IsInf(h.FoliageM, 1):
		return fmt.Errorf("hearing: foliage of %g m is not a number from 0 up", h.FoliageM)
	}
	return nil
}

// LevelDB returns the level of the sound at a distance [m] in still air over
// open ground [dB]: spreading as a sphere, 20 lg d, absorption by the air (ISO
// 9613-1), and dense foliage (ISO 9613-2, table A.1).
func (h Hearing) LevelDB(distM float64) float64 {
	return h.Source.LevelDB - 20*math.Log10(distM) - h.Air.AbsorptionDBPerM(h.Source.ToneHz)*distM - h.foliageDB(distM)
}

func (h Hearing) foliageDB(distM float64) float64 {
	return air.FoliageDB(h.Source.ToneHz, min(distM, h.FoliageM))
}

// A Heard is the answer to a [Hearing].
type Heard struct {
	NoticedM, PerceptibleM         float64 // [m]
	NoticedLimit, PerceptibleLimit Limit   // Noise, Air or Vegetation: what takes most of the next part of the way
	AbsorptionDBPerM               float64
	Factors                        []source.Factor
	Notes                          []string
}

// Hear returns how far a sound is heard: perceptible where its level is that
// of the noise in its third-octave band, for somebody who listens for it;
// noticed where it is [ClearlyOverDB] higher.
//
// Accuracy: in still air or with the wind, near hard ground or water, within a
// factor 2. Against the wind, and on sunny days over open ground, sound is bent
// upward and a shadow begins at some 100 to 300 m (from memory); on clear nights it may
// carry several times as far. None of this is modelled, nor are ground,
// hills, and the listener's age, with which high tones go first. So there is no
// chance of hearing, no width of a sweep, and no ring for a map.
func Hear(h Hearing) (Heard, error) {
	if err := h.Check(); err != nil {
		return Heard{}, err
	}
	absorption := h.Air.AbsorptionDBPerM(h.Source.ToneHz)
	out := Heard{AbsorptionDBPerM: absorption, Factors: h.Source.Factors(), Notes: []string{
		"sound is reckoned in still air: against the wind and on sunny days it may end at 100 to 300 m, on a calm clear night it may carry several times as far",
		"ground, hills and the listener's hearing are not counted: with age high tones go first; the direction of a sound in the hills deceives",
	}}
	out.Factors = append(out.Factors,
		factor("noise in the third octave", h.NoiseDB, "dB", "at the listener; forests have 25 to 35 dB(A), wind in trees 40 to 60 dB(A) in all bands together (from memory)"),
		factor("absorption by the air", 1000*absorption, "dB/km", fmt.Sprintf("ISO 9613-1:1993, %g C, %g %% humidity, %.4g kPa", h.Air.TemperatureC, 100*h.Air.Humidity, h.Air.PressurePa/1000)),
		factor("spreading", 20, "dB per tenfold distance", "as a sphere"),
		factor("noticed over the noise", ClearlyOverDB, "dB", "ISO 7731, from memory"))
	out.PerceptibleM, out.PerceptibleLimit = h.reach(h.NoiseDB)
	out.NoticedM, out.NoticedLimit = h.reach(h.NoiseDB + ClearlyOverDB)
	if h.FoliageM > 0 {
		out.Factors = append(out.Factors, factor("dense foliage on the way", min(h.FoliageM, air.FoliageMostM), "m", "ISO 9613-2:1996, table A.1; no more than 200 m of it count"))
	}
	return out, nil
}

// reach returns the distance at which the level falls to the given one, and
// what takes most of the next part in a thousand of the way.
func (h Hearing) reach(levelDB float64) (float64, Limit) {
	// Spreading alone leads no nearer than all three together.
	most := math.Pow(10, (h.Source.LevelDB-levelDB)/20)
	distM := farthest(most, func(d float64) bool { return h.LevelDB(d) >= levelDB })
	const step = 1.001
	spreading := 20 * math.Log10(step)
	absorbed := h.Air.AbsorptionDBPerM(h.Source.ToneHz) * distM * (step - 1)
	foliage := h.foliageDB(distM*step) - h.foliageDB(distM)
	switch {
	case foliage > spreading && foliage > absorbed:
		return distM, Vegetation
	case absorbed > spreading:
		return distM, Air
	}
	return distM, Noise
}
