package plan

import (
	"cmp"

	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
)

// The kinds of signals that are things without light of their own, beside flags
// and smoke. A person is one whose posture is given: the key person is the
// private block's.
const (
	Figure    = "person"
	Symbol    = "symbol"
	Reflector = "reflector"
)

// A Thing is what else may be known of a flag, a person, a symbol or a reflector,
// and of several fires. Zero and "" are not given, but for the wind.
type Thing struct {
	Cloth       string // one of Cloths: its luminance factor instead of Reflectance
	Behind      string // one of Grounds: its luminance factor instead of BackgroundReflectance
	Lit         string // one of Lightings
	Hangs       bool   // from a pole or a branch, in ClothWindMS; else the cloth is spread out
	ClothWindMS float64

	Posture  string // of a person, one of Postures
	Clothing string // one of Clothings

	Letter  string  // of a symbol, one of Letters
	LengthM float64 // of a symbol
	StrokeM float64 // width of its lines

	ReflectorM2  float64
	Reflectivity float64 // [cd/(lx m2)]
	HeadlampCD   float64 // of whoever looks

	Fires  int     // alike, 2 or 3
	ApartM float64 // from fire to fire
}

// The words of things, as signal/source and signal/air have them: a plan is read
// without these.
var (
	Cloths    = []string{"fluorescent-yellow", "fluorescent-orange", "fluorescent-red", "white", "yellow", "orange", "red", "green", "blue", "brown", "black"}
	Grounds   = []string{"ground", "sky", "grass", "dry-grass", "forest", "conifer", "soil", "rock", "sand", "water", "snow"}
	Lightings = []string{"alike", "shade", "sun", "overcast"}
	Postures  = []string{"standing", "sitting", "lying"}
	Clothings = []string{"medium", "high", "low"}
	Letters   = []string{"V", "X", "N", "Y", "arrow"}
)

// Defaults of things.
const (
	DefaultSymbolM      = 2.5  // the least that ICAO Annex 12 asks for
	DefaultReflectivity = 330  // least of new tape, EN ISO 20471
	DefaultHeadlampCD   = 1000 // own choice: a headlamp with a beam distance of 63 m
	DefaultApartM       = 25   // FM 21-76, three fires
)

// Dimensions of a thing that the plan shares with the command line.
var (
	// LuminanceFactor is that of cloth, or of what is behind it.
	LuminanceFactor = cli.Number.Positive().AtMost(1.5)
	// ReflectorArea and ReflectivityNumber are of a reflector.
	ReflectorArea      = cli.Surface.Positive().AtMost(10)
	ReflectivityNumber = cli.Number.Positive().AtMost(5000)
)

// LeastFires and MostFires are how many fires can be told apart.
const (
	LeastFires = 2
	MostFires  = 3
)

// thingKeys are the keys of things, and of several fires.
func (r *reader) thingKeys(s *Signal) []key {
	return []key{
		{"cloth", r.word(&s.Cloth, Cloths...), false},
		{"cloth_wind", func(n ast.Node) {
			s.Hangs = true
			r.quantity(&s.ClothWindMS, cli.Speed.NotNegative())(n)
		}, false},
		{"lighting", r.word(&s.Lit, Lightings...), false},
		{"on", r.parsed("number or word", func(text string) error {
			v, word, err := cli.ParseNumberOrWord(text, LuminanceFactor, Grounds)
			if err == nil {
				s.BackgroundReflectance, s.Behind = v, word
			}
			return err
		}), false},
		{"posture", r.word(&s.Posture, Postures...), false},
		{"clothing", r.word(&s.Clothing, Clothings...), false},
		{"symbol", r.word(&s.Letter, Letters...), false},
		{"length", r.quantity(&s.LengthM, cli.Length.Positive()), false},
		{"stroke", r.quantity(&s.StrokeM, cli.Length.Positive()), false},
		{"reflector", r.quantity(&s.ReflectorM2, ReflectorArea), false},
		{"reflectivity", r.quantity(&s.Reflectivity, ReflectivityNumber), false},
		{"headlamp", r.quantity(&s.HeadlampCD, cli.Intensity.Positive()), false},
		{"fires", r.whole(&s.Fires, LeastFires, MostFires), false},
		{"apart", r.quantity(&s.ApartM, cli.Length.Positive()), false},
	}
}

// thing checks what the keys of a thing say together, and fills in what is usual.
func (r *reader) thing(b block, s *Signal) {
	for _, twice := range [][2]string{{"cloth", "reflectance"}, {"clothing", "reflectance"}, {"clothing", "cloth"}} {
		if b.has(twice[0]) && b.has(twice[1]) {
			r.at(b, twice[0], twice[0]+" and "+twice[1]+" both say how bright it is", "keep one of them")
		}
	}
	if b.has("apart") && !b.has("fires") {
		r.at(b, "apart", "a distance between fires without its number", "add fires: 3")
	}
	switch s.Kind {
	case Symbol:
		s.LengthM = cmp.Or(s.LengthM, DefaultSymbolM)
		if s.StrokeM >= s.LengthM/2 {
			r.at(b, "stroke", "lines as wide as half the symbol", "a sixth of the length is usual")
		}
	case Reflector:
		s.Reflectivity = cmp.Or(s.Reflectivity, DefaultReflectivity)
		s.HeadlampCD = cmp.Or(s.HeadlampCD, DefaultHeadlampCD)
	case Fire:
		if s.Fires > 0 {
			s.ApartM = cmp.Or(s.ApartM, DefaultApartM)
		}
	}
}
