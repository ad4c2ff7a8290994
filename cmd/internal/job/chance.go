package job

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/earth"
	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/geo/terrain"
	"farhail/geo/walk"

	"github.com/paulmach/orb"
)

// A Chance is where the traveller is likely to be, by the views of the plan.
type Chance struct {
	At           *time.Time     `json:"at"`
	Cells        int            `json:"cells"`
	CellEastM    cli.Len        `json:"cell_east_m"`
	CellNorthM   cli.Len        `json:"cell_north_m"`
	Sum          cli.Num        `json:"sum"` // share on the map
	OutsideShare cli.Num        `json:"outside_share"`
	OutsideBy    string         `json:"outside_by"`
	EntropyBits  cli.Num        `json:"entropy_bits"`
	RankScore    cli.Num        `json:"rank_score"` // for a find that was given
	Regions      []ChanceRegion `json:"regions"`
	Views        []ChanceView   `json:"views"`
	SearchAreas  []SearchArea   `json:"search_areas"`
	Elsewhere    cli.Num        `json:"elsewhere_share"` // on the map, in no search area
	SearchParty  *SearchParty   `json:"search_party"`    // null where the plan names none
	Surface      *prob.Surface  `json:"-"`

	labels []int32                   // the search area of each cell, -1: none
	speeds func() ([]float32, error) // at which somebody walks over each cell [m/s]
}

// A ChanceRegion is the smallest ground that holds a share of what the map
// holds.
type ChanceRegion struct {
	Share  cli.Num          `json:"share"`
	Whole  cli.Num          `json:"share_of_whole"` // the outside counted
	AreaM2 cli.Area         `json:"area_m2"`
	Shape  orb.MultiPolygon `json:"-"`
}

// A ChanceView is one view as it entered.
type ChanceView struct {
	Name        string  `json:"name"`
	Kind        string  `json:"kind"`
	Weight      cli.Num `json:"weight"` // of all weights together
	By          string  `json:"by"`
	From        string  `json:"from"`
	EntropyBits cli.Num `json:"entropy_bits"`  // of it alone, on the map
	BeyondShare cli.Num `json:"beyond_share"`  // that it would put beyond the map; null where it says nothing
	RankScore   cli.Num `json:"rank_score"`    // null without a find
	HalfWithinM cli.Len `json:"half_within_m"` // of its law of distances; null without one
	// Product is what multiplying did to it, null where nothing was multiplied.
	Product *ChanceProduct `json:"product"`
}

// regionShares are those of the regions: half, and nine tenths.
var regionShares = []float64{0.5, 0.9}

// A chance is the likelihood under way.
type chance struct {
	run    *run
	plan   plan.Likelihood
	start  plan.Start
	at     time.Time
	frame  grid.Frame
	ground *grid.Heights // within the frame, cells as large as its; nil without terrain
	reach  []float64     // soft mask, made once
}

// chances computes where the traveller is likely to be.
func (r *run) chances(ctx context.Context) error {
	l := r.plan.Likelihood
	if l.Line == 0 {
		return nil
	}
	start, ok := ringStart(r.plan.Starts)
	if !ok {
		r.leaveOut("likelihood: the plan has no start")
		return nil
	}
	c := &chance{run: r, plan: l, start: start, at: l.At}
	if c.at.IsZero() {
		c.at = r.plan.AsOf
	}
	c.settle()
	views, told, err := c.views(ctx)
	if err != nil {
		return err
	}
	s, err := prob.Average(c.frame, l.Outside, views)
	if err != nil {
		return fmt.Errorf("likelihood: %w", err)
	}
	if beyond := prob.BeyondShare(views); beyond > l.Outside+0.01 {
		r.warn(fmt.Sprintf("the views themselves put %.0f %% beyond the map, more than the %.0f %% that %s gives the outside", 100*beyond, 100*l.Outside, l.By),
			"widen the map (likelihood: within:), or give the outside more")
	}
	east, north := c.frame.Metres(c.frame.Rows / 2)
	out := &Chance{
		At: instant(c.at, r.result.Plan.location), Cells: len(s.Mass), CellEastM: cli.Len(east), CellNorthM: cli.Len(north),
		Sum: cli.Num(s.Sum()), OutsideShare: cli.Num(s.Outside), OutsideBy: l.By, EntropyBits: cli.Num(s.EntropyBits()),
		RankScore: cli.Num(c.score(s)), Views: told, Surface: s, speeds: c.speeds,
	}
	density := s.DensityKM2()
	for _, share := range regionShares {
		g := s.Region(share * s.Sum())
		region := ChanceRegion{Share: cli.Num(share), Whole: cli.Num(g.Share), AreaM2: cli.Area(g.AreaM2)}
		if g.Cells > 0 {
			region.Shape = denser(c.frame, density, g.Least)
		}
		out.Regions = append(out.Regions, region)
	}
	if err := c.addAreas(ctx, out, s); err != nil {
		return err
	}
	r.result.Chance = out
	return nil
}

