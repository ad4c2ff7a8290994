// Package source describes signals as a distant eye meets them: how much
// light they send towards it, or how large and how contrasting they are.
//
// Each kind of signal is one type in one file ([Light], [Flag], [Fire],
// [Smoke], [Mirror], [Person], [Symbol], [Reflector]); all satisfy [Source], which is
// what signal/sighting works with. Fill one in, call its Check, and ask it by
// Toward what it shows on one side. A [Whistle] is heard and is none.
//
// # Method
//
// What shows is an [Appearance]: a point of light with its intensity [cd], or an
// area [m2] with its contrast, or nothing for a reason (outside the beam, burnt
// out, no sun). A source knows nothing of haze, eyes or distance; of the air it
// knows how smoke drifts in it. Each tells its numbers as [Factor], with their
// source.
//
// Lights are steady, or flash by Blondel-Rey or one of its rivals ([FlashLaws]),
// shine along a [Beam], fade with a [Battery], and lose by [Colour]. Cloth, people
// and symbols are flat things that throw back light ([Surface]): their contrast is
// that of luminance factors, never of broadband albedo. A flame is an area of low
// luminance as high as Heskestad's formula says. Smoke is a Gaussian plume by
// Briggs's rise and spread, or a column in calm air. A mirror throws the sun's light
// on to the half-way direction between sun and target. A reflector sends a lamp's
// light back.
//
// # Sources
//
// Blondel and Rey 1911, Douglas 1957, IALA E-200-4 for flashes; ANSI/PLATO FL 1 for
// lamps; COLREG 72, LSA Code, 14 CFR, ICAO Annex 14 for [Standards]; EN ISO 20471 and
// ASTM D1535 for cloth; Fanger 1970 for bodies (from memory); ICAO Annex 12 for symbols;
// Heskestad 1983 for flames; Briggs 1969, Pasquill and Gifford, NFPA 92, Mulholland and
// Croarkin 2000 for smoke; Kasten and Young 1989 for the sun. Geometry alone (beams,
// mirrors, areas) is by definition of its terms.
//
// # Range and accuracy
//
// Intensities are as good as what is stated; a beam of stated lumens or of an FL 1
// distance hides how uneven it is, a factor 2 at its edge (own estimate). Cloth
// within 1.5 times.
// Flame: a factor 5, taken at the low end. Smoke: a factor 5 for small fires. A mirror
// within 2 with the sun above 10 degrees, if it is held to a quarter of a degree; beyond
// 160 degrees between sun and target nothing (common practice, no source).
//
// # Missing
//
// Lasers, and any strobe as a hazard to whom it dazzles; pyrotechnics but by their
// stated candela and burning time; lights that move; the light that a lamp throws on
// trees and snow around it; cloth in folds; a plume that the ground turns or an inversion
// holds; people in groups; what moves being seen sooner than what stands.
package source
