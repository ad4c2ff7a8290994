package job

import (
	"fmt"
	"math"

	"farhail/cmd/internal/cli"
)

// Distance writes a length [m] for people in metres and kilometres. Sentences that
// hold it are turned into other units, where asked, when they are printed.
func Distance(m float64) string { return cli.Words{}.Distance(m) }

// Duration writes a span of time [s] for people, in whole minutes; below two of
// them in seconds.
func Duration(s float64) string {
	if math.IsNaN(s) || math.IsInf(s, 0) {
		return "unknown"
	}
	minutes := int(math.Round(s / 60))
	switch h, m := minutes/60, minutes%60; {
	case s > 0 && s < 119.5 && math.Abs(s-60) >= 0.5:
		return fmt.Sprintf("%.3g s", s)
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %02d", h, m)
	}
}
