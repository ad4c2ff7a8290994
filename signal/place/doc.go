// Package place chooses where signals, lookouts and relay posts stand.
//
// Call [Choose] first. It takes an [Objective] and an [Ask]. There are three
// objectives: [Problem], in which a watcher notices a site or not (maximal
// covering, Church and ReVelle 1974, Papers of the Regional Science Association
// 32, 101-118); [Chances], in which they notice it with a chance that depends
// on what nobody knows, the same for all sites; and [Nearest], in which each
// turns to the nearest site. An ask says how many sites there may be, which are
// fixed, and what each costs of a budget.
//
// Greedy choice reaches at least 1 - (1 - 1/n)^n of the best (Nemhauser, Wolsey
// and Fisher 1978, Mathematical Programming 14, 265-294); the bound that comes
// with each [Choice] is usually much tighter, since it is computed from the
// instance. [Choose] exchanges sites after it and solves small instances
// exactly, which the choice tells; [Exact] does so for larger ones or fails.
//
// [Fewest] reaches everybody with the fewest sites. [Links] joins posts that see
// each other into a [Chain]; [Relay] chooses linked posts that are worth much.
//
// # Missing
//
// The package knows nothing of terrain, light or eyes: sets and chances are made
// by its caller, so that one choice serves every kind of signal. Chances of a
// million cells in 64 states take 0.5 GB. The choice of relay posts is no optimum.
package place
