// Package los says what can be seen over terrain: one sight line ([Line]), many
// from one place ([NewEye], [Eye.Sight], [Eye.State]), or all cells around it
// ([SeenArea], [NeededArea]), or many places from many ([SeenSets], [SeenCells]);
// [Eye.Profile] has the ground below one line, and [ChanceArea] how often a cell is
// seen where ground, eyes and light are uncertain.
//
// # Definition
//
// An eye and a target stand a height above the ground; between cell centres the
// ground is the bilinear height. The ground under the sight line is looked at
// wherever the line crosses a row or a column through the cell centres, and is
// there interpolated linearly between the two centres beside the crossing. Each
// height is lowered by curvature and refraction, d² (1 - k) / 2R. The target is
// seen where the height that it needs to top the straight line over every
// crossing is at most its own plus 0.1 mm, so ties are seen. The eight cells
// around an eye at a cell centre are seen, as no crossing lies between. This is
// the R3 model of Franklin, W. R. and Ray, C. (1994), Higher isn't necessarily
// better: visibility algorithms and experiments, Proc. 6th Int. Symp. on
// Spatial Data Handling, 751-770.
//
// Ground that is no data may hide anything: a line over it is [Unknown] unless
// known ground hides the target anyway.
//
// # Frames
//
// A line is straight in columns and rows. On a projected grid it leaves the
// geodesic by a few metres in 50 km, which is ignored. On longitude and
// latitude a line that would leave the geodesic by more than half a cell is
// made of several such lines (at latitude 42.5 from about 46 km on 3, 27 km on
// 1 arc-second cells). A line's length uses the ground size of the cells at its
// middle.
//
// # Many lines
//
// A seen area has for each cell the answer of that cell's own line; [SeenArea]
// only finds it sooner: by the crossing that hid the cell before, by upper
// bounds of the slopes in a direction, and by tiles of ground that lie below the
// line. A hidden cell is always hidden by a crossing of its own line, a seen one
// by bounds that cover all of its crossings, and what is too near to tell by
// them is decided crossing by crossing.
//
// # Missing
//
// Heights inside the patch between four centres are not looked at: they move 1
// to 6 % of the seen cells, less than a vertical error of 1 m in the terrain
// does. Trees and buildings are seen through unless the terrain holds them or
// [Options.Screen] raises what lines run over; a screen lets no light through and
// ends half way between a cell with trees and one without.
package los
