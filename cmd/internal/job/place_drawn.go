package job

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/los"
	"farhail/signal/sighting"
	"farhail/signal/source"
)

// How far heights may be off, and within which distance their errors go together: the
// figures of farhail see --chance. 5 m lies between what points on the ground show for ALOS
// World 3D, 5.4 m rms (Apeh and others 2019, Journal of Geographic Information System 11),
// and finer models; 300 m is own choice.
const (
	heightErrorM = 5
	errorRangeM  = 300
	// linesDrawn and cellsDrawn bound the work: sight lines and cells of all draws
	// together. Where there would be more, every second draw is taken, or every fourth.
	// Some seconds on two processors; own choice.
	linesDrawn = 3_000_000
	cellsDrawn = 200_000_000
)

// PlaceDrawn is what chosen sites are worth where the errors of the terrain's heights, of
// refraction and of eye heights are drawn too, with the other inputs of the same draws.
type PlaceDrawn struct {
	Mean         cli.Num `json:"mean"` // in the unit of the answer
	Low          cli.Num `json:"low"`  // 10 % of the draws
	Mid          cli.Num `json:"mid"`
	High         cli.Num `json:"high"` // 90 %
	Draws        int     `json:"draws"`
	HeightErrorM cli.Len `json:"height_error_m"` // standard deviation
	ErrorRangeM  cli.Len `json:"error_range_m"`
	EyeErrorM    cli.Len `json:"eye_error_m"`
	Refraction   cli.Num `json:"refraction_error"`
}

// A groundDraw is the terrain around a choice, drawn again and again.
type groundDraw struct {
	*grid.Heights // as drawn
	over          los.Options
	exact, trees  []float32
	field         *grid.ErrorField
	errors        []float32
	col0, row0    float64 // of the terrain
}

// drawn tells what chosen sites come to where the ground is drawn; nil where ground does
// not count. kept holds the places that may count for each site; nil: all.
func (p *placing) drawn(ctx context.Context, o *objective, sites []int) (*PlaceDrawn, error) {
	if o.over.through || len(sites) == 0 || len(o.over.places) == 0 {
		return nil, nil
	}
	chosen := make([]candidate, len(sites))
	for i, s := range sites {
		chosen[i] = p.sites[s]
	}
	g, err := p.groundAround(chosen, o.over.places)
	if err != nil {
		return nil, err
	}
	spread := sighting.UsualSpread(source.KindLight)
	step := 1
	for sighting.Draws/step*len(sites)*len(o.over.places) > linesDrawn || sighting.Draws/step*len(g.Z) > cellsDrawn {
		if step *= 2; step > sighting.Draws/8 {
			p.leaveOut(p.String() + ": what errors of the heights would change, since that is too much work")
			return nil, nil
		}
	}
	rows := p.rowsOf(o, sites)
	var worth []float64
	for n, line := range spread.Lines(p.plan.Seed) {
		if n%step != 0 {
			continue
		}
		if err := g.draw(ctx, rand.New(rand.NewPCG(p.plan.Seed, uint64(n)))); err != nil {
			return nil, err
		}
		sets, err := g.seen(ctx, o.over, chosen, line)
		if err != nil {
			return nil, err
		}
		worth = append(worth, worthSeen(o, rows, sets, n))
	}
	out := &PlaceDrawn{Draws: len(worth), HeightErrorM: heightErrorM, ErrorRangeM: errorRangeM, EyeErrorM: cli.Len(spread.EyeM), Refraction: cli.Num(spread.Refraction)}
	for _, w := range worth {
		out.Mean += cli.Num(w / float64(len(worth)))
	}
	slices.Sort(worth)
	at := func(share float64) cli.Num {
		x := share * float64(len(worth)-1)
		i := min(int(x), len(worth)-2)
		return cli.Num(worth[i] + (worth[i+1]-worth[i])*(x-float64(i)))
	}
	out.Low, out.Mid, out.High = at(0.1), at(0.5), at(0.9)
	return out, nil
}

// rowsOf returns for each site and place the row of chances that they have where the site
// is in sight, -1 for none.
func (p *placing) rowsOf(o *objective, sites []int) [][]int32 {
	out := make([][]int32, len(sites))
	for i, site := range sites {
		out[i] = make([]int32, len(o.over.places))
		for k := range out[i] {
			out[i][k] = -1
		}
		if o.over.skip != nil {
			// Whose way crosses something was taken out; of those the ground hides
			// nobody asked.
			seen := o.chances.Seen[site]
			for n, cell := range seen.Cells {
				out[i][cell] = seen.Row[n]
			}
			continue
		}
		for k, at := range o.over.places {
			if row := o.over.row(p.sites[site], at); row >= 0 {
				out[i][k] = int32(row)
			}
		}
	}
	return out
}

