package reckon

import (
	"strings"
)

// timeUnits are the units of a leg given as a time [s].
var timeUnits = map[string]float64{
	"s": 1, "sec": 1, "second": 1, "seconds": 1, "min": 60, "mins": 60, "minute": 60, "minutes": 60,
	"h": 3600, "hr": 3600, "hrs": 3600, "hour": 3600, "hours": 3600,
}

// speedUnits are the units of a speed [m/s].
var speedUnits = map[string]float64{
	"km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "m/s": 1, "m/min": 1.0 / 60, "mph": 1609.344 / 3600, "kn": 1852.0 / 3600,
}

// maxSpeedMS is the highest speed on foot that is read [m/s]. Own choice: faster
// than the long sprints.
const maxSpeedMS = 10

const speedForm = "write it like 4 km/h, 1.2 m/s or 2.5 mph"

// timeUnit returns a unit of time [s], 0 where the word is none. One that stands
// on a number that follows it, as in 1h20min, is read too.
func timeUnit(s string) float64 {
	s = strings.ToLower(s)
	if i := strings.IndexAny(s, "0123456789"); i > 0 {
		s = s[:i]
	}
	return timeUnits[strings.TrimRight(s, ".,;")]
}

// parseSpeed reads "4 km/h".
func parseSpeed(value word) (float64, error) {
	words := value.split()
	v, n := takeSpeed(words)
	if n == 0 || n < len(words) {
		return 0, value.fault("not a speed", speedForm)
	}
	if !(v > 0 && v <= maxSpeedMS) {
		return 0, value.fault("not a speed on foot", speedForm)
	}
	return v, nil
}

// takeSpeed reads a speed off the front of words and returns how many it took,
// 0 where they do not begin with one.
func takeSpeed(words []word) (ms float64, n int) {
	if len(words) == 0 {
		return 0, 0
	}
	number, unit := distanceWords(words)
	v, ok := parseNumber(number.text)
	if !ok || len(unit) == 0 {
		return 0, 0
	}
	scale := speedUnits[strings.ToLower(strings.TrimRight(unit[0].text, ".,;"))]
	if scale == 0 {
		return 0, 0
	}
	return v * scale, len(words) - len(unit) + 1
}

// parseTimed takes a time walked at a pace off the front of words: "20 min at
// 4 km/h", "1 h 20 min" at the log's speed.
func (p *parser) parseTimed(leg *Leg, words []word) (rest []word, err error) {
	at := words[0]
	seconds, last := 0.0, 0.0
	rest = words
	for len(rest) > 0 {
		number, unit := distanceWords(rest)
		v, ok := parseNumber(number.text)
		if !ok || len(unit) == 0 || timeUnit(unit[0].text) == 0 || last > 0 && timeUnit(unit[0].text) >= last {
			break
		}
		last = timeUnit(unit[0].text)
		seconds += v * last
		rest = unit[1:]
		if i := strings.IndexAny(unit[0].text, "0123456789"); i > 0 {
			rest = append([]word{{unit[0].text[i:], unit[0].col + i}}, rest...)
		}
	}
	speed := p.log.SpeedMS
	if len(rest) > 1 && strings.EqualFold(rest[0].text, "at") {
		if v, n := takeSpeed(rest[1:]); n > 0 {
			if !(v > 0 && v <= maxSpeedMS) {
				return nil, rest[1].fault("not a speed on foot", speedForm)
			}
			speed, rest = v, rest[1+n:]
		}
	}
	if speed == 0 {
		return nil, at.fault("a time, but not how fast", "write 20 min at 4 km/h, or add a line speed: 4 km/h above the legs")
	}
	leg.WalkedM = seconds * speed
	return rest, tooLong(leg, at)
}
