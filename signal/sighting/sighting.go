// Package sighting tells how far a signal can be seen, and what limits it.
//
// Describe the signal (signal/source), the air (signal/air) and the observer
// (signal/observer) in a [Query] and call [Solve]. A point of light is judged
// by the illuminance at the eye (Allard's law), an area by its contrast
// through the haze and its angular size; the earth's curve or the ground then
// cuts the distance.
//
// Two distances come out. Perceptible is "at best": told where to look.
// Noticed is for somebody who is not told. Both definitions are provisional:
// see [Solve].
//
// Missing: the visual lobe, time and sector of a search, hence any chance per
// glimpse or sweep width; plants in the way; bands of uncertainty.
package sighting

import (
	"fmt"
	"math"

	"farhail/signal/air"
	"farhail/signal/observer"
	"farhail/signal/source"
)

// Limit names what ends the distance of a signal.
type Limit string

// What can limit a signal so far.
const (
	Eye     Limit = "eye"     // too faint or too small: more distance costs more than more air
	Air     Limit = "air"     // haze: it costs more than distance itself
	Horizon Limit = "horizon" // the curve of the earth
	Terrain Limit = "terrain" // ground in the way
	Edge    Limit = "edge"    // the terrain ends or has no data on the line
	Beam    Limit = "beam"    // the eye is outside the beam
	Battery Limit = "battery" // burnt out
)

// Ground says what the earth between eye and signal does to the line of sight.
type Ground int

// The line of sight.
const (
	RoundEarth  Ground = iota // over a smooth round earth: the geographic range cuts the distance
	NoCurvature               // the earth is left out, and heights with it
	LineClear                 // seen over terrain: nothing cuts the distance
	LineBlocked               // hidden by terrain
	LineUnknown               // the terrain does not tell
)

// A Query is one signal and one observer. Source and Air are required.
type Query struct {
	Source   source.Source
	View     source.View // the side of the signal that is met
	Air      air.Air
	Observer observer.Observer
	EyeM     float64 // height of the eye above ground [m]
	SignalM  float64 // height of the signal above ground [m]
	Ground   Ground
}

// Check returns an error that names the first impossible value.
func (q Query) Check() error {
	if err := q.Source.Check(); err != nil {
		return err
	}
	if err := q.Air.Check(); err != nil {
		return err
	}
	if err := q.Observer.Check(); err != nil {
		return err
	}
	switch {
	case !(q.EyeM >= 0) || math.IsInf(q.EyeM, 1):
		return fmt.Errorf("sighting: eye height %g m is not a number from 0 up", q.EyeM)
	case !(q.SignalM >= 0) || math.IsInf(q.SignalM, 1):
		return fmt.Errorf("sighting: signal height %g m is not a number from 0 up", q.SignalM)
	}
	return nil
}

// A Reach is how far a signal serves one purpose.
type Reach struct {
	DistanceM         float64 // [m]; 0: never; NaN: cannot be told
	Limit             Limit   // what ends it
	LuminousM         float64 // [m] by light, air and eye alone
	ThresholdLx       float64 // that a point of light must give [lx]; NaN for an area
	ThresholdContrast float64 // that an area must show at LuminousM; NaN for a point, or when never
	Factors           []source.Factor
}

// A Result is the answer to a [Query].
type Result struct {
	Noticed     Reach
	Perceptible Reach
	GeographicM float64           // [m] over a smooth round earth; NaN with NoCurvature
	Appearance  source.Appearance // what the signal shows to this eye
	Factors     []source.Factor   // what the appearance rests on
	Notes       []string          // what the reader must know
}

// Solve returns how far the signal can be seen. Neither distance is larger
// than the geographic range where the earth is round; noticed is never larger
// than perceptible. An impossible value is an error.
//
// The two purposes are provisional, own choice until the visual lobe and the
// search task are in the model: perceptible is Crumey's law times the field
// factor at V = 1.616 (nine looks in ten), never below 1e-8 lx; noticed is ten
// times the IALA curve for lights and flames, and ten times the perceptible
// contrast for areas. With a fixed threshold, perceptible is where the
// stimulus equals it, and no other factor counts.
//
// Accuracy: thresholds spread by a factor 3 between people and days, which is
// 25 to 40 % of the distance in clear air and less than 15 % in fog.
func Solve(q Query) (Result, error) {
	if err := q.Check(); err != nil {
		return Result{}, err
	}
	look := q.Source.Toward(q.View)
	r := Result{
		GeographicM: q.geographicM(),
		Appearance:  look,
		Factors:     q.Source.Factors(),
		Notes:       q.notes(look),
	}
	r.Perceptible = q.reach(look, q.perceptible(look.Point()), r.GeographicM)
	r.Noticed = q.reach(look, q.noticed(look.Point()), r.GeographicM)
	if r.Noticed.LuminousM > r.Perceptible.LuminousM {
		// A fixed threshold can be above the provisional one.
		r.Noticed = r.Perceptible
	}
	return r, nil
}

// reach finds the distance for one purpose, and what ends it.
func (q Query) reach(look source.Appearance, p purpose, geographicM float64) Reach {
	r := Reach{Limit: Eye, ThresholdLx: math.NaN(), ThresholdContrast: math.NaN(), Factors: p.factors}
	switch {
	case look.Absent != "":
		r.Limit = Limit(look.Absent)
		return r
	case look.Point():
		r.ThresholdLx = p.lx
		r.LuminousM = LuminousM(look.IntensityCD, p.lx, q.Air.Extinction())
		r.Limit = limitPoint(r.LuminousM, q.Air.Extinction())
	default:
		r.LuminousM = ContrastM(look, p.contrast, q.Air.Extinction())
		r.Limit = limitArea(look, p.contrast, r.LuminousM, q.Air.Extinction())
		if r.LuminousM > 0 {
			r.ThresholdContrast = p.contrast(SolidAngleSR(look.AreaM2, r.LuminousM))
		}
	}
	r.DistanceM = r.LuminousM
	switch q.Ground {
	case RoundEarth:
		if geographicM < r.LuminousM {
			r.DistanceM, r.Limit = geographicM, Horizon
		}
	case LineBlocked:
		r.DistanceM, r.Limit = 0, Terrain
	case LineUnknown:
		r.DistanceM, r.Limit = math.NaN(), Edge
	}
	return r
}

func (q Query) geographicM() float64 {
	if q.Ground == NoCurvature {
		return math.NaN()
	}
	return q.Air.GeographicM(q.EyeM, q.SignalM)
}
