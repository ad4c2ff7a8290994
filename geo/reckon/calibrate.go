package reckon

import (
	"math"
	"strings"
)

// A course is a measured distance that was paced several times.
type course struct {
	lengthM float64
	double  bool
	stepsM  []float64 // paces per metre of each walk
}

const calibrateForm = "write it like 116 single over 100 m, 118, 115"

// calibrate reads "116 single over 100 m, 118, 115" and makes it the pace of a
// condition, "" for level ground. A second line adds walks.
//
// The mean count per metre gives the pace; the counts' standard deviation s
// and number n give its errors, s as a share of the mean for a leg and s/√n for
// what is common to all of them.
func (p *parser) calibrate(condition string, value word) error {
	if p.courses == nil {
		p.courses = map[string]*course{}
	}
	c := p.courses[condition]
	if c == nil {
		c = &course{}
		p.courses[condition] = c
	}
	for _, walk := range strings.Split(value.text, ",") {
		count, over, measured := strings.Cut(strings.Join(strings.Fields(strings.ToLower(walk)), " "), " over ")
		words := strings.Fields(count)
		if rest, double, said := cutKind(words); said {
			words, c.double = rest, double
		} else {
			words = rest
			if len(c.stepsM) == 0 {
				return value.fault("a calibration needs its kind of pace, single or double", calibrateForm)
			}
		}
		if measured {
			var ok bool
			if c.lengthM, ok = parseLength(over); !ok {
				return value.fault("not the length of a course", calibrateForm)
			}
		}
		n, ok := parseNumber(strings.Join(words, " "))
		switch {
		case !ok || n == 0:
			return value.fault("not a count of paces", calibrateForm)
		case !(c.lengthM > 0):
			return value.fault("a calibration needs the length of its course", calibrateForm)
		}
		c.stepsM = append(c.stepsM, n/c.lengthM)
	}
	pace, ok := c.pace()
	if !ok {
		return value.fault("not the pace of a person", "check the unit, and single or double")
	}
	if condition != "" {
		return p.setCondition(condition, pace, value)
	}
	if p.seen["pace"] {
		return value.fault("a calibration, and a pace above", "leave one of them")
	}
	p.log.Pace = pace
	return nil
}

// pace returns the mean of the walks.
func (c *course) pace() (pace *Pace, ok bool) {
	n := float64(len(c.stepsM))
	var sum, squares float64
	for _, s := range c.stepsM {
		sum += s
	}
	mean := sum / n
	for _, s := range c.stepsM {
		squares += (s - mean) * (s - mean)
	}
	p := &Pace{StepM: 1 / mean, Double: c.double, Runs: len(c.stepsM)}
	if n > 1 {
		p.SD = math.Sqrt(squares/(n-1)) / mean
	}
	if p.Double {
		p.StepM /= 2
	}
	return p, p.StepM >= minStepM && p.StepM <= maxStepM
}
