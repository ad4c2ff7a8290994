package prob

import (
	"context"
	"fmt"
	"math"
)

// Motion carries the part of the probability forward that belongs to somebody who
// moves; the rest stays put.
type Motion struct {
	Mobile float64 // chance that the person is mobile, in [0, 1]
	// Carry tells where the mobile are later: a motion view such as [Diffusion.Carry].
	Carry func(*Surface) (*Surface, error)
}

func (m Motion) apply(s *Surface) (*Surface, float64, error) {
	if !(m.Mobile >= 0 && m.Mobile <= 1) {
		return nil, math.NaN(), fmt.Errorf("prob: share %g of the mobile is not from 0 to 1", m.Mobile)
	}
	if m.Mobile == 0 {
		return s, 1, nil
	}
	moved, err := m.Carry(s)
	if err != nil {
		return nil, math.NaN(), err
	}
	if len(moved.Mass) != len(s.Mass) {
		return nil, math.NaN(), fmt.Errorf("prob: the motion view gives %d cells for %d", len(moved.Mass), len(s.Mass))
	}
	after := &Surface{Frame: s.Frame, Mass: make([]float64, len(s.Mass))}
	for i := range s.Mass {
		after.Mass[i] = (1-m.Mobile)*s.Mass[i] + m.Mobile*moved.Mass[i]
	}
	after.Outside = max(0, 1-after.Sum())
	return after, 1, nil
}

// Diffusion is how people wander on who do not know where they are: the limit of
// a correlated random walk over many turns (Kareiva and Shigesada 1983, Oecologia 56,
// 234-238). SpeedMS and Seconds are required.
type Diffusion struct {
	SpeedMS  []float32 // on each cell [m/s]; 0 or NaN where nobody walks
	Seconds  float64   // for how long [s]
	StepS    float64   // time between turns [s]; 0: a minute
	Straight float64   // mean cosine of the turns, from 0 to below 1; see [Straightness]
}

// mostDiffusion is how many cells times steps a diffusion may take: about a minute.
const mostDiffusion = 4e10

// M2PerS returns the diffusion constant at a speed [m/s]: v^2 τ (1 + c) / (1 - c) / 4,
// with τ the time between turns and c their mean cosine [m2/s]. After t seconds each
// axis has the variance 2 D t.
func (d Diffusion) M2PerS(speedMS float64) float64 {
	step := d.StepS
	if step == 0 {
		step = defaultStepS
	}
	return speedMS * speedMS * step * (1 + d.Straight) / (1 - d.Straight) / 4
}

// Carry returns where a surface's probability is after the time. A walker's steps
// are those of the cell they are in, so that probability gathers on slow ground; who
// is where nobody walks stays there, and nobody enters. Who leaves the map is
// outside, and nobody comes back (own choice). It takes a time that grows with the
// time over the square of the cells' size; too many steps are an error.
func (d Diffusion) Carry(ctx context.Context, s *Surface) (*Surface, error) {
	if err := d.check(s); err != nil {
		return nil, err
	}
	flow := d.flows(s)
	fastest := 0.0
	for _, f := range flow {
		fastest = max(fastest, f.all())
	}
	// Half of a cell's share at most leaves it in a step, so that none is below 0.
	steps := math.Ceil(2 * fastest * d.Seconds)
	if steps*float64(len(s.Mass)) > mostDiffusion {
		return nil, fmt.Errorf("prob: %.3g steps over %d cells are too many: take coarser cells or a shorter time", steps, len(s.Mass))
	}
	now := append([]float64(nil), s.Mass...)
	next := make([]float64, len(now))
	for range int(steps) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		d.step(s, flow, d.Seconds/steps, now, next)
		now, next = next, now
	}
	after := &Surface{Frame: s.Frame, Mass: now}
	after.Outside = max(0, 1-after.Sum())
	return after, nil
}

func (d Diffusion) check(s *Surface) error {
	switch {
	case len(d.SpeedMS) != len(s.Mass):
		return fmt.Errorf("prob: %d speeds for %d cells", len(d.SpeedMS), len(s.Mass))
	case !(d.Seconds >= 0) || math.IsInf(d.Seconds, 1):
		return fmt.Errorf("prob: time %g s is not a number from 0 up", d.Seconds)
	case !(d.StepS >= 0) || math.IsInf(d.StepS, 1):
		return fmt.Errorf("prob: time between turns %g s is not a number from 0 up", d.StepS)
	case !(d.Straight >= 0 && d.Straight < 1):
		return fmt.Errorf("prob: mean cosine of the turns %g is not from 0 up to below 1", d.Straight)
	}
	for i, v := range d.SpeedMS {
		if v < 0 || math.IsInf(float64(v), 1) {
			return fmt.Errorf("prob: speed %g of cell %d is not a number from 0 up", v, i)
		}
	}
	return nil
}

// A flow is the part of a cell's probability that goes to each neighbour in a
// second [1/s]: the diffusion constant times the length of the border over the
// distance and the area; 0 across a border to where nobody walks.
type flow struct{ west, east, north, south float64 }

func (f flow) all() float64 { return f.west + f.east + f.north + f.south }

func (d Diffusion) flows(s *Surface) []flow {
	list := make([]flow, len(s.Mass))
	for row := range s.Rows {
		width, height := s.Metres(row)
		// A border between rows is as long as the mean of both.
		above, below := width, width
		if row > 0 {
			above, _ = s.Metres(row - 1)
		}
		if row+1 < s.Rows {
			below, _ = s.Metres(row + 1)
		}
		for col := range s.Cols {
			i := row*s.Cols + col
			v := float64(d.SpeedMS[i])
			if !(v > 0) {
				continue
			}
			open := func(onMap bool, there int) float64 {
				if onMap && !(d.SpeedMS[there] > 0) {
					return 0
				}
				return d.M2PerS(v)
			}
			list[i] = flow{
				west:  open(col > 0, i-1) / (width * width),
				east:  open(col+1 < s.Cols, i+1) / (width * width),
				north: open(row > 0, i-s.Cols) * (width + above) / 2 / (height * height * width),
				south: open(row+1 < s.Rows, i+s.Cols) * (width + below) / 2 / (height * height * width),
			}
		}
	}
	return list
}

// step moves what a time moves [s].
func (d Diffusion) step(s *Surface, flow []flow, seconds float64, now, next []float64) {
	for row := range s.Rows {
		for col := range s.Cols {
			i := row*s.Cols + col
			change := -now[i] * flow[i].all()
			if col > 0 {
				change += now[i-1] * flow[i-1].east
			}
			if col+1 < s.Cols {
				change += now[i+1] * flow[i+1].west
			}
			if row > 0 {
				change += now[i-s.Cols] * flow[i-s.Cols].south
			}
			if row+1 < s.Rows {
				change += now[i+s.Cols] * flow[i+s.Cols].north
			}
			next[i] = now[i] + seconds*change
		}
	}
}
