// Package geo is the documentation of the packages below it; it holds no code.
// They answer where things are: on the earth, on a map, on the ground, under the
// sky, and where a person on foot can be.
//
//	concept                                                        package
//	distance, bearing, north, curvature, error ellipse             geo/earth
//	UTM and local plane frames, metres in a degree                 geo/earth
//	a position as written: degrees, UTM, UPS, MGRS                 geo/coord
//	declination, where a compass fails                             geo/magnetic
//	sun and moon, their events, their light, cloud                 geo/sky
//	raster: cells, their sizes on the ground, sampling, outlines   geo/grid
//	terrain files: .hgt, GeoTIFF, Esri ASCII; voids, slope         geo/terrain
//	ground cover: ten classes, their figures, what stops walkers   geo/cover
//	sight line, clearance, profile, seen area, chance of it        geo/los
//	fixes and tracks, their lengths, gaps and points along them    geo/track
//	leg log: position, its ellipse, way home                       geo/reckon
//	walking rules, reach and travel rings                          geo/walk
//	where somebody is likely to be, search areas, rank score       geo/prob
//	things to draw, whatever the file they go to                   geo/layer
//	map files: GPX and GeoJSON, read and written                   geo/mapfile
//	check files, shared data, terrains with known answers          geo/geotest
//
// # Conventions
//
// A position is an orb.Point, longitude first, in degrees on WGS84; written
// pairs have the latitude first. Heights are kept apart and are metres above sea
// level as the terrain file has them, except where a comment names the ellipsoid.
// Lengths are metres, times seconds, angles degrees; what differs has its unit in
// its name. Bearings run clockwise and have their north in the type: true, magnetic
// or grid. Magnetic north east of true north is a positive declination, grid north
// east of true north a positive convergence.
//
// There is one earth: every length, area and bearing comes from geo/earth, the
// ellipsoid of WGS84. The measuring functions of other libraries are spheres of
// several radii and are not used.
//
// NaN is no data. It is never 0 and never -9999, and it spreads: a height sampled
// beside a void is NaN. A function whose result does not exist gives NaN or an
// error, and its comment says which.
//
// Nothing here reads a clock, the environment or a file by its name, prints, or
// draws random numbers of its own: readers take an io.Reader or an fs.FS, and what
// depends on time or chance takes a time or a seed. Everything is safe for use by
// several goroutines unless its comment says otherwise.
//
// # Levels
//
// A package imports packages of lower levels only; none imports signal or cmd.
// Numbers are handed down instead of packages up: geo/los takes a coefficient of
// refraction, geo/reckon a function that tells the declination.
//
//	level 4   cover
//	level 3   los terrain walk mapfile prob reckon
//	level 2   grid track
//	level 1   coord magnetic sky
//	level 0   earth layer
//
// geo/geotest stands beside them: tests import it, nothing else does.
package geo
