package job

import (
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// ShoutDB is a shout at 1 m [dB], all frequencies together.
const ShoutDB = source.ShoutDB

// A SoundRequest is one sound and one listener.
type SoundRequest struct {
	LevelDB      float64 // at 1 m
	ToneHz       float64 // of a whistle
	Shout        bool
	TemperatureC float64
	Humidity     float64
	NoiseDB      float64 // in the third octave of the sound, at the listener
	FoliageM     float64 // dense foliage on the way; 0: none
	ToM          float64 // NaN: not given
}

// SightSound is what a result holds of a sound.
type SightSound struct {
	AbsorptionDBPerKM cli.Num `json:"absorption_db_per_km"`
	LevelDB           cli.Num `json:"level_db"` // at ToM; null without it
	NoiseDB           cli.Num `json:"noise_db"`
}

// Hear judges a sound. It has neither chance nor sweep width, and is never drawn
// as a ring.
func Hear(r SoundRequest) (*SightResult, error) {
	out, err := r.judge()
	if err == nil {
		out.Help = r.help(out)
	}
	return out, err
}

// judge finds the distances.
func (r SoundRequest) judge() (*SightResult, error) {
	w := source.Whistle{LevelDB: r.LevelDB, ToneHz: r.ToneHz}
	if r.Shout {
		w = source.Shout(r.LevelDB)
	}
	a := air.DefaultSound()
	a.TemperatureC, a.Humidity = r.TemperatureC, r.Humidity
	h := sighting.Hearing{Source: w, Air: a, NoiseDB: r.NoiseDB, FoliageM: r.FoliageM}
	found, err := sighting.Hear(h)
	if err != nil {
		return nil, err
	}
	nan := math.NaN()
	out := &SightResult{
		Signal: w.String(), Kind: string(w.Kind()),
		NoticedM: cli.Len(found.NoticedM), PerceptibleM: cli.Len(found.PerceptibleM),
		Limit: string(found.PerceptibleLimit), LimitNoticed: string(found.NoticedLimit),
		LuminousM: cli.Len(nan), LuminousNoticedM: cli.Len(nan), GeographicM: cli.Len(nan), EffectiveCD: cli.Num(nan),
		ThresholdLx: cli.Num(nan), ThresholdContrast: cli.Num(nan), MarginLog10: cli.Num(nan), SweepWidthM: cli.Len(nan), ClearLineChance: cli.Num(nan),
		Low: unknownBand, Mid: unknownBand, High: unknownBand,
		SightSound: &SightSound{AbsorptionDBPerKM: cli.Num(1000 * found.AbsorptionDBPerM), LevelDB: cli.Num(nan), NoiseDB: cli.Num(r.NoiseDB)},
		Inputs: SightInputs{
			VisibilityM: cli.Len(nan), BackgroundCDM2: cli.Num(nan), SunElevationDeg: cli.Num(nan), MoonElevationDeg: cli.Num(nan),
			MoonLitFraction: cli.Num(nan), GroundLx: cli.Num(nan), Refraction: cli.Num(nan), EarthRadiusM: cli.Len(nan),
			EyeHeightM: cli.Len(nan), SignalHeightM: cli.Len(nan), LitForS: cli.Num(nan),
			Who: SightWho{Observer: ObserverEar, AltitudeM: cli.Len(nan), HazeHeightM: cli.Len(nan), CloudBaseM: cli.Len(nan), AgeYears: cli.Num(nan), VeilCDM2: cli.Num(nan)},
			Looking: SightLooking{SectorWidthDeg: cli.Num(nan), SectorHeightDeg: cli.Num(nan), LookS: cli.Num(nan), Attention: cli.Num(nan),
				SpeedMS: cli.Num(nan), ClearLineM: cli.Len(nan)},
			Factors: []SightFactor{},
		},
		Cautions: found.Notes,
	}
	for _, f := range factors(found.Factors) {
		out.Inputs.Factors = append(out.Inputs.Factors, SightFactor{"sound", f})
	}
	if !math.IsNaN(r.ToM) {
		out.LevelDB = cli.Num(h.LevelDB(r.ToM))
	}
	out.Why = soundWhy(sighting.Limit(out.LimitNoticed))
	return out, nil
}

func soundWhy(l sighting.Limit) string {
	switch l {
	case sighting.Air:
		return "the air ends it: it takes more than distance does, and a lower tone would carry farther."
	case sighting.Vegetation:
		return "foliage ends it: from open ground it would carry farther."
	}
	return "the noise ends it: a quieter place or a louder sound would help most."
}

// hear judges a sound of the plan in the plan's air.
func (r *run) hear(s plan.Signal) (*SightResult, error) {
	return Hear(SoundRequest{
		LevelDB: s.SoundDB, Shout: s.Kind == plan.Shout, ToneHz: s.ToneHz,
		TemperatureC: r.plan.Weather.TemperatureC, Humidity: r.plan.Weather.Humidity,
		NoiseDB: s.NoiseDB, FoliageM: s.FoliageM, ToM: math.NaN(),
	})
}
