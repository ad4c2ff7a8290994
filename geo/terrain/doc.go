// Package terrain reads heights of the ground: SRTM .hgt tiles (plain, zipped or
// gzipped), GeoTIFF and Esri ASCII grids. [Load] takes one file, several, or
// folders of them, joins tiles that abut, and cuts out the box that is needed.
// [WriteGeoTIFF] writes grids of heights or of results.
//
// Files are recognised by what they hold; only an .hgt tile needs its name,
// which is all that says where it lies. Cells without a height are NaN, however
// the file marks them. The grid stays the file's own: nothing is resampled, so
// files of different coordinates or cell sizes are refused with the command of
// a general tool (gdalwarp, gdal_translate) that makes them alike.
//
// Read are WGS84 longitude and latitude and UTM on WGS84, also their ETRS89 and
// NAD83 forms, which lie within 2 m of them and are noted. Heights come in
// metres in the file's own vertical datum, EGM96 for SRTM.
//
// Sources: U.S. Geological Survey, SRTM Quick Start (the .hgt layout); TIFF
// Revision 6.0, Adobe (1992) and its Technical Notes 1 and 3; GeoTIFF Standard
// 1.1, OGC 19-008r4; the Esri ASCII raster format page of the ArcGIS help.
//
// Missing: BigTIFF, rotated grids, several bands, JPEG, LERC and zstd
// compression. An error names what to run instead.
package terrain
