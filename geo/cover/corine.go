package cover

// corine are the 44 classes of CORINE land cover, in the order by which its
// rasters number them from 1. The nomenclature's own name stands beside each.
var corine = [...]struct {
	code  int
	class Class
}{
	{111, Built},   // continuous urban fabric
	{112, Built},   // discontinuous urban fabric
	{121, Built},   // industrial or commercial units
	{122, Built},   // road and rail networks
	{123, Built},   // port areas
	{124, Built},   // airports
	{131, Bare},    // mineral extraction sites
	{132, Bare},    // dump sites
	{133, Built},   // construction sites
	{141, Grass},   // green urban areas
	{142, Grass},   // sport and leisure facilities
	{211, Crops},   // non-irrigated arable land
	{212, Crops},   // permanently irrigated land
	{213, Crops},   // rice fields
	{221, Crops},   // vineyards
	{222, Crops},   // fruit trees and berry plantations
	{223, Crops},   // olive groves
	{231, Grass},   // pastures
	{241, Crops},   // annual with permanent crops
	{242, Crops},   // complex cultivation patterns
	{243, Crops},   // agriculture with natural vegetation
	{244, Crops},   // agro-forestry areas
	{311, Wood},    // broad-leaved forest
	{312, Conifer}, // coniferous forest
	{313, Wood},    // mixed forest
	{321, Grass},   // natural grasslands
	{322, Scrub},   // moors and heathland
	{323, Scrub},   // sclerophyllous vegetation
	{324, Scrub},   // transitional woodland-shrub
	{331, Bare},    // beaches, dunes, sands
	{332, Bare},    // bare rocks
	{333, Bare},    // sparsely vegetated areas
	{334, Bare},    // burnt areas
	{335, Snow},    // glaciers and perpetual snow
	{411, Wetland}, // inland marshes
	{412, Wetland}, // peat bogs
	{421, Wetland}, // salt marshes
	{422, Water},   // salines
	{423, Wetland}, // intertidal flats
	{511, Water},   // water courses
	{512, Water},   // water bodies
	{521, Water},   // coastal lagoons
	{522, Water},   // estuaries
	{523, Water},   // sea and ocean
}

// corineNoData are what CORINE's rasters write where there is no class: 48 and
// 255 among the numbers from 1, 990 and more among the three-figure codes.
func corineNoData(number int) bool {
	return number == 0 || number == 48 || number == 255 || number >= 990
}

// FromCORINE returns the class of a three-figure CORINE code, [Unknown] for a
// number that is none of the 44.
func FromCORINE(code int) Class {
	for _, c := range corine {
		if c.code == code {
			return c.class
		}
	}
	return Unknown
}

// corineClass returns the class that the number of a raster's cell stands for; ok
// is false for what no CORINE raster holds. Rasters hold either the codes or
// their order, 1 to 44.
func corineClass(number int, ordered bool) (c Class, ok bool) {
	switch {
	case corineNoData(number):
		return Unknown, true
	case ordered && number > 0 && number <= len(corine):
		return corine[number-1].class, true
	case ordered:
		return Unknown, false
	}
	c = FromCORINE(number)
	return c, c != Unknown
}