// denser returns the ground at least as dense as a limit.
func denser(f grid.Frame, density []float64, least float64) orb.MultiPolygon {
	v := make([]float32, len(density))
	for i, d := range density {
		v[i] = float32(math.Inf(1))
		if d >= least {
			v[i] = 0
		}
	}
	return grid.Outline(f, v, 0)
}

// settle chooses the cells: those of the terrain around the start, made coarse by
// a whole factor where they are smaller than asked for or too many; without
// terrain squares of 100 m.
func (c *chance) settle() {
	h := c.run.heights
	east, north := earth.MetresPerDegree(c.start.Point.Lat())
	if h == nil || !c.run.groundDecides(c.start.Point) {
		cellM := max(c.plan.CellM, flatCellM, 2*c.plan.WithinM/math.Sqrt(prob.MaxCells))
		n := 2*int(math.Ceil(c.plan.WithinM/cellM)) + 1
		c.frame = grid.Frame{DX: cellM / east, DY: cellM / north, Cols: n, Rows: n}
		c.frame.X0 = c.start.Point.Lon() - float64(n/2)*c.frame.DX
		c.frame.Y0 = c.start.Point.Lat() + float64(n/2)*c.frame.DY
		return
	}
	col, row := h.Cell(c.start.Point)
	eastM, northM := h.MetresAt(col, row)
	cols, rows := c.plan.WithinM/eastM, c.plan.WithinM/northM
	cut := window(h, col, row, cols, rows)
	if col-cols < -1 || row-rows < -1 || col+cols > float64(h.Cols) || row+rows > float64(h.Rows) {
		c.run.warn(fmt.Sprintf("the map of the likelihood ends where the terrain does, less than %s from the start: all beyond counts as outside", Distance(c.plan.WithinM)),
			"add terrain, make the map smaller (likelihood: within:), or give the outside its due")
	}
	k := max(1, int(math.Ceil(c.plan.CellM/min(eastM, northM)*(1-1e-9))))
	most := ((cut.Cols + k - 1) / k) * ((cut.Rows + k - 1) / k)
	var factor int
	c.frame, factor = prob.Coarse(cut.Frame, min(most, prob.MaxCells))
	c.ground = coarseHeights(cut, c.frame, factor)
}

const flatCellM = 100

// window returns the cells of a terrain within so many columns and rows of a
// place.
func window(h *grid.Heights, col, row, cols, rows float64) *grid.Heights {
	c0, c1 := max(int(col-cols), 0), min(int(col+cols)+1, h.Cols-1)
	r0, r1 := max(int(row-rows), 0), min(int(row+rows)+1, h.Rows-1)
	x, y := h.XY(float64(c0), float64(r0))
	out := &grid.Heights{Frame: grid.Frame{CRS: h.CRS, X0: x, Y0: y, DX: h.DX, DY: h.DY, Cols: c1 - c0 + 1, Rows: r1 - r0 + 1}}
	for r := r0; r <= r1; r++ {
		out.Z = append(out.Z, h.Row(r)[c0:c1+1]...)
	}
	return out
}

// coarseHeights returns the means of k by k heights, NaN where one is unknown.
func coarseHeights(h *grid.Heights, f grid.Frame, k int) *grid.Heights {
	v := make([]float64, len(h.Z))
	for i, z := range h.Z {
		v[i] = float64(z)
	}
	out := &grid.Heights{Frame: f, Z: make([]float32, f.Cols*f.Rows)}
	for i, z := range prob.CoarsenMean(h.Frame, v, k) {
		out.Z[i] = float32(z)
	}
	return out
}

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

