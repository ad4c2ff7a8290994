package plan

import (
	"cmp"
	"time"

	"github.com/paulmach/orb"
)

// A Plan is one plan file as read: SI units, positions as longitude and
// latitude, NaN or the zero value where nothing was given and there is no
// default. Every item knows the line it stands on. Paths are joined to the
// folder of the plan file.
type Plan struct {
	File string // name of the plan file, as given to Read
	Hash string // first 8 hexadecimal digits of the SHA-256 of its bytes

	Version   int
	Title     string
	Example   bool // heads every output EXAMPLE, NOT A REAL SEARCH
	AsOf      time.Time
	Zone      *time.Location // nil when not given
	Emergency string         // "" when not given, and never guessed
	Distress  string         // how distress is signalled in the region, one of DistressSignals; "" when not given
	Seed      uint64
	Person    Person

	// WaypointFiles are the GPX files in which positions were looked up.
	WaypointFiles []string

	Terrain     []string
	TerrainLine int
	FillVoids   int      // cells of the largest hole that is filled
	SpotHeights []string // files of measured heights
	Cover       Cover
	Weather     Weather
	Plants      Plants
	Hours       []Hour
	Starts      []Start
	Traveller   Traveller
	Looking     Looking
	Placements  []Placement
	Likelihood  Likelihood
	Searched    []Searched // operations that found nothing
	NotSeen     []NotSeen
	Mobile      float64 // chance that the traveller moves between operations
	Effort      Effort
	Drill       Drill
	Trip        Trip
	Papers      Papers
	Handheld    Handheld
	Sheet       Sheet
	Hazards     []Hazard
}

// Weather is the air of the whole plan.
type Weather struct {
	Line        int
	VisibilityM float64 // meteorological optical range
	Refraction  float64 // coefficient k
	Cloud       string  // clear, broken or overcast
	LightsAbout string  // one of LightsAbout; "": none
	WindMS      float64
	// Of the air that aircraft look through; 0: the usual haze, no cloud cover.
	HazeHeightM, CloudBaseM float64
	// Of the air that sounds go through.
	TemperatureC float64
	Humidity     float64 // relative, a fraction
}

// An Hour is a moment at which signals are judged.
type Hour struct {
	Line int
	Time time.Time
}

// Kinds of starts.
const (
	LastKnown = "last-known" // proven by a clue
	LastSeen  = "last-seen"  // by a witness
	Planning  = "planning"   // chosen
)

// A Start is a position from which the search reckons.
type Start struct {
	Line         int
	Name         string
	Kind         string // LastKnown, LastSeen or Planning
	Point        orb.Point
	SDM          float64 // standard deviation north and east, the error's 95 % radius / 2.4477
	Radius95M    float64
	Time         time.Time
	Source       string // who said so
	SupersededBy string // name of the start that replaces it, "" for none
}

// LogErrorsStated says which errors of a log the plan states: the others may be
// those that the log states of itself.
type LogErrorsStated struct{ SigmaDistance, SigmaBearing, ScaleBias, BearingBias bool }

// A Traveller is the person who may be lost: where they went, how they walk,
// what they carry to be seen by.
type Traveller struct {
	Line            int
	Log             string  // path of a leg log, "" for none
	SigmaDistance   float64 // of one leg, fraction of its length
	SigmaBearingDeg float64 // of one leg
	ScaleBias       float64 // sd of the error common to all lengths, fraction
	BearingBiasDeg  float64 // sd of the error common to all bearings
	LogErrorsStated LogErrorsStated
	Track           string // path of a GPX track, "" for none
	Rule            string // walking rule, by its name in geo/walk
	RuleLine        int
	Trails          []string // paths of lines that are walked by the rule's on-path form
	Barriers        []string // paths of lines and areas that are not crossed
	Handrails       []string // paths of lines that lead people, but are not walked faster
	Walkers         Walkers
	Footing
	Pauses
	After   []float64 // [s] times of the travel rings, increasing
	Signals []Signal
}

