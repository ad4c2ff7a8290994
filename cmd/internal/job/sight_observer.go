package job

import (
	"fmt"
	"math"
	"strings"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/sighting"
)

// The observers.
const (
	ObserverEye         = "eye"
	ObserverGlasses     = "glasses"
	ObserverAircraft    = "aircraft"
	ObserverIntensifier = "intensifier" // by a threshold of the user's own
	ObserverEar         = "ear"         // of a sound
)

// SightObservers lists the observers, the usual first.
func SightObservers() []string {
	return []string{ObserverEye, ObserverGlasses, ObserverAircraft, ObserverIntensifier}
}

const (
	// passAircraftMS is how fast an aircraft searches where nobody states it: 90
	// knots, the speed that widths from the air were fitted at.
	passAircraftMS = 45
	// usualMagnification and usualObjectiveMM are the glasses that are taken where
	// nobody states others: own choice, those of boats.
	usualMagnification, usualObjectiveMM = 7, 50
	// nightGroundLx is the light of a clear night without moon on the ground
	// (airglow and stars; public list of illuminances), fullSunLx that of a clear
	// noon.
	nightGroundLx, fullSunLx = 2e-3, 1e5
)

// A SightEye is whose eyes look, and through what. Zero and "" are the usual.
type SightEye struct {
	Observer                   string  // one of SightObservers
	AltitudeM                  float64 // of an aircraft above the ground
	Magnification, ObjectiveMM float64 // of glasses
	OnStand                    bool
	Unadapted                  bool    // not used to the dark
	GlareLx, GlareDeg          float64 // of a lamp in view, at the eye
	OwnLampLM                  float64 // that the observer carries
	Fatigued                   bool    // reported by the crew; counts for a pass
	Glasses                    bool    // of somebody in an aircraft; the usual ones where none are stated
	HazeHeightM, CloudBaseM    float64
	// BehindStated: Behind is what the user says is there, so that haze and
	// clutter are those before it, in full sun where no time is given.
	BehindStated bool
}

// aloft reports whether the observer is in an aircraft.
func (e SightEye) aloft() bool { return e.Observer == ObserverAircraft }

// overAir puts what an aircraft meets into the air.
func (e SightEye) overAir(a *air.Air) {
	a.CloudBaseM = e.CloudBaseM
	if e.aloft() {
		a.HazeHeightM = air.DefaultHazeHeightM
		if e.HazeHeightM > 0 {
			a.HazeHeightM = e.HazeHeightM
		}
	}
}

// observe puts the observer into the query.
func (e SightEye) observe(ageYears float64, q *sighting.Query) error {
	o := &q.Observer
	o.Unadapted = e.Unadapted
	if e.GlareLx > 0 {
		o.VeilCDM2 += observer.VeilCDM2(e.GlareLx, e.GlareDeg, ageYears)
	}
	if e.OwnLampLM > 0 {
		lx, deg := observer.OwnLamp(e.OwnLampLM)
		o.VeilCDM2 += observer.VeilCDM2(lx, deg, ageYears)
	}
	if e.Observer == ObserverGlasses || e.aloft() && (e.Glasses || e.Magnification > 0) {
		o.Optics = observer.Optics{Magnification: usualMagnification, ObjectiveMM: usualObjectiveMM, OnStand: e.OnStand}
		if e.Magnification > 0 {
			o.Optics.Magnification, o.Optics.ObjectiveMM = e.Magnification, e.ObjectiveMM
		}
	}
	switch e.Observer {
	case ObserverAircraft:
		if !(e.AltitudeM > 0) {
			return fmt.Errorf("an aircraft needs the altitude that it flies at")
		}
		q.Aloft, q.EyeM = true, e.AltitudeM
	case ObserverIntensifier:
		point := q.Source.Toward(q.View).Point()
		if point && o.FixedLx == 0 || !point && o.FixedContrast == 0 {
			return fmt.Errorf("an image intensifier needs a threshold of your own: no published one was found")
		}
	}
	return nil
}

// eyeCautions are what the reader of a distance by this observer must know.
func (r SightRequest) eyeCautions(q sighting.Query, out *SightResult) []string {
	var list []string
	o := q.Observer
	point := q.Source.Toward(q.View).Point()
	switch {
	case r.aloft():
		list = append(list, "from an aircraft: windows, vibration and the crew's other work are not modelled; haze is taken to thin evenly with height")
		if point {
			list = append(list, "stop lamp, mirror or strobe once the aircraft has answered; never point a laser at one")
		}
	case r.Observer == ObserverIntensifier:
		list = append(list, "the threshold is your device's and yours alone: filters in image intensifiers can hide some coloured lamps")
	case !o.Optics.Naked():
		list = append(list, "glasses show farther where they point and cover less at a time: search by eye, then look closer")
	}
	if r.aloft() && !o.Optics.Naked() {
		list = append(list, "glasses in an aircraft: its shaking blurs what they show, which is not counted")
	}
	fixed := point && o.FixedLx > 0 || !point && o.FixedContrast > 0
	switch {
	case fixed && (o.Law != "" || o.AgeYears > 0 || o.Unadapted || o.VeilCDM2 > 0):
		list = append(list, "the threshold given stands for law, age and state of the eyes, and for glare: what is said of them does not count")
	case point && o.Law.Practical() && (o.AgeYears > 0 || o.Unadapted):
		list = append(list, o.Law.Name()+" holds its trade's margin: age and state of the eyes do not count")
	case o.Unadapted && o.AdaptationFactor(q.Air.BackgroundCDM2) == 1:
		list = append(list, "before this background eyes need not get used to the dark")
	}
	if !point && float64(out.NoticedM) > confirmedM {
		list = append(list, "not confirmed by any trial: unlit things beyond 1 km")
	}
	return list
}

