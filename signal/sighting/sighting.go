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
	Vegetation Limit = "vegetation" // plants in the way
	Sun        Limit = "sun"        // it is down or hidden, or stands so that a mirror cannot throw its light there
	Noise      Limit = "noise"      // of a sound: spreading takes it down to the noise sooner than the air does
	Eye        Limit = "eye"        // too faint or too small: more distance costs more than more air
	Air        Limit = "air"        // haze: it costs more than distance itself
	Horizon    Limit = "horizon"    // the curve of the earth
	Terrain    Limit = "terrain"    // ground in the way
	Edge       Limit = "edge"       // the terrain ends or has no data on the line
	Beam       Limit = "beam"       // the eye is outside the beam
	Battery    Limit = "battery"    // burnt out
	Cloud      Limit = "cloud"      // a cloud cover in between
	Wind       Limit = "wind"       // too little for cloth to stream, or too much for smoke to stand: the eye's limit, for that reason
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
	// Plants between eye and signal, for somebody who does not move; a pass
	// (signal/sweep) has its own.
	Plants air.Plants

	Told    bool            // the observer is told where to look: noticed is perceptible
	Search  observer.Search // how the observer looks; zero: observer.DefaultSearch
	Clutter float64         // contrast of what else is behind an area at its own scale; 0: even, as the sky
	// HorizonRatio is the luminance of the horizon sky over that of what is
	// behind an area, which haze in front of it takes on; 0: as bright.
	HorizonRatio float64
	// Aloft: the eye is in an aircraft. Distances are over the ground, and the
	// signal is met from below unless View tells its side.
	Aloft bool
	// About are other lights near the line to a point of light.
	About LightsAbout
	// OffsetLog10 raises every threshold by a power of ten, for this person on
	// this day; 0: the median observer.
	OffsetLog10 float64
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
	if err := q.search().Check(); err != nil {
		return err
	}
	point := q.Source.Toward(q.View).Point()
	if fixed := point && q.Observer.FixedLx > 0 || !point && q.Observer.FixedContrast > 0; !fixed {
		if err := q.Observer.Law.Check(q.Observer.SeenCDM2(q.Air.BackgroundCDM2), !point); err != nil {
			return err
		}
	}
	if err := q.Plants.Check(); err != nil {
		return err
	}
	if err := q.checkAbout(point); err != nil {
		return err
	}
	switch {
	case !(q.Clutter >= 0) || math.IsInf(q.Clutter, 1):
		return fmt.Errorf("sighting: clutter of contrast %g is not a number from 0 up", q.Clutter)
	case !(q.HorizonRatio >= 0) || math.IsInf(q.HorizonRatio, 1):
		return fmt.Errorf("sighting: a horizon %g times as bright is not a number from 0 up", q.HorizonRatio)
	case !(math.Abs(q.OffsetLog10) <= maxOffset):
		return fmt.Errorf("sighting: threshold offset %g is outside -%d to %d", q.OffsetLog10, maxOffset, maxOffset)
	case !(q.EyeM >= 0) || math.IsInf(q.EyeM, 1):
		return fmt.Errorf("sighting: eye height %g m is not a number from 0 up", q.EyeM)
	case !(q.SignalM >= 0) || math.IsInf(q.SignalM, 1):
		return fmt.Errorf("sighting: signal height %g m is not a number from 0 up", q.SignalM)
	}
	return nil
}

// maxOffset bounds the offset of a threshold; people and days differ by less
// than one power of ten.
const maxOffset = 5

// A Reach is how far a signal serves one purpose.
type Reach struct {
	DistanceM         float64 // [m]; 0: never; NaN: cannot be told
	Limit             Limit   // what ends it
	LuminousM         float64 // [m] by light, air and eye alone, along the line of sight
	ThresholdLx       float64 // that a point of light must give [lx]; NaN for an area
	ThresholdContrast float64 // that an area must show at LuminousM; NaN for a point, or when never
	V                 float64 // visibility ratio at LuminousM, looking straight at it; NaN when never
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
// Perceptible is where V, the stimulus over the threshold of half of all
// looks, is 1.616: nine looks in ten at a known place, by the median observer.
// Noticed is where a search ([Query.Search], by default a minute over 90 by 20
// degrees with half of the glimpses) finds the signal half the time, V = 4.0 for a small
// one by day. A point of light on a dark background is not noticed with less than
// the 2e-7 lx of nautical practice, unless a threshold or a rival law is named: night
// search by eye is the least supported part of the model. Perceptible never
// counts on less than 1e-8 lx. With a fixed threshold or a practical law
// perceptible is where the stimulus equals it, no other factor counts, and
// noticed is where it is greater by the 4.0 over 1.616 of attention.
//
// Accuracy: thresholds spread by a factor 3 between people and days, which is
// 25 to 40 % of the distance in clear air and less than 15 % in fog. Noticed
// rests on lobes fitted to pilots' sightings of aircraft within some 5 km; no trial confirms
// it beyond 1 km for unlit signals.
func Solve(q Query) (Result, error) {
	if err := q.Check(); err != nil {
		return Result{}, err
	}
	if q.looksDown() {
		return q.solveAloft(), nil
	}
	return q.solve(), nil
}

// solve is Solve for the side of the signal that View tells.
func (q Query) solve() Result {
	look := q.Source.Toward(q.View)
	q = q.meets(look)
	r := Result{
		GeographicM: q.geographicM(),
		Appearance:  look,
		Factors:     q.sourceFactors(),
		Notes:       q.notes(look),
	}
	w := q.watch(look)
	r.Perceptible = q.reach(w, q.perceptible(look.Point()), math.Inf(1), r.GeographicM)
	r.Noticed = q.reach(w, q.noticed(look.Point()), r.Perceptible.LuminousM, r.GeographicM)
	return r
}

// reach finds the distance for one purpose, no farther than atMostM by light,
// air and eye, and what ends it.
func (q Query) reach(w Watch, p purpose, atMostM, geographicM float64) Reach {
	nan := math.NaN()
	r := Reach{Limit: Eye, ThresholdLx: nan, ThresholdContrast: nan, V: nan, Factors: p.factors}
	switch {
	case w.look.Absent != "":
		r.Limit = Limit(w.look.Absent)
		return r
	case w.look.Point():
		r.ThresholdLx = p.lx
		r.LuminousM = min(pointM(w.look, p.lx, w.extinction), atMostM)
	case p.lobeSR > 0:
		r.LuminousM = w.foundM(p.lobeSR, p.v, atMostM)
	default:
		r.LuminousM = min(w.seenM(p.v, observer.ClutterKnown), atMostM)
	}
	r.Limit = w.Limit(r.LuminousM)
	if r.LuminousM > 0 {
		r.V = w.V(r.LuminousM)
		if !w.look.Point() {
			r.ThresholdContrast = math.Abs(w.apparentContrast(r.LuminousM))
			r.Factors = append(r.Factors, q.sizeFactors(w, r.LuminousM)...)
		}
	}
	r.DistanceM = q.OverGroundM(r.LuminousM)
	q.amongPlants(w, p, &r)
	if q.Air.CloudBetween(q.EyeM, q.SignalM) {
		r.DistanceM, r.Limit = 0, Cloud
	}
	switch q.Ground {
	case RoundEarth:
		if geographicM < r.DistanceM {
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
