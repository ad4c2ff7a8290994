package cover

import (
	"strconv"
	"strings"
)

// A tagClass is a tag and the class that it means.
type tagClass struct {
	key, values string // values separated by blanks, * for any
	class       Class
}

// tagClasses are OpenStreetMap's tags of areas: of the tags of one area the one
// that stands first here counts, so that what grows or lies there is believed
// before what it is used for. Uses that tell nothing of the ground (nature
// reserves, ski slopes, military areas) are left out, so that such an area has no
// class of its own.
var tagClasses = []tagClass{
	{"natural", "water bay strait", Water},
	{"natural", "glacier", Snow},
	{"natural", "wetland marsh mud", Wetland},
	{"natural", "wood", Wood},
	{"natural", "scrub heath moor shrubbery", Scrub},
	{"natural", "grassland fell tundra", Grass},
	{"natural", "bare_rock rock scree shingle sand beach dune blockfield landslide cliff", Bare},
	{"waterway", "riverbank dock", Water},
	{"landcover", "trees", Wood},
	{"landcover", "grass meadow", Grass},
	{"landcover", "scrub bushes", Scrub},
	{"landcover", "bare gravel sand rock bare_ground", Bare},
	{"landcover", "water", Water},
	{"building", "*", Built},
	{"landuse", "reservoir basin salt_pond aquaculture", Water},
	{"landuse", "forest", Wood},
	{"landuse", "meadow grass village_green recreation_ground pasture cemetery", Grass},
	{"landuse", "farmland farm orchard vineyard allotments plant_nursery flowerbed", Crops},
	{"landuse", "residential commercial industrial retail farmyard garages railway construction depot education religious institutional port harbour greenhouse_horticulture", Built},
	{"landuse", "quarry landfill", Bare},
	{"leisure", "park garden pitch golf_course common dog_park playground", Grass},
	{"leisure", "swimming_pool marina", Water},
	{"leisure", "track stadium sports_centre", Built},
	{"amenity", "parking school hospital university marketplace", Built},
	{"aeroway", "runway taxiway apron terminal", Built},
}

// areaKeys are the keys of tagClasses, in their order.
var areaKeys = func() (keys []string) {
	for _, t := range tagClasses {
		if len(keys) == 0 || keys[len(keys)-1] != t.key {
			keys = append(keys, t.key)
		}
	}
	return keys
}()

// A Tagger returns the value of a feature's tag, "" for none.
type Tagger func(key string) string

// ClassOf returns the class that an area's tags mean, [Unknown] where they mean
// none. A wood's leaf_type (or the older wood=coniferous) makes it [Conifer].
func ClassOf(tag Tagger) Class {
	for _, t := range tagClasses {
		v := tag(t.key)
		if v == "" || v == "no" || t.values != "*" && !hasWord(t.values, v) {
			continue
		}
		if t.class == Wood && (tag("leaf_type") == "needleleaved" || hasWord("coniferous evergreen", tag("wood"))) {
			return Conifer
		}
		return t.class
	}
	return Unknown
}

func hasWord(list, word string) bool {
	for _, w := range strings.Fields(list) {
		if w == word {
			return true
		}
	}
	return false
}

// LineKind is what a line is to a walker.
type LineKind uint8

// Kinds of lines. The zero value is a line that is none of them.
const (
	OtherLine LineKind = iota
	River              // rivers and canals
	Stream             // streams, ditches, drains, rivers that fall dry
	Cliff
	Trail    // paths, tracks and roads
	SeaShore // where the sea is no area
)

// String returns the kind in lower case.
func (k LineKind) String() string {
	return [...]string{"other", "river", "stream", "cliff", "trail", "sea shore"}[k]
}

const (
	riverWords  = "river canal tidal_channel riverbank fairway rapids"
	streamWords = "stream ditch drain brook wadi"
	trailWords  = "path footway track bridleway steps pedestrian cycleway living_street residential service unclassified road tertiary secondary primary trunk " +
		"tertiary_link secondary_link primary_link trunk_link via_ferrata"
	underGround = "culvert yes flooded"
)

// LineOf returns what a line's tags mean to a walker. Water in a tunnel or
// culvert is no line on the ground. Motorways are nobody's trail.
func LineOf(tag Tagger) LineKind {
	water := tag("waterway")
	dry := tag("intermittent") == "yes" || tag("seasonal") == "yes"
	switch {
	case water != "" && hasWord(underGround, tag("tunnel")):
		return OtherLine
	case hasWord(riverWords, water) && !dry:
		return River
	case tag("natural") == "coastline":
		return SeaShore
	case hasWord(riverWords, water), hasWord(streamWords, water):
		return Stream
	case tag("natural") == "cliff":
		return Cliff
	case hasWord(trailWords, tag("highway")):
		return Trail
	}
	return OtherLine
}

// widthM returns the width that a line's tags state [m], false for none and for
// one in other words than a number, metres understood.
func widthM(tag Tagger) (float64, bool) {
	text := strings.TrimSpace(tag("width"))
	if text == "" {
		text = strings.TrimSpace(tag("est_width"))
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, "m")), 64)
	return v, err == nil && v > 0 && v < 1e5
}
