package job

import (
	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/cover"
	"farhail/geo/walk"
)

// Walk puts the cover into the options of walking by a rule, beside the trails and
// barriers that stand there: how much longer each class takes, what is not crossed,
// and the trails of its files, which it returns with the others.
func (c *Cover) Walk(o *walk.Options, rule walk.Rule, ask plan.Footing, trails []Shape) ([]Shape, []cli.Note) {
	c.slow(o, rule, ask)
	own := c.trails()
	if trails = append(trails[:len(trails):len(trails)], own...); len(own) > 0 {
		o.Trail, o.TrailRule = MarkShapes(c.grid.Frame, trails), rule.OnTrail()
	}
	b := c.mapped.Stops(c.grid, cover.Crossing(ask.Crossing))
	if o.Barrier == nil {
		o.Barrier = make([]bool, len(b.Mask))
	}
	var notes []cli.Note
	if b.Cut > 0 {
		notes = append(notes, warning("where it is only beside the water, give a finer terrain, or leave that water open (--crossing lakes)",
			"%d cells of trails lie in running water without a bridge and are not walked: where the trail only follows the bank, rings are too small", b.Cut))
	}
	for i, stops := range b.Mask {
		o.Barrier[i] = o.Barrier[i] || stops
	}
	c.Barriers = &CoverBarrier{Crossing: ask.Crossing, WaterCells: b.Water, CliffCells: b.Cliffs, OpenedCells: b.Opened, CutCells: b.Cut, Trails: len(own)}
	return trails, notes
}

// slow sets the time factors of the ground.
func (c *Cover) slow(o *walk.Options, rule walk.Rule, ask plan.Footing) {
	given := map[cover.Class]float64{}
	for name, factor := range ask.TimeFactors {
		if class, ok := cover.Named(name); ok {
			given[class] = factor
		}
	}
	// A rule of paths is its own form for trails.
	holds := rule.MapPace(0) / rule.OnTrail().MapPace(0)
	table := cover.Slower(holds, given)
	for i := range c.Classes {
		class := &c.Classes[i]
		class.TimeFactor, class.TimeFactorOnPath = cli.Num(table[class.class]), cli.Num(table[class.class]*holds)
		class.TimeFactorFrom = cover.SlowerFrom(class.class, holds, given)
	}
	o.Ground = c.grid.Factors(table)
}

// trails returns the paths among what the files hold.
func (c *Cover) trails() []Shape {
	var list []Shape
	for _, l := range c.mapped.Trails() {
		list = append(list, Shape{Name: l.Name, Line: l.Path})
	}
	return list
}

// CrossingWords say what stops walkers by one of CoverCrossings.
func CrossingWords(word string) string {
	return map[string]string{
		string(cover.AllCrossed): "none stops them", string(cover.LakesStop): "lakes and the sea",
		string(cover.RiversStop): "lakes, the sea and rivers", string(cover.StreamsStop): "lakes, the sea, rivers and streams",
	}[word]
}
