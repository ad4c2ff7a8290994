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
// Times are shortest times over moves to cells around (label-setting search,
// Dijkstra 1959). There are two sets of moves.
//
// 80 moves, the default: to all cells within five columns and rows that no
// shorter move divides. On flat ground a path of them is longer than the
// straight line by 0.49 % at worst, beside the grid's axes, and by nothing along
// a move. That is divided out of all times, so on flat ground rings are never
// too small and at most 0.49 % too large, see [Elongation80Worst]. On steep
// ground walkers zigzag, see [Rule.ZigzagPace].
//
// 16 moves, to the 8 neighbours and the 8 cells a knight's move away, as common
// raster programs have, walked straight and uncorrected: rings are too small by
// 2.75 % at worst and 1.4 % on average, which is the unsafe side; see
// [Elongation16Worst].
//
// What moves may do:
//
//   - No move starts, ends or passes on a barrier or on a cell without data.
//   - A diagonal move needs one of the two cells beside it to be passable: it
//     may touch the corner of a barrier, it never slips between two barriers
//     that meet at a corner. A line of barrier cells that touch by their
//     corners is therefore tight.
//   - A longer move is walked in legs from column to column, or from row to
//     row. Where legs meet it lies between two cells: both must be passable, and
//     height and ground there are theirs in proportion, so that a move does not
//     skip a gully or a step. (A knight's move has two legs, which meet at the
//     mean of the two cells between its ends.)
//   - A greatest slope holds for every leg that is not on a trail: a built path
//     is less steep than the ground that the grid shows, and has its zigzags.
//   - A move is on a trail where both ends are trail cells and, where its legs
//     meet, one of the two cells is as well. Trails do not open barriers: clear
//     the barrier cell where there is a bridge.
//   - Ground multiplies the time of a leg off trails by the mean of the factors
//     at its ends.
//
// Cells smooth the ground and its gullies: on real and on made ground times are
// some per cent longer than those of a four times finer solve of the same
// heights, see TestErrorOnRoughGround.
package walk
