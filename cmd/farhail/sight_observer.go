package main

import (
	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// eyeFlags are the flags of whose eyes look, as typed.
type eyeFlags struct {
	observer, adapted, glare, fatigue string
	altitude, haze, cloudBase         float64
	magnification, objective          float64
	onStand                           bool
	ownLamp                           float64
	glareLx, glareDeg                 float64 // read from glare
}

// registerEye adds the flags of whose eyes look.
func (f *eyeFlags) registerEye(cmd *cobra.Command) {
	cli.Choice(cmd, &f.observer, "observer", job.SightObservers(), "", "whose eyes: eye (when not given), glasses (with --altitude in an aircraft), aircraft, or an image intensifier with a threshold of your own")
	optics(cmd, f)
	cmd.Flags().BoolVar(&f.onStand, "on-stand", false, "the glasses stand on a stand; held by hand they show half the light")
	cli.Quantity(cmd, &f.altitude, "altitude", cli.Length.Positive(), "", "`height` of an aircraft above the ground (300m)")
	cli.Quantity(cmd, &f.haze, "haze-height", cli.Length.Positive(), "", "`height` over which haze thins to 1/e for an aircraft (1.2km when not given)")
	cli.Quantity(cmd, &f.cloudBase, "cloud-base", cli.Length.Positive(), "", "`height` of a closed cloud cover above the ground: nothing is seen through it")
	cli.Choice(cmd, &f.adapted, "adapted", []string{"yes", "no"}, "", "whether the eyes are used to the dark: no for those who come from the light (yes when not given)")
	cmd.Flags().StringVar(&f.glare, "glare", "", "a lamp that shines in the eyes: `light` at the eye and angle from the line of sight (0.1lx@30deg)")
	cli.Quantity(cmd, &f.ownLamp, "own-lamp", cli.Flux.Positive(), "", "the observer's own headlamp, a `flux` that lights the ground ahead (200lm)")
	cli.Choice(cmd, &f.fatigue, "fatigue", []string{"no", "yes"}, "", "whether a crew reports excessive fatigue: the width of a pass falls to 0.9 (no when not given)")
}

// optics adds the flag of field glasses, a magnification and a width of the
// front lens in mm.
func optics(cmd *cobra.Command, f *eyeFlags) {
	cli.Size(cmd, &f.magnification, &f.objective, "optics", plan.GlassesSize, "", "field glasses, magnification and front lens in mm (7x50)")
}

// readGlare reads "0.1lx@30deg".
func (f *eyeFlags) readGlare() error {
	if f.glare == "" {
		return nil
	}
	var err error
	if f.glareLx, f.glareDeg, err = plan.ParseGlare(f.glare); err != nil {
		return &cli.UsageError{Message: "--glare: " + err.Error(), Text: f.glare, Advice: "write light and angle like 0.1lx@30deg, the angle from 0.1 to 100 degrees"}
	}
	return nil
}

// whose returns the observer, told by the other flags where it is not named.
func (f *eyeFlags) whose() string {
	switch {
	case given(f.altitude) && (f.observer == "" || f.observer == job.ObserverGlasses):
		return job.ObserverAircraft
	case f.observer != "":
		return f.observer
	case given(f.magnification) || f.onStand:
		return job.ObserverGlasses
	}
	return job.ObserverEye
}

// glassesAloft reports whether those in an aircraft look through field glasses.
func (f *eyeFlags) glassesAloft() bool {
	return given(f.altitude) && (f.observer == job.ObserverGlasses || given(f.magnification))
}

// eyeFaults lists what can be wrong with the flags of the observer.
func (f *sightFlags) eyeFaults() []flagFault {
	whose := f.whose()
	aircraft, glasses := whose == job.ObserverAircraft, whose == job.ObserverGlasses
	threshold := given(f.threshold) || given(f.contrastThreshold)
	return []flagFault{
		{aircraft && !given(f.altitude), "--observer", "aircraft needs the height that it flies at", "add --altitude 300m"},
		{!aircraft && given(f.altitude), "--altitude", "is for an aircraft", "leave it out, or --observer aircraft"},
		{!aircraft && given(f.haze), "--haze-height", "is for an aircraft", "leave it out, or add --altitude 300m"},
		{!aircraft && given(f.cloudBase), "--cloud-base", "is for an aircraft", "leave it out, or add --altitude 300m"},
		{aircraft && f.flat, "--flat", "leaves out the heights that an aircraft is about", "leave it out"},
		{aircraft && f.behind == "sky", "--behind", "cannot be the sky for an aircraft, which looks down", "name the ground, like --behind grass"},
		{aircraft && given(f.stems), "--stems", "are for lines along the ground", "leave it out"},
		{aircraft && given(f.leafArea), "--leaf-area", "is for lines along the ground", "leave it out"},
		{!glasses && !aircraft && given(f.magnification), "--optics", "is for field glasses", "leave it out, or --observer glasses"},
		{!glasses && f.onStand, "--on-stand", "is for field glasses on the ground", "leave it out, or --observer glasses"},
		{(glasses || aircraft && f.glassesAloft()) && threshold, "--observer", "glasses and a fixed threshold both say what the eye needs", "give one of them"},
		{whose == job.ObserverIntensifier && !threshold, "--observer", "intensifier needs a threshold of your own: no published one was found", "add --threshold LX for lights, --contrast-threshold for flags, as you measured it with your device"},
		{f.fatigue == "yes" && f.task != job.TaskPass, "--fatigue", "counts for the width of a pass alone", "add --task pass"},
	}
}

// sightEye turns the flags into whose eyes look.
func (f *eyeFlags) sightEye() job.SightEye {
	return job.SightEye{
		Observer: f.whose(), AltitudeM: or(f.altitude, 0), Magnification: or(f.magnification, 0), ObjectiveMM: or(f.objective, 0), OnStand: f.onStand,
		Unadapted: f.adapted == "no", GlareLx: f.glareLx, GlareDeg: f.glareDeg, OwnLampLM: or(f.ownLamp, 0),
		Glasses: f.glassesAloft(), Fatigued: f.fatigue == "yes", HazeHeightM: or(f.haze, 0), CloudBaseM: or(f.cloudBase, 0),
	}
}
