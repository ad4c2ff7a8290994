package cli

import (
	"math"
	"strings"

	"github.com/spf13/cobra"
)

// TurnRate is in degrees a second.
var TurnRate = dimension("rate of turn", "5deg/s", unit{name: "deg/s", scale: 1})

// ParseAim reads a direction in the sky, a true azimuth and an elevation above
// the level, in degrees or with their units ("180/45", "180deg/-5deg"). The
// error is a *QuantityError.
func ParseAim(text string) (azimuthDeg, elevationDeg float64, err error) {
	const advice = "write azimuth/elevation in degrees, like 180/45"
	s := strings.TrimSpace(text)
	fail := func(message string) (float64, float64, error) {
		return math.NaN(), math.NaN(), &QuantityError{Text: shorten(s), Message: message, Advice: advice}
	}
	azimuth, elevation, found := strings.Cut(s, "/")
	if !found || len(s) > maxQuantity {
		return fail("not an azimuth and an elevation")
	}
	angle := Direction.Bare()
	if azimuthDeg, err = ParseQuantity(azimuth, angle.Between(0, 360)); err == nil {
		elevationDeg, err = ParseQuantity(elevation, angle.Between(-90, 90))
	}
	if err != nil {
		return fail(err.Error())
	}
	return azimuthDeg, elevationDeg, nil
}

// Aim adds a flag that takes a direction in the sky as [ParseAim] does; both
// angles stay NaN when the flag is not given.
func Aim(cmd *cobra.Command, azimuthDeg, elevationDeg *float64, name, usage string) {
	*azimuthDeg, *elevationDeg = math.NaN(), math.NaN()
	v := &value{kind: "direction", set: func(s string) (err error) {
		*azimuthDeg, *elevationDeg, err = ParseAim(s)
		return err
	}}
	v.register(cmd, name, usage)
}
