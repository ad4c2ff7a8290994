package sweep

import (
	"fmt"
	"math"
)

// A Segment is what a search has done to one part of the map.
type Segment struct {
	Cells  int
	AreaM2 float64
	POA    float64 // probability that the person is in it, before the search
	// POD is the mean of the cells' chances of detection by probability; by area
	// where the segment holds no probability. NaN without cells.
	POD     float64
	EvenPOD float64 // the mean by area: POD if the person were anywhere in it alike
	POS     float64 // POA x POD
	// LengthM is the length of all ways inside, Coverage what it amounts to, LawPOD
	// what a law of coverage makes of that: a check, not the answer.
	LengthM, Coverage, LawPOD float64
}

// A gap between POD and LawPOD that is worth a word. Own choice.
const explainGap = 0.1

// Segments sums up cells by the part that each belongs to (negative: none).
// areaM2, mass and pod are by cell; lengthM is by part and widthM the sweep width.
func Segments(parts int, part []int32, areaM2, mass, pod, lengthM []float64, widthM float64, law Law) ([]Segment, error) {
	if len(areaM2) != len(part) || len(mass) != len(part) || len(pod) != len(part) || len(lengthM) != parts {
		return nil, fmt.Errorf("sweep: %d parts and %d lengths; %d cells, %d areas, %d shares, %d chances",
			parts, len(lengthM), len(part), len(areaM2), len(mass), len(pod))
	}
	list := make([]Segment, parts)
	for i, p := range part {
		if p < 0 {
			continue
		}
		if int(p) >= parts {
			return nil, fmt.Errorf("sweep: cell %d belongs to part %d of %d", i, p, parts)
		}
		s := &list[p]
		s.Cells++
		s.AreaM2 += areaM2[i]
		s.POA += mass[i]
		s.POS += mass[i] * pod[i]
		s.EvenPOD += areaM2[i] * pod[i]
	}
	for i := range list {
		s := &list[i]
		s.LengthM = lengthM[i]
		s.EvenPOD /= s.AreaM2 // 0/0 is NaN
		s.POD = s.EvenPOD
		if s.POA > 0 {
			s.POD = s.POS / s.POA
		}
		if s.Cells == 0 {
			s.Coverage, s.LawPOD = math.NaN(), math.NaN()
			continue
		}
		s.Coverage = Coverage(widthM, s.LengthM, s.AreaM2)
		var err error
		if s.LawPOD, err = law.Detection(s.Coverage); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// A Reason says why the cells tell something else than the law of coverage.
type Reason string

// Reasons for a gap.
const (
	Agrees     Reason = ""           // within 0.1
	Aimed      Reason = "aimed"      // the ways lie where the person is likelier
	Astray     Reason = "astray"     // the ways lie where the person is less likely
	Overlapped Reason = "overlapped" // ways run over ground that was seen already, or ground hides what they pass
	Spread     Reason = "spread"     // ways are spread more evenly than at random, or see in from outside
)

// Gap returns how far the POD of the cells is above that of the law, and the main
// reason where that is more than 0.1 either way: where the ways lie within the
// segment, by the part of the gap between the means by probability and by area, or
// how they lie to each other.
func (s Segment) Gap() (float64, Reason) {
	gap := s.POD - s.LawPOD
	aimed := s.POD - s.EvenPOD
	switch {
	case !(math.Abs(gap) > explainGap):
		return gap, Agrees
	case math.Abs(aimed) > math.Abs(gap)/2 && aimed > 0 && gap > 0:
		return gap, Aimed
	case math.Abs(aimed) > math.Abs(gap)/2 && aimed < 0 && gap < 0:
		return gap, Astray
	case gap < 0:
		return gap, Overlapped
	}
	return gap, Spread
}
