package source

import (
	"fmt"
	"math"
)

// Values taken where nobody states one.
const (
	// DefaultToneHz is a common pitch of small whistles, which lie at 2 to 4 kHz
	// (from memory; no standard was found).
	DefaultToneHz = 3150
	// ShoutDB is a shout at 1 m [dB], all frequencies together: about 88 dB in
	// the trials of Finlay, "Voice calling detection distance", Journal of Search
	// and Rescue (doi 10.61618/SSOV3472), by a man and by a woman.
	ShoutDB = 88
	// ShoutHz is the middle of the strongest third octave of a shout [Hz], and ShoutBandDB
	// what that band has over all of it [dB]: ANSI S3.5-1997 gives a shout of 82.30
	// dB a spectrum of 51.31 dB/Hz at 1 kHz, 74.96 dB in its 231.6 Hz.
	ShoutHz     = 1000
	ShoutBandDB = 74.96 - 82.30
)

// A Whistle is a sound that is all in one third-octave band. It is heard, not
// seen, and so is not a [Source]: signal/sighting has Hear for it.
type Whistle struct {
	LevelDB float64 // of its band, at 1 m [dB re 20 uPa]
	ToneHz  float64 // [Hz], 50 to 10000
	Shouted bool    // by a voice
}

// Shout returns the part of a shout of the given level [dB at 1 m, all
// frequencies together] that carries farthest: its third octave at 1 kHz.
func Shout(levelDB float64) Whistle {
	return Whistle{LevelDB: levelDB + ShoutBandDB, ToneHz: ShoutHz, Shouted: true}
}

// Kind returns [KindWhistle] or [KindShout].
func (w Whistle) Kind() Kind {
	if w.Shouted {
		return KindShout
	}
	return KindWhistle
}

// String describes the sound.
func (w Whistle) String() string {
	if w.Shouted {
		return fmt.Sprintf("shout of %g dB at 1 m", round(w.LevelDB-ShoutBandDB))
	}
	return fmt.Sprintf("whistle of %g dB at 1 m, %g Hz", round(w.LevelDB), round(w.ToneHz))
}

// Check returns an error that names the first impossible value.
func (w Whistle) Check() error {
	const loudest = 194 // dB, where the troughs of a sound wave are empty of air
	switch {
	case !(w.LevelDB >= 0 && w.LevelDB <= loudest):
		return fmt.Errorf("whistle: level %g dB is outside 0 to %d", w.LevelDB, loudest)
	case !(w.ToneHz >= 50 && w.ToneHz <= 10_000) || math.IsNaN(w.ToneHz):
		return fmt.Errorf("whistle: tone %g Hz is outside 50 to 10000", w.ToneHz)
	}
	return nil
}

// Factors lists what the sound rests on.
func (w Whistle) Factors() []Factor {
	if w.Shouted {
		return []Factor{
			{Name: "level at 1 m", Value: w.LevelDB - ShoutBandDB, Unit: "dB", Source: "about 88 dB in trials with callers (Finlay, Journal of Search and Rescue) where none is stated"},
			{Name: "strongest third octave over all", Value: ShoutBandDB, Unit: "dB", Source: "1 kHz, spectrum of a shout in ANSI S3.5-1997"},
		}
	}
	return []Factor{
		{Name: "level at 1 m", Value: w.LevelDB, Unit: "dB", Source: "as given"},
		{Name: "tone", Value: w.ToneHz, Unit: "Hz", Source: "small whistles have 2 to 4 kHz (from memory)"},
	}
}
