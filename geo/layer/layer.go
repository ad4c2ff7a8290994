// Package layer holds things to draw, apart from how they are computed and from
// the file they go to: a [Layer] is a titled list of features, a [Feature] a
// named geometry with figures beside it.
//
// Results become layers in one place and every writer (GeoJSON, GPX, page,
// sheet) reads layers only, so that all files say the same. The package computes
// nothing.
package layer

import (
	"math"
	"time"

	"github.com/paulmach/orb"
)

// Layer is one kind of thing on the map.
type Layer struct {
	ID       string // short, stable, lower case: the value of "layer" in files
	Title    string // plain English, for a legend
	Features []Feature
}

// Feature is one thing to draw. Make it with [New]: the zero value stands at
// sea level.
type Feature struct {
	Name       string
	Geometry   orb.Geometry // longitude, latitude [deg], WGS84; nil = nowhere
	Properties []Property   // written in this order
	HeightM    float64      // height above sea level of a point [m], NaN = unknown
	Time       time.Time    // zero = not tied to a time
}

// Property is a figure or word beside a feature. The key carries the unit
// (range_m, power_kw).
type Property struct {
	Key   string
	Value any // string, bool, integer, float (NaN and Inf = no data, written null), time.Time, a slice of these, or nil
}

// New is a feature of unknown height that is not tied to a time.
func New(name string, g orb.Geometry, properties ...Property) Feature {
	return Feature{Name: name, Geometry: g, Properties: properties, HeightM: math.NaN()}
}

// P is short for a [Property].
func P(key string, value any) Property { return Property{Key: key, Value: value} }

// Get returns the value under a key, and whether there is one.
func (f Feature) Get(key string) (any, bool) {
	for _, p := range f.Properties {
		if p.Key == key {
			return p.Value, true
		}
	}
	return nil, false
}
