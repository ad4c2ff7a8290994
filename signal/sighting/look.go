package sighting

import (
	"fmt"

	"farhail/signal/source"
)

// meets returns the query with the observer told of the colour that is met.
func (q Query) meets(look source.Appearance) Query {
	q.Observer.ScotopicRatio = look.ScotopicRatio
	return q
}

// colourFactors lists what the colour of a light does to the threshold.
func (q Query) colourFactors(point bool) []source.Factor {
	ratio := q.Observer.ScotopicRatio
	if !point || ratio == 0 {
		return nil
	}
	return []source.Factor{factor(fmt.Sprintf("colour, scotopic over photopic %g", ratio), q.Observer.ColourFactor(q.Air.BackgroundCDM2), "",
		"Crumey 2014 equation 6 down to the cones of Hecht 1947; own choice between dark and day")}
}

// sourceFactors lists what the appearance rests on: of the source as it is, and
// of the side and the hour at which it is met.
func (q Query) sourceFactors() []source.Factor {
	list := q.Source.Factors()
	if s, ok := q.Source.(interface {
		FactorsToward(source.View) []source.Factor
	}); ok {
		list = append(list, s.FactorsToward(q.View)...)
	}
	return list
}
