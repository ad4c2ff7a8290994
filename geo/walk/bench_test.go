package walk

import (
	"math"
	"math/rand/v2"
	"testing"

	"farhail/geo/grid"
)

// fractal returns rough ground by midpoint displacement: heights over a range of
// some 3000 m, a fifth steep on average at cells of 30 m.
func fractal(size int, seed uint64) *grid.Heights {
	h := level(size, size, 30)
	r := rand.New(rand.NewPCG(seed, 99))
	full := 1
	for full+1 < size {
		full *= 2
	}
	n := full + 1
	z := make([]float32, n*n)
	// 7 m between neighbours.
	const fall = 0.65
	amplitude := 7.0
	for step := full; step > 2; step /= 2 {
		amplitude /= fall
	}
	for step := full; step > 1; step /= 2 {
		half := step / 2
		shake := func() float32 { return float32(amplitude * (2*r.Float64() - 1)) }
		for y := half; y < n; y += step {
			for x := half; x < n; x += step {
				z[y*n+x] = (z[(y-half)*n+x-half]+z[(y-half)*n+x+half]+z[(y+half)*n+x-half]+z[(y+half)*n+x+half])/4 + shake()
			}
		}
		for y := 0; y < n; y += half {
			for x := (y + half) % step; x < n; x += step {
				var sum float32
				var count float32
				for _, d := range [][2]int{{half, 0}, {-half, 0}, {0, half}, {0, -half}} {
					if c, w := x+d[0], y+d[1]; c >= 0 && w >= 0 && c < n && w < n {
						sum, count = sum+z[w*n+c], count+1
					}
				}
				z[y*n+x] = sum/count + shake()
			}
		}
		amplitude *= fall
	}
	for i := range h.Z {
		h.Z[i] = z[i/size*n+i%size]
	}
	return h
}

// BenchmarkReach walks all of a grid of 3601 x 3601 cells from its centre.
func BenchmarkReach(b *testing.B) {
	h := fractal(3601, 1)
	for _, c := range []struct {
		name string
		o    Options
	}{
		{"80", Options{Rule: rule(b, "irmischer-clarke-off")}},
		{"80-langmuir-per-metre", Options{Rule: rule(b, "langmuir-per-metre")}},
		{"16-langmuir-per-metre", Options{Rule: rule(b, "langmuir-per-metre"), Neighbours: 16, EndHeights: true, GridLengths: true}},
		{"two-hours", Options{Rule: rule(b, "irmischer-clarke-off"), MaxSeconds: 7200}},
	} {
		b.Run(c.name, func(b *testing.B) {
			c.o.Starts = middle(h)
			if c.o.MaxSeconds == 0 {
				c.o.MaxSeconds = math.MaxFloat64
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Reach(background, h, c.o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
