// Package page writes map.html, a map that is one file: it opens from a memory stick in
// a browser without a network.
//
// Everything with a meaning is computed here: positions in the plane of the map, figures of
// the grid, heights, margins, lines, words. The script in the page looks up, interpolates and
// draws. Its tables are made so fine that what it interpolates is within a few centimetres,
// and the page says how near. The person block of a plan never gets here, since only
// named parts of a result are read.
//
// [Write] is the one call. The desk's page serves the same style sheet and script.
package page
