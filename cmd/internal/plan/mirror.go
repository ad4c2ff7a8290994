package plan

import (
	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// Kinds of signals that need the sun, or are heard.
const (
	Mirror  = "mirror"
	Whistle = "whistle"
	Shout   = "shout"
)

// A Glass is what a plan says of a mirror.
type Glass struct {
	MirrorWidthM, MirrorHeightM float64
	MirrorReflectivity          float64 // 0: the usual
	MirrorSweepDegS             float64 // 0: the spot is held on the target
	SecondMirror                bool
	TowardAzDeg, TowardElDeg    float64 // NaN: along the level, square to the sun
}

// A Sound is what a plan says of a whistle or a shout.
type Sound struct {
	SoundDB  float64 // at 1 m
	ToneHz   float64 // of a whistle
	NoiseDB  float64 // at the listener, in the third octave of the sound
	FoliageM float64 // dense foliage on its way
}

// Heard reports whether the signal is heard and not seen.
func (s Signal) Heard() bool { return s.Kind == Whistle || s.Kind == Shout }

// Dimensions that the plan shares with the command line.
var (
	MirrorShare  = cli.Number.Positive().AtMost(1)
	WhistleLevel = cli.SoundLevel.Between(0, 194)
	ToneRange    = cli.Frequency.Between(50, 10_000)
	NoiseLevel   = cli.SoundLevel.Between(10, 150)
	SoundAir     = cli.Temperature.Between(-20, 50)
	SoundDamp    = cli.Number.Between(0.05, 1)
)

// Defaults of sounds.
const (
	DefaultTemperatureC = 10   // own choice: mild
	DefaultHumidity     = 0.7  // own choice: a column of ISO 9613-2, table 2
	DefaultToneHz       = 3150 // small whistles have 2 to 4 kHz (from memory)
	DefaultNoiseDB      = 35   // own choice: a quiet forest
)

// aim reads a direction in the sky.
func (r *reader) aim(azimuthDeg, elevationDeg *float64) func(ast.Node) {
	return r.parsed("direction", func(text string) error {
		a, e, err := cli.ParseAim(text)
		if err == nil {
			*azimuthDeg, *elevationDeg = a, e
		}
		return err
	})
}
