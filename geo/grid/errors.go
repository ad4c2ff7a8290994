package grid

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// ErrField says that an error field cannot be made.
var ErrField = errors.New("grid: impossible error field")

const (
	// rangeScale is the range over the scale b of the correlation: (1 + u) exp -u
	// is 0.05 at u.
	rangeScale = 4.743865
	// maxKnown bounds the places without an error, whose cost is cubic.
	maxKnown = 600
	// fieldReach is how far [scales] a known place has a say: (1 + u) exp -u is
	// 1e-4 there.
	fieldReach = 11.8
)

// ErrorField draws what the heights of a grid may be off by: a Gaussian field of
// zero mean with the same standard deviation everywhere, errors that go together
// the better the nearer two cells are, and none where the ground was measured.
//
// The correlation of two cells a distance x apart along a row or a column is
//
//	ρ(x) = (1 + |x| / b) exp(-|x| / b)
//
// and the product of both across, so that the variogram is sd² (1 - ρ). It is the
// Matérn form of smoothness 3/2, between the exponential and the Gaussian form.
// The range is where ρ falls to 5 %, 4.74 b. (Oksanen, J. and Sarjakoski, T. (2005),
// Error propagation of DEM-based surface derivatives, Computers & Geosciences 31,
// find the range to matter more than the form.) It is drawn as an autoregression of
// second order with a double root along rows, then along columns, started from
// its stationary state; on the grid ρ differs from the formula by less than 0.03
// where the range is 9 cells or more, and by 0.09 at half of that
// ([ErrorField.Correlation] has the grid's own).
//
// Cells have the ground size of the grid's middle row. An ErrorField does not
// change and may be used by several goroutines.
type ErrorField struct {
	cols, rows int
	sd         float64
	x, y       recursion
	known      []int     // cells
	factor     []float64 // lower Cholesky factor of their correlations, row by row
	reachX     int
	reachY     int
}

// recursion draws values of variance 1 one after the other.
type recursion struct {
	root, noise float64 // next = 2 root·last - root²·before + noise·g
	r1, second  float64 // the second value: r1·first + second·g
	perLag      float64 // ρ(n) = root^n (1 + n·perLag)
}

func newRecursion(cellM, scaleM float64) recursion {
	a := math.Exp(-cellM / scaleM)
	// Box, Jenkins and Reinsel, Time Series Analysis, AR(2) with both roots a: the
	// variance of the values is that of the noise times (1 + a²) / (1 - a²)³.
	s := 1 - a*a
	r := recursion{root: a, noise: math.Sqrt(s * s * s / (1 + a*a)), r1: 2 * a / (1 + a*a), perLag: s / (1 + a*a)}
	r.second = math.Sqrt(1 - r.r1*r.r1)
	return r
}

func (r recursion) correlation(lag int) float64 {
	n := math.Abs(float64(lag))
	return math.Pow(r.root, n) * (1 + n*r.perLag)
}

// next returns the value number i, of those before it and a normal deviate.
func (r recursion) next(i int, last, before, g float64) float64 {
	switch i {
	case 0:
		return g
	case 1:
		return r.r1*last + r.second*g
	}
	return 2*r.root*last - r.root*r.root*before + r.noise*g
}

// NewErrorField returns the field of a frame's cells with that standard deviation
// [m] and range [m], which is 0 in the cells of known, by their index. A range of
// less than a cell leaves hardly any correlation. It returns an error that wraps
// ErrField for figures that are negative or not finite, a range of 0, and more
// than 600 known cells.
func NewErrorField(f Frame, sdM, rangeM float64, known []int) (*ErrorField, error) {
	switch {
	case !(sdM >= 0) || math.IsInf(sdM, 0) || !(rangeM > 0) || math.IsInf(rangeM, 0):
		return nil, fmt.Errorf("%w: standard deviation %g m, range %g m", ErrField, sdM, rangeM)
	case len(known) > maxKnown:
		return nil, fmt.Errorf("%w: %d known heights, of at most %d", ErrField, len(known), maxKnown)
	}
	east, north := f.MetresAt(float64(f.Cols-1)/2, float64(f.Rows-1)/2)
	b := rangeM / rangeScale
	e := &ErrorField{cols: f.Cols, rows: f.Rows, sd: sdM, x: newRecursion(east, b), y: newRecursion(north, b)}
	e.reachX, e.reachY = int(min(fieldReach*b/east, float64(f.Cols)))+1, int(min(fieldReach*b/north, float64(f.Rows)))+1
	e.known = slices.Clone(known)
	slices.Sort(e.known)
	e.known = slices.Compact(e.known)
	if n := len(e.known); n > 0 && (e.known[0] < 0 || e.known[n-1] >= f.Cols*f.Rows) {
		return nil, fmt.Errorf("%w: known cells %d to %d of %d", ErrField, e.known[0], e.known[n-1], f.Cols*f.Rows)
	}
	e.factorise()
	return e, nil
}

