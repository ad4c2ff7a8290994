package job

import (
	"context"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/geo/magnetic"
)

// A Compass is where the needle points at the middle of what a plan is about.
type Compass struct {
	Lat                 cli.Deg    `json:"lat"`
	Lon                 cli.Deg    `json:"lon"`
	Date                *time.Time `json:"date"`
	DeclinationDeg      cli.Num    `json:"declination_deg"` // positive east; null where the model does not hold
	DeclinationErrorDeg cli.Num    `json:"declination_error_deg"`
	YearlyDeg           cli.Num    `json:"yearly_deg"` // change in a year, positive towards the east
	Model               string     `json:"model"`
	Why                 string     `json:"why"` // it is null; "" where it is not
}

// compass works out the declination for the day of as_of.
func (r *run) compass(context.Context) error {
	box, ok := r.box()
	when := r.plan.AsOf
	if !ok || when.IsZero() {
		return nil
	}
	at := box.Center()
	nan := cli.Num(math.NaN())
	c := &Compass{
		Lat: cli.Deg(at.Lat()), Lon: cli.Deg(at.Lon()), Date: instant(when, r.result.Plan.location), Model: magnetic.Model,
		DeclinationDeg: nan, DeclinationErrorDeg: nan, YearlyDeg: nan,
	}
	r.result.Compass = c
	f, err := magnetic.At(at, 0, when)
	if err != nil {
		c.Why = err.Error()
		return nil
	}
	c.DeclinationDeg, c.DeclinationErrorDeg = cli.Num(f.DeclinationDeg), cli.Num(f.DeclinationErrorDeg)
	// The model is a straight line in time: half a year either way gives the year's
	// change, and near its ends the half that it covers is doubled.
	early, errEarly := magnetic.At(at, 0, when.AddDate(0, -6, 0))
	late, errLate := magnetic.At(at, 0, when.AddDate(0, 6, 0))
	switch {
	case errEarly == nil && errLate == nil:
		c.YearlyDeg = cli.Num(turned(early, late))
	case errLate == nil:
		c.YearlyDeg = cli.Num(2 * turned(f, late))
	case errEarly == nil:
		c.YearlyDeg = cli.Num(2 * turned(early, f))
	}
	return nil
}

// turned is by how much the needle has turned between two fields.
func turned(from, to magnetic.Field) float64 {
	return math.Remainder(to.DeclinationDeg-from.DeclinationDeg, 360)
}
