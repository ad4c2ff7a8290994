package sighting

import (
	"fmt"
	"math"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// The two purposes: see Solve.
const (
	// perceptibleChance of one look is what "perceptible" asks for, and
	// noticedChance of a search what "noticed" does. Own choice.
	perceptibleChance = 0.9
	noticedChance     = 0.5
	// faintestLx is the least illuminance that a plan may count on [lx],
	// whatever the law says of skies darker than natural ones. Own choice.
	faintestLx = 1e-8
	// nightCDM2 is the background below which a search is one by night, of
	// which "noticed" lists what practice asks for [cd/m2].
	nightCDM2 = 0.01
)

// perceptibleV is V of nine looks in ten, 1.616.
var perceptibleV = observer.VisibilityRatio(perceptibleChance)

// A purpose is what a signal must give to serve.
type purpose struct {
	v       float64 // visibility ratio of a small signal
	lx      float64 // for a point of light
	lobeSR  float64 // for an area of unknown place; 0: V at the fixation point decides
	factors []source.Factor
}

// perceptible is the purpose of an observer who is told where to look.
func (q Query) perceptible(point bool) purpose {
	p := purpose{v: q.perceptibleV()}
	if point {
		p.lx = q.perceptibleLx()
	}
	p.factors = q.chain(point)
	if q.ownLaw(point) {
		why := "nine looks in ten by 1 - 2^(-V^2.5), one look"
		if q.Observer.Law == observer.Taylor1964 {
			why = "nine looks in ten, Taylor 1964"
		}
		p.factors = append(p.factors, factor("visibility ratio V", p.v, "", why))
		if point && p.lx == q.throughGlasses(faintestLx) {
			p.factors = append(p.factors, factor("least illuminance", p.lx, "lx", "own choice, for planning"))
		}
	}
	p.factors = append(p.factors, q.clutterFactors(point, observer.ClutterKnown, "taken as half of that for an unknown place")...)
	return p
}

// noticed is the purpose of an observer who is not told where to look.
func (q Query) noticed(point bool) purpose {
	if q.Told {
		p := q.perceptible(point)
		p.factors = append(p.factors, factor("told where to look", 1, "", "as given: noticed is perceptible"))
		return p
	}
	if q.ownLaw(point) && !q.Observer.Law.HasLobe() {
		return q.noticedByTaylor(point)
	}
	s := q.search()
	eye := q.Observer.Before(q.Air.BackgroundCDM2)
	p := purpose{lobeSR: s.LobeFor(noticedChance)}
	p.v = eye.PointRatio(p.lobeSR)
	p.factors = q.chain(point)
	v := factor("visibility ratio V", p.v, "", "of a small signal; half of all searches by lobe and sector")
	if !q.ownLaw(point) {
		v = factor("visibility ratio V over perceptible's", p.v/perceptibleV, "", "half of all searches by lobe and sector; the threshold is taken to be for nine looks in ten")
	}
	p.factors = append(p.factors, v)
	if point {
		p.lx = p.v * eye.PointLx() * q.raised()
		if floor := q.floorLx(); q.floorApplies() && (p.lx < floor || q.Air.BackgroundCDM2 < nightCDM2) {
			p.factors = append(p.factors, floorFactor(floor))
			p.lx = max(p.lx, floor)
		}
	}
	p.factors = append(p.factors,
		sectorFactor(s),
		factor("glimpses in the look", s.Glimpses(s.LookS), "", fmt.Sprintf("%g s, %.3g a second, %g of them on the search", s.LookS, 1/s.GlimpseS, s.Attention)),
		factor("lobe needed", p.lobeSR, "sr", "thresholds of small objects grow as (1 + e/1 deg)^2 outside 0.8 deg; fitted to pilots' sightings"))
	p.factors = append(p.factors, q.clutterFactors(point, observer.ClutterUnknown, unknownPlace)...)
	return p
}

// PassFactors lists what the rate of finding rests on for somebody who passes and is
// not told where to look (signal/sweep).
func (q Query) PassFactors() []source.Factor {
	look := q.Source.Toward(q.View)
	q = q.meets(look)
	s, point := q.search(), look.Point()
	f := q.chain(point)
	if point && q.floorApplies() && q.perceptibleLx() < q.floorLx() {
		f = append(f, floorFactor(q.floorLx()))
	}
	f = append(f, sectorFactor(s),
		factor("least visibility ratio V to be found", q.perceptibleV(), "", "own choice: what eye and air no longer make perceptible to somebody is not found by them, however long they look"),
		factor("glimpses a second on the search", s.Attention/s.GlimpseS, "", fmt.Sprintf("%.3g a second, %g of them on the search; the chance of each is that of the lobe in the sector", 1/s.GlimpseS, s.Attention)))
	return append(f, q.clutterFactors(point, observer.ClutterUnknown, unknownPlace)...)
}

// unknownPlace is where the weight of clutter for an object of unknown place is from.
const unknownPlace = "fitted to sweep widths in forests"

// floorLx is the least illuminance of a point of light to be noticed by night [lx].
func (q Query) floorLx() float64 {
	return q.throughGlasses(observer.NauticalNightLx) * q.About.factor()
}

func floorFactor(lx float64) source.Factor {
	return factor("least illuminance to be noticed by night", lx, "lx",
		"nautical practice; it rules where the threshold above comes out lower, since night search by eye is the least supported part of the model")
}

func sectorFactor(s observer.Search) source.Factor {
	return factor("search sector", s.SectorSR(), "sr", fmt.Sprintf("%g by %g deg", s.WidthDeg, s.HeightDeg))
}

// chain lists what makes the threshold, up to attention.
func (q Query) chain(point bool) []source.Factor {
	o, b := q.Observer, q.Air.BackgroundCDM2
	var f []source.Factor
	switch {
	case point && o.FixedLx > 0:
		f = append(f, factor("fixed threshold", o.FixedLx, "lx", "as given"))
	case !point && o.FixedContrast > 0:
		f = append(f, factor("fixed contrast threshold", o.FixedContrast, "", "as given"))
	case point && o.Law.Practical():
		bare := observer.Observer{Law: o.Law}
		f = append(f, factor("practical threshold", perceptibleV*bare.PointLx(o.SeenCDM2(b)), "lx", o.Law.Source()))
		f = append(f, q.between(point)...)
	default:
		lab := observer.Observer{Law: o.Law, Factor: 1}
		if point {
			f = append(f, factor("laboratory threshold", lab.PointLx(o.SeenCDM2(b)), "lx", o.Law.Source()))
		} else {
			f = append(f, factor("laboratory contrast of a large area", lab.Before(o.SeenCDM2(b)).LargeContrast(), "", o.Law.Source()))
		}
		if o.Law == observer.Taylor1964 {
			f = append(f, factor("no training", o.F(), "", "Taylor 1964: 1.9 to 2.0"))
		} else {
			f = append(f, factor("field factor F", o.F(), "", "Crumey 2014: 1.4 to 2.4 in practice"))
		}
		if o.AgeYears > 0 {
			f = append(f, factor(fmt.Sprintf("age %g", o.AgeYears), o.AgeFactor(), "", "Adrian 1989"))
		}
		if o.Unadapted {
			f = append(f, factor("eyes not used to the dark", o.AdaptationFactor(b), "", "cones alone, by the two branches of Hecht 1947; own choice for areas"))
		}
		f = append(f, q.colourFactors(point)...)
		f = append(f, q.between(point)...)
	}
	if !point && q.HorizonRatio > 0 {
		f = append(f, factor("horizon over what is behind", q.HorizonRatio, "", "Duntley 1948: haze before a dark background takes on the brightness of the horizon"))
	}
	f = append(f, q.aboutFactors()...)
	if q.OffsetLog10 != 0 {
		f = append(f, factor("threshold offset", math.Pow(10, q.OffsetLog10), "", "this person on this day"))
	}
	return f
}

// sizeFactors lists how large an area shows at a distance [m], and what the law alone
// asks of that size.
func (q Query) sizeFactors(w Watch, distM float64) []source.Factor {
	if q.Observer.FixedContrast > 0 {
		return nil
	}
	sr := SolidAngleSR(w.look.AreaM2, distM)
	lab := observer.Observer{Law: q.Observer.Law, Factor: 1}
	return []source.Factor{
		factor("width of the area there", 2*math.Sqrt(sr/math.Pi)*180/math.Pi*60, "arcmin", "as a disc, at the distance by light, air and eye"),
		factor("laboratory contrast of that size", lab.Before(q.Observer.SeenCDM2(q.Air.BackgroundCDM2)).Contrast(w.eye.ApparentSR(sr), 0), "", q.Observer.Law.Source()),
	}
}

func (q Query) clutterFactors(point bool, weight float64, why string) []source.Factor {
	if point || q.Clutter == 0 {
		return nil
	}
	return []source.Factor{
		factor("clutter contrast", q.Clutter, "", "at the signal's own scale, of what is behind it"),
		factor("weight of clutter", weight, "", why),
	}
}

// ownLaw reports whether a laboratory law with its factors is in use.
func (q Query) ownLaw(point bool) bool {
	if point {
		return q.Observer.FixedLx == 0 && !q.Observer.Law.Practical()
	}
	return q.Observer.FixedContrast == 0
}

// floorApplies reports whether practice may raise a light's threshold: not
// where a threshold or a rival law is named.
func (q Query) floorApplies() bool {
	return q.Observer.FixedLx == 0 && (q.Observer.Law == "" || q.Observer.Law == observer.Crumey2014)
}

// perceptibleLx is what a point of light must give to be perceptible.
func (q Query) perceptibleLx() float64 {
	if q.Observer.FixedLx > 0 {
		return q.Observer.FixedLx * q.raised()
	}
	lx := q.perceptibleV() * q.Observer.PointLx(q.Air.BackgroundCDM2) * q.raised()
	if q.Observer.Law.Practical() {
		return lx
	}
	return max(lx, q.throughGlasses(faintestLx))
}

// raised is the factor of the query's offset and of the lights about.
func (q Query) raised() float64 { return math.Pow(10, q.OffsetLog10) * q.About.factor() }

// search returns how the observer looks.
func (q Query) search() observer.Search {
	if q.Search == (observer.Search{}) {
		return observer.DefaultSearch()
	}
	return q.Search
}

func factor(name string, value float64, unit, from string) source.Factor {
	return source.Factor{Name: name, Value: value, Unit: unit, Source: from}
}
