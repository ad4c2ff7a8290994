package walk

import (
	"math"
	"slices"
	"strings"
)

// DistanceKind says along what a rule's speed is counted.
type DistanceKind string

const (
	// MapDistance is the level distance, as measured on a map.
	MapDistance DistanceKind = "map"
	// SlopeDistance is the distance along the ground.
	SlopeDistance DistanceKind = "slope"
)

// FloorMS is the least speed of any rule [m/s]. Tobler's function falls to
// nothing on steep ground (0.02 m/s at +121 % and -131 %), where people climb
// or slide rather than walk; without a floor one steep cell would hold a
// walker for hours. Own choice: no source gives a figure.
const FloorMS = 0.02

// A Rule is a published walking speed by slope, found by [Named] and [Rules].
// The zero value is no rule.
type Rule struct {
	Name         string       // author in small letters, and the variant
	Source       string       // full citation
	DistanceKind DistanceKind // along what the speed is counted
	About        string       // what the rule was made from
	Validity     string       // slopes and walkers it holds for, and how its kind of distance is known
	onTrail      string       // name of the same author's form for trails, "" for the rule itself
	speedMS      func(slope float64) float64
}

// Speed returns the walking speed [m/s] along the rule's own kind of distance.
// slope is rise over run, positive uphill (0.2 is 20 %); NaN gives NaN. It is
// never below [FloorMS].
func (r Rule) Speed(slope float64) float64 {
	v := r.speedMS(slope)
	if v < FloorMS {
		return FloorMS
	}
	return v
}

// Pace returns the time for a metre of the rule's own kind of distance [s/m].
func (r Rule) Pace(slope float64) float64 { return 1 / r.Speed(slope) }

// MapPace returns the time for a metre on the map [s/m]: a rule along the
// slope takes sqrt(1 + slope²) longer for it.
func (r Rule) MapPace(slope float64) float64 {
	p := 1 / r.Speed(slope)
	if r.DistanceKind == SlopeDistance {
		p *= math.Sqrt(1 + slope*slope)
	}
	return p
}

// OnTrail returns the form of the rule for trails: the same author's where there
// is one, otherwise the rule itself.
func (r Rule) OnTrail() Rule {
	if on, ok := Named(r.onTrail); ok {
		return on
	}
	return r
}

// Top returns the greatest speed on the map over all slopes [m/s], to 1e-6: how
// far a walker can get at most in a second.
func (r Rule) Top() float64 {
	const steps = 2000 // slopes from -100 % to +100 % by 0.1 %
	var top float64
	for i := -steps / 2; i <= steps/2; i++ {
		top = max(top, 1/r.MapPace(float64(i)/(steps/2)))
	}
	return top
}

// Floored reports whether the published formula gives less than [FloorMS] at
// this slope, so that the floor decides.
func (r Rule) Floored(slope float64) bool { return r.speedMS(slope) < FloorMS }

// Rules returns every rule, by name.
func Rules() []Rule { return slices.Clone(rules) }

// Named returns the rule of that name, false where there is none.
func Named(name string) (Rule, bool) {
	for _, r := range rules {
		if r.Name == name {
			return r, true
		}
	}
	return Rule{}, false
}

// Names returns the names of all rules, for messages.
func Names() string {
	var list []string
	for _, r := range rules {
		list = append(list, r.Name)
	}
	return strings.Join(list, ", ")
}
