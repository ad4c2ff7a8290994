// Package reckon turns a leg log into a position: where a party is that wrote
// down every bearing and distance, how sure that is, and the way home.
//
// Start with [ParseLog], then [Run]. A log is plain text, one leg a line:
//
//	start: 42.55 1.55
//	north: magnetic
//	date: 2026-11-24 Europe/Andorra
//	pace: 116 per 100 m single
//	060 1000 m @10:40
//	130 850 paces slope +12% crossed the stream   # more notes
//	350,010 300 m
//
// or a table with commas, semicolons or tabs, whose first row names the columns:
//
//	bearing_magnetic_deg;distance;time;slope (%);note
//	60;1000 m;10:40;;
//	130;850 paces;11:05;+12;crossed the stream
//
// Bearings are degrees, quadrants (N76d00'E) or mils with their unit; several
// readings of one bearing are parted by commas; the word back stands before one
// that was read looking back. A letter T, M or G gives one bearing a north of
// its own. Points of the compass, bare numbers where a unit is needed, and paces
// of unknown kind are refused, because each could mean two things.
//
// # What is computed
//
// A leg of length d in true bearing t goes d·cos t north and d·sin t east;
// north and east of the whole log are the plain sums, as traverse books print
// them. The end position chains the legs as geodesics on the ellipsoid, so that
// the turn of the meridians is in it. Lengths walked on a slope s are reduced
// to the map, d/sqrt(1 + s²).
//
// The error of a leg is taken as normal, along it a share of its length, across
// it an angle; errors of legs are independent. Two more are common to all legs,
// a wrong pace length and a wrong needle; they act on the net displacement
// only, and a closed loop cancels them.
//
// # What is known on the way
//
// A line among the legs may say what is known of the place there, and how sure
// it is (one standard deviation):
//
//	mark church: 42.5561 1.5340
//	mark spire: 42.5600 1.5295
//	at church ±20 m                          # or a position
//	on 42.55 1.55 to 42.56 1.54 ±15 m        # a stream or a road that was crossed
//	resection church 045M, spire 130M ±2deg  # bearings to marks
//	break                                    # what follows was not logged; at or resection goes on
//	break 300 m                              # 300 m whose bearing nobody kept
//
// Legs and places are joined by weighted least squares ([Fit]): the end and its
// ellipse are those of the whole, chi-square says whether the errors stated
// explain what does not fit, and for each leg by how much a change of it alone
// would mend the fit, so that a bad leg stands out.
//
// The errors may be stated in the log itself (sigma-distance: 4%, sigma-bearing: 2deg,
// scale-bias: 2%, bearing-bias: 1deg: [Errors]).
//
// # What may be wrong, and the way back
//
// [Slips] weighs for every leg whether its digits were swapped, its bearing read from
// the other end or its count doubled or halved, and says when that cannot be told.
// [Result.Back] is the way home leg by leg, [Result.Stakes] the log laid out on a patch of
// ground. A walker without a compass (compass: none, [Heading]) is a random walk of the
// heading: the end is then a mean. [Keep] writes the log that somebody would have kept of
// a track, [ScoreLog] holds one against the track of the same walk.
//
// Assumed: legs are straight. The error of the start counts where the log states
// it (at POSITION ±, before the first leg), else it is independent and added with
// [earth.Covariance.Plus]. Missing: two slips in one log, slips of a leg left out or
// written twice, known places of walkers without a compass.
package reckon
