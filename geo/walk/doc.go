// Package walk says how fast people walk over ground and how far that takes
// them: walking rules by author, the time to reach every cell of a terrain,
// and travel rings.
//
// Start with [Named] for a rule, [Within] for the cells of a start's error
// ellipse, [Reach] for the field of walking times and [Rings] for the rings.
//
// A ring is an outer limit for the walker it is drawn for: people who run or
// ride are beyond it. It shows where walking could have led, not where anyone
// is, and cliffs smaller than the grid are not seen.
//
// # The search
//
// Times are shortest times over the 16 moves to the neighbouring cells and the
// cells a knight's move away (label-setting search, Dijkstra 1959). On flat
// ground such a path is longer than the straight line by 1.4 % on average and
// by 2.75 % at worst (1/cos(13.28°) - 1), so rings are a little too small,
// which is the unsafe side; see [Elongation16].
//
// What moves may do:
//
//   - No move starts, ends or passes on a barrier or on a cell without data.
//   - A diagonal move needs one of the two cells beside it to be passable: it
//     may touch the corner of a barrier, it never slips between two barriers
//     that meet at a corner. A line of barrier cells that touch by their
//     corners is therefore tight.
//   - A knight's move runs half its way in each of the two cells between its
//     ends, so both must be passable. It is walked as two halves over the mean
//     height of these two cells, so that it does not skip a gully or a step.
//   - A greatest slope holds for every move or half move that is not on a
//     trail: a built path is less steep than the ground that the grid shows.
//   - A move is on a trail where both ends are trail cells and, for a knight's
//     move, one of the two cells between as well. Trails do not open barriers:
//     clear the barrier cell where there is a bridge.
//
// Not here yet: ground cover and night factors, rests, any-angle paths.
package walk
