package cover

import "fmt"

// Class is a kind of ground.
type Class uint8

// The ten classes, and what is not known.
const (
	Unknown Class = iota
	Grass         // meadow, pasture, alpine grass, parks
	Crops         // fields, vineyards, orchards, gardens
	Scrub         // bushes, heath, young or sparse trees
	Wood          // broadleaved and mixed wood, and wood of which nothing more is told
	Conifer       // wood of needle-leaved trees
	Bare          // rock, scree, sand, ground hardly grown
	Wetland       // bog, marsh, reed, flats of mud
	Water         // lakes, rivers that are mapped as areas, the sea
	Built         // houses, yards, works, paved ground
	Snow          // glaciers and lasting snow
)

var classNames = [...]string{"unknown", "grass", "crops", "scrub", "wood", "conifer", "bare", "wetland", "water", "built", "snow"}

// String returns the class's name in lower case.
func (c Class) String() string {
	if int(c) >= len(classNames) {
		return fmt.Sprintf("class %d", uint8(c))
	}
	return classNames[c]
}

// Named returns the class of that name, false for another word and for unknown.
func Named(name string) (Class, bool) {
	for i, n := range classNames {
		if n == name && i > 0 {
			return Class(i), true
		}
	}
	return Unknown, false
}

// Classes returns the ten classes in their order.
func Classes() []Class {
	var list []Class
	for c := Grass; c <= Snow; c++ {
		list = append(list, c)
	}
	return list
}

// Wooded reports whether trees stand there.
func (c Class) Wooded() bool { return c == Wood || c == Conifer }
