// Package sweep turns seeing into searching: how likely a signal, a person or
// an object is seen by a party that passes it, how wide a strip the party
// sweeps, and what parallel strips add up to.
//
// Describe who passes what in a [Pass] and call [Pass.Solve].
//
// # Method
//
// The rate of finding at each distance comes from signal/sighting, so that a
// sweep width and a sighting distance rest on one model of seeing; along the
// straight path the rates add up to
//
//	F(x) = integral of the rate along the path / speed,  p(x) = 1 - e^(-F(x)),
//
// the lateral range curve, and the sweep width is W = 2 x the integral of p.
// Among plants the line is clear for one window of a few metres at a time
// ([Plants]).
//
// The rate ends where eye and air alone no longer make the target perceptible to the
// watcher (sighting.Watch.FarthestM), so that hours of glimpses at what is hardly
// there find nothing: W is at most 2.12 times the distance of "perceptible".
//
// Misses are not independent: what a tired eye misses now it misses again, and
// a dull jacket is dull for everyone. The threshold is therefore taken to be
// off by a power of ten that is the same for the whole pass, and p is the mean
// over it ([OffsetSD]).
//
// Who has measured widths or detection ranges of their own uses those
// ([FromDetectionRange]): they win over any model. [Law] gives the probability
// of detection of parallel strips.
//
// From an aircraft ([Pass.Abeam]) the sector looks to the sides, nobody looks
// past a [ScanLimitM], and low growth hides things seen at a slant
// ([GrazingPerM]). Fatigue is no part of a pass: a crew that reports it keeps
// 0.9 of the width (US National SAR Manual).
//
// # Range and accuracy
//
// Forest widths within a factor 1.35 either way ([ForestBand]), widths from the
// air within 1.6 ([AirBand]); the second depends on clutter and scan limit, which
// must be shown with it. The shape of
// the curve from the air is wrong and not to be drawn. Nothing is confirmed by
// a trial beyond 1 km for unlit targets. The score against published searches
// is in the tests, with its misfits.
//
// # Sources
//
// Koopman, Search and Screening, OEG Report 56 (1946), and Operations Research 4
// (1956) 324, 503; Koester et al., Wilderness & Environmental Medicine 25 (2014)
// 132; IAMSAR volume II (from memory) and the US National SAR Manual.
//
// # What tracks have searched, and what comes next
//
// A party is a [Line] of people abreast: one track stands for as many parallel
// ways. An [Operation] of ways gives the chance of detection cell by cell, with
// misses in common counted as such; [Together] joins operations, [Segments] sums up
// parts of the map, with a [Law] of coverage beside it as a check. [Allocate]
// divides one time among segments, [Effort.Assign] sends parties to one each,
// [Effort.Tours] to one after another, [Effort.Share] tells what could be had at
// best if they divided their time freely; all by random search, the safe side
// (Koopman 1957, Operations Research 5, 613).
//
// Against people who are looked for glimpse by glimpse on real ground the predicted
// chances are right within 0.03 in every tenth of them, where the heights of the
// ground are given and each leg has a passing of its own speed (a watcher may have
// several ways). One mean speed for a track whose pace follows the slopes costs up to
// 0.1 on open ground; what wrong inputs cost is in the tests.
//
// # Missing
//
// Targets that move, a thing that shows otherwise along the path (a beam, a panel
// seen at a slant: the caller says from which side it is met), windows and vibration
// of an aircraft; the ground in between is handed in ([Operation]). Speed costs a
// width from the air far more than the US National SAR Manual says.
package sweep
