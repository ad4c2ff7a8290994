package main

import (
	"fmt"
	"math"
	"strconv"
)

// The demo's ground is invented: the valley of the Askel, drawn by the
// functions below. Its coordinates lie in the open Atlantic, so that nobody
// takes it for real ground.
const (
	demoWest   = -20.0800 // longitude of the western cell centres [deg]
	demoNorth  = 46.0560  // latitude of the northern cell centres [deg]
	demoDX     = 0.0004   // 31 m [deg]
	demoDY     = 0.00028  // 31 m [deg]
	demoCols   = 400
	demoRows   = 400
	demoCellM  = 31.0 // both ways, near enough to draw by [m]
	demoFloorM = 820  // height of the valley floor at its lower end [m]
)

// demoTerrain returns the valley as an Esri ASCII grid.
func demoTerrain() []byte {
	south := demoNorth - (demoRows-1)*demoDY
	out := fmt.Appendf(nil, "ncols %d\nnrows %d\nxllcenter %.4f\nyllcenter %.5f\ndx %g\ndy %g\nnodata_value -9999\n",
		demoCols, demoRows, demoWest, south, demoDX, demoDY)
	for row := range demoRows {
		for col := range demoCols {
			x, y := float64(col)*demoCellM, float64(demoRows-1-row)*demoCellM
			out = strconv.AppendFloat(out, demoHeight(x, y), 'f', 1, 64)
			out = append(out, ' ')
		}
		out[len(out)-1] = '\n'
	}
	return out
}

// demoHeight returns the height [m] at x metres east and y metres north of the
// south-western corner: a valley that winds from south-west to north-east
// between two ridges, with side valleys, a lake basin and rough ground.
func demoHeight(x, y float64) float64 {
	size := demoCellM * demoCols
	u := (x + y) / (2 * size)                                          // 0 at the valley's mouth, 1 at its head
	bend := 900 * math.Sin(2*math.Pi*u*1.3)                            // the river winds
	across := (x-y)/math.Sqrt2 - bend                                  // distance from the river, east positive [m]
	floor := demoFloorM + 520*u*u                                      // the floor rises towards the head
	wide := 420 + 260*math.Sin(2*math.Pi*u*2.1+0.7)                    // half width of the flat floor [m]
	side := math.Max(0, math.Abs(across)-wide)                         // distance up the valley side [m]
	rise := 1050 * (1 - math.Exp(-side*side/(2*1500*1500)))            // the ridges
	spurs := 1 + 0.28*math.Sin(2*math.Pi*u*5+math.Copysign(1, across)) // side valleys cut the ridges
	rough := 60*noise(x/900, y/900, 1) + 22*noise(x/310, y/310, 2) + 7*noise(x/110, y/110, 3)
	return floor + rise*spurs + rough*math.Min(1, 0.15+side/600)
}

// noise is smooth value noise in [-1,1] on a unit lattice.
func noise(x, y float64, layer uint32) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	sx, sy := smooth(x-fx), smooth(y-fy)
	i, j := int32(fx), int32(fy)
	low := lattice(i, j, layer)*(1-sx) + lattice(i+1, j, layer)*sx
	high := lattice(i, j+1, layer)*(1-sx) + lattice(i+1, j+1, layer)*sx
	return low*(1-sy) + high*sy
}

func smooth(t float64) float64 { return t * t * (3 - 2*t) }

// lattice gives every lattice point a fixed number in [-1,1] by mixing its
// indices; multiplication by odd constants and shifts spread the bits.
func lattice(i, j int32, layer uint32) float64 {
	h := uint32(i)*0x9E3779B1 ^ uint32(j)*0x85EBCA77 ^ layer*0xC2B2AE3D
	h = (h ^ h>>15) * 0x2C1B3C6D
	h = (h ^ h>>12) * 0x297A2D39
	h ^= h >> 15
	return float64(h)/math.MaxUint32*2 - 1
}
