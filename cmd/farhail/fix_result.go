package main

import (
	"fmt"
	"math"
	"time"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/geo/coord"
	"farhail/geo/earth"
	"farhail/geo/magnetic"
)

// fixPlace is a position in every notation: the keys of --json.
type fixPlace struct {
	fixPoint
	Notation coord.Notation `json:"notation,omitempty"` // as read
	SquareM  *cli.Len       `json:"square_m"`           // null unless a grid reference was read
	DMS      string         `json:"dms"`
	DDM      string         `json:"ddm"`
	MGRS     string         `json:"mgrs"`
	UTM      *fixGrid       `json:"utm,omitempty"`
	UPS      *fixGrid       `json:"ups,omitempty"`
	*fixDatum
	*fixField
	Bearing *fixBearing `json:"bearing,omitempty"`
	Circle  *fixCircle  `json:"circle,omitempty"`
}

// fixDatum says how a position came to WGS84 from another datum.
type fixDatum struct {
	Datum       string  `json:"datum"`
	DatumErrorM cli.Len `json:"datum_error_m"`
	DatumShift  string  `json:"datum_shift,omitempty"` // EPSG code of the operation
}

// fixGrid is UTM or UPS; zone and band are of UTM only.
type fixGrid struct {
	Zone           int     `json:"zone,omitempty"`
	Band           string  `json:"band"` // latitude band; of UPS the letter of the half cap
	Hemisphere     string  `json:"hemisphere"`
	EastingM       cli.Len `json:"easting_m"`
	NorthingM      cli.Len `json:"northing_m"`
	ConvergenceDeg cli.Num `json:"convergence_deg"`
	Scale          cli.Num `json:"scale"`
}

// fixField is the magnetic field on a date.
type fixField struct {
	DeclinationDeg       cli.Num       `json:"declination_deg"`
	InclinationDeg       cli.Num       `json:"inclination_deg"`
	FieldNT              cli.Num       `json:"field_nt"`
	HorizontalNT         cli.Num       `json:"horizontal_nt"`
	GridMagneticAngleDeg cli.Num       `json:"grid_magnetic_angle_deg"`
	DeclinationErrorDeg  cli.Num       `json:"declination_error_deg"`
	CompassZone          magnetic.Zone `json:"compass_zone"`
	Model                string        `json:"model"`
}

// fixBearing is one bearing from each north; magnetic is null without a date.
type fixBearing struct {
	TrueDeg     cli.Angle `json:"true_deg"`
	MagneticDeg cli.Angle `json:"magnetic_deg"`
	GridDeg     cli.Angle `json:"grid_deg"`
	BackTrueDeg cli.Angle `json:"back_true_deg"`
}

// fixWay is a geodesic between two positions; the bearings are null when they
// are one.
type fixWay struct {
	DistanceM  cli.Len     `json:"distance_m"`
	BearingDeg cli.Angle   `json:"bearing_true_deg"`
	ArrivalDeg cli.Angle   `json:"arrival_bearing_true_deg"`
	Bearing    *fixBearing `json:"bearing"`
	From       fixPoint    `json:"from"`
	To         fixPoint    `json:"to"`
}

type fixPoint struct {
	Lat cli.Deg `json:"lat"`
	Lon cli.Deg `json:"lon"`
}

func fixPointOf(p orb.Point) fixPoint { return fixPoint{cli.Deg(p.Lat()), cli.Deg(p.Lon())} }

// fixEnd is the position at the end of a geodesic.
type fixEnd struct {
	fixPlace
	From       fixPoint  `json:"from"`
	DistanceM  cli.Len   `json:"distance_m"`
	ArrivalDeg cli.Angle `json:"arrival_bearing_true_deg"`
}

// write prints the position for people; date is the day of its declination.
func (r *fixPlace) write(w cli.Text, date time.Time) {
	g := r.UTM
	grid := ""
	if g != nil {
		grid = fmt.Sprintf("%d %s %.1f %.1f  UTM, band %s", g.Zone, g.Hemisphere, g.EastingM, g.NorthingM, g.Band)
	} else {
		g = r.UPS
		grid = fmt.Sprintf("%s %.1f %.1f  UPS", g.Band, g.EastingM, g.NorthingM)
	}
	for _, l := range []struct {
		notation coord.Notation
		text     string
	}{
		{coord.NotationDecimal, coord.Decimal(orb.Point{float64(r.Lon), float64(r.Lat)})},
		{coord.NotationDMS, r.DMS}, {coord.NotationDDM, r.DDM}, {coord.NotationUTM, grid}, {coord.NotationMGRS, r.MGRS + "  MGRS"},
	} {
		if w.Notation == "" || w.Notation == l.notation {
			fmt.Fprintln(w, l.text)
		}
	}
	if r.SquareM != nil {
		fmt.Fprintf(w, "the centre of a grid square of %s: the position is anywhere in it\n", short(w.Words, float64(*r.SquareM)))
	}
	if d := r.fixDatum; d != nil {
		fmt.Fprintf(w, "from datum %s: right to %s\n", d.Datum, short(w.Words, float64(d.DatumErrorM)))
	}
	fmt.Fprintf(w, "grid north %s of true north, grid length %.6f of ground length\n", eastWest(float64(g.ConvergenceDeg)), float64(g.Scale))
	if m := r.fixField; m != nil {
		fmt.Fprintf(w, "on %s magnetic north %s of true north, give or take %.2f (%s)\n", date.Format(time.DateOnly), eastWest(float64(m.DeclinationDeg)), float64(m.DeclinationErrorDeg), m.Model)
		fmt.Fprintf(w, "grid bearing = magnetic bearing %+.2f deg\n", float64(m.GridMagneticAngleDeg))
	}
	if r.Bearing != nil {
		fmt.Fprintf(w, "bearing %s, back %s true\n", r.Bearing, bearingText(float64(r.Bearing.BackTrueDeg)))
	}
	if r.Circle != nil {
		r.Circle.write(w)
	}
}

// said writes a position in the notation asked for, else in decimal degrees.
func said(w cli.Words, p orb.Point) string {
	if w.Notation == "" {
		return coord.Decimal(p)
	}
	return w.Reference(p)
}

// String writes the bearing from each north that is known.
func (b *fixBearing) String() string {
	s := bearingText(float64(b.TrueDeg)) + " true"
	if !math.IsNaN(float64(b.MagneticDeg)) {
		s += ", " + bearingText(float64(b.MagneticDeg)) + " magnetic"
	}
	return s + ", " + bearingText(float64(b.GridDeg)) + " grid"
}

// bearingText writes a bearing to a tenth of a degree; 359.96 is 000.0.
func bearingText(b float64) string {
	return fmt.Sprintf("%05.1f", earth.Wrap360(math.Round(b*10)/10))
}

func eastWest(deg float64) string {
	if deg < 0 {
		return fmt.Sprintf("%.2f deg west", -deg)
	}
	return fmt.Sprintf("%.2f deg east", deg)
}
