package page

import (
	"math"

	"farhail/geo/coord"
	"farhail/geo/earth"

	"github.com/paulmach/orb"
)

// A utmZone is one grid that positions of the map are read on.
type utmZone struct {
	Zone    int               `json:"zone"`
	South   bool              `json:"south"`
	Grid    *lattice          `json:"grid"`    // longitude and latitude to easting and northing; null where it is the grid of the plane
	Squares map[string]string `json:"squares"` // "column,row" in units of 100 km to the letters; JSON sorts them
	Lines   []gridLine        `json:"lines"`   // none where they are straight on the plane
}

// A gridLine is a line of equal easting or northing.
type gridLine struct {
	KM    int     `json:"km"`
	North bool    `json:"north"` // of equal northing
	Line  flatRow `json:"line"`
}

// A zoneBox is the part of a zone and band that lies on the map, in longitude and latitude.
type zoneBox struct {
	West  float64 `json:"west"`
	East  float64 `json:"east"`
	South float64 `json:"south"`
	North float64 `json:"north"`
	Index int     `json:"zone"` // in the list of zones
	Band  string  `json:"band"`
	Edge  flatRow `json:"edge"` // on the plane; null where the map has one zone
}

// Zones and bands change only at these steps [degrees], those of Norway and Svalbard too.
const (
	zoneStep = 3
	bandStep = 8
	utmSouth = -80
	utmNorth = 84
)

// zones returns the grids of the map and where each holds.
func (p *plane) zones() ([]utmZone, []zoneBox) {
	around := p.lonLatBox()
	var list []utmZone
	var boxes []zoneBox
	for south := utmSouth; south < utmNorth; south += bandStep {
		north := min(south+bandStep, utmNorth)
		for west := zoneStep * int(math.Floor(around.Min.Lon()/zoneStep)); float64(west) < around.Max.Lon(); west += zoneStep {
			part := orb.Bound{
				Min: orb.Point{math.Max(float64(west), around.Min.Lon()), math.Max(float64(south), around.Min.Lat())},
				Max: orb.Point{math.Min(float64(west+zoneStep), around.Max.Lon()), math.Min(float64(north), around.Max.Lat())},
			}
			if part.Max.Lon() <= part.Min.Lon() || part.Max.Lat() <= part.Min.Lat() {
				continue
			}
			u, err := coord.UTMOf(part.Center(), 0)
			if err != nil {
				continue
			}
			i := indexOf(list, u.Zone, u.Hemisphere == "south")
			if i < 0 {
				i = len(list)
				list = append(list, utmZone{Zone: u.Zone, South: u.Hemisphere == "south", Squares: map[string]string{}, Lines: []gridLine{}})
			}
			boxes = append(boxes, zoneBox{part.Min.Lon(), part.Max.Lon(), part.Min.Lat(), part.Max.Lat(), i, u.Band, nil})
		}
	}
	for i := range list {
		p.fillZone(&list[i], i, boxes)
	}
	if len(list) > 1 {
		for i, b := range boxes {
			boxes[i].Edge = p.outline(orb.Bound{Min: orb.Point{b.West, b.South}, Max: orb.Point{b.East, b.North}})
		}
	}
	return list, boxes
}

func indexOf(list []utmZone, zone int, south bool) int {
	for i, z := range list {
		if z.Zone == zone && z.South == south {
			return i
		}
	}
	return -1
}

// outline returns a box of longitude and latitude on the plane.
func (p *plane) outline(b orb.Bound) flatRow {
	var ring flatRow
	const steps = 16
	for _, side := range [][2]orb.Point{
		{b.Min, {b.Max[0], b.Min[1]}}, {{b.Max[0], b.Min[1]}, b.Max}, {b.Max, {b.Min[0], b.Max[1]}}, {{b.Min[0], b.Max[1]}, b.Min},
	} {
		for i := range steps {
			t := float64(i) / steps
			ring = p.appendFlat(ring, p.flat(orb.Point{side[0][0] + t*(side[1][0]-side[0][0]), side[0][1] + t*(side[1][1]-side[0][1])}))
		}
	}
	return ring
}

