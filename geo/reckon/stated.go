package reckon

import (
	"fmt"
	"math"
	"strings"
)

// Errors are the standard deviations that a log states of itself in its headers
// sigma-distance, sigma-bearing, scale-bias and bearing-bias; see [Options] for
// what they mean. NaN where it states none.
type Errors struct {
	SigmaDistance, SigmaBearingDeg float64
	ScaleBias, BearingBiasDeg      float64
}

func unstated() Errors {
	nan := math.NaN()
	return Errors{nan, nan, nan, nan}
}

// Heading is what a walker kept to a bearing by. The zero value is a compass.
type Heading struct {
	None bool // nothing: no compass, no sun, no far mark
	// TurnDeg is then the standard deviation of the heading after 100 m [degrees];
	// 0 for DefaultTurnDeg.
	TurnDeg float64
}

const maxTurnDeg = 360

const (
	errorForm   = "write it like sigma-distance: 4% or sigma-bearing: 2deg: one standard deviation"
	compassForm = "write compass: none, or with how far the heading turns, compass: none, turn 80deg per 100 m"
)

// setError reads "4%" of a length, or "2deg" of a bearing.
func (p *parser) setError(name string, value word) error {
	e := &p.log.Errors
	number, unit := cutUnit(strings.Join(strings.Fields(value.text), ""))
	v, ok := parseNumber(number)
	share := unit == "%"
	angle := angleUnits[unit]
	fault := value.fault("not an error of that kind", errorForm)
	switch {
	case !ok:
		return fault
	case name == "sigma-distance" && share && v <= 100:
		e.SigmaDistance = v / 100
	case name == "scale-bias" && share && v <= 100:
		e.ScaleBias = v / 100
	case name == "sigma-bearing" && angle > 0 && v*angle <= 90:
		e.SigmaBearingDeg = v * angle
	case name == "bearing-bias" && angle > 0 && v*angle <= 90:
		e.BearingBiasDeg = v * angle
	default:
		return fault
	}
	return nil
}

// setCompass reads "none" and "none, turn 80deg per 100 m".
func (p *parser) setCompass(value word) error {
	text := strings.Join(strings.Fields(strings.ToLower(value.text)), " ")
	first, turn, told := strings.Cut(text, ", turn ")
	if first != "none" {
		return value.fault("not a compass", compassForm)
	}
	p.log.Heading.None = true
	if !told {
		return nil
	}
	angle, course, over := strings.Cut(turn, " per ")
	number, unit := cutUnit(strings.ReplaceAll(angle, " ", ""))
	v, ok := parseNumber(number)
	m := 100.0
	if over {
		var known bool
		m, known = parseLength(course)
		ok = ok && known
	}
	deg := v * angleUnits[unit] * math.Sqrt(100/m)
	if !ok || !(m > 0) || !(deg > 0 && deg <= maxTurnDeg) {
		return value.fault(fmt.Sprintf("not an angle up to %d degrees in 100 m", maxTurnDeg), compassForm)
	}
	p.log.Heading.TurnDeg = deg
	return nil
}
