// Package terrain reads heights of the ground: SRTM .hgt tiles (plain, zipped or
// gzipped), GeoTIFF and BigTIFF, and Esri ASCII grids. [Load] takes one file,
// several, or folders of them, joins tiles that abut, and cuts out the box that
// is needed. [WriteGeoTIFF] writes grids of heights or of results.
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
// GeoTIFFs may be in strips or tiles, sparse, cloud-optimised, of either byte
// order, plain or packed by PackBits, LZW, deflate or Zstandard, with predictors 1
// to 3; cells are whole numbers of 8 to 32 bits or floats of 16 to 64. Only the
// strips or tiles that a box needs are read, row by row. A broken or hostile file
// is refused before memory is taken for what it claims.
//
// [Terrain.FillVoids] closes small holes, [Terrain.Burn] sets measured heights in,
// [Terrain.CutSummit] knows where coarse cells have cut a summit; [SlopeDeg],
// [SteepestDeg] and [Hillshade] read the ground.
//
// Sources: U.S. Geological Survey, SRTM Quick Start (the .hgt layout); TIFF
// Revision 6.0, Adobe (1992) and its Technical Notes 1 and 3; GeoTIFF Standard
// 1.1, OGC 19-008r4; RFC 8878 (Zstandard); the Esri ASCII raster format page of
// the ArcGIS help.
//
// Missing: rotated grids, several bands, JPEG, LERC and other compressions, 64-bit
// whole numbers. An error names what to run instead.
package terrain
