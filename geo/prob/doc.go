// Package prob says where a person is likely to be: a surface of probability
// over a grid, made from views that named people hold, and scored.
//
// A [Surface] holds one share of probability for each cell and one for
// everything outside of the map; together they are 1. It is drawn as a density
// per square kilometre, since cells differ in size.
//
// A view begins as a weight for each cell: [Normal] (where a leg log ends),
// [Radial] (how far people of a kind go from a planning point), [Areas]
// (people's own polygons with shares), [Wander] (walkers who do not know where
// they are), [Even]. Factors bend it: [Soft] (what can have been reached by
// then), [Toward] (a direction), [Near] (trails and water that pull). [Multiply]
// joins weights that state different evidence, and warns where two state the
// same. [Average] joins views by the weights that people give them, never by a
// product, and keeps the share outside as it was stated.
//
// [Surface.Region] is the smallest area with a share of the probability,
// [Surface.EntropyBits] how spread out it is, [Surface.RankScore] how well it
// did once the person is found, [Surface.Update] what a search that found
// nothing leaves of it. A [History] replays what has been learnt: each [Search],
// each signal that was [NotSeen], and the [Motion] in between. [Split] cuts the
// map into parts that one party can search.
//
// A surface sums up what was told to it. The share outside is a judgement, and
// nothing here estimates whether a person lives.
//
// Sources: the rule of Bayes; Kareiva and Shigesada 1983 for walks without an aim;
// the rank statistic that Sava and others 2016 use; tables of distances name their
// own. Shares are numbers from 0 to 1.
//
// Missing: profiles of behaviour by kind of person, for want of figures that
// may be used; tables of distances are the user's own.
package prob
