package prob

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"farhail/geo/earth"
	"farhail/geo/grid"

	"github.com/paulmach/orb"

	"golang.org/x/sync/errgroup"
)

// Walkers says how people wander who do not know where they are. From, SpeedMS
// and Seconds are required.
type Walkers struct {
	From       orb.Point
	Covariance earth.Covariance // of From
	// SpeedMS is the speed on each cell [m/s]; 0 or NaN where nobody walks.
	SpeedMS []float32
	// Seconds is for how long they walk [s].
	Seconds float64
	// StepS is the time between turns [s]; 0: a minute.
	StepS float64
	// Straight is the mean cosine of the turns, 0 for turns all round to below 1 for
	// those who hold a course: [Straightness] tells it from a standard deviation.
	Straight float64
	// PaceSpread is the deviation of the logarithm of a walker's pace; 0:
	// DefaultPaceSpread.
	PaceSpread float64
	Count      int // walkers; 0: 20 000
	Seed       uint64

	sizes [][2]float64 // of a cell by row [m]
}

// Straightness returns the mean cosine of turns that are normal with a standard
// deviation [deg]: exp(-s^2/2).
func Straightness(sdDeg float64) float64 { return math.Exp(-sq(sdDeg*math.Pi/180) / 2) }

const (
	defaultWalkers = 20_000
	defaultStepS   = 60
	// batch walkers share a slot of the sum, so that it does not depend on the
	// number of cores.
	batch = 500
)

