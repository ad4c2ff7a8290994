// Package sky says where the sun stands and how much light it puts on open
// ground under a clear sky.
//
// [Sun] gives the direction, [ClearSkyIlluminance] the light for a true
// elevation. Positions follow Meeus, Astronomical Algorithms, 2nd ed. 1998,
// through github.com/soniakeys/meeus, with the planets' pull on the earth
// added. Times are taken as UTC, which differs from UT1 by less than 0.9 s
// (0.004 degrees of the sky's turn). Against JPL Horizons directions are
// within 0.007 degrees from 1900 to 2100.
//
// Missing: the moon and its light, rising and setting, twilight times, cloud.
// By night the ground is as dark as under a moonless sky.
package sky
