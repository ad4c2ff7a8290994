package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/plan"
	"farhail/signal/sighting"
)

// why says in a sentence what ends the two distances of a sighting.
func why(s *SightResult) string {
	best, noticed := sighting.Limit(s.Limit), sighting.Limit(s.LimitNoticed)
	switch {
	case s.SweepWidthFrom != "" && s.SweepWidthFrom != ModelWidth:
		return "being noticed is by the width that you measured; " + ends("being seen at best", best, s.PerceptibleM == 0, s) + "."
	case s.Sweep != nil && s.NoticedM >= s.Sweep.ScanLimitM*(1-1e-6):
		return fmt.Sprintf("being noticed ends at %s to the side, since nobody is taken to look farther for unlit things; ", Distance(float64(s.Sweep.ScanLimitM))) +
			ends("being seen at best", best, s.PerceptibleM == 0, s) + "."
	}
	if s.NoticedM == s.PerceptibleM || best == noticed && s.NoticedM > 0 {
		return ends("it", best, s.PerceptibleM == 0, s) + "."
	}
	return ends("being noticed", noticed, s.NoticedM == 0, s) + "; " + ends("being seen at best", best, s.PerceptibleM == 0, s) + "."
}

// ends says what one limit does to one of the distances.
func ends(what string, limit sighting.Limit, never bool, s *SightResult) string {
	area := math.IsNaN(float64(s.EffectiveCD))
	if along := alongM(what, s); never && along > 0 && (limit == sighting.Eye || limit == sighting.Air) {
		return fmt.Sprintf("the aircraft is too high for %s: it reaches %s along the line of sight, and the aircraft is never so near", what, Distance(along))
	}
	switch limit {
	case sighting.Eye:
		switch {
		case never && area:
			return "contrast is too low for " + what + " at any distance"
		case never:
			return "there is no light to see"
		case area:
			return "the eye ends " + what + ": beyond that the signal is too small, and clearer air would help less than a larger one"
		}
		return "the eye ends " + what + ": beyond that the light is too faint, and clearer air would help less than a stronger light"
	case sighting.Air:
		return "the air ends " + what + ": haze takes more than distance does, and only clearer air would help much"
	case sighting.Horizon:
		return fmt.Sprintf("the curve of the earth ends %s at %s: a higher eye or signal would help", what, Distance(float64(s.GeographicM)))
	case sighting.Terrain:
		if s.SightLine != nil && !math.IsNaN(float64(s.BlockedAtM)) {
			return fmt.Sprintf("the ground hides it: the line is blocked %s from the eye, and the ground rises up to %s above it", Distance(float64(s.BlockedAtM)), Distance(-float64(s.ClearanceM)))
		}
		return "the ground hides it"
	case sighting.Vegetation:
		return "plants end " + what + ": the line is clear too seldom farther off"
	case sighting.Edge:
		return "it cannot be told: the terrain ends or has no data on the line"
	case sighting.Cloud:
		return "a cloud cover lies between"
	case sighting.Wind:
		if s.Kind == plan.Smoke {
			return "the wind ends " + what + ": it thins the smoke out and lays it down, and a lull or more fuel would help"
		}
		return "the wind ends " + what + ": too little for the cloth to stream, spread it out"
	case sighting.Beam:
		if !never {
			return "the edge of the beam ends " + what + ": farther off the eye is outside of it"
		}
		return "the beam does not reach the eye"
	case sighting.Sun:
		return "the sun does not allow it: it is down, behind cloud, or too far behind the mirror"
	case sighting.Battery:
		return "the lamp is out: not lit yet, or burnt for its rated time"
	}
	return string(limit) + " ends " + what
}

// alongM is how far along the line of sight one of the distances reaches [m].
func alongM(what string, s *SightResult) float64 {
	if what == "being noticed" {
		return float64(s.LuminousNoticedM)
	}
	return float64(s.LuminousM)
}
