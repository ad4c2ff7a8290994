package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
	"farhail/signal/sweep"
)

// A SightMeasured is what the users measured themselves on the spot; it wins
// over the model of a pass. Zero and "" are not given.
type SightMeasured struct {
	WidthM float64 // sweep width
	// RangeM is a detection range: the mean distance at which a thing of that kind
	// is first seen by people who walk in on it from several sides.
	RangeM      float64
	Conspicuity string // of the thing, with RangeM; one of SightConspicuities
}

// SightConspicuities lists how well a thing can stand out.
func SightConspicuities() []string {
	return []string{string(sweep.High), string(sweep.Medium), string(sweep.Low)}
}

// ModelWidth names the model as the source of a sweep width.
const ModelWidth = "the model"

func (m SightMeasured) given() bool { return m.WidthM > 0 || m.RangeM > 0 }

// width returns the measured width [m] and where it is from.
func (m SightMeasured) width() (float64, string, error) {
	if m.WidthM > 0 {
		return m.WidthM, "your measured width", nil
	}
	width, err := sweep.FromDetectionRange(m.RangeM, sweep.Conspicuity(m.Conspicuity))
	return width, fmt.Sprintf("%.1f times your measured detection range of %s, for things that stand out by the class %s (Koester and others 2014)",
		width/m.RangeM, Distance(m.RangeM), m.Conspicuity), err
}

// wins puts the measured width in the place of the modelled one. The distance of
// one half keeps its share of the width. How far off a measured width may be is
// not known.
func (m SightMeasured) wins(out *SightResult) error {
	out.SweepWidthFrom = ModelWidth
	if !m.given() {
		return nil
	}
	width, from, err := m.width()
	if err != nil {
		return err
	}
	model, noticed := float64(out.SweepWidthM), math.NaN()
	out.SweepWidthFrom = from
	out.Inputs.Factors = append(out.Inputs.Factors,
		sweepFactor("sweep width by the model", model, "m", "not used: the measured one wins"),
		sweepFactor("sweep width measured", width, "m", from))
	if model > 0 {
		share := float64(out.NoticedM) / model
		noticed = min(share*width, float64(out.PerceptibleM))
		out.Inputs.Factors = append(out.Inputs.Factors, sweepFactor("distance of one half over the width", share, "", "of the modelled curve, kept for the measured width: own choice"))
	}
	out.SweepWidthM, out.NoticedM, out.LuminousNoticedM = cli.Len(width), cli.Len(noticed), cli.Len(noticed)
	out.Low, out.Mid, out.High, out.Sweep = unknownBand, unknownBand, unknownBand, nil
	out.Why = why(out)
	return nil
}
