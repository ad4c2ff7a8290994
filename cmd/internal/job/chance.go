package job

import (
	"context"
	"fmt"
	"math"
	"time"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/grid"
	"farhail/geo/prob"

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
	// Lakes and rivers that the cover maps as areas are in no search area that is cut:
	// their ground, and what of the surface lies in them.
	WaterM2     cli.Area      `json:"water_m2"`
	WaterShare  cli.Num       `json:"water_share"`
	SearchParty *SearchParty  `json:"search_party"` // null where the plan names none
	Surface     *prob.Surface `json:"-"`

	labels []int32                   // the search area of each cell, -1: none
	speeds func() ([]float32, error) // at which somebody walks over each cell [m/s]
}

// A ChanceRegion is the smallest ground that holds a share of what the map
// holds.
type ChanceRegion struct {
	Share  cli.Num  `json:"share"`
	Whole  cli.Num  `json:"share_of_whole"` // the outside counted
	AreaM2 cli.Area `json:"area_m2"`
	// DrawnM2 is the area of Shape: more than AreaM2 where some of the ground as likely as
	// the region's least likely is enough, for no part of it is likelier than the rest.
	DrawnM2 cli.Area         `json:"drawn_m2"`
	Shape   orb.MultiPolygon `json:"-"`
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
		RankScore: cli.Num(c.score(s)), Views: told, Surface: s, speeds: func() ([]float32, error) { return c.speeds(c.start) },
	}
	density := s.DensityKM2()
	for _, share := range regionShares {
		g := s.Region(share * s.Sum())
		region := ChanceRegion{Share: cli.Num(share), Whole: cli.Num(g.Share), AreaM2: cli.Area(g.AreaM2), DrawnM2: cli.Area(math.NaN())}
		if g.Cells > 0 {
			region.Shape, region.DrawnM2 = denser(c.frame, density, g.Least)
		}
		out.Regions = append(out.Regions, region)
	}
	if err := c.addAreas(ctx, out, s); err != nil {
		return err
	}
	r.result.Chance = out
	return nil
}

// asLikely is how much less dense than a limit ground is taken to be as dense: what is
// equal but for the rounding of sums would be outlined in stripes.
const asLikely = 1e-9

// denser returns the ground at least as dense as a limit, and its area.
func denser(f grid.Frame, density []float64, least float64) (orb.MultiPolygon, cli.Area) {
	v := make([]float32, len(density))
	area := 0.0
	for row := range f.Rows {
		cellM2 := f.AreaM2(row)
		for i := row * f.Cols; i < (row+1)*f.Cols; i++ {
			v[i] = float32(math.Inf(1))
			if density[i] >= least*(1-asLikely) {
				v[i] = 0
				area += cellM2
			}
		}
	}
	return grid.Outline(f, v, 0), cli.Area(area)
}

// score returns the rank score of a surface for the find, NaN without one.
func (c *chance) score(s *prob.Surface) float64 {
	if c.run.found == nil {
		return math.NaN()
	}
	col, row := c.frame.Cell(*c.run.found)
	return s.RankScore(int(math.Round(col)), int(math.Round(row)))
}
