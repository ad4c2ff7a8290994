package job

import (
	"context"
	"errors"
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/prob"

	"github.com/paulmach/orb"
)

// views computes the views, and tells each.
func (c *chance) views(ctx context.Context) (views []prob.View, told []ChanceView, err error) {
	total := 0.0
	for _, v := range c.plan.Views {
		total += v.Weight
	}
	for _, v := range c.plan.Views {
		w, product, err := c.view(ctx, v)
		if errors.Is(err, errLeftOut) {
			continue
		}
		if err != nil {
			return nil, nil, fmt.Errorf("likelihood, view %s: %w", v.Name, err)
		}
		alone, err := prob.FromWeights(c.frame, w.Mass(c.frame), 0)
		if err != nil {
			return nil, nil, fmt.Errorf("likelihood, view %s: %w", v.Name, err)
		}
		views = append(views, prob.View{Weights: w, Weight: v.Weight})
		one := ChanceView{
			Name: v.Name, Kind: v.Kind, Weight: cli.Num(v.Weight / total), By: v.By, From: v.From,
			EntropyBits: cli.Num(alone.EntropyBits()), BeyondShare: cli.Num(w.Beyond), RankScore: cli.Num(c.score(alone)),
			HalfWithinM: cli.Len(math.NaN()), Product: product,
		}
		if law, err := c.law(v); err == nil && law != nil {
			one.HalfWithinM = cli.Len(prob.Median(law))
		}
		told = append(told, one)
	}
	return views, told, nil
}

// errLeftOut says that a view was left out, and that the result tells of it.
var errLeftOut = errors.New("left out")

// view computes one view: its own weights, bent by its factors, and what that did.
func (c *chance) view(ctx context.Context, v plan.View) (prob.Weights, *ChanceProduct, error) {
	w, err := c.base(ctx, v)
	if err != nil {
		return w, nil, err
	}
	w.Name, w.Evidence = v.Name, v.From
	parts := []prob.Weights{w}
	if !math.IsNaN(v.DirectionDeg) {
		d, err := prob.Toward(c.frame, c.around(v.Around).Point, earth.NewTrue(v.DirectionDeg), v.DirectionSDDeg)
		if err != nil {
			return w, nil, err
		}
		d.Evidence = v.DirectionFrom
		parts = append(parts, d)
	}
	if v.Reach {
		reach, err := c.reached(ctx)
		if err != nil {
			return w, nil, err
		}
		if reach != nil {
			parts = append(parts, prob.Weights{Name: "reach", Evidence: "walking time", Density: reach, Beyond: math.NaN()})
		}
	}
	for _, p := range v.Near {
		shapes, err := c.run.shapes([]string{p.File})
		if err != nil {
			return w, nil, err
		}
		near, err := prob.Near(c.frame, prob.DistanceTo(c.frame, MarkShapes(c.frame, shapes)), p.Times, p.WidthM)
		if err != nil {
			return w, nil, err
		}
		near.Name, near.Evidence = p.File, p.From
		parts = append(parts, near)
	}
	joined, err := prob.Multiply(c.frame, v.Name, parts...)
	if err != nil {
		return w, nil, err
	}
	for _, text := range joined.Warnings {
		c.run.warn(text, "")
	}
	var product *ChanceProduct
	if len(parts) > 1 {
		product = toldProduct(joined, parts)
		joined.Beyond = math.NaN() // bent, it is no longer known
	}
	if err := c.exclude(joined.Density, v.NotIn); err != nil {
		return w, nil, err
	}
	return joined.Weights, product, nil
}

// exclude puts 0 where areas of files lie.
func (c *chance) exclude(density []float64, files []string) error {
	shapes, err := c.run.shapes(files)
	if err != nil {
		return err
	}
	for i, out := range MarkShapes(c.frame, shapes) {
		if out {
			density[i] = 0
		}
	}
	return nil
}

// around returns the start of that name, or the newest.
func (c *chance) around(name string) plan.Start {
	for _, s := range c.run.plan.Starts {
		if s.Name == name {
			return s
		}
	}
	return c.start
}

// base computes what a view says before anything bends it.
func (c *chance) base(ctx context.Context, v plan.View) (prob.Weights, error) {
	switch v.Kind {
	case plan.ViewLog:
		g := c.run.result.Reckon
		if g == nil || len(g.Path) == 0 {
			c.run.leaveOut(fmt.Sprintf("likelihood, view %s: the plan has no log with a start", v.Name))
			return prob.Weights{}, errLeftOut
		}
		m := g.Covariance
		return c.position(v, g.Path[len(g.Path)-1], earth.Covariance{NN: float64(m[0][0]), NE: float64(m[0][1]), EE: float64(m[1][1])})
	case plan.ViewStart:
		s := c.around(v.Around)
		return c.position(v, s.Point, earth.Covariance{NN: s.SDM * s.SDM, EE: s.SDM * s.SDM})
	case plan.ViewDistances, plan.ViewPublished:
		law, err := c.law(v)
		if err != nil {
			return prob.Weights{}, err
		}
		if p, ok := prob.PublishedTable(v.Published); ok {
			c.run.warn(fmt.Sprintf("view %s rests on %s (n = %s): other people, in another country", v.Name, p.Source, cases(p.Cases)), "your own figures are better")
		}
		return prob.Distances(c.frame, c.around(v.Around).Point, law)
	case plan.ViewAreas:
		return c.areas(v.Areas)
	case plan.ViewWander:
		return c.wander(ctx, v)
	}
	return prob.Even(c.frame, nil), nil
}

// position is where a position known with an error lies, carried on where the
// plan says so.
func (c *chance) position(v plan.View, at orb.Point, cov earth.Covariance) (prob.Weights, error) {
	if !math.IsNaN(v.GoneM) {
		var err error
		at, cov, err = prob.Carried(at, cov, prob.Carry{Bearing: earth.NewTrue(v.CourseDeg), DistM: v.GoneM, SDDistM: v.GoneSDM, SDBearDeg: v.CourseSDDeg})
		if err != nil {
			return prob.Weights{}, err
		}
	}
	return prob.Normal(c.frame, at, cov)
}

// law returns a view's law of distances, nil for a view without one.
func (c *chance) law(v plan.View) (prob.Radial, error) {
	if v.Kind != plan.ViewDistances && v.Kind != plan.ViewPublished {
		return nil, nil
	}
	var table prob.Table
	for _, row := range v.Distances {
		table = append(table, prob.Quantile(row))
	}
	if v.Kind == plan.ViewPublished {
		p, ok := prob.PublishedTable(v.Published)
		if !ok {
			return nil, fmt.Errorf("no published table is named %s", v.Published)
		}
		table = p.Table
	}
	if v.Smooth {
		return prob.FitLognormal(table)
	}
	return table, table.Check()
}

func cases(n int) string {
	if n == 0 {
		return "not stated"
	}
	return fmt.Sprint(n)
}

func (c *chance) areas(list []plan.ViewArea) (prob.Weights, error) {
	var areas []prob.Area
	for _, a := range list {
		shapes, err := c.run.shapes([]string{a.File})
		if err != nil {
			return prob.Weights{}, err
		}
		areas = append(areas, prob.Area{Name: a.Name, Inside: inAreas(c.frame, named(shapes, a.Name)), Share: a.Share})
	}
	return prob.Areas(c.frame, areas)
}

// named returns the areas of that name, or all of a file that has none of it.
func named(shapes []Shape, name string) (list []Shape) {
	for _, s := range shapes {
		if s.Name == name && s.Area != nil {
			list = append(list, s)
		}
	}
	if list == nil {
		return areasOf(shapes)
	}
	return list
}
