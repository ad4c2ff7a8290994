// Package observer says what an eye can see: the published threshold laws, the
// observer who uses one, and the way from a threshold to the chance of a
// glimpse.
//
// Start with the zero [Observer]: Crumey 2014 times a field factor of 2.
//
// # Method
//
// A threshold depends on the luminance behind the signal [cd/m2], and for an
// area also on the solid angle that it fills [sr]. Visibility ratio V is the
// stimulus over the threshold of half of all looks at a known place; [Seen] turns
// it into the chance that one look shows the signal, 1 - 2^(-V^2.5), which is 0 at
// zero stimulus. Away from the fixation point thresholds grow, so that a glimpse
// shows a signal only within a lobe ([LobeSR]); a [Search] over a sector turns the
// lobe into the chance per glimpse and the rate of finding.
//
// Rivals are named by author and year ([Laws]). The practical curves of ICAO,
// IALA and WMO already hold a trade's margin and replace the laboratory law and
// its factors, they do not multiply them. An unknown place enters through lobe and
// sector alone (and by the greater weight of clutter), never as one more factor.
// What an observer brings enters once each, and only into the laboratory laws:
// field factor, age ([AdrianAge]), eyes not used to the dark
// ([UnadaptedFactor]). Glare ([VeilCDM2]) adds to the background, and field
// glasses ([Optics]) change what reaches the eye, the lobe and the field; both
// do so whatever the law. [Taylor1964] is a chain of its own, without a lobe.
//
// # Sources
//
// Crumey 2014, Adrian 1989, Blackwell 1946, Koopman 1946, Taylor 1964; ICAO Doc
// 9328 (2005), IALA E-200-2 (2008), WMO-No. 8 (2018); Hecht 1947 for eyes not used to
// the dark; CIE 146:2002 for glare; Andrews 1989 for the lobe; Johnson 1958 for
// details. Each law alone gives its own printed values (checks in the tests).
//
// # Range and accuracy
//
// Crumey's law from 1e-5 to 1e4 cd/m2; each rival where [Law.Check] lets it.
// Thresholds differ by a factor 3 between people and days (a standard deviation of
// 0.29 in log10). The lobe is fitted to pilots' sightings of aircraft by day,
// within some 5 km, and to searches in forest. Least supported is the lobe by
// night: the periphery of an eye used to the dark sees fainter lights than the
// fovea, practice shows nothing of it, and it is left out.
//
// # Missing
//
// Image intensifiers: no threshold for points of light was found, so state your
// own. A pupil that shrinks with age, the minute just after a bright light, colour
// blindness, spectacles and poor sight, windows; vibration of glasses in an
// aircraft; eyes that are drawn to what moves or flashes.
package observer
