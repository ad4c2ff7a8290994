package page

import (
	"fmt"
	"math"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A norths is the three norths of the map. Up is the north of the plane's grid.
type norths struct {
	TrueDeg     float64  `json:"true_deg"` // from up, clockwise
	MagneticDeg *float64 `json:"magnetic_deg"`
	Words       []string `json:"-"`
}

// norths tells them where the result tells its declination, else in the middle of the map.
func (p *plane) norths(c *job.Compass) norths {
	at := p.round(p.box.Center())
	if c != nil {
		at = orb.Point{float64(c.Lon), float64(c.Lat)}
	}
	convergence := p.tm.ConvergenceDeg(at)
	n := norths{TrueDeg: -convergence}
	n.Words = append(n.Words, fmt.Sprintf("True north is %s of grid north (zone %d) in the middle of what the plan is about.", eastOrWest(-convergence), p.zone))
	switch {
	case c == nil:
		n.Words = append(n.Words, "No date is given, so no declination.")
	case c.Why != "":
		n.Words = append(n.Words, "No declination: "+c.Why+".")
	default:
		deg := earth.Wrap180(float64(c.DeclinationDeg) - convergence)
		n.MagneticDeg = &deg
		yearly := ""
		if !math.IsNaN(float64(c.YearlyDeg)) {
			yearly = fmt.Sprintf(", moving %s a year", hundredths(float64(c.YearlyDeg)))
		}
		n.Words = append(n.Words, fmt.Sprintf("Magnetic north is %s of true north and %s of grid north, %s, by %s, give or take %.1f° (95 %%)%s.",
			eastOrWest(float64(c.DeclinationDeg)), eastOrWest(deg), overlay.Moment(c.Date), c.Model, 2*float64(c.DeclinationErrorDeg), yearly))
	}
	return n
}

func eastOrWest(deg float64) string { return fmt.Sprintf("%.1f° %s", math.Abs(deg), side(deg)) }

func hundredths(deg float64) string { return fmt.Sprintf("%.2f° %s", math.Abs(deg), side(deg)) }

func side(deg float64) string {
	if deg < 0 {
		return "west"
	}
	return "east"
}
