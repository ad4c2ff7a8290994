// Package mapfile reads and writes map files: GPX 1.0 and 1.1 in, GPX 1.1 out,
// GeoJSON (RFC 7946) in and out, KML 2.2 out. It is the only package that knows
// gpxgo, orb/geojson and go-kml.
//
// Start with [ReadGPX] or [ReadGeoJSON] to read, [WriteGPX], [WriteGeoJSON] and
// [WriteKML] to write, [GPX.Fit] and [FitLayers] to make a file fit a handheld.
//
// Reading follows one rule: a file that is broken as a file (cut off, not XML,
// not JSON, not of the kind) is refused as a whole with an [*Error] that names
// the line; a single value that is broken (a time without sense, a height
// "n/a", a latitude of 95) costs only itself and is told as a [Problem]. What
// is missing stays missing: NaN for a height, the zero time for a time, and a
// point without a readable position is left out, never put at 0, 0.
//
// What is legal and yet doubtful (a clock that runs back, heights of 0 throughout,
// a jump to 0, 0) is told as a [Problem] too, and nothing of it is changed.
//
// GPX is read by a reader of our own, because gpxgo v1.4.0 turns zone offsets
// into year 1, absent latitudes into 0 and one odd height into the loss of the
// file; its XML scanner does what encoding/xml does, without an allocation for
// each name and value. gpxgo's model and writer make the GPX that goes out; what
// is handed to it is checked and rounded before.
//
// Sources: GPX 1.0 and 1.1 schemas (topografix.com/GPX/1/0, /GPX/1/1), XML
// Schema part 2 (dateTime, decimal), ISO 8601, RFC 7946 (GeoJSON), OGC 07-147r2
// (KML 2.2). Not read:
// GPX extensions, links, receiver quality fields; GeoJSON foreign members.
package mapfile