// before puts into the query what haze and clutter make of a background that is
// known to be ground, in the given light [lx; NaN: not known].
func (r SightRequest) before(q *sighting.Query, lx float64) {
	if air.Behind(r.Behind) == air.Sky || q.Source.Toward(q.View).Point() {
		return
	}
	if math.IsNaN(lx) {
		if !r.BehindStated {
			return
		}
		lx = fullSunLx
	}
	if ratio := air.HorizonRatio(lx, r.behindFactor()); ratio > 0 {
		q.HorizonRatio = ratio
	}
}

// behindFactor returns the luminance factor of what is behind a signal that is seen
// by its contrast: that which the contrast is with.
func (r SightRequest) behindFactor() float64 {
	if r.Signal.Kind == plan.Smoke {
		return smokeOf(r.Signal, r.WindMS, air.Behind(r.Behind)).Behind
	}
	return surface(r.Signal).Behind
}

// luminance returns the luminance [cd/m2] of what is behind the signal in a light on
// open ground [lx]. Behind a thing that is seen by its contrast it is that of the
// ground which the contrast is with.
func (r SightRequest) luminance(lx float64) float64 {
	behind := air.Behind(r.Behind)
	if behind == air.Sky || !HasContrast(r.Signal.Kind) {
		return air.Background(lx, behind)
	}
	return r.behindFactor() * lx / math.Pi
}

// behindWords says what is behind the signal.
func (r SightRequest) behindWords() string {
	behind := air.Behind(r.Behind)
	if behind == air.Sky || !HasContrast(r.Signal.Kind) || r.behindFactor() == air.Factor(behind) {
		return r.Behind
	}
	return fmt.Sprintf("ground of luminance factor %.3g", r.behindFactor())
}

// inverseCubeHalf is the width W over the lateral distance of one half, by the
// inverse cube law: sqrt(4 pi ln 2).
var inverseCubeHalf = math.Sqrt(4 * math.Pi * math.Ln2)

// aircraftNoticedM is the lateral distance at which half of all passes of an
// aircraft see a thing, by the inverse cube law of the same width: the model's
// own curve from the air is known to be wrong.
func aircraftNoticedM(widthM float64) float64 { return widthM / inverseCubeHalf }

// fatigueFactor is what excessive fatigue of a crew leaves of a sweep width (US
// National SAR Manual, from a public copy); the tables hold the usual one.
const fatigueFactor = 0.9

// SightWho is who looks, as it was taken.
type SightWho struct {
	Observer    string  `json:"observer"`
	Optics      string  `json:"optics"` // "" for the naked eye
	AltitudeM   cli.Len `json:"altitude_m"`
	HazeHeightM cli.Len `json:"haze_height_m"` // null where haze is even
	CloudBaseM  cli.Len `json:"cloud_base_m"`
	Adapted     bool    `json:"adapted"` // to the dark; false for an ear
	AgeYears    cli.Num `json:"age_years"`
	VeilCDM2    cli.Num `json:"veil_cd_m2"`
	Fatigued    bool    `json:"fatigued"`
}

// Words says who looks, "" for the naked eye on the ground.
func (w SightWho) Words() string {
	var words []string
	if w.Optics != "" {
		words = append(words, w.Optics)
	}
	if h := float64(w.AltitudeM); !math.IsNaN(h) {
		words = append(words, "at "+Distance(h)+" above the ground, distances over the ground")
	}
	if !w.Adapted {
		words = append(words, "eyes not used to the dark")
	}
	if v := float64(w.VeilCDM2); v > 0 {
		words = append(words, fmt.Sprintf("glare of %.3g cd/m2 over the scene", v))
	}
	if w.Fatigued {
		words = append(words, "tired")
	}
	if len(words) == 0 && w.Observer == ObserverEye {
		return ""
	}
	return strings.Join(append([]string{w.Observer}, words...), ", ")
}

// who tells the observer of the query.
func (e SightEye) who(q sighting.Query) SightWho {
	known := func(v float64) float64 {
		if v == 0 {
			return math.NaN()
		}
		return v
	}
	w := SightWho{
		Observer: e.Observer, Adapted: !e.Unadapted, Fatigued: e.Fatigued,
		AltitudeM: cli.Len(known(e.AltitudeM)), HazeHeightM: cli.Len(known(q.Air.HazeHeightM)), CloudBaseM: cli.Len(known(q.Air.CloudBaseM)),
		AgeYears: cli.Num(known(q.Observer.AgeYears)), VeilCDM2: cli.Num(q.Observer.VeilCDM2),
	}
	if w.Observer == "" {
		w.Observer = ObserverEye
	}
	if !q.Observer.Optics.Naked() {
		w.Optics = q.Observer.Optics.String()
	}
	return w
}
