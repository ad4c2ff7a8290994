package los

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"

	"farhail/geo/grid"
)

// Errors say how far the ground, the eyes and the light may be off: the standard
// deviations of normal errors. Zero stands for none.
type Errors struct {
	HeightM    float64 // of the terrain's heights [m]
	RangeM     float64 // within which they go together [m], see grid.ErrorField
	EyeM       float64 // of each eye's height above the ground [m]
	Refraction float64 // of the coefficient k [1], one for all eyes
	// Known are cells of the terrain whose height is right, by their index.
	Known []int
}

// Chance is how often each cell is seen where ground, eyes and light are drawn
// again and again within their errors.
type Chance struct {
	// Frame is the part of the terrain's frame that holds the radius of all eyes; its
	// north-west cell is the terrain's column Col0 and row Row0.
	Frame        grid.Frame
	Col0, Row0   int
	Realisations int
	// P is the share of the realisations in which at least one eye sees the cell,
	// row by row; NaN beyond the radius of all, and where no-data left it open in any
	// of them.
	P       []float32
	Cells   int // within the radius of an eye
	Unknown int // of these, left open
	// AreaM2 is the ground area of the cells seen [m²], the mean of the
	// realisations, and AreaSD its standard deviation from one to the next.
	AreaM2, AreaSD float64
}

// maxRealisations is what 16 bits count.
const maxRealisations = math.MaxUint16

// ChanceArea returns how often a target of targetM [m] is seen by at least one
// of the eyes within radiusM [m] of it, over a number of realisations of 1 to
// 65 535. In each, the errors are drawn anew: one field for the ground, on which
// eyes and targets stand (see grid.ErrorField; a screen goes up and down with it),
// one refraction, one height for each eye, which stays above the ground if it was.
// What is seen is then exact, as by [SeenArea].
//
// Realisation i draws from PCG(seed, i) and does not depend on the others nor on
// the number of processors. Memory is the heights again for each processor, and
// some 10 bytes a cell of the radius. It returns the context's error when it ends
// first, and an error that wraps ErrNoGround, ErrOptions or grid.ErrField.
func ChanceArea(ctx context.Context, h *grid.Heights, eyes []Station, targetM, radiusM float64, o Options, e Errors, seed uint64, realisations int) (*Chance, error) {
	c, err := newChances(h, eyes, targetM, radiusM, o, e)
	if err != nil {
		return nil, err
	}
	if realisations < 1 || realisations > maxRealisations {
		return nil, fmt.Errorf("%w: %d realisations, of 1 to %d", ErrOptions, realisations, maxRealisations)
	}
	areas := make([]float64, realisations)
	tallies := make([]tally, min(runtime.GOMAXPROCS(0), realisations))
	idle := make(chan *tally, len(tallies))
	for w := range tallies {
		tallies[w] = c.newTally()
		idle <- &tallies[w]
	}
	err = eachUntil(ctx, realisations, func(ctx context.Context, i int) (err error) {
		t := <-idle
		defer func() { idle <- t }()
		areas[i], err = c.realise(ctx, t, rand.New(rand.NewPCG(seed, uint64(i))))
		return err
	})
	if err != nil {
		return nil, err
	}
	return c.sum(tallies, areas), nil
}

// PlusMinus returns the standard error of P, cell by cell, NaN where P is: that of
// the share after so many trials with nothing known before (Laplace's rule of
// succession), which is not 0 where all of them agree.
func (c *Chance) PlusMinus() []float32 {
	n := float64(c.Realisations)
	out := make([]float32, len(c.P))
	for i, p := range c.P {
		s := math.Round(float64(p) * n)
		out[i] = float32(math.Sqrt((s + 1) * (n - s + 1) / ((n + 2) * (n + 2) * (n + 3))))
	}
	return out
}

// chances is what all realisations share.
type chances struct {
	h              *grid.Heights
	eyes           []Station
	targetM        float64
	radiusM        float64
	o              Options
	e              Errors
	frame          grid.Frame
	col0, row0     int
	field          *grid.ErrorField // nil for exact ground
	cellM2         []float64        // by row of the frame
	fieldCol0      int
	fieldRow0      int
	fieldW, fieldH int
}

func newChances(h *grid.Heights, eyes []Station, targetM, radiusM float64, o Options, e Errors) (*chances, error) {
	if len(eyes) == 0 {
		return nil, fmt.Errorf("%w: no eye", ErrOptions)
	}
	if err := checkLook(targetM, radiusM); err != nil {
		return nil, err
	}
	if !(e.EyeM >= 0 && e.Refraction >= 0) || math.IsInf(e.EyeM+e.Refraction, 0) {
		return nil, fmt.Errorf("%w: errors of %g m of an eye and %g of the refraction", ErrOptions, e.EyeM, e.Refraction)
	}
	c := &chances{h: h, eyes: eyes, targetM: targetM, radiusM: radiusM, o: o, e: e}
	var err error
	if c.frame, c.col0, c.row0, c.cellM2, err = around(h, eyes, radiusM, o); err != nil {
		return nil, err
	}
	return c, c.makeField()
}

