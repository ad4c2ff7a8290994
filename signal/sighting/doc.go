// Package sighting tells how far a signal can be seen, and what limits it.
//
// Describe the signal (signal/source), the air (signal/air) and the observer
// (signal/observer) in a [Query] and call [Solve]. Sounds have a chain of their
// own: [Hear].
//
// # Method
//
// A point of light is judged by the illuminance at the eye (Allard's law, I e^(-s d)
// / d2), an area by its contrast through the haze (Koschmieder, Duntley) and its
// angular size; the earth's curve, the ground, plants, a cloud, the beam or the
// battery then cut the distance, and every result names what did.
//
// Two distances come out. Perceptible is "at best": V = 1.616, nine looks in ten
// at a known place. Noticed is for somebody who is not told: half of all searches
// of a minute over 90 by 20 degrees with half of the glimpses. [Query.Watch] gives
// what both rest on at any distance: visibility ratio, lobe, chance per glimpse,
// rate of finding. Noticed is never farther than perceptible. Each factor enters
// once and is listed.
//
// Plants in the way count by the chance of a clear line ([Query.Plants]). An eye in
// an aircraft ([Query.Aloft]) looks down a slant through haze that thins with
// height, and distances are over the ground. Ground behind an area may be darker
// than the horizon ([Query.HorizonRatio]). [Query.Bands] draws what is not known, 64
// joint samples, and gives 10, 50 and 90 %.
//
// # Sources
//
// Allard 1876 and WMO-No. 8 (2018) for lights; Koschmieder 1924 and Duntley 1948
// for contrast; Bowditch for the horizon; Crumey 2014 with Andrews 1989 for the eye
// (signal/observer); ISO 9613-1 and -2, and ISO 7731 (from memory) for sounds. COLREG,
// nominal ranges of IALA and WMO's table of lights come out with their own thresholds.
//
// # Range and accuracy
//
// Thresholds spread by a factor 3 between people and days, which is 25 to 40 % of the
// distance in clear air and less than 15 % in fog. No trial confirms noticed beyond
// 1 km for unlit things, nor night search by eye, which never counts on less than 2e-7 lx.
// The law of contrast is for lines near the level, up to a few tens of kilometres.
//
// # Missing
//
// Chances of a signal that is only partly in view; several signals at once; a signal
// that moves; looking at the sun's side or out of a lit place other than by glare that is
// stated; the halo of a light in fog, which warns before the light itself; hills for
// sounds, and wind.
package sighting
