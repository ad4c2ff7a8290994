package los

import (
	"math"

	"farhail/geo/earth"
)

// tiny is the part of a cell below which a crossing lies on a cell centre. It
// is far above rounding (1e-12 at column 10 000) and far below anything that
// matters in a height.
const tiny = 1e-9

// maxLegs bounds the pieces of one line.
const maxLegs = 64

// leg is a piece of a sight line, straight in columns and rows.
type leg struct {
	col0, row0, col1, row1 float64
	from, to               float64 // distance from the eye at its ends [m]
}

// axis describes the crossings of a leg with all columns, or with all rows:
// the whole numbers first to last of that coordinate. At one of them, s after
// the start, the other coordinate is across + s·rate, and the distance from the
// leg's start s·metres.
type axis struct {
	first, last          int
	from, across, rate   float64
	metres               float64
	stride, acrossStride int
	rows                 bool // crossings with rows, not columns
}

// axes returns the crossings of a leg on a grid with cols columns.
func (l *leg) axes(cols int) [2]axis {
	return [2]axis{l.columns(cols), l.rows(cols)}
}

func (l *leg) columns(cols int) axis {
	return l.axis(l.col0, l.col1, l.row0, l.row1, 1, cols)
}

func (l *leg) rows(cols int) axis {
	a := l.axis(l.row0, l.row1, l.col0, l.col1, cols, 1)
	a.rows = true
	return a
}

func (l *leg) axis(a0, a1, b0, b1 float64, stride, acrossStride int) axis {
	// Strictly between the ends. A later leg of a chain starts where no height
	// is wanted but its neighbour's end would have been, so it counts its start.
	lo, hi := min(a0, a1), max(a0, a1)
	x := axis{first: int(math.Floor(lo+tiny)) + 1, last: int(math.Ceil(hi-tiny)) - 1,
		from: a0, across: b0, stride: stride, acrossStride: acrossStride}
	if l.from > 0 && a0 != a1 && a0 == math.Round(a0) {
		if a0 < a1 {
			x.first = int(a0)
		} else {
			x.last = int(a0)
		}
	}
	if x.first <= x.last {
		x.rate = (b1 - b0) / (a1 - a0)
		x.metres = (l.to - l.from) / (a1 - a0)
	}
	return x
}

// legs appends the line from the eye to a column and row to buf: one piece, or
// on longitude and latitude as many as keep it within half a cell of the
// geodesic.
func (e *Eye) legs(buf []leg, col, row float64) []leg {
	n := e.pieces(col, row)
	if n == 1 {
		return append(buf, e.piece(e.col, e.row, col, row, 0))
	}
	start := e.h.Point(e.col, e.row)
	length, bearing, _ := earth.Inverse(start, e.h.Point(col, row))
	c, r, d := e.col, e.row, 0.0
	for i := 1; i <= n; i++ {
		nextCol, nextRow := col, row
		if i < n {
			p, _ := earth.Direct(start, bearing, length*float64(i)/float64(n))
			nextCol, nextRow = e.h.Cell(p)
			// Near the poleward edge the geodesic may pass a few cells outside.
			nextCol, nextRow = clamp(nextCol, e.h.Cols), clamp(nextRow, e.h.Rows)
		}
		l := e.piece(c, r, nextCol, nextRow, d)
		buf = append(buf, l)
		c, r, d = nextCol, nextRow, l.to
	}
	return buf
}

// piece returns a straight leg, its length by the cells' size at its middle.
func (e *Eye) piece(c0, r0, c1, r1, from float64) leg {
	east, north := e.eastM, e.northM
	if east == 0 {
		east, north = e.h.MetresAt((c0+c1)/2, (r0+r1)/2)
	}
	return leg{c0, r0, c1, r1, from, from + math.Hypot((c1-c0)*east, (r1-r0)*north)}
}

// pieces returns in how many legs the line must be cut.
//
// On a sphere a geodesic λ(t), φ(t) obeys φ” = -sin φ cos φ λ'² and λ” =
// 2 tan φ φ'λ', so in longitude and latitude it bends away from the straight
// line by, at its middle and across it,
//
//	sin φ Δλ (2 Δφ² + cos² φ Δλ²) / (8 sqrt(Δφ² + cos² φ Δλ²))   [radians]
//
// and n pieces bend n² times less.
func (e *Eye) pieces(col, row float64) int {
	if !e.h.CRS.LonLat() {
		return 1
	}
	dc, dr := col-e.col, row-e.row
	// A line of a few columns and less than four degrees cannot bend by half a
	// cell below latitude 85; this saves the trigonometry.
	if math.Abs(dc) < 8 && math.Abs(dr*e.h.DY) < 4 {
		return 1
	}
	return e.latitude(row).pieces(dc*e.h.DX, dr*e.h.DY)
}

const degree = math.Pi / 180

// latitude is what the bend of lines to the cells of one row depends on.
type latitude struct {
	sin, cos float64
	half     float64 // half a cell, by the mean of its sides [radians]
}

// latitude returns that of the middle between the eye's row and another.
func (e *Eye) latitude(row float64) latitude {
	sin, cos := math.Sincos((e.h.Y0 - (e.row+row)/2*e.h.DY) * degree)
	return latitude{sin, cos, 0.5 * math.Sqrt(cos*e.h.DX*e.h.DY) * degree}
}

// pieces returns in how many legs a line over so many degrees must be cut.
func (l latitude) pieces(lonDeg, latDeg float64) int {
	Δλ, Δφ := lonDeg*degree, latDeg*degree
	x := l.cos * Δλ
	bend := math.Abs(l.sin*Δλ) * (2*Δφ*Δφ + x*x) / (8 * math.Hypot(x, Δφ))
	if bend <= l.half {
		return 1
	}
	return int(min(math.Ceil(math.Sqrt(bend/l.half)), maxLegs))
}

// quickPieces is pieces by squares, but where rounding might decide.
func (l latitude) quickPieces(lonDeg, latDeg float64) int {
	Δλ, Δφ := lonDeg*degree, latDeg*degree
	x2, y2 := l.cos*Δλ*l.cos*Δλ, Δφ*Δφ
	bend := l.sin * Δλ * (2*y2 + x2) / 8
	square := bend * bend / ((x2 + y2) * l.half * l.half) // of the bend in half cells
	for n := 1; n <= latticePieces; n++ {
		switch limit := float64(n * n * n * n); {
		case square < limit*(1-1e-9):
			return n
		case square <= limit*(1+1e-9):
			return l.pieces(lonDeg, latDeg)
		}
	}
	return l.pieces(lonDeg, latDeg)
}
