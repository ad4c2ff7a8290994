// Package signal is the documentation of the packages below it; it holds no
// code. They answer one question: how far is a signal seen, and what limits
// it.
//
//	concept                                              package
//	haze, refraction, the background, how smoke drifts   signal/air
//	the sun's beam, plants in the way, how sound fades   signal/air
//	thresholds of the eye, field factor, visual lobe     signal/observer
//	light, flag, fire, smoke, mirror: what they show     signal/source
//	distance, limit, margin, stimulus; sounds            signal/sighting
//	lateral range, sweep width, what a track searched    signal/sweep
//	where the next effort goes                           signal/sweep
//	where signals, lookouts and relay posts stand        signal/place
//	who is hidden where, and how a drill went            signal/drill
//
// A distance is built in four steps. The source says what it shows towards the
// eye: an intensity in candela, or an area in square metres with its contrast.
// The air takes its part: exp(-ln 20 d / MOR). The observer says what is
// needed: an illuminance in lux, or a contrast for the angular size, both for
// the luminance behind the signal. The distance is where the two are equal, or
// nearer where the earth's curve, the ground, the beam or the battery end it;
// every result names what ended it.
//
// Units are SI with candela, lux and cd/m2; angles in degrees where the name
// says so, solid angles in steradians; visibility is meteorological optical
// range. NaN is "cannot be told", 0 with its limit is "never".
//
// Packages of signal may import geo, never cmd. Terrain, time and place come
// in as numbers.
package signal