// Wander returns where walkers are who turn at random and go on at the ground's
// speed: a correlated random walk over the cells (Kareiva and Shigesada 1983).
// Walker i draws from PCG(seed, i). A step that would lead over a cell where nobody
// walks is not taken, and the walker turns to any side; who would begin in one
// begins elsewhere in From's error. Who leaves the map stays beyond it.
//
// Shares are of Count walkers: of a cell that holds a share p its error is
// sqrt(p/Count), so that single cells are noisy and areas are not.
func Wander(ctx context.Context, f grid.Frame, k Walkers) (Weights, error) {
	w := Weights{Name: "wandering", Evidence: "the way lost people walk"}
	if k.Count == 0 {
		k.Count = defaultWalkers
	}
	if k.StepS == 0 {
		k.StepS = defaultStepS
	}
	if k.PaceSpread == 0 {
		k.PaceSpread = DefaultPaceSpread
	}
	if err := k.check(f); err != nil {
		return w, err
	}
	batches := (k.Count + batch - 1) / batch
	ends := make([]map[int]int, batches)
	for row := range f.Rows {
		east, north := f.Metres(row)
		k.sizes = append(k.sizes, [2]float64{east, north})
	}
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(8)
	for b := range batches {
		group.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			ends[b] = map[int]int{}
			for i := b * batch; i < min((b+1)*batch, k.Count); i++ {
				ends[b][k.walk(f, rand.New(rand.NewPCG(k.Seed, uint64(i))))]++
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return w, err
	}
	counts := make([]int, f.Cols*f.Rows)
	gone := 0
	for _, part := range ends {
		for cell, n := range part { // counts are whole numbers: their order does not matter
			if cell < 0 {
				gone += n
				continue
			}
			counts[cell] += n
		}
	}
	w.Density = make([]float64, len(counts))
	for row := range f.Rows {
		per := 1 / (float64(k.Count) * f.AreaM2(row))
		for i := row * f.Cols; i < (row+1)*f.Cols; i++ {
			w.Density[i] = float64(counts[i]) * per
		}
	}
	w.Beyond = float64(gone) / float64(k.Count)
	return w, nil
}

func (k Walkers) check(f grid.Frame) error {
	switch {
	case len(k.SpeedMS) != f.Cols*f.Rows:
		return fmt.Errorf("prob: %d speeds for %d cells", len(k.SpeedMS), f.Cols*f.Rows)
	case !(k.Seconds >= 0) || math.IsInf(k.Seconds, 1):
		return fmt.Errorf("prob: time %g s is not a number from 0 up", k.Seconds)
	case !(k.StepS > 0):
		return fmt.Errorf("prob: time between turns %g s is not above 0", k.StepS)
	case !(k.Straight >= 0 && k.Straight < 1):
		return fmt.Errorf("prob: mean cosine of the turns %g is not from 0 up to below 1", k.Straight)
	case k.Count < 0 || k.Count > maxWalkers:
		return fmt.Errorf("prob: %d walkers are not from 1 to %d", k.Count, maxWalkers)
	case k.Seconds/k.StepS*float64(k.Count) > maxSteps:
		return fmt.Errorf("prob: %d walkers for %g s are too many steps: make the time between turns longer than %g s", k.Count, k.Seconds, k.StepS)
	case !(k.PaceSpread >= 0):
		return fmt.Errorf("prob: spread of the pace %g is not a number from 0 up", k.PaceSpread)
	}
	return nil
}

const (
	maxWalkers = 10_000_000
	maxSteps   = 1e9
)

// walk takes one walker and returns the cell at the end, -1 beyond the map.
func (k Walkers) walk(f grid.Frame, r *rand.Rand) int {
	col, row := k.begin(f, r)
	pace := math.Exp(k.PaceSpread * r.NormFloat64())
	turnSD := math.Sqrt(-2 * math.Log(max(k.Straight, 1e-9)))
	heading := 2 * math.Pi * r.Float64()
	cell := k.cell(f, col, row)
	for left := k.Seconds; left > 0; left -= k.StepS {
		if cell < 0 {
			return -1
		}
		if k.Straight == 0 {
			heading = 2 * math.Pi * r.Float64()
		} else {
			heading += turnSD * r.NormFloat64()
		}
		speed := float64(k.SpeedMS[cell])
		if !(speed > 0) {
			return cell
		}
		stepM := speed * pace * min(k.StepS, left)
		sin, cos := math.Sincos(heading)
		size := k.sizes[cell/f.Cols]
		c, w := col+stepM*sin/size[0], row-stepM*cos/size[1]
		next, free := k.step(f, col, row, c, w)
		if !free {
			heading = 2 * math.Pi * r.Float64()
			continue
		}
		col, row, cell = c, w, next
	}
	return cell
}

// redraws is how often a walker looks for a place to begin where people walk.
const redraws = 100

// begin draws where a walker begins: From with its normal error, by Cholesky's factor
// of its covariance.
func (k Walkers) begin(f grid.Frame, r *rand.Rand) (col, row float64) {
	col0, row0 := f.Cell(k.From)
	east, north := f.MetresAt(col0, row0)
	for range redraws {
		col, row = col0, row0
		a, b := r.NormFloat64(), r.NormFloat64()
		if nn := k.Covariance.NN; nn > 0 {
			l := math.Sqrt(nn)
			m := k.Covariance.NE / l
			row -= l * a / north
			col += (m*a + math.Sqrt(max(k.Covariance.EE-m*m, 0))*b) / east
		} else {
			col += math.Sqrt(max(k.Covariance.EE, 0)) * b / east
		}
		if cell := k.cell(f, col, row); cell < 0 || k.SpeedMS[cell] > 0 {
			break
		}
	}
	return col, row
}

// step goes straight from a place to another, from cell to cell over their sides, so
// that no line of cells is jumped however thin it is. It returns the last cell, -1
// beyond the map, and whether people walk on all of them.
func (k Walkers) step(f grid.Frame, col0, row0, col1, row1 float64) (cell int, free bool) {
	c, r := math.Round(col0), math.Round(row0)
	endC, endR := math.Round(col1), math.Round(row1)
	dc, dr := math.Copysign(1, endC-c), math.Copysign(1, endR-r)
	for c != endC || r != endR {
		// Shares of the way at which the next sides are crossed.
		overC, overR := math.Inf(1), math.Inf(1)
		if c != endC {
			overC = (c + dc/2 - col0) / (col1 - col0)
		}
		if r != endR {
			overR = (r + dr/2 - row0) / (row1 - row0)
		}
		if overC <= overR {
			c += dc
		} else {
			r += dr
		}
		if cell = k.cell(f, c, r); cell < 0 {
			return -1, true
		}
		if !(k.SpeedMS[cell] > 0) {
			return cell, false
		}
	}
	return k.cell(f, c, r), true
}

// cell returns the index of the cell that a column and row lie in, -1 beyond
// the map.
func (Walkers) cell(f grid.Frame, col, row float64) int {
	c, r := math.Round(col), math.Round(row)
	if !(c >= 0 && r >= 0 && c < float64(f.Cols) && r < float64(f.Rows)) {
		return -1
	}
	return int(r)*f.Cols + int(c)
}
