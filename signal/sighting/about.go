package sighting

import (
	"fmt"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// LightsAbout tells of other lights near the line to a point of light, where
// the background that they make is not known: a published step on every
// threshold. Where it is known, state the background, or the veil that they lay
// over it (observer.Observer); both at once would count them twice.
type LightsAbout string

// The lights about: ten times the threshold among minor lights, a hundred times
// among substantial ones (IALA E-200-2, background lighting: 2e-6 and 2e-5 lx
// for 2e-7; second-hand). The steps are for the night.
const (
	NoLights   LightsAbout = "none" // "" too
	SomeLights LightsAbout = "some"
	ManyLights LightsAbout = "many"
)

// AllLightsAbout lists the words, the usual first.
var AllLightsAbout = []LightsAbout{NoLights, SomeLights, ManyLights}

var lightSteps = map[LightsAbout]float64{"": 1, NoLights: 1, SomeLights: 10, ManyLights: 100}

// factor returns the step on the threshold.
func (a LightsAbout) factor() float64 { return lightSteps[a] }

// stepsToCDM2 is the background up to which the steps are taken [cd/m2], a
// little after sunset: they are published for the night. Own choice.
const stepsToCDM2 = 10

// checkAbout refuses steps where they mean nothing or something else already
// holds them.
func (q Query) checkAbout(point bool) error {
	step, known := lightSteps[q.About]
	law := q.Observer.Law
	switch {
	case !known:
		return fmt.Errorf("sighting: no lights about %q; there are none, some, many", string(q.About))
	case step == 1:
		return nil
	case !point:
		return fmt.Errorf("sighting: lights about are counted for points of light, not for areas")
	case q.Observer.FixedLx > 0:
		return fmt.Errorf("sighting: lights about do not go with a fixed threshold, which no other factor changes")
	case q.Observer.VeilCDM2 > 0:
		return fmt.Errorf("sighting: lights about and glare both count what other lights do")
	case law.Practical() && law != observer.IALA2008:
		return fmt.Errorf("sighting: %s has no step for lights about; iala-2008 and the laws of the laboratory take it", law)
	case q.Air.BackgroundCDM2 > stepsToCDM2:
		return fmt.Errorf("sighting: the steps for lights about are for the night, not for a background of %g cd/m2", q.Air.BackgroundCDM2)
	}
	return nil
}

// AboutCounts reports whether the lights about mean something for this query: it
// is a point of light, by night, by a threshold that takes a step.
func (q Query) AboutCounts() bool {
	return q.checkAbout(q.Source.Toward(q.View).Point()) == nil
}

// aboutFactors lists the step.
func (q Query) aboutFactors() []source.Factor {
	if q.About.factor() == 1 {
		return nil
	}
	return []source.Factor{factor("lights about: "+string(q.About), q.About.factor(), "", "IALA E-200-2, second-hand; the background that they make is not known")}
}
