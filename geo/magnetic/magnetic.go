// Package magnetic gives the declination of the compass, from the World Magnetic
// Model 2025: where the needle points, how strong the field is, and how far the
// answer can be trusted.
//
// Start with At. The model is the field of the earth's core: iron ore, power
// lines and a knife beside the compass are not in it, and turn the needle by more
// than the model's error in places. The field's daily swing and magnetic storms
// are not in it either.
//
// Source: NOAA National Centers for Environmental Information and British
// Geological Survey, The US/UK World Magnetic Model for 2025-2030, technical
// report (2024). Equation numbers are those of the report on the 2020 model
// (Chulliat et al. 2020, doi:10.25923/ytk1-yx35), from memory.
package magnetic

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/paulmach/orb"
)

// Model is the name of the model, which every declination is printed with.
const Model = "WMM2025"

// Years between which the model holds [decimal years].
const (
	firstYear = 2025.0
	lastYear  = 2030.0
)

// Heights between which the model holds [m above the WGS84 ellipsoid].
const (
	lowestM  = -1000
	highestM = 850e3
)

var (
	// ErrOutOfDate tells that the model does not hold at a time.
	ErrOutOfDate = errors.New("magnetic: " + Model + " holds from 2025-01-01 to 2030-01-01 only")
	// ErrOutOfRange tells that there is no such position, or that its height is
	// outside the model.
	ErrOutOfRange = errors.New("magnetic: " + Model + " holds on earth from 1 km below to 850 km above the ellipsoid")
)

// A Zone says how far a compass can be trusted at a place.
type Zone string

// The zones of the World Magnetic Model, by the strength of the horizontal field
// H that turns the needle. Limits from memory (technical report, section 1.4).
const (
	Normal   Zone = "normal"
	Caution  Zone = "caution"  // H below 6000 nT: a compass begins to fail
	Blackout Zone = "blackout" // H below 2000 nT: a compass is of no use
)

const (
	cautionNT  = 6000
	blackoutNT = 2000
)

// A Field is the magnetic field at one place and time.
type Field struct {
	// DeclinationDeg is the true bearing of magnetic north [degrees, -180 to
	// 180], positive east: true bearing = magnetic bearing + declination.
	DeclinationDeg float64
	// DeclinationErrorDeg is one standard deviation of it [degrees].
	DeclinationErrorDeg float64
	// InclinationDeg is the dip of the needle [degrees], positive down.
	InclinationDeg float64
	HorizontalNT   float64 // strength of the horizontal part [nT]
	TotalNT        float64 // strength [nT]
	Zone           Zone
	Model          string
}

// At returns the field at a position, heightM metres above the WGS84 ellipsoid
// [m, -1000 to 850 000], at a time. A height above sea level serves as well: the
// two differ by 100 m at most, which turns the needle by less than 0.001 degree.
//
// The declination is right to about 0.26 degree where the needle is strongly
// held, and less near the magnetic poles: DeclinationErrorDeg tells. At a pole of
// the earth, where every direction is one meridian's north, it is measured from
// the meridian of the position's longitude.
//
// The error is ErrOutOfDate or ErrOutOfRange. At is safe for concurrent use.
func At(p orb.Point, heightM float64, t time.Time) (Field, error) {
	year := decimalYear(t)
	if !(year >= firstYear && year <= lastYear) {
		return Field{}, fmt.Errorf("%w, not on %s", ErrOutOfDate, t.UTC().Format(time.DateOnly))
	}
	if !(math.Abs(p.Lat()) <= 90 && math.Abs(p.Lon()) <= math.MaxFloat64 && heightM >= lowestM && heightM <= highestM) {
		return Field{}, fmt.Errorf("%w: %v, height %v m", ErrOutOfRange, p, heightM)
	}
	north, east, down := components(p, heightM, year-firstYear)
	h := math.Hypot(north, east)
	f := Field{ // (19)
		DeclinationDeg:      math.Atan2(east, north) * 180 / math.Pi,
		DeclinationErrorDeg: declinationError(h),
		InclinationDeg:      math.Atan2(down, h) * 180 / math.Pi,
		HorizontalNT:        h,
		TotalNT:             math.Hypot(h, down),
		Zone:                Normal,
		Model:               Model,
	}
	switch {
	case h < blackoutNT:
		f.Zone = Blackout
	case h < cautionNT:
		f.Zone = Caution
	}
	return f, nil
}

// declinationError is the publisher's error model of the declination [degrees],
// one standard deviation, where the horizontal field is h [nT]: 0.26 for the
// direction, and 5417 nT degrees that weigh more as h falls. Source: technical
// report of WMM2025, table of error models; the figures as carried by
// github.com/boxpet/pygeomag, its edition for 2025 (5625 for the model of 2020).
func declinationError(h float64) float64 { return math.Hypot(0.26, 5417/h) }

// decimalYear returns the year and the share of it that has passed in UTC.
func decimalYear(t time.Time) float64 {
	t = t.UTC()
	start := time.Date(t.Year(), 1, 1, 0, 0, 0, 0, time.UTC)
	end := time.Date(t.Year()+1, 1, 1, 0, 0, 0, 0, time.UTC)
	return float64(t.Year()) + float64(t.Sub(start))/float64(end.Sub(start))
}
