package geotest

import "math"

// A Surface gives the height [m] of a made-up terrain at metres east and north
// of the centre of its grid. Its answers are known on paper: a plane sees to
// its horizon, a wall hides what the intercept theorem says, a cone's summit
// sees all of its flanks, a bowl hides nothing from inside.
type Surface func(eastM, northM float64) float64

// Plane is level at heightM plus slopes to the east and north [m per m].
func Plane(heightM, eastSlope, northSlope float64) Surface {
	return func(e, n float64) float64 { return heightM + eastSlope*e + northSlope*n }
}

// Cone falls from summitM at the centre by gradient [m per m], down to 0.
func Cone(summitM, gradient float64) Surface {
	return func(e, n float64) float64 { return max(0, summitM-gradient*math.Hypot(e, n)) }
}

// Wall is a plain at 0 with a ridge heightM high that runs north-south, from
// westM to eastM.
func Wall(westM, eastM, heightM float64) Surface {
	return func(e, _ float64) float64 {
		if e >= westM && e <= eastM {
			return heightM
		}
		return 0
	}
}

// Bowl is the paraboloid d²/(2 radiusM) around the centre.
func Bowl(radiusM float64) Surface {
	return func(e, n float64) float64 { return (e*e + n*n) / (2 * radiusM) }
}

// Rough is a hilly surface of a few dozen waves with lengths from 200 m to
// 5 km, the same for the same seed. It has no known answers; it is ground for
// comparing one method with another.
func Rough(seed uint64, heightM float64) Surface {
	type wave struct{ ke, kn, phase, a float64 }
	var waves [40]wave
	// A step of splitmix64 (Steele, Lea, Flood 2014), from memory: all that is
	// needed is that the numbers differ and come out alike everywhere.
	next := func() float64 {
		seed += 0x9e3779b97f4a7c15
		z := seed
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		return float64((z^z>>31)>>11) / (1 << 53)
	}
	for i := range waves {
		length := 200 * math.Pow(25, next())
		dir := 2 * math.Pi * next()
		k := 2 * math.Pi / length
		waves[i] = wave{k * math.Cos(dir), k * math.Sin(dir), 2 * math.Pi * next(), heightM * length / 5000}
	}
	return func(e, n float64) float64 {
		z := heightM
		for _, w := range waves {
			z += w.a * math.Sin(w.ke*e+w.kn*n+w.phase)
		}
		return z
	}
}

// Cells returns the surface at the centres of a north-up grid of square cells,
// row by row from the north-west; the origin is the middle of the grid.
func (s Surface) Cells(cols, rows int, cellM float64) []float32 {
	z := make([]float32, cols*rows)
	for r := range rows {
		for c := range cols {
			e := (float64(c) - float64(cols-1)/2) * cellM
			n := (float64(rows-1)/2 - float64(r)) * cellM
			z[r*cols+c] = float32(s(e, n))
		}
	}
	return z
}
