// Package place chooses where signals stand.
//
// Call [Greedy] first. It takes a [Problem]: watchers with a weight (in
// person-seconds, or any other measure of worth) and candidate sites with the
// set of watchers that each would reach, and chooses n sites so that the
// weight reached by at least one of them is large. This is the maximal
// covering problem (Church and ReVelle 1974, Papers of the Regional Science
// Association 32, 101-118).
//
// The package knows nothing of terrain, light or eyes: the sets are made by its
// caller, so that one choice serves every kind of signal. Greedy choice reaches
// at least 1 - (1 - 1/n)^n of the best (Nemhauser, Wolsey and Fisher 1978,
// Mathematical Programming 14, 265-294); the bound that comes with each
// [Choice] is usually much tighter, since it is computed from the instance.
// [Exact] solves small instances by enumeration and is the oracle of the tests.
//
// Missing, for later: exchange after the greedy choice, and weights that are
// chances instead of sets.
package place
