package page

import (
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/overlay"
	"farhail/geo/earth"
	"farhail/geo/magnetic"
)

// A norths is the three norths in the middle of the map. Up is the north of the plane's grid.
type norths struct {
	TrueDeg     float64  `json:"true_deg"` // from up, clockwise
	MagneticDeg *float64 `json:"magnetic_deg"`
	Words       []string `json:"words"`
}

func (p *plane) norths(at *time.Time) norths {
	middle := p.round(p.box.Center())
	convergence := p.tm.ConvergenceDeg(middle)
	n := norths{TrueDeg: -convergence}
	n.Words = append(n.Words, fmt.Sprintf("In the middle of the map true north is %s of grid north (zone %d).", eastOrWest(-convergence), p.zone))
	if at == nil {
		n.Words = append(n.Words, "No date is given, so no declination.")
		return n
	}
	field, err := magnetic.At(middle, 0, *at)
	if err != nil {
		n.Words = append(n.Words, "No declination: "+err.Error()+".")
		return n
	}
	deg := earth.Wrap180(field.DeclinationDeg - convergence)
	n.MagneticDeg = &deg
	n.Words = append(n.Words, fmt.Sprintf("Magnetic north is %s of true north and %s of grid north, %s, %s, within %.1f°.",
		eastOrWest(field.DeclinationDeg), eastOrWest(deg), overlay.Moment(at), field.Model, 2*field.DeclinationErrorDeg))
	if field.Zone != magnetic.Normal {
		n.Words = append(n.Words, "The compass is weakly held here: do not trust it alone.")
	}
	return n
}

func eastOrWest(deg float64) string {
	side := "east"
	if deg < 0 {
		side = "west"
	}
	return fmt.Sprintf("%.1f° %s", math.Abs(deg), side)
}
