package job

import (
	"math"
	"slices"

	"farhail/cmd/internal/cli"
	"farhail/geo/reckon"
)

// AskedLog is how a log is to be worked out.
type AskedLog struct {
	reckon.Options
	// Stated says which errors of the options somebody stated; the others give way to
	// what the log says of itself.
	Stated StatedErrors
	// SideM and OtherM are the sides of the patch of ground that a stake map is to
	// fit on [m]; 0 for none.
	SideM, OtherM float64
}

// StatedErrors says which errors of a log were stated, in a plan or on the command
// line.
type StatedErrors struct{ SigmaDistance, SigmaBearing, ScaleBias, BearingBias bool }

// Where an error that was taken comes from.
const (
	errorStated      = "stated"      // on the command line or in the plan
	errorHeader      = "header"      // in the log
	errorCalibration = "calibration" // the spread of the log's own counts
	errorDefault     = "default"
)

// ReckonInputs are the errors that the ellipses rest on, and where each comes from:
// stated, header, calibration or default.
type ReckonInputs struct {
	SigmaDistance       cli.Num `json:"sigma_distance"`
	SigmaBearingDeg     cli.Num `json:"sigma_bearing_deg"`
	ScaleBias           cli.Num `json:"scale_bias"`
	BearingBiasDeg      cli.Num `json:"bearing_bias_deg"`
	SigmaDistanceFrom   string  `json:"sigma_distance_from"`
	SigmaBearingDegFrom string  `json:"sigma_bearing_deg_from"`
	ScaleBiasFrom       string  `json:"scale_bias_from"`
	BearingBiasDegFrom  string  `json:"bearing_bias_deg_from"`
	Compass             string  `json:"compass"` // used, or none
	// TurnDeg is, without a compass, the standard deviation of the heading after 100 m.
	TurnDeg cli.Num `json:"turn_deg_per_100m"`
}

// settle fills in what the log says of its own errors where nobody stated them.
func (a *AskedLog) settle(l *reckon.Log) ReckonInputs {
	from := func(value *float64, stated bool, header float64) string {
		switch {
		case stated:
			return errorStated
		case !math.IsNaN(header):
			*value = header
			return errorHeader
		}
		return errorDefault
	}
	in := ReckonInputs{
		SigmaDistanceFrom:   from(&a.SigmaDistance, a.Stated.SigmaDistance, l.Errors.SigmaDistance),
		SigmaBearingDegFrom: from(&a.SigmaBearingDeg, a.Stated.SigmaBearing, l.Errors.SigmaBearingDeg),
		ScaleBiasFrom:       from(&a.ScaleBias, a.Stated.ScaleBias, l.Errors.ScaleBias),
		BearingBiasDegFrom:  from(&a.BearingBiasDeg, a.Stated.BearingBias, l.Errors.BearingBiasDeg),
		Compass:             "used", TurnDeg: cli.Num(math.NaN()),
	}
	in.SigmaDistance, in.SigmaBearingDeg = cli.Num(a.SigmaDistance), cli.Num(a.SigmaBearingDeg)
	in.ScaleBias, in.BearingBiasDeg = cli.Num(a.ScaleBias), cli.Num(a.BearingBiasDeg)
	if in.SigmaDistanceFrom == errorDefault && l.Pace != nil && l.Pace.Runs > 1 {
		a.Calibrated = true
		in.SigmaDistance, in.SigmaDistanceFrom = cli.Num(l.Pace.SD), errorCalibration
	}
	if p := l.Pace; in.ScaleBiasFrom == errorDefault && p != nil && p.Runs > 1 && slices.ContainsFunc(l.Legs, func(leg reckon.Leg) bool { return leg.Paces > 0 && leg.Condition == "" }) {
		// reckon adds the error of the mean count by itself.
		in.ScaleBias, in.ScaleBiasFrom = cli.Num(math.Hypot(a.ScaleBias, p.SD/math.Sqrt(float64(p.Runs)))), errorCalibration
	}
	if !a.Heading.None {
		a.Heading = l.Heading
	}
	if a.Heading.None {
		if a.Heading.TurnDeg == 0 {
			a.Heading.TurnDeg = reckon.DefaultTurnDeg
		}
		in.Compass, in.TurnDeg = "none", cli.Num(a.Heading.TurnDeg)
	}
	return in
}
