// Package grid holds rasters: a [Frame] says where the cells of a grid lie and
// how large they are on the ground, [Heights] adds one height for each cell.
//
// Grids are north-up, on WGS84 longitude and latitude or on a UTM zone. The
// values stand at the cell centres, row by row from the north-west corner.
// NaN is no data. Values are stored as float32 (a height of 8000 m is then
// resolved to 0.5 mm) and computed with as float64.
//
// [Outline] and [Contour] turn values into areas and lines, [Simplify] leaves out
// positions of areas, [ErrorField] draws what heights may be off by.
//
// Start with [Frame.Cell] to turn a position into a column and row, and with
// [Heights.Sample] to read the height there.
package grid
