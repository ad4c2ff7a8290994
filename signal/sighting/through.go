package sighting

import (
	"fmt"

	"farhail/signal/observer"
	"farhail/signal/source"
)

// perceptibleV is the visibility ratio that perceptible asks for.
func (q Query) perceptibleV() float64 {
	if q.Observer.Law == observer.Taylor1964 {
		return observer.TaylorLikelihood(perceptibleChance)
	}
	return perceptibleV
}

// noticedByTaylor is the purpose of an observer who is not told, by Taylor's
// factors: no sector, no look and no lobe.
func (q Query) noticedByTaylor(point bool) purpose {
	p := purpose{v: observer.TaylorNoticed}
	if point {
		p.lx = max(p.v*q.Observer.PointLx(q.Air.BackgroundCDM2)*q.raised(), q.perceptibleLx())
	}
	p.factors = append(q.chain(point),
		factor("95 looks in 100", observer.TaylorLikelihood(0.95), "", "Taylor 1964"),
		factor("place unknown", observer.TaylorUnknownPlace, "", "Taylor 1964: within four degrees or more"),
		factor("vigilance", observer.TaylorVigilance, "", "Taylor 1964: neither place nor time known"))
	p.factors = append(p.factors, q.clutterFactors(point, observer.ClutterKnown, "no lobe: as for a known place")...)
	return p
}

// throughGlasses returns the illuminance [lx] that is as good through field
// glasses as the given one is to the naked eye [lx].
func (q Query) throughGlasses(lx float64) float64 {
	return lx / q.Observer.PointGain(q.Air.BackgroundCDM2)
}

// between lists what stands between the scene and the eye: glare and glasses.
func (q Query) between(point bool) []source.Factor {
	o, b := q.Observer, q.Air.BackgroundCDM2
	var f []source.Factor
	if o.VeilCDM2 > 0 {
		f = append(f, factor("veil of glare", o.VeilCDM2, "cd/m2", "CIE 146:2002, general equation, brown eyes; added to the background"))
	}
	if !o.Optics.Naked() {
		held := "held by hand, which halves it (own choice)"
		if o.Optics.OnStand {
			held = "on a stand"
		}
		f = append(f,
			factor("light of a small signal through "+o.Optics.String(), o.PointGain(b), "",
				fmt.Sprintf("magnification squared x 0.9 of the light, exit pupil %.3g mm and eye's %.3g mm (Le Grand); %s", o.Optics.ExitPupilMM(), observer.PupilMM(b+o.VeilCDM2), held)),
			factor("background through the glasses", o.SeenCDM2(b), "cd/m2", "as the eye meets it"),
			factor("field of the glasses", o.Optics.FieldDeg(), "deg", "50 degrees to the eye, common practice; the lobe covers as much less of the scene as they magnify"))
	}
	if loss := o.ContrastLoss(b); !point && loss > 1 {
		f = append(f, factor("contrast lost to glare and stray light", loss, "", "(background + veil) / background; 1/0.95 in glasses, own choice"))
	}
	return f
}
