package plan

import "farhail/cmd/internal/cli"

// A Lamp is what else may be known of a light. What is zero or empty is not
// given.
type Lamp struct {
	// Standard is an entry of the catalogue, one of Standards, instead of an
	// intensity; what is stated beside it replaces what it states.
	Standard string

	BeamShape string       // one of BeamShapes
	Spill     float64      // of a smooth beam, as a share of its axis
	BeamTable [][2]float64 // instead of an intensity: [deg] off the axis, [cd]

	Pulses         int // in one flash
	GapS           float64
	PulseShape     string  // one of PulseShapes
	FlashLaw       string  // one of FlashLaws
	FlashConstantS float64 // of the law

	Colour string // one of LightColours

	Fade   string       // one of BatteryCurves
	Output [][2]float64 // instead of a rated time and Fade: [s] lit, share of the first output
	Cold   float64      // share of the rated time that the cold leaves
}

// The words of lights, as signal/source and signal/sighting have them: a plan is
// read without these.
var (
	Standards = []string{
		"lsa-lifejacket-light", "lsa-lifebuoy-light", "lsa-liferaft-light", "lsa-hand-flare", ParachuteFlare,
		"colreg-1nm", "colreg-2nm", "colreg-3nm", "colreg-4nm", "colreg-5nm", "colreg-6nm",
		"aircraft-anticollision", "aircraft-wing-light", "aircraft-tail-light", "balloon-steady-light", "balloon-flashing-light",
		"obstacle-low-a", "obstacle-low-b", "obstacle-low-c", "led-distress-light", "fl1-50m", "fl1-100m", "fl1-200m",
	}
	BeamShapes    = []string{"even", "smooth"}
	PulseShapes   = []string{"rectangular", "triangular"}
	FlashLaws     = []string{"blondel-rey-douglas-1957", "blondel-rey-1911", "schmidt-clausen-1971", "modified-allard-2008"}
	LightColours  = []string{"white", "cool-white", "red", "amber", "green", "cyan", "blue", "sodium"}
	BatteryCurves = []string{"constant", "drop", "falling"}
	LightsAbout   = []string{"none", "some", "many"}
)

// ParachuteFlare is the one standard light that burns far above the ground.
const ParachuteFlare = "lsa-parachute-flare"

// parachuteFlareM is the middle of its way down [m], from 300 m to 100 m.
const parachuteFlareM = 200

// UsualHeightM is how high above the ground a signal shows where nobody says [m].
func UsualHeightM(kind, standard string) float64 {
	switch {
	case kind == Symbol:
		return 0
	case standard == ParachuteFlare:
		return parachuteFlareM
	}
	return DefaultSignalHeightM
}

// Dimensions of a light that the plan shares with the command line.
var (
	SpillShare = cli.Number.Positive().AtMost(0.49)
	ColdShare  = cli.Number.Positive().AtMost(1)
	BeamAngle  = cli.Direction.Between(0, 180)
	LampOutput = cli.Number.Between(0, 1)
)

// MostPulses is how many pulses a flash may have.
const MostPulses = 1000

// lampKeys are the keys of lights beside the plain ones.
func (r *reader) lampKeys(s *Signal) []key {
	return []key{
		{"standard", r.word(&s.Standard, Standards...), false},
		{"beam_shape", r.word(&s.BeamShape, BeamShapes...), false},
		{"spill", r.quantity(&s.Spill, SpillShare), false},
		{"beam_table", r.parsed("table", func(text string) (err error) {
			s.BeamTable, err = cli.ParseTable(text, BeamAngle, cli.Intensity.NotNegative())
			return err
		}), false},
		{"pulses", r.whole(&s.Pulses, 1, MostPulses), false},
		{"gap", r.quantity(&s.GapS, cli.Duration.Positive()), false},
		{"pulse_shape", r.word(&s.PulseShape, PulseShapes...), false},
		{"flash_law", r.word(&s.FlashLaw, FlashLaws...), false},
		{"flash_constant", r.quantity(&s.FlashConstantS, cli.Duration.Positive()), false},
		{"colour", r.word(&s.Colour, LightColours...), false},
		{"battery_curve", r.parsed("word or table", func(text string) (err error) {
			s.Fade, s.Output, err = cli.ParseWordOrTable(text, BatteryCurves, cli.Duration.NotNegative(), LampOutput)
			return err
		}), false},
		{"cold", r.quantity(&s.Cold, ColdShare), false},
	}
}

