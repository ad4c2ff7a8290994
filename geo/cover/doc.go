// Package cover turns maps of ground cover into ten classes and says what each
// means for walking and for seeing: how long it takes to cross, how high it
// stands, what it is behind a signal, how dense its stems and leaves are.
//
// Start with [Read] for files of OpenStreetMap (GeoJSON) and CORINE (GeoTIFF),
// [Map.On] for the classes of a terrain's cells, [Class.Traits] for the figures,
// [Grid.Screen] for what sight lines must pass over, [Grid.Passes] for what one of
// them passes among, and [Map.Stops] for what walkers do not cross.
//
// # Which class a cell has
//
// That of the smallest polygon its centre lies in: small things are mapped inside
// large ones (a lake in a wood), seldom the other way round. Of two of one size
// the later in the file counts. Where there is no polygon, the class of the CORINE
// cell below the centre. Where there is neither the class is [Unknown], and
// stays so: a place without a polygon may be open or may not have been mapped.
//
// # Assumed
//
// Classes hold for a whole cell, and OpenStreetMap's are as complete as somebody
// made them. Figures without a published source are this package's own choice or
// guess and say so. A mean height of a canopy by class was looked for and not
// found: the heights here are guesses, to be replaced by the user's own.
//
// # Sources
//
// OpenStreetMap tags: the project's wiki, "Map features", from memory. CORINE
// classes: Kosztra, B. and others (2019), Updated CLC illustrated nomenclature
// guidelines, European Environment Agency, from memory. Figures: named beside each
// in traits.go.
//
// # Missing
//
// Seasons (leaves fall, crops are cut, snow melts), relations that are no
// polygons, OpenStreetMap in its own format: ogr2ogr makes GeoJSON of it.
package cover
