package source

// A Drift is smoke that the wind has carried some way from its fire.
type Drift struct {
	DistM        float64 // from the fire [m]
	RiseM        float64 // of its middle above the fire [m]
	SideM, UpM   float64 // standard deviations across the wind and upward, by the air alone [m]
	ThickM       float64 // that upward, with what the smoke's own heat adds [m]
	OpticalDepth float64 // along a level line through its middle, from the side [1]; e^-depth of the light comes through
}

// Drift returns the smoke at a distance downwind [m], by Briggs's rise and spread
// for open country. A wind below 1 m/s counts as that. Beyond the 100 m
// that the eye is taken to judge it is told, and does not count.
func (s Smoke) Drift(distM float64) Drift {
	side, up := s.Stability.Spread(distM)
	return Drift{distM, s.riseM(distM), side, up, s.upM(distM), s.OpticalDepth(distM)}
}