// lampKeyNames are the keys that only lights have, beside the plain ones.
func lampKeyNames() []string {
	var names []string
	for _, k := range (&reader{}).lampKeys(&Signal{}) {
		if k.name != "standard" && k.name != "beam_table" { // which make it a light
			names = append(names, k.name)
		}
	}
	return names
}

// lamp checks what the keys of a light say together.
func (r *reader) lamp(b block, s *Signal) {
	r.beam(b, s)
	for _, k := range []string{"pulses", "gap", "pulse_shape", "flash_law", "flash_constant"} {
		if b.has(k) && !b.has("flash") {
			r.at(b, k, k+" without its flash", "add flash: 0.1 s and every: 1 s")
		}
	}
	if b.has("standard") && b.has("flash") {
		r.at(b, "flash", "a flash beside a standard, whose intensity is what its flashes are worth", "remove one of them")
	}
	if (s.Pulses > 1) != b.has("gap") {
		at, other := "pulses", "gap"
		if b.has("gap") {
			at, other = other, at
		}
		r.at(b, at, at+" without its "+other, "write both, like pulses: 3 and gap: 0.2 s")
	}
	if b.has("battery_curve") && len(s.Output) > 0 {
		if !Rising(s.Output) || !(s.Output[len(s.Output)-1][0] > 0) {
			r.at(b, "battery_curve", "a table of the output that does not rise from 0 h", "begin when the lamp is lit: 0h:100%,6h:10%")
		}
		if b.has("rated_time") {
			r.at(b, "rated_time", "a rated time beside a table of the output, which has its own end", "remove one of them")
		}
	}
	for _, k := range []string{"battery_curve", "cold"} {
		if b.has(k) && !s.Limited() {
			r.at(b, k, k+" without its rated_time", "add rated_time: 6 h, how long the lamp burns")
		}
	}
}

// Limited reports whether the light burns for a time that is given, or that its
// standard may give.
func (s Signal) Limited() bool { return s.RatedS > 0 || s.Standard != "" || len(s.Output) > 0 }

// flashSpanS is how long one flash lasts with all its pulses [s].
func (s Signal) flashSpanS() float64 {
	n := float64(max(s.Pulses, 1))
	return n*s.FlashS + (n-1)*s.GapS
}

// Rising reports whether the first column of a table rises from 0, steps allowed.
func Rising(table [][2]float64) bool {
	for i, row := range table {
		if i == 0 && row[0] != 0 || i > 0 && row[0] < table[i-1][0] {
			return false
		}
	}
	return true
}

// Lit reports whether a table of a beam has any light in it.
func Lit(table [][2]float64) bool {
	for _, row := range table {
		if row[1] > 0 {
			return true
		}
	}
	return false
}

// MostSmoothDeg is the widest smooth beam between the directions of half the
// intensity [deg].
const MostSmoothDeg = 180

// beam checks what the keys of a beam say together.
func (r *reader) beam(b block, s *Signal) {
	if b.has("spill") && s.BeamShape != "smooth" {
		r.at(b, "spill", "spill without its smooth beam", "add beam_shape: smooth")
	}
	if b.has("beam_shape") && !b.has("beam") {
		r.at(b, "beam_shape", "a shape without its beam", "add beam: 20 deg")
	}
	if s.BeamShape == "smooth" && s.BeamDeg > MostSmoothDeg {
		r.at(b, "beam", "a smooth beam wider than 180 deg", "give the angle between the directions of half the intensity")
	}
	if b.has("beam_table") && b.has("beam") {
		r.at(b, "beam_table", "a table of the beam beside its width", "remove one of them")
	}
	if b.has("beam_table") && len(s.BeamTable) > 0 && !(Rising(s.BeamTable) && Lit(s.BeamTable)) {
		r.at(b, "beam_table", "a table of the beam that does not rise from 0 deg, or is dark", "begin on the axis: 0deg:500cd,20deg:100cd")
	}
}