// worthSeen sums what sites are worth in one draw, the mean over its hours.
func worthSeen(o *objective, rows [][]int32, sets []los.SeenSet, draw int) float64 {
	sum, states := 0.0, len(o.chances.States)
	for k, at := range o.over.places {
		for state := draw; state < states; state += sighting.Draws {
			missed := 1.0
			for i := range rows {
				if row := rows[i][k]; row >= 0 && sets[i].Seen.Has(k) {
					missed *= 1 - float64(o.chances.Rows[row][state])
				}
			}
			sum += at.weight * (1 - missed)
		}
	}
	return sum * sighting.Draws / float64(states)
}

// groundAround cuts the terrain to what lies between sites and places, and makes the field
// of its errors.
func (p *placing) groundAround(sites []candidate, places []lookedAt) (*groundDraw, error) {
	h := p.heights
	c0, r0, c1, r1 := h.Cols-1, h.Rows-1, 0, 0
	grow := func(c candidate) {
		if h.Inside(c.col, c.row) {
			c0, c1 = min(c0, int(c.col)), max(c1, int(c.col)+1)
			r0, r1 = min(r0, int(c.row)), max(r1, int(c.row)+1)
		}
	}
	for _, c := range sites {
		grow(c)
	}
	for _, at := range places {
		grow(at.candidate)
	}
	const margin = 8 // long lines on cells of degrees leave the box by a cell or two
	c0, r0 = max(c0-margin, 0), max(r0-margin, 0)
	c1, r1 = min(max(c1, c0)+margin, h.Cols-1), min(max(r1, r0)+margin, h.Rows-1)
	g := &groundDraw{Heights: &grid.Heights{Frame: h.Part(c0, r0, c1+1, r1+1)}, over: p.sightLines(), col0: float64(c0), row0: float64(r0)}
	var known []int
	for _, cell := range p.terrain.Measured() {
		if col, row := cell%h.Cols-c0, cell/h.Cols-r0; col >= 0 && row >= 0 && col < g.Cols && row < g.Rows {
			known = append(known, row*g.Cols+col)
		}
	}
	for row := r0; row <= r1; row++ {
		g.exact = append(g.exact, h.Row(row)[c0:c1+1]...)
		if len(p.screen) > 0 {
			g.trees = append(g.trees, p.screen[row*h.Cols+c0:row*h.Cols+c1+1]...)
		}
	}
	g.Z, g.errors = make([]float32, len(g.exact)), make([]float32, len(g.exact))
	g.over.Screen = slices.Clone(g.trees)
	var err error
	g.field, err = grid.NewErrorField(g.Frame, heightErrorM, errorRangeM, known)
	return g, err
}

// draw puts new errors on the ground, and on what screens it.
func (g *groundDraw) draw(ctx context.Context, rng *rand.Rand) error {
	if err := g.field.Draw(ctx, rng, g.errors); err != nil {
		return err
	}
	for i, e := range g.errors {
		g.Z[i] = g.exact[i] + e
	}
	for i, z := range g.trees {
		g.over.Screen[i] = z + g.errors[i]
	}
	return nil
}

// seen returns what each site sees of the places in this draw.
func (g *groundDraw) seen(ctx context.Context, over sightOver, sites []candidate, line sighting.LineDraw) ([]los.SeenSet, error) {
	o := g.over
	o.Refraction += line.Refraction
	atSite, atPlace := 0.0, line.EyeM
	if over.eyesAtSites {
		atSite, atPlace = line.EyeM, 0
	}
	stations := make([]los.Station, len(sites))
	for i, c := range sites {
		stations[i] = los.Station{Col: c.col - g.col0, Row: c.row - g.row0, HeightM: max(0, over.siteM+atSite)}
	}
	targets := make([]los.Station, len(over.places))
	for i, w := range over.places {
		targets[i] = los.Station{Col: w.col - g.col0, Row: w.row - g.row0, HeightM: max(0, w.heightM+atPlace)}
	}
	return los.SeenSets(ctx, g.Heights, stations, targets, math.Inf(1), o)
}
