package job

import (
	"context"
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/geo/cover"
	"farhail/geo/grid"
	"farhail/geo/prob"
	"farhail/geo/terrain"

	"github.com/paulmach/orb"
)

// A SearchArea is ground that one party can search.
type SearchArea struct {
	Name   string   `json:"name"`
	AreaM2 cli.Area `json:"area_m2"`
	Share  cli.Num  `json:"share"` // of the whole
	PerKM2 cli.Num  `json:"share_per_km2"`
	// PartyHours is how long the plan's party takes for it [h]; null without one.
	PartyHours cli.Num          `json:"party_hours"`
	Lat        cli.Deg          `json:"lat"` // of the middle of its cells
	Lon        cli.Deg          `json:"lon"`
	Shape      orb.MultiPolygon `json:"-"`
}

// A SearchParty is who searches an area: abreast, at a spacing, for a shift.
type SearchParty struct {
	People   int      `json:"people"`
	SpacingM cli.Len  `json:"spacing_m"`
	SpeedMS  cli.Num  `json:"speed_m_s"`
	ShiftS   cli.Num  `json:"shift_s"`
	AreaM2   cli.Area `json:"area_m2"` // searched in a shift
}

// partyRoom is how many times the least search area the largest is that a party
// searches in a shift: own choice, so that borders find their lines.
const partyRoom = 4

// A ChanceProduct is what multiplying its parts did to a view.
type ChanceProduct struct {
	Parts          []ChancePart `json:"parts"`
	EntropyBits    cli.Num      `json:"entropy_bits"`     // after
	Region90M2     cli.Area     `json:"region90_m2"`      // smallest ground with 90 %
	MeanRegion90M2 cli.Area     `json:"mean_region90_m2"` // of the parts' plain mean
}

// A ChancePart is one of the things that were multiplied, taken alone.
type ChancePart struct {
	Name        string   `json:"name"`
	From        string   `json:"from"`
	EntropyBits cli.Num  `json:"entropy_bits"`
	Region90M2  cli.Area `json:"region90_m2"`
}

func toldProduct(p prob.Product, parts []prob.Weights) *ChanceProduct {
	out := &ChanceProduct{EntropyBits: cli.Num(p.EntropyBits), Region90M2: cli.Area(p.Region90M2), MeanRegion90M2: cli.Area(p.MeanRegion90M2)}
	for i, part := range parts {
		out.Parts = append(out.Parts, ChancePart{part.Name, part.Evidence, cli.Num(p.PartsBits[i]), cli.Area(p.PartsRegion90M2[i])})
	}
	return out
}

// addAreas adds the areas that a party can search, cut from the map or drawn, and
// checks that nothing of the probability is lost.
func (c *chance) addAreas(ctx context.Context, out *Chance, s *prob.Surface) error {
	if p := c.plan.Party; p.Hours > 0 {
		out.SearchParty = &SearchParty{p.People, cli.Len(p.SpacingM), cli.Num(p.SpeedMS), cli.Num(p.Hours), cli.Area(p.AreaM2())}
	}
	if lost := s.Sum() + s.Outside - 1; math.Abs(lost) > 1e-12 {
		return fmt.Errorf("the map and the outside hold %g too much", lost)
	}
	areas, err := c.searchAreas(ctx, s, out)
	if err != nil {
		return err
	}
	shares, coveredM2 := 0.0, 0.0
	for i := range areas {
		shares += float64(areas[i].Share)
		coveredM2 += float64(areas[i].AreaM2)
		areas[i].PartyHours = cli.Num(float64(areas[i].AreaM2) / c.plan.Party.AreaM2() * c.plan.Party.Hours / 3600)
	}
	elsewhere := s.Sum() - shares
	if math.Abs(elsewhere) < 1e-12 {
		elsewhere = 0
	}
	out.SearchAreas, out.Elsewhere = areas, cli.Num(elsewhere)
	// Without ground that is left out the areas are the map.
	if c.plan.Segments == "" && len(c.plan.NotSearched) == 0 && out.WaterM2 == 0 {
		mapM2 := 0.0
		for row := range c.frame.Rows {
			mapM2 += float64(c.frame.Cols) * c.frame.AreaM2(row)
		}
		if math.Abs(coveredM2/mapM2-1) > 1e-9 || elsewhere != 0 {
			return fmt.Errorf("the search areas hold %g of %g m2 and leave out %g of the probability", coveredM2, mapM2, elsewhere)
		}
	}
	return nil
}

