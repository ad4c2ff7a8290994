package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/prob"
	"farhail/geo/terrain"
	"farhail/geo/walk"
)

// reached returns the soft mask of reach, nil without terrain.
func (c *chance) reached(ctx context.Context) ([]float64, error) {
	availableS := c.at.Sub(c.start.Time).Seconds()
	switch {
	case c.reach != nil:
		return c.reach, nil
	case c.ground == nil:
		c.run.leaveOut("likelihood, reach: no terrain under the start")
		return nil, nil
	case availableS <= 0:
		return nil, cli.WithHint(fmt.Errorf("the moment %s is not after the start's time", c.run.clock(c.at)), "give likelihood: at: a later time")
	}
	o, _, err := c.run.walking(c.start)
	if err != nil {
		return nil, err
	}
	stops, load, _ := c.run.pauses(c.start, availableS)
	o.Factor, availableS = load, walk.Walked(availableS, stops)
	o.MaxSeconds = math.Max(availableS*math.Exp(4*prob.DefaultPaceSpread), 1)
	field, err := walk.Reach(ctx, c.run.heights, o)
	if errors.Is(err, walk.ErrNoStart) {
		return nil, cli.WithHint(fmt.Errorf("nobody can walk from the start %s", c.start.Name), "look at its position, or leave reach: away")
	}
	if err != nil {
		return nil, err
	}
	// The share of reach on the terrain's own cells, then its mean over the map's.
	soft, err := prob.Soft(field.Frame, field.Seconds, availableS, prob.DefaultPaceSpread)
	if err != nil {
		return nil, err
	}
	c.reach = c.meanOver(field.Frame, soft.Density)
	return c.reach, nil
}

// wander lets people walk who do not know where they are. They keep the traveller's
// rests, nights and load.
func (c *chance) wander(ctx context.Context, v plan.View) (prob.Weights, error) {
	from := c.around(v.Around)
	speed, err := c.speeds(from)
	if err != nil {
		return prob.Weights{}, err
	}
	stops, pace, _ := c.run.pauses(from, v.WanderS)
	// A rest shortens the time, a night the steps.
	rests := slices.DeleteFunc(slices.Clone(stops), func(s walk.Stop) bool { return s.Speed > 0 })
	awakeS := walk.Walked(v.WanderS, rests)
	if awakeS > 0 {
		pace *= walk.Walked(v.WanderS, stops) / awakeS
	}
	for i := range speed {
		speed[i] *= float32(pace)
	}
	return prob.Wander(ctx, c.frame, prob.Walkers{
		From: from.Point, Covariance: earth.Covariance{NN: from.SDM * from.SDM, EE: from.SDM * from.SDM},
		SpeedMS: speed, Seconds: awakeS, Straight: prob.Straightness(v.TurnSDDeg), Seed: c.run.plan.Seed,
	})
}

// speeds returns how fast people walk over each cell of the map whichever way they
// turn [m/s]: by the rule on its slope, the mean of up and down, on trails by the
// rule's form for paths, elsewhere slower by the ground; 0 where they do not.
func (c *chance) speeds(from plan.Start) ([]float32, error) {
	cover := c.run.cover
	if cover != nil {
		cover = cover.Over(c.frame)
	}
	// What the cover has that is odd was told when the rings were drawn.
	o, _, _, err := c.run.footing(c.frame, cover)
	if err != nil {
		return nil, err
	}
	if o.Starts, err = walk.Within(c.frame, from.Point, earth.Ellipse{}, 0); err != nil {
		return nil, err
	}
	for _, n := range OpenStart(&o, c.frame) {
		c.run.note(n)
	}
	speed := make([]float32, c.frame.Cols*c.frame.Rows)
	for i := range speed {
		slope, known := c.slope(i)
		if !known || o.Barrier != nil && o.Barrier[i] {
			continue
		}
		on, slower := o.Rule, 1.0
		switch {
		case o.Trail != nil && o.Trail[i]:
			on = o.TrailRule
		case o.Ground != nil:
			slower = float64(o.Ground[i])
		}
		speed[i] = float32(2 / slower / (on.MapPace(slope) + on.MapPace(-slope)))
	}
	return speed, nil
}

// slope returns the slope of a cell of the map as rise over run, 0 where a
// neighbour's height is missing, and whether the cell's own height is known.
func (c *chance) slope(i int) (rise float64, known bool) {
	if c.ground == nil {
		return 0, true
	}
	if math.IsNaN(float64(c.ground.Z[i])) {
		return 0, false
	}
	deg := terrain.SlopeDeg(c.ground, i%c.frame.Cols, i/c.frame.Cols)
	if math.IsNaN(deg) {
		return 0, true
	}
	return math.Tan(deg * math.Pi / 180), true
}
