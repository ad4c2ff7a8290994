package source

import (
	"fmt"
	"math"
	"strings"
)

// Battery is how a lamp's output falls while its battery runs down. With the
// zero value it is full for the rated time, and the notes say that this may
// flatter it.
type Battery struct {
	Fade Fade
	// Cold is the share of the rated time that is left in the cold, as the user
	// states it; 0: not stated, all of it. No figure is assumed.
	Cold float64
	// Output replaces the light's rated time and Fade: the share of the first
	// output by the hour, straight in between; the lamp is out after the last.
	Output []OutputPoint
}

// An OutputPoint is one row of a measured run.
type OutputPoint struct {
	LitS  float64 // since the lamp was lit [s]
	Share float64 // of the first output, 0 to 1
}

// Fade is how the output falls over the rated time.
type Fade string

// The ways of fading. A run time by ANSI/PLATO FL 1 ends where a tenth of the
// first output is left; the way down to there is not part of it, and the two
// below are own choice.
const (
	// Constant is full output for the whole rated time, as safety rules ask for
	// of their lights.
	Constant Fade = "constant"
	// Drop is a regulated lamp: full for four fifths of the rated time, then
	// straight down to a tenth at its end.
	Drop Fade = "drop"
	// Falling is a lamp without regulation: the same factor every hour, down to a
	// tenth at the end of the rated time.
	Falling Fade = "falling"
)

// Fades lists the ways of fading.
var Fades = []Fade{Constant, Drop, Falling}

const (
	ratedShare = 0.1 // of the first output at the end of the rated time (ANSI/PLATO FL 1, run time)
	dropFrom   = 0.8 // of the rated time
)

// LastsS returns for how long the light burns [s]: the rated time, or that of
// the last row of its table, times what the cold leaves; +Inf when nothing ends
// it. A lamp may glow on below a tenth of its output; it counts as out.
func (l Light) LastsS() float64 {
	s := l.RatedS
	if n := len(l.Battery.Output); n > 0 {
		s = l.Battery.Output[n-1].LitS
	}
	if s == 0 {
		return math.Inf(1)
	}
	if l.Battery.Cold > 0 {
		s *= l.Battery.Cold
	}
	return s
}

// Output returns the share of the first output that is left after the given
// time [s], 0 when the light is out.
func (l Light) Output(litForS float64) float64 {
	last := l.LastsS()
	switch {
	case litForS > last:
		return 0
	case math.IsInf(last, 1):
		return 1
	}
	t := litForS / last
	if table := l.Battery.Output; len(table) > 0 {
		return between(table, t*table[len(table)-1].LitS)
	}
	switch l.Battery.Fade {
	case Drop:
		return 1 - (1-ratedShare)*max(0, t-dropFrom)/(1-dropFrom)
	case Falling:
		return math.Pow(ratedShare, t)
	}
	return 1
}

// between reads the table at a time [s] up to its last.
func between(table []OutputPoint, litS float64) float64 {
	for i, p := range table {
		switch {
		case litS > p.LitS:
		case i == 0 || p.LitS == table[i-1].LitS:
			return p.Share
		default:
			before := table[i-1]
			return before.Share + (p.Share-before.Share)*(litS-before.LitS)/(p.LitS-before.LitS)
		}
	}
	return table[len(table)-1].Share
}

// batteryFactors lists what the battery leaves after the given time [s].
func (l Light) batteryFactors(litForS float64) []Factor {
	last := l.LastsS()
	if math.IsInf(last, 1) {
		return nil
	}
	from := "as rated; no fading is stated"
	switch {
	case len(l.Battery.Output) > 0:
		from = "the table given"
	case l.Battery.Fade == Constant:
		from = "as stated: full until the rated time ends"
	case l.Battery.Fade != "":
		from = string(l.Battery.Fade) + ": own choice of curve to a tenth at the end of the rated time, ANSI/PLATO FL 1"
	}
	list := []Factor{{Name: fmt.Sprintf("battery, lit for %.4g of %.4g h", litForS/3600, last/3600), Value: l.Output(litForS), Source: from}}
	if l.Battery.Cold > 0 {
		list = append(list, Factor{Name: "rated time left in the cold", Value: l.Battery.Cold, Source: "as stated"})
	}
	return list
}

func (b Battery) check() error {
	known := b.Fade == ""
	var words []string
	for _, f := range Fades {
		known = known || b.Fade == f
		words = append(words, string(f))
	}
	switch {
	case !known:
		return fmt.Errorf("light: no way of fading %q; there are %s", string(b.Fade), strings.Join(words, ", "))
	case b.Cold != 0 && !(b.Cold > 0 && b.Cold <= 1):
		return fmt.Errorf("light: share %g of the rated time left in the cold is outside 0 to 1", b.Cold)
	case len(b.Output) > 0 && b.Fade != "":
		return fmt.Errorf("light: a table of the output beside a way of fading")
	case len(b.Output) > 0 && b.Output[0].LitS != 0:
		return fmt.Errorf("light: the table of the output begins at %g s, not when the lamp is lit", b.Output[0].LitS)
	case len(b.Output) > 0 && !(b.Output[len(b.Output)-1].LitS > 0):
		return fmt.Errorf("light: the table of the output has no time after 0")
	}
	for i, p := range b.Output {
		switch {
		case !(p.LitS >= 0) || math.IsInf(p.LitS, 1):
			return fmt.Errorf("light: time %g s of the output is not a number from 0 up", p.LitS)
		case !(p.Share >= 0 && p.Share <= 1):
			return fmt.Errorf("light: output %g is outside 0 to 1", p.Share)
		case i > 0 && p.LitS < b.Output[i-1].LitS:
			return fmt.Errorf("light: the time %g s of the output stands after %g s", p.LitS, b.Output[i-1].LitS)
		}
	}
	return nil
}