// score returns the rank score of a surface for the find, NaN without one.
func (c *chance) score(s *prob.Surface) float64 {
	if c.run.found == nil {
		return math.NaN()
	}
	col, row := c.frame.Cell(*c.run.found)
	return s.RankScore(int(math.Round(col)), int(math.Round(row)))
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
		inside := make([]bool, c.frame.Cols*c.frame.Rows)
		for _, s := range named(shapes, a.Name) {
			c.frame.Spans(s.Area, func(row, first, last int) {
				for col := first; col <= last; col++ {
					inside[row*c.frame.Cols+col] = true
				}
			})
		}
		areas = append(areas, prob.Area{Name: a.Name, Inside: inside, Share: a.Share})
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
		for _, s := range shapes {
			if s.Area != nil {
				list = append(list, s)
			}
		}
	}
	return list
}

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
	rule, ok := walk.Named(c.run.plan.Traveller.Rule)
	if !ok {
		return nil, fmt.Errorf("no walking rule is named %s", c.run.plan.Traveller.Rule)
	}
	o, _, err := c.run.walking(c.start, rule)
	if err != nil {
		return nil, err
	}
	stops, load, _ := c.run.pauses(c.start, availableS)
	o.Factor, availableS = load, walk.Walked(availableS, stops)
	o.MaxSeconds = math.Max(availableS*math.Exp(4*prob.DefaultPaceSpread), 1)
	field, err := walk.Reach(ctx, c.run.heights, o)
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

// meanOver returns the means of a terrain's values over each cell of the map.
func (c *chance) meanOver(f grid.Frame, v []float64) []float64 {
	total, n := make([]float64, c.frame.Cols*c.frame.Rows), make([]float64, c.frame.Cols*c.frame.Rows)
	for i, x := range v {
		col, row := c.frame.CellXY(f.XY(float64(i%f.Cols), float64(i/f.Cols)))
		cc, rr := int(math.Round(col)), int(math.Round(row))
		if cc >= 0 && rr >= 0 && cc < c.frame.Cols && rr < c.frame.Rows {
			total[rr*c.frame.Cols+cc] += x
			n[rr*c.frame.Cols+cc]++
		}
	}
	for i := range total {
		if n[i] > 0 {
			total[i] /= n[i]
		}
	}
	return total
}

// speeds returns at which speed somebody walks over each cell, by the rule on its
// slope, the mean of up and down; 0 on barriers and where the ground is not known.
func (c *chance) speeds() ([]float32, error) {
	rule, ok := walk.Named(c.run.plan.Traveller.Rule)
	if !ok {
		return nil, fmt.Errorf("no walking rule is named %s", c.run.plan.Traveller.Rule)
	}
	speed := make([]float32, c.frame.Cols*c.frame.Rows)
	for i := range speed {
		slope := 0.0
		if c.ground != nil {
			deg := terrain.SlopeDeg(c.ground, i%c.frame.Cols, i/c.frame.Cols)
			if math.IsNaN(deg) {
				deg = 0
				if math.IsNaN(float64(c.ground.Z[i])) {
					continue
				}
			}
			slope = math.Tan(deg * math.Pi / 180)
		}
		speed[i] = float32(2 / (rule.MapPace(slope) + rule.MapPace(-slope)))
	}
	barriers, err := c.run.shapes(c.run.plan.Traveller.Barriers)
	if err != nil {
		return nil, err
	}
	for i, b := range MarkShapes(c.frame, barriers) {
		if b {
			speed[i] = 0
		}
	}
	return speed, nil
}

// wander lets people walk who do not know where they are.
func (c *chance) wander(ctx context.Context, v plan.View) (prob.Weights, error) {
	speed, err := c.speeds()
	if err != nil {
		return prob.Weights{}, err
	}
	s := c.around(v.Around)
	return prob.Wander(ctx, c.frame, prob.Walkers{
		From: s.Point, Covariance: earth.Covariance{NN: s.SDM * s.SDM, EE: s.SDM * s.SDM},
		SpeedMS: speed, Seconds: v.WanderS, Straight: prob.Straightness(v.TurnSDDeg), Seed: c.run.plan.Seed,
	})
}
