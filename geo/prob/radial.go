package prob

import (
	"fmt"
	"math"
	"slices"

	"farhail/geo/grid"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Radial is how far from a planning point people are found.
type Radial interface {
	// Share returns the part found within a distance [m].
	Share(distM float64) float64
	// DensityM2 returns the density at a distance, spread evenly around [1/m2].
	DensityM2(distM float64) float64
	// Check returns an error that names the first impossible value.
	Check() error
}

// A Quantile is one row of a table of distances: a share is found within a
// distance.
type Quantile struct {
	Share float64 // in (0, 1], rising
	DistM float64 // [m], 0 or more, rising
}

// A Table is a table of distances as people keep it. Between two rows the share
// is spread evenly over the ring: (p2 - p1) / (pi (r2^2 - r1^2)). A first row at
// 0 m is found at the point itself, and is spread over [AtPointM]. What the last
// row leaves is beyond all that was seen, and falls beyond the map.
type Table []Quantile

// AtPointM is the radius over which those are spread who are found at the
// planning point [m]: about a tenth are within 50 m (Cawi, note on the lognormal
// for found distances, read second-hand).
const AtPointM = 50

// Check returns an error that names the first impossible value.
func (t Table) Check() error {
	if len(t) == 0 {
		return fmt.Errorf("prob: a table of distances without rows")
	}
	for i, q := range t {
		switch {
		case !(q.Share > 0 && q.Share <= 1):
			return fmt.Errorf("prob: share %g of row %d is outside 0 to 1", q.Share, i+1)
		case !(q.DistM >= 0) || math.IsInf(q.DistM, 1):
			return fmt.Errorf("prob: distance %g m of row %d is not a number from 0 up", q.DistM, i+1)
		case i > 0 && (q.Share <= t[i-1].Share || q.DistM <= t[i-1].DistM):
			return fmt.Errorf("prob: row %d is not above the row before it in both share and distance", i+1)
		case i == 1 && t[0].DistM == 0 && q.DistM <= AtPointM:
			return fmt.Errorf("prob: row 2 lies within the %d m of those who are found at the point", AtPointM)
		}
	}
	return nil
}

// rings calls f with the share and the two radii of each ring.
func (t Table) rings(f func(share, from, to float64)) {
	share, from := 0.0, 0.0
	for _, q := range t {
		to := q.DistM
		if to == 0 {
			to = AtPointM
		}
		f(q.Share-share, from, to)
		share, from = q.Share, to
	}
}

// Share returns the part found within a distance [m].
func (t Table) Share(distM float64) float64 {
	total := 0.0
	t.rings(func(share, from, to float64) {
		r := min(max(distM, from), to)
		total += share * (r*r - from*from) / (to*to - from*from)
	})
	return total
}

// DensityM2 returns the density at a distance [1/m2].
func (t Table) DensityM2(distM float64) float64 {
	d := 0.0
	t.rings(func(share, from, to float64) {
		if distM >= from && distM < to {
			d = share / (math.Pi * (to*to - from*from))
		}
	})
	return d
}

// A Lognormal is a smooth law of distances: but for those found at the point,
// the logarithm of the distance is normal.
type Lognormal struct {
	Mu      float64 // mean of the natural logarithm of the distance in metres
	Sigma   float64 // its standard deviation, > 0
	AtPoint float64 // share found at the point, spread over AtPointM; in [0, 1)
}

// Check returns an error that names the first impossible value.
func (l Lognormal) Check() error {
	switch {
	case math.IsNaN(l.Mu) || math.IsInf(l.Mu, 0):
		return fmt.Errorf("prob: mean %g of the logarithm is not a number", l.Mu)
	case !(l.Sigma > 0) || math.IsInf(l.Sigma, 1):
		return fmt.Errorf("prob: deviation %g of the logarithm is not above 0", l.Sigma)
	case !(l.AtPoint >= 0 && l.AtPoint < 1):
		return fmt.Errorf("prob: share at the point %g is not from 0 up to below 1", l.AtPoint)
	}
	return nil
}

// Share returns the part found within a distance [m].
func (l Lognormal) Share(distM float64) float64 {
	if !(distM > 0) {
		return 0
	}
	near := min(sq(distM/AtPointM), 1)
	return l.AtPoint*near + (1-l.AtPoint)*l.law().CDF(distM)
}

// DensityM2 returns the density at a distance [1/m2].
func (l Lognormal) DensityM2(distM float64) float64 {
	d := 0.0
	if distM < AtPointM {
		d = l.AtPoint / (math.Pi * AtPointM * AtPointM)
	}
	if distM > 0 {
		d += (1 - l.AtPoint) * l.law().Prob(distM) / (2 * math.Pi * distM)
	}
	return d
}

func (l Lognormal) law() distuv.LogNormal { return distuv.LogNormal{Mu: l.Mu, Sigma: l.Sigma} }

// FitLognormal returns the lognormal nearest to a table, by least squares of the
// distances' logarithms over the normal quantiles of the shares; a first row at
// 0 m becomes the share at the point, and a row of 100 %, which has no quantile,
// is left out. It needs two rows besides.
func FitLognormal(t Table) (Lognormal, error) {
	if err := t.Check(); err != nil {
		return Lognormal{}, err
	}
	at := 0.0
	var z, y []float64
	for _, q := range t {
		switch {
		case q.DistM == 0:
			at = q.Share
		case q.Share < 1:
			z = append(z, distuv.UnitNormal.Quantile((q.Share-at)/(1-at)))
			y = append(y, math.Log(q.DistM))
		}
	}
	if len(z) < 2 {
		return Lognormal{}, fmt.Errorf("prob: a lognormal needs two rows between 0 and 100 %%, not %d", len(z))
	}
	n := float64(len(z))
	meanZ, meanY := sum(z)/n, sum(y)/n
	var zz, zy float64
	for i := range z {
		zz += sq(z[i] - meanZ)
		zy += (z[i] - meanZ) * (y[i] - meanY)
	}
	l := Lognormal{Sigma: zy / zz, AtPoint: at}
	l.Mu = meanY - l.Sigma*meanZ
	return l, l.Check()
}

// Distances returns where people are found around a planning point by a law of
// distances, the same in all directions. Densities are per m2.
func Distances(f grid.Frame, from orb.Point, law Radial) (Weights, error) {
	w := Weights{Name: "distance from the planning point"}
	if err := law.Check(); err != nil {
		return w, err
	}
	var err error
	w.Density, err = overCells(f, from,
		func(distM, cellM float64) int {
			return max(int(math.Ceil(nearDetail*cellM/max(distM, cellM/finest))), ringDetail)
		},
		func(e, n float64) float64 { return law.DensityM2(math.Hypot(e, n)) })
	if err != nil {
		return w, err
	}
	w.Beyond = beyond(f, w.Density)
	return w, nil
}

// ringDetail is how many points a side every cell has, since the edge of a ring
// may cut it.
const ringDetail = 4

// nearDetail is how many points a side a cell has that lies its own size off,
// where densities change within it.
const nearDetail = 16

// Median returns the distance [m] within which half are found; NaN where the law
// holds less than half.
func Median(law Radial) float64 {
	lo, hi := 0.0, 1e7
	if law.Share(hi) < 0.5 {
		return math.NaN()
	}
	for range 100 {
		mid := (lo + hi) / 2
		if law.Share(mid) < 0.5 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// Published holds the rows of distances that were read in a published source
// and may be cited as single figures; nothing uses one unless it is named.
type Published struct {
	Name   string
	Cases  int // 0: not stated
	Source string
	Table  Table
}

// PublishedTables lists them. They are of one country and of people reported
// missing, transport included; the user's own figures are better.
func PublishedTables() []Published { return slices.Clone(published) }

// PublishedTable returns the one of that name.
func PublishedTable(name string) (Published, bool) {
	for _, p := range published {
		if p.Name == name {
			return p, true
		}
	}
	return Published{}, false
}

var published = []Published{
	{
		Name: "dementia-uk", Cases: 279,
		Source: "UK Missing Person Behaviour Study, initial response, dementia; read 2026",
		Table:  Table{{0.1, 0}, {0.2, 300}, {0.3, 500}, {0.4, 1000}, {0.5, 1200}, {0.6, 2000}, {0.7, 2900}, {0.8, 5000}, {0.9, 9500}},
	},
	{
		Name:   "dementia-women-on-foot",
		Source: "Gibb and Woolnough 2007, Grampian Police, women with dementia on foot; read second-hand",
		Table:  Table{{0.4, 300}, {0.5, 700}, {0.6, 900}, {0.7, 1200}, {0.8, 2000}, {0.9, 3700}, {0.95, 5800}, {0.99, 12000}},
	},
}