// searchAreas cuts the map into areas that a party can search, or takes those
// drawn, shares the probability out and keeps which cell is in which.
func (c *chance) searchAreas(ctx context.Context, s *prob.Surface, told *Chance) ([]SearchArea, error) {
	var labels []int32
	var names []string
	if c.plan.Segments != "" {
		shapes, err := c.run.shapes([]string{c.plan.Segments})
		if err != nil {
			return nil, err
		}
		labels, names = c.drawn(shapes)
	} else {
		p := prob.Parts{LeastM2: c.plan.LeastM2, MostM2: c.plan.MostM2}
		if c.plan.Party.Hours > 0 {
			p.MostM2 = c.plan.Party.AreaM2()
			p.LeastM2 = p.MostM2 / partyRoom
		}
		not, err := c.run.shapes(c.plan.NotSearched)
		if err != nil {
			return nil, err
		}
		p.Out = inAreas(c.frame, not)
		c.leaveOutWater(&p, s, told)
		if c.ground != nil {
			if p.Line, err = c.lines(); err != nil {
				return nil, err
			}
		}
		if labels, err = prob.Split(ctx, c.frame, p); err != nil {
			return nil, err
		}
	}
	shapes := grid.Patches(c.frame, labels)
	areas := make([]SearchArea, len(shapes))
	type middle struct{ col, row, n float64 }
	middles := make([]middle, len(shapes))
	for i, l := range labels {
		if l < 0 {
			continue
		}
		areas[l].AreaM2 += cli.Area(c.frame.AreaM2(i / c.frame.Cols))
		areas[l].Share += cli.Num(s.Mass[i])
		m := &middles[l]
		m.col, m.row, m.n = m.col+float64(i%c.frame.Cols), m.row+float64(i/c.frame.Cols), m.n+1
	}
	out := areas[:0]
	number := make([]int32, len(areas))
	for l := range areas {
		a, m := areas[l], middles[l]
		if m.n == 0 {
			c.run.warn(fmt.Sprintf("search area %s holds no cell of the map", names[l]), "")
			continue
		}
		number[l] = int32(len(out))
		a.Name = fmt.Sprintf("area %d", l+1)
		if names != nil && names[l] != "" {
			a.Name = names[l]
		}
		at := c.frame.Point(m.col/m.n, m.row/m.n)
		a.Lat, a.Lon, a.Shape = cli.Deg(at.Lat()), cli.Deg(at.Lon()), shapes[l]
		a.PerKM2 = a.Share / cli.Num(a.AreaM2) * 1e6
		out = append(out, a)
	}
	for i, l := range labels {
		if l >= 0 {
			labels[i] = number[l]
		}
	}
	told.labels = labels
	return out, nil
}

// leaveOutWater takes the lakes and rivers that the cover maps as areas out of what is
// searched on foot, and tells how much of the surface lies in them.
func (c *chance) leaveOutWater(p *prob.Parts, s *prob.Surface, told *Chance) {
	if c.run.cover == nil {
		return
	}
	for i := range s.Mass {
		at := c.frame.Point(float64(i%c.frame.Cols), float64(i/c.frame.Cols))
		if c.run.cover.grid.At(at) != cover.Water {
			continue
		}
		p.Out[i] = true
		told.WaterM2 += cli.Area(c.frame.AreaM2(i / c.frame.Cols))
		told.WaterShare += cli.Num(s.Mass[i])
	}
}

// drawn returns the area of each cell, the first that holds it, and their
// names.
func (c *chance) drawn(shapes []Shape) (labels []int32, names []string) {
	labels = make([]int32, c.frame.Cols*c.frame.Rows)
	for i := range labels {
		labels[i] = -1
	}
	for _, s := range shapes {
		if s.Area == nil {
			continue
		}
		l := int32(len(names))
		names = append(names, s.Name)
		c.frame.Spans(s.Area, func(row, first, last int) {
			for i := row*c.frame.Cols + first; i <= row*c.frame.Cols+last; i++ {
				if labels[i] < 0 {
					labels[i] = l
				}
			}
		})
	}
	return labels, names
}

// lines marks what the borders of search areas should follow: streams and ridges
// that drain as much ground as the least area, the plan's trails and those of the
// ground cover.
func (c *chance) lines() ([]bool, error) {
	line := terrain.Streams(c.ground, c.plan.LeastM2)
	for i, ridge := range terrain.Ridges(c.ground, c.plan.LeastM2) {
		line[i] = line[i] || ridge
	}
	trails, err := c.run.shapes(c.run.plan.Traveller.Trails)
	if err != nil {
		return nil, err
	}
	if c.run.cover != nil {
		trails = append(trails, c.run.cover.trails()...)
	}
	for i, trail := range MarkShapes(c.frame, linesOf(trails)) {
		line[i] = line[i] || trail
	}
	return line, nil
}