// Walkers are the three walkers of the travel rings, as factors of the
// rule's speed.
type Walkers struct{ Slow, Usual, Fast float64 }

// Kinds of signals.
const (
	Light = "light"
	Flag  = "flag"
	Fire  = "fire"
	Smoke = "smoke"
)

// A Signal is something the traveller can be seen by. Its kind says which
// fields have a meaning.
type Signal struct {
	Line    int
	Name    string
	Kind    string  // Light, Flag, Fire or Smoke
	HeightM float64 // above the ground

	// A light has one of these three, a standard or a table of its beam.
	IntensityCD   float64
	FluxLM        float64 // spread evenly over BeamDeg
	BeamDistanceM float64 // ANSI/PLATO FL 1: where the beam gives 0.25 lx
	// A flashing light has both, a steady one neither.
	FlashS  float64
	PeriodS float64
	// NaN means all round, or not said.
	BeamDeg    float64 // full width
	AzimuthDeg float64 // true
	TiltDeg    float64 // up from the horizontal
	// A light with a rated time is out that long after LitFrom.
	RatedS  float64
	LitFrom time.Time

	Lamp
	Thing

	FlagWidthM, FlagHeightM float64
	Reflectance             float64
	BackgroundReflectance   float64 // of what stands behind the flag or the smoke; NaN for smoke: that of the ground

	PowerW float64 // heat released by the fire
	BedM   float64 // width of its fuel bed

	Glass
	Sound

	FuelKGS    float64 // burnt by the fire that makes the smoke
	SmokeYield float64 // smoke from fuel, by mass; NaN: the usual of its column
	Stability  string  // Pasquill class, A to F
	Column     string  // white or dark
}

// Looking is who looks for the traveller.
type Looking struct {
	Line       int
	EyeHeightM float64
	Eyes       Eyes // of all on the ground, where they do not say otherwise
	Parties    []Party
	Lookouts   []Lookout
	Aircraft   []Flight
}

// A Party walks along a track, which has times, or a route.
type Party struct {
	Line   int
	Name   string
	Track  string // path, "" when Route is given
	Route  string
	Start  time.Time // of a route; zero when not given
	People int
	// SpacingM is between neighbours who go abreast; 0: they go in file.
	SpacingM float64
	Eyes     Eyes
	Going
}

// File returns the path of the track, or else of the route.
func (p Party) File() string {
	if p.Track != "" {
		return p.Track
	}
	return p.Route
}

// A Lookout watches from one place.
type Lookout struct {
	Line        int
	Name        string
	Point       orb.Point
	From, Until time.Time
	People      int
	Eyes        Eyes
}

// A Flight is an aircraft that looks, along a track, a route, or wherever it
// flies.
type Flight struct {
	Line      int
	Name      string
	AltitudeM float64 // above the ground
	Track     string  // path; neither is needed
	Route     string
	Start     time.Time // of a route; zero when not given
	People    int       // who look
	Eyes      Eyes
	Going
}

// File returns the path of the track, or else of the route; "" for neither.
func (f Flight) File() string { return cmp.Or(f.Track, f.Route) }

// Plants stand between those who look along the ground and the signals. Zero is
// none.
type Plants struct {
	Line                                           int
	StemsPerM2, StemWidthM, LeafAreaIndex, CanopyM float64
}

// A Person is the private block of a plan. It prints and marshals as withheld
// whatever formats it; only Fields gives it out.
type Person struct{ fields []PersonField }

// A PersonField is one line of the person block.
type PersonField struct{ Key, Value string }

const withheld = "withheld"

// Fields returns the block in file order, for outputs made with --with-name.
func (p Person) Fields() []PersonField { return append([]PersonField(nil), p.fields...) }

// String returns the word withheld.
func (p Person) String() string { return withheld }

// GoString returns the word withheld, for %#v.
func (p Person) GoString() string { return withheld }

// MarshalJSON writes the word withheld.
func (p Person) MarshalJSON() ([]byte, error) { return []byte(`"` + withheld + `"`), nil }
