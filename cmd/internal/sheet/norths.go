package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"codeberg.org/go-pdf/fpdf"

	"farhail/cmd/internal/job"
)

// northBlock draws the three norths and tells how to get from one to another.
func (d *doc) northBlock(p *projection, c *job.Compass, w float64) block {
	const diagram = 19.0
	convergence := p.tm.ConvergenceDeg(p.middle())
	declination := math.NaN()
	if c != nil {
		declination = float64(c.DeclinationDeg)
	}
	text := d.words(w-diagram-1, keyPt, "", northWords(convergence, declination, c)...)
	return block{max(text.h, 20), func(x, y float64) {
		d.norths(x+diagram/2, y+18, convergence, declination)
		text.draw(x+diagram+1, y)
	}}
}

// turn says which way an angle turns.
func turn(deg float64) string {
	if deg < 0 {
		return "west"
	}
	return "east"
}

func northWords(convergence, declination float64, c *job.Compass) []string {
	list := []string{fmt.Sprintf("Grid north lies %.2f° %s of true north in the middle of the map.", math.Abs(convergence), turn(convergence))}
	if c == nil || math.IsNaN(declination) {
		why := "the plan gives no day"
		if c != nil {
			why = c.Why
		}
		return append(list, "Magnetic north is not known: "+why+".")
	}
	yearly := ""
	if v := float64(c.YearlyDeg); !math.IsNaN(v) {
		yearly = fmt.Sprintf(", and moves %.2f° %s a year", math.Abs(v), turn(v))
	}
	toCompass := convergence - declination
	sign := "add"
	back := "subtract"
	if toCompass < 0 {
		sign, back = back, sign
	}
	return append(list,
		fmt.Sprintf("Magnetic north lies %.1f° %s of true north on %s (%s, one sd %.1f°)%s.", math.Abs(declination), turn(declination), dayText(c), c.Model, float64(c.DeclinationErrorDeg), yearly),
		fmt.Sprintf("Map to compass: %s %.1f°. Compass to map: %s %.1f°.", sign, math.Abs(toCompass), back, math.Abs(toCompass)))
}

// norths draws the arrows from one foot, schematically: in their order, not to scale.
func (d *doc) norths(x, y, convergence, declination float64) {
	type north struct {
		deg  float64 // of true
		name string
	}
	list := []north{{0, "N"}, {convergence, "G"}}
	if !math.IsNaN(declination) {
		list = append(list, north{declination, "M"})
	}
	slices.SortStableFunc(list, func(a, b north) int { return cmp.Compare(a.deg, b.deg) })
	zero := slices.IndexFunc(list, func(n north) bool { return n.name == "N" })
	const long, apart = 14.0, 22.0
	// The foot stands so that the arrows are in the middle.
	x += 0.9 * long * (math.Sin(float64(zero)*apart*math.Pi/180) - math.Sin(float64(len(list)-1-zero)*apart*math.Pi/180)) / 2
	d.font(bold, 7)
	for i, n := range list {
		lean := float64(i-zero) * apart
		sin, cos := math.Sincos(lean * math.Pi / 180)
		d.use(pen{colour: black, mm: 0.3})
		end := long
		if n.name != "N" {
			end = long * 0.9
		}
		tipX, tipY := x+end*sin, y-end*cos
		d.rule(x, y, tipX, tipY, 0.3)
		d.arrowHead(tipX, tipY, lean, n.name)
		d.textCentre(x+(end+3)*sin, y-(end+2.2)*cos+0.4, n.name)
	}
}

// arrowHead ends an arrow: full for the needle's north, open for the grid's, a star for
// the true one.
func (d *doc) arrowHead(x, y, lean float64, name string) {
	at := func(back, aside float64) fpdf.PointType {
		sin, cos := math.Sincos(lean * math.Pi / 180)
		return fpdf.PointType{X: x - back*sin + aside*cos, Y: y + back*cos + aside*sin}
	}
	switch name {
	case "M":
		d.pdf.Polygon([]fpdf.PointType{at(-0.4, 0), at(1.8, 0.7), at(1.8, -0.7)}, "F")
	case "G":
		d.ink(white)
		d.pdf.Polygon([]fpdf.PointType{at(-0.4, 0), at(1.8, 0.7), at(1.8, -0.7)}, "F")
		d.ink(black)
		d.pdf.SetLineWidth(0.25)
		d.pdf.Polygon([]fpdf.PointType{at(-0.4, 0), at(1.8, 0.7), at(1.8, -0.7)}, "D")
	default:
		for i := range 3 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 3)
			d.rule(x-1.1*sin, y-1.1*cos, x+1.1*sin, y+1.1*cos, 0.3)
		}
	}
}