// Correlation returns that of the errors of two cells so many columns and rows
// apart, where none is known [1].
func (e *ErrorField) Correlation(cols, rows int) float64 {
	return e.x.correlation(cols) * e.y.correlation(rows)
}

func (e *ErrorField) between(i, j int) float64 {
	return e.Correlation(i%e.cols-j%e.cols, i/e.cols-j/e.cols)
}

// factorise makes the Cholesky factor of the known cells' correlations.
func (e *ErrorField) factorise() {
	n := len(e.known)
	e.factor = make([]float64, n*n)
	for i := range n {
		for j := range i + 1 {
			sum := e.between(e.known[i], e.known[j])
			if i == j {
				// Cells next to each other on fine grids are nearly one.
				sum += 1e-9
			}
			for k := range j {
				sum -= e.factor[i*n+k] * e.factor[j*n+k]
			}
			if i == j {
				e.factor[i*n+i] = math.Sqrt(max(sum, 1e-12))
			} else {
				e.factor[i*n+j] = sum / e.factor[j*n+j]
			}
		}
	}
}

// Draw fills out, one value a cell, with errors [m]. It returns the context's error
// when it ends first.
func (e *ErrorField) Draw(ctx context.Context, rng *rand.Rand, out []float32) error {
	// The two rows before, of variance 1 [last, before].
	last, before := make([]float64, e.cols), make([]float64, e.cols)
	atKnown, next := make([]float64, len(e.known)), 0
	for row := range e.rows {
		if err := ctx.Err(); err != nil {
			return err
		}
		line := out[row*e.cols : (row+1)*e.cols]
		x1, x2 := 0.0, 0.0
		for col := range line {
			g := e.x.next(col, x1, x2, rng.NormFloat64())
			x1, x2 = g, x1
			v := e.y.next(row, last[col], before[col], g)
			before[col] = v // the rows change places below
			line[col] = float32(e.sd * v)
		}
		last, before = before, last
		for ; next < len(e.known) && e.known[next] < (row+1)*e.cols; next++ {
			atKnown[next] = last[e.known[next]%e.cols]
		}
	}
	e.condition(atKnown, out)
	return nil
}

// condition takes from a field what it holds of the errors at the known cells, so
// that it is 0 there (simple kriging of a drawn field; Journel and Huijbregts,
// Mining Geostatistics, 1978, VII.A).
func (e *ErrorField) condition(at []float64, out []float32) {
	n := len(at)
	for i := range n { // forward
		for k := range i {
			at[i] -= e.factor[i*n+k] * at[k]
		}
		at[i] /= e.factor[i*n+i]
	}
	for i := n - 1; i >= 0; i-- { // and back
		for k := i + 1; k < n; k++ {
			at[i] -= e.factor[k*n+i] * at[k]
		}
		at[i] /= e.factor[i*n+i]
	}
	for i, cell := range e.known {
		col, row := cell%e.cols, cell/e.cols
		for r := max(row-e.reachY, 0); r <= min(row+e.reachY, e.rows-1); r++ {
			down := e.sd * at[i] * e.y.correlation(r-row)
			for c := max(col-e.reachX, 0); c <= min(col+e.reachX, e.cols-1); c++ {
				out[r*e.cols+c] -= float32(down * e.x.correlation(c-col))
			}
		}
	}
	// What rounding and the reach leave.
	for _, cell := range e.known {
		out[cell] = 0
	}
}
