package sweep

import (
	"fmt"
	"math"
)

// A Law turns coverage into the probability of detection of parallel strips.
type Law string

// The laws of coverage (Koopman, Search and Screening, OEG Report 56, 1946,
// chapter 3).
const (
	Random      Law = "random"       // tracks at random places: 1 - e^(-C), the default
	InverseCube Law = "inverse-cube" // exact parallel tracks of an aircraft: erf(C sqrt(pi)/2)
	Definite    Law = "definite"     // all within W/2 and nothing beyond: min(1, C)
)

// CoverageLaws lists the laws, the default first.
var CoverageLaws = []Law{Random, InverseCube, Definite}

// Coverage returns C = W z / A of a search of track length z over an area, all
// in metres.
func Coverage(widthM, lengthM, areaM2 float64) float64 { return widthM * lengthM / areaM2 }

// Detection returns the probability of detecting, at the given coverage, an
// object of this kind that is in the area and stays. An unknown law, or a
// coverage that is not a number from 0 up, is an error.
func (l Law) Detection(coverage float64) (float64, error) {
	if !(coverage >= 0) {
		return math.NaN(), fmt.Errorf("sweep: coverage %g is not a number from 0 up", coverage)
	}
	switch l {
	case Random, "":
		return -math.Expm1(-coverage), nil
	case InverseCube:
		return math.Erf(coverage * math.Sqrt(math.Pi) / 2), nil
	case Definite:
		return min(1, coverage), nil
	}
	return math.NaN(), fmt.Errorf("sweep: no law %q; there are %s, %s, %s", string(l), Random, InverseCube, Definite)
}
