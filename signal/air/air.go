package air

import (
	"fmt"
	"math"

	"farhail/geo/earth"
)

// Values taken where nobody states one.
const (
	// DefaultVisibilityM is a clear, ordinary day or night [m]; the
	// international visibility code calls 10-20 km "clear".
	DefaultVisibilityM = 10_000
	// NightBackgroundCDM2 is the horizon sky of a clear night without moon
	// [cd/m2] (RCA Electro-Optics Handbook, 1974, table of sky luminance by
	// decades; from memory).
	NightBackgroundCDM2 = 0.001
	// DayBackgroundCDM2 is open country in sun [cd/m2]: 1e5 lx on ground of
	// luminance factor 0.1, rounded.
	DayBackgroundCDM2 = 3000
)

// Air is the air between a signal and an eye, with what stands behind the
// signal. The zero value is not usable; begin with [Default].
type Air struct {
	VisibilityM    float64 // meteorological optical range [m], > 0
	BackgroundCDM2 float64 // luminance behind the signal [cd/m2], > 0
	Refraction     float64 // coefficient k of the line of sight, 0 to 1 exclusive
	EarthRadiusM   float64 // radius of the round earth [m]
	HazeHeightM    float64 // over which the haze thins to 1/e [m]; 0: it does not
	CloudBaseM     float64 // of a closed cloud cover above the ground [m]; 0: none
}

// Default returns air of [DefaultVisibilityM] with the given luminance behind
// the signal [cd/m2] and the refraction and radius that the whole program
// uses.
func Default(backgroundCDM2 float64) Air {
	return Air{
		VisibilityM:    DefaultVisibilityM,
		BackgroundCDM2: backgroundCDM2,
		Refraction:     earth.DefaultRefraction,
		EarthRadiusM:   earth.MeanRadiusM,
	}
}

// Check returns an error that names the first value which no air can have.
func (a Air) Check() error {
	switch {
	case !(a.VisibilityM > 0) || math.IsInf(a.VisibilityM, 1):
		return fmt.Errorf("air: visibility %g m is not a positive length", a.VisibilityM)
	case !(a.BackgroundCDM2 >= 0) || math.IsInf(a.BackgroundCDM2, 1):
		return fmt.Errorf("air: background luminance %g cd/m2 is not a number from 0 up", a.BackgroundCDM2)
	case !(a.Refraction > -1 && a.Refraction < 1):
		return fmt.Errorf("air: refraction coefficient %g is outside -1 to 1", a.Refraction)
	case !(a.EarthRadiusM > 0) || math.IsInf(a.EarthRadiusM, 1):
		return fmt.Errorf("air: earth radius %g m is not a positive length", a.EarthRadiusM)
	case !(a.HazeHeightM >= 0) || math.IsInf(a.HazeHeightM, 1):
		return fmt.Errorf("air: haze height %g m is not a number from 0 up", a.HazeHeightM)
	case !(a.CloudBaseM >= 0) || math.IsInf(a.CloudBaseM, 1):
		return fmt.Errorf("air: cloud base %g m is not a number from 0 up", a.CloudBaseM)
	}
	return nil
}
