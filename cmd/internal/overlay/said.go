package overlay

import (
	"strings"
	"time"

	"farhail/cmd/internal/job"

	"github.com/paulmach/orb"
)

// What the printed sheet and the page say in the same words as the brief.

// ExampleLine heads every output of a plan that is an example.
const ExampleLine = exampleLine

// Standing returns the sentences that stand on every output a person acts on.
func Standing() []string { return standing }

// Cautions returns what must be said before anybody acts.
func Cautions() []string { return cautions }

// Emergency returns the line of the emergency number: the plan's, or a blank to fill in.
func Emergency(r *job.Result) string { return emergencyLine(r.Plan.Emergency) }

// Title returns the plan's title.
func Title(r *job.Result) string { return titleOf(r) }

// Moment writes a date with the month in letters, a 24-hour time and its offset.
func Moment(t *time.Time) string { return moment(t) }

// Clock writes day, month and time for a table.
func Clock(t *time.Time) string { return clock(t) }

// GridReference writes a place as an MGRS reference to 10 m.
func GridReference(p orb.Point) string { return gridReference(p) }

// Bearing writes a direction as people say it, three figures.
func Bearing(deg float64) string { return bearing(deg) }

// Share writes a probability in per cent.
func Share(p float64) string { return share(p) }

// SightTitle is the name of a signal and what it is looked at through.
func SightTitle(s job.Sighting) string { return s.Signal + with(s.Observer) }

// DocumentText is what stands in the head of a file that is opened without a brief beside
// it: the emergency line, what the figures are, and what to mind.
func DocumentText(r *job.Result) string {
	lines := []string{Emergency(r), standing[0], standing[3], standing[4], cautions[1], cautions[3]}
	if r.Plan.Example {
		lines = append([]string{exampleLine}, lines...)
	}
	return strings.Join(lines, "\n")
}
