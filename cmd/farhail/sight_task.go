package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// registerTask adds the flags of who looks, and how.
func (f *sightFlags) registerTask(cmd *cobra.Command) {
	cli.Choice(cmd, &f.task, "task", job.SightTasks(), "", "what the observer does: scan a sector (when not given), know the place, or pass by on foot")
	cli.Quantity(cmd, &f.look, "look", cli.Duration.Positive(), "", "`time` spent looking (60s when not given)")
	cli.Size(cmd, &f.sectorWidth, &f.sectorHeight, "sector", plan.Sector, "", "sector looked over, about the horizon (90x20deg, for a pass 180x30deg, when not given)")
	cli.Quantity(cmd, &f.attention, "attention", plan.Share, "", "`share` of the glimpses that is spent on it (0.5 when not given)")
	cli.Quantity(cmd, &f.speed, "speed", cli.Speed.Positive(), "", "walking `speed` of a pass (2km/h when not given)")
	cli.Quantity(cmd, &f.age, "age", plan.Years, "", "age of the observer in `years` (23 when not given)")
	cli.Choice(cmd, &f.law, "law", job.SightLaws(), "", "threshold `law` by author and year (crumey-2014 when not given)")
	cli.Choice(cmd, &f.clutter, "clutter", job.SightClutters(), "", "what is behind a flag or smoke: even, open ground, scrub or forest (even when not given; open for a pass, an aircraft, and where --behind or --at tells the ground)")
	cli.Quantity(cmd, &f.stems, "stems", cli.Density.Positive(), "", "trunks between eye and signal, or that a pass goes among, a `density` (800/ha)")
	cli.Quantity(cmd, &f.stemWidth, "stem-width", cli.Length.Positive(), "", "mean `width` of the trunks (0.25m)")
	cli.Quantity(cmd, &f.leafArea, "leaf-area", cli.Number.Positive(), "", "leaf area `index` of the plants there (3)")
	cli.Quantity(cmd, &f.canopy, "canopy-height", cli.Length.Positive(), "", "`height` over which the leaves are spread (20m); with --cover that of woods")
}

// flagFault is a flag that does not go with the others, if it is wrong.
type flagFault struct {
	wrong  bool
	flag   string
	say    string
	advice string
}

// refuse returns the first fault there is.
func refuse(faults []flagFault) error {
	for _, f := range faults {
		if f.wrong {
			return &cli.UsageError{Message: strings.TrimSpace(f.flag + " " + f.say), Text: f.flag, Advice: f.advice}
		}
	}
	return nil
}

// taskFaults lists what can be wrong with the flags of the task.
func (f *sightFlags) taskFaults(area bool) []flagFault {
	pass, know := f.task == job.TaskPass, f.task == job.TaskKnow
	const addPass, addKnow = "add --task pass", "leave it out, or --task know"
	return []flagFault{
		{!pass && given(f.speed), "--speed", "is for somebody who passes", addPass},
		{pass && given(f.look), "--look", "does not count for somebody who passes", "give --speed"},
		{pass && len(f.terrain) > 0, "--task", "pass is over open ground, and --terrain asks for one line", "leave out one of them"},
		{know && given(f.look), "--look", "does not count for somebody who knows the place", addKnow},
		{know && given(f.sectorWidth), "--sector", "does not count for somebody who knows the place", addKnow},
		{know && given(f.attention), "--attention", "does not count for somebody who knows the place", addKnow},
		{!area && f.clutter != "", "--clutter", "is what a thing that is seen by its contrast is among, and this is not one", "leave it out; for other lamps near the line there is --lights-about"},
		{given(f.stems) != given(f.stemWidth), "--stems", "and --stem-width go together", "give both, like --stems 800/ha --stem-width 0.25m"},
		{given(f.leafArea) != given(f.canopy) && !f.covered(), "--leaf-area", "and --canopy-height go together", "give both, like --leaf-area 3 --canopy-height 20m"},
		{given(f.sectorHeight) && f.sectorHeight > 180, "--sector", "is higher than 180 degrees", "give width x height, like 90x20deg"},
	}
}

// sightTask turns the flags into who looks, and how.
func (f *sightFlags) sightTask() job.SightTask {
	return job.SightTask{
		Task: f.task, LookS: or(f.look, 0), SectorWidthDeg: or(f.sectorWidth, 0), SectorHeightDeg: or(f.sectorHeight, 0),
		Attention: or(f.attention, 0), SpeedMS: or(f.speed, 0), Law: f.law, AgeYears: or(f.age, 0), Clutter: f.clutter,
		StemsPerM2: or(f.stems, 0), StemWidthM: or(f.stemWidth, 0), LeafAreaIndex: or(f.leafArea, 0), CanopyM: or(f.canopy, 0),
	}
}

// noticedBy says whose sight "noticed" is.
func noticedBy(w cli.Words, s *job.SightResult) string {
	k := s.Inputs.Looking
	switch k.Task {
	case job.TaskKnow:
		return "told where to look"
	case job.TaskPass:
		return fmt.Sprintf("to the side, by half of those who pass at %s", w.Speed(float64(k.SpeedMS)))
	}
	if !k.Searched {
		return "not told where to look: 95 looks in 100 by Taylor's factors, whatever the sector"
	}
	return fmt.Sprintf("not told where to look: by half of those who look over %gx%g deg for %g s",
		float64(k.SectorWidthDeg), float64(k.SectorHeightDeg), float64(k.LookS))
}
