package reckon

// written is how a leg stands in the log, for slips of the pen to be looked
// for.
type written struct {
	bearing string // one reading with its unit and north; "" for several
	back    bool
	count   string  // the number of the distance; "" for a time
	unitM   float64 // what 1 of it is worth [m]
}