// fillZone names the squares of one zone, and where it is not that of the plane makes its
// table over its boxes and draws its lines.
func (p *plane) fillZone(z *utmZone, index int, boxes []zoneBox) {
	if z.Zone == p.zone && z.South == p.south {
		z.nameSquares(p.box)
		return
	}
	tm := earth.UTM(z.Zone, z.South)
	forward := func(at orb.Point) orb.Point {
		e, n := tm.Forward(at)
		return orb.Point{e, n}
	}
	var whole orb.Bound
	for _, b := range boxes {
		if part := (orb.Bound{Min: orb.Point{b.West, b.South}, Max: orb.Point{b.East, b.North}}); b.Index == index {
			if whole.IsZero() {
				whole = part
			}
			whole = whole.Union(part)
		}
	}
	grid := newLattice(whole, forward, apartFlat)
	spread := spread(whole, forward)
	z.Grid = &grid
	z.nameSquares(spread)
	z.Lines = p.lines(tm, spread, index, boxes)
}

// nameSquares names the squares of 100 km in a box of eastings and northings.
func (z *utmZone) nameSquares(box orb.Bound) {
	const squareM = 100e3
	for col := math.Floor(box.Min[0] / squareM); col <= box.Max[0]/squareM; col++ {
		for row := math.Floor(box.Min[1] / squareM); row <= box.Max[1]/squareM; row++ {
			if letters := coord.SquareLetters(z.Zone, (col+0.5)*squareM, (row+0.5)*squareM); letters != "" {
				z.Squares[number(col)+","+number(row)] = letters
			}
		}
	}
}

// spread returns the box of what a function makes of a box.
func spread(b orb.Bound, f func(orb.Point) orb.Point) orb.Bound {
	out := f(b.Min).Bound()
	const steps = 16
	for i := range steps + 1 {
		for j := range steps + 1 {
			out = out.Extend(f(orb.Point{b.Min[0] + float64(i)/steps*(b.Max[0]-b.Min[0]), b.Min[1] + float64(j)/steps*(b.Max[1]-b.Min[1])}))
		}
	}
	return out
}

// Lines of another grid are a kilometre apart on small maps and ten on large ones.
const (
	smallMapM = 60e3
	kmM       = 1e3
)

// lines returns the grid lines of a zone where it holds.
func (p *plane) lines(tm *earth.TM, spread orb.Bound, index int, boxes []zoneBox) []gridLine {
	step := kmM
	if p.box.Max[0]-p.box.Min[0] > smallMapM || p.box.Max[1]-p.box.Min[1] > smallMapM {
		step = 10 * kmM
	}
	list := []gridLine{}
	for axis := range 2 {
		for v := step * math.Ceil(spread.Min[axis]/step); v <= spread.Max[axis]; v += step {
			for _, line := range p.line(tm, v, axis, spread, step/8, index, boxes) {
				list = append(list, gridLine{int(math.Round(v / kmM)), axis == 1, line})
			}
		}
	}
	return list
}

// line returns one grid line where its zone holds, and a step beyond: the page cuts it at the
// zone's edge.
func (p *plane) line(tm *earth.TM, v float64, axis int, spread orb.Bound, step float64, index int, boxes []zoneBox) []flatRow {
	var points []orb.Point
	var held []bool
	for w := spread.Min[1-axis]; w < spread.Max[1-axis]+step; w += step {
		at := orb.Point{v, w}
		if axis == 1 {
			at = orb.Point{w, v}
		}
		q := tm.Inverse(at[0], at[1])
		q[0] = p.lon0 + math.Remainder(q[0]-p.lon0, 360)
		points, held = append(points, q), append(held, holds(q, index, boxes))
	}
	var rows []flatRow
	var row flatRow
	for i, q := range points {
		if held[i] || i > 0 && held[i-1] || i+1 < len(held) && held[i+1] {
			row = p.appendFlat(row, p.flat(q))
			continue
		}
		if row != nil {
			rows, row = append(rows, row), nil
		}
	}
	if row != nil {
		rows = append(rows, row)
	}
	return rows
}

func holds(q orb.Point, index int, boxes []zoneBox) bool {
	for _, b := range boxes {
		if b.Index == index && q.Lon() >= b.West && q.Lon() <= b.East && q.Lat() >= b.South && q.Lat() <= b.North {
			return true
		}
	}
	return false
}
