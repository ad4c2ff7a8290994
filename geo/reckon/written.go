package reckon

import "fmt"

// written is how a leg stands in the log, for slips of the pen to be looked
// for.
type written struct {
	bearing string // one reading with its unit and north; "" for several
	back    bool
	count   string  // the number of the distance; "" for a time
	unitM   float64 // what 1 of it is worth [m]
}

// Written returns bearing and distance of a leg about as the log has them.
func (l Leg) Written() string {
	bearing := l.written.bearing
	switch {
	case l.Lost():
		bearing = "break"
	case bearing == "":
		bearing = fmt.Sprintf("%03.0f", l.BearingDeg)
	case l.written.back:
		bearing = "back " + bearing
	}
	if l.Paces > 0 {
		return fmt.Sprintf("%s %g paces", bearing, l.Paces)
	}
	return fmt.Sprintf("%s %.4g m", bearing, l.WalkedM)
}
