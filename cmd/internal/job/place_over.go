package job

import (
	"fmt"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/signal/sighting"
)

// A PlaceAt is one of the plan's hours that an answer over likely cells is for.
type PlaceAt struct {
	At       *time.Time `json:"at"`
	NoticedM cli.Len    `json:"noticed_m"` // by light and air alone; from post to post at best for relay posts
	Covered  cli.Num    `json:"covered"`   // by the chosen sites in that hour, in the unit of the answer
}

// looksOver returns the chances of a signal over hours, each counting alike: the states
// of a row are the joint draws of the first hour, then those of the second, and so on.
func (r *run) looksOver(s plan.Signal, hours []time.Time, k seer) (*looks, error) {
	over := &looks{}
	for i, at := range hours {
		l, err := r.looksOf(s, at, k)
		if err != nil {
			return nil, err
		}
		for row, chances := range l.rows {
			if row == len(over.rows) {
				over.rows = append(over.rows, make([]float32, len(hours)*sighting.Draws))
			}
			copy(over.rows[row][i*sighting.Draws:], chances)
		}
	}
	over.cut()
	return over, nil
}

// statesOf returns how many states the chances of looks have.
func statesOf(list []*looks) int {
	for _, l := range list {
		if len(l.rows) > 0 {
			return len(l.rows[0])
		}
	}
	return sighting.Draws
}

// overHours tells what a choice comes to in each hour. noticedM returns how far the signal
// is noticed in one.
func (p *placing) overHours(o *objective, sites []int, hours []time.Time, noticedM func(at time.Time) (float64, error)) ([]PlaceAt, error) {
	list := []PlaceAt{}
	if len(o.chances.States) != len(hours)*sighting.Draws {
		return list, nil
	}
	for i, at := range hours {
		m, err := noticedM(at)
		if err != nil {
			return nil, err
		}
		in := o.chances
		in.States = make([]float64, len(o.chances.States))
		for draw := range sighting.Draws {
			in.States[i*sighting.Draws+draw] = 1.0 / sighting.Draws
		}
		covered := 0.0
		for cell, chance := range in.ByCell(sites) {
			covered += in.Weights[cell] * chance
		}
		list = append(list, PlaceAt{At: instant(at, p.result.Plan.location), NoticedM: cli.Len(m), Covered: cli.Num(covered)})
	}
	return list, nil
}

// restsOnHours says that hours were summed; nothing where there is one.
func restsOnHours(hours []time.Time) []string {
	if len(hours) < 2 {
		return nil
	}
	return []string{fmt.Sprintf("the mean over %d hours of the plan, each counting alike and in its own light", len(hours))}
}
