// Package sky says where sun and moon stand, when they rise and set, and how
// much light they put on open ground.
//
// [Sun] and [Moon] give the directions, [DayOf] the events of a day, [LightAt]
// the light on the ground under clear, broken or overcast sky. Positions follow
// Meeus, Astronomical Algorithms, 2nd ed. 1998, through
// github.com/soniakeys/meeus, with the planets' pull on the earth added. Times
// are taken as UTC, which differs from UT1 by less than 0.9 s (0.004 degrees of
// the sky's turn). Against JPL Horizons the sun is within 0.007 degrees from
// 1900 to 2100 and the moon within 0.001 in 2018.
//
// The package knows no time zones and no calendar: a day is handed in as its
// two midnights.
//
// Missing: hills on the horizon, eclipses, the glow of towns, cloud that
// differs over the sky.
package sky