// makeField makes the field of errors of the ground that lines may run over.
func (c *chances) makeField() error {
	if c.e.HeightM == 0 {
		return nil
	}
	margin := 1
	if c.h.CRS.LonLat() {
		margin = chainReach // chains may leave the area
	}
	col0, row0 := max(c.col0-margin, 0), max(c.row0-margin, 0)
	f := c.h.Part(col0, row0, min(c.col0+c.frame.Cols+margin, c.h.Cols), min(c.row0+c.frame.Rows+margin, c.h.Rows))
	var known []int
	for _, cell := range c.e.Known {
		col, row := cell%c.h.Cols-col0, cell/c.h.Cols-row0
		if cell >= 0 && col >= 0 && row >= 0 && col < f.Cols && row < f.Rows {
			known = append(known, row*f.Cols+col)
		}
	}
	field, err := grid.NewErrorField(f, c.e.HeightM, c.e.RangeM, known)
	c.field, c.fieldCol0, c.fieldRow0, c.fieldW, c.fieldH = field, col0, row0, f.Cols, f.Rows
	return err
}

// tally is what one worker draws into and counts.
type tally struct {
	ground        *grid.Heights
	screen        []float32
	errors        []float32
	state         []State // the best of all eyes
	seen, unknown []uint16
	looked        []bool // within an eye's radius
}

func (c *chances) newTally() tally {
	n := c.frame.Cols * c.frame.Rows
	t := tally{ground: c.h, screen: c.o.Screen, state: make([]State, n), seen: make([]uint16, n), unknown: make([]uint16, n), looked: make([]bool, n)}
	if c.field != nil {
		t.ground = &grid.Heights{Frame: c.h.Frame, Z: append([]float32(nil), c.h.Z...)}
		t.screen = append([]float32(nil), c.o.Screen...)
		t.errors = make([]float32, c.fieldW*c.fieldH)
	}
	return t
}

// realise draws once, counts what is seen, and returns its area [m²].
func (c *chances) realise(ctx context.Context, t *tally, rng *rand.Rand) (float64, error) {
	o := c.o
	o.Refraction += c.e.Refraction * rng.NormFloat64()
	eyes := make([]Station, len(c.eyes))
	for i, at := range c.eyes {
		eyes[i] = at
		if eyes[i].HeightM += c.e.EyeM * rng.NormFloat64(); at.HeightM >= 0 {
			eyes[i].HeightM = max(eyes[i].HeightM, 0)
		}
	}
	if c.field != nil {
		if err := c.field.Draw(ctx, rng, t.errors); err != nil {
			return 0, err
		}
		c.shift(t)
	}
	o.Screen = t.screen
	clear(t.state)
	for _, at := range eyes {
		a, err := SeenArea(ctx, t.ground, at, c.targetM, c.radiusM, o)
		if err != nil {
			return 0, err
		}
		c.join(t.state, a)
	}
	area := 0.0
	for row, m2 := range c.cellM2 {
		seen := 0
		for i := row * c.frame.Cols; i < (row+1)*c.frame.Cols; i++ {
			switch t.state[i] {
			case Seen:
				t.seen[i]++
				seen++
			case Unknown:
				t.unknown[i]++
			}
			t.looked[i] = t.looked[i] || t.state[i] != Beyond
		}
		area += float64(seen) * m2
	}
	return area, nil
}

// shift puts the errors on the ground, and on what screens it.
func (c *chances) shift(t *tally) {
	for row := range c.fieldH {
		at := (row+c.fieldRow0)*c.h.Cols + c.fieldCol0
		off := t.errors[row*c.fieldW : (row+1)*c.fieldW]
		for i, z := range c.h.Z[at : at+c.fieldW] {
			t.ground.Z[at+i] = z + off[i]
		}
		if len(t.screen) > 0 {
			for i, z := range c.o.Screen[at : at+c.fieldW] {
				t.screen[at+i] = z + off[i]
			}
		}
	}
}

// join takes what an eye sees into the best states of all.
func (c *chances) join(best []State, a *Area) {
	for row := range a.Frame.Rows {
		to := best[(row+a.Row0-c.row0)*c.frame.Cols+a.Col0-c.col0:]
		for i, s := range a.State[row*a.Frame.Cols : (row+1)*a.Frame.Cols] {
			to[i] = better(to[i], s)
		}
	}
}

// better is what two eyes together know of a cell: seen before unknown before hidden.
func better(a, b State) State {
	rank := [...]uint8{Beyond: 0, Hidden: 1, Unknown: 2, Seen: 3}
	if rank[b] > rank[a] {
		return b
	}
	return a
}

// sum adds up what all workers counted: whole numbers, in any order the same.
func (c *chances) sum(tallies []tally, areas []float64) *Chance {
	n := len(areas)
	out := &Chance{Frame: c.frame, Col0: c.col0, Row0: c.row0, Realisations: n, P: make([]float32, c.frame.Cols*c.frame.Rows)}
	for i := range out.P {
		seen, unknown, looked := 0, 0, false
		for w := range tallies {
			seen, unknown, looked = seen+int(tallies[w].seen[i]), unknown+int(tallies[w].unknown[i]), looked || tallies[w].looked[i]
		}
		out.P[i] = float32(float64(seen) / float64(n))
		if looked {
			out.Cells++
		}
		if unknown > 0 {
			out.Unknown++
		}
		if unknown > 0 || !looked {
			out.P[i] = float32(math.NaN())
		}
	}
	for _, a := range areas {
		out.AreaM2 += a / float64(n)
	}
	for _, a := range areas {
		out.AreaSD += (a - out.AreaM2) * (a - out.AreaM2)
	}
	out.AreaSD = math.Sqrt(out.AreaSD / float64(max(n-1, 1)))
	return out
}
