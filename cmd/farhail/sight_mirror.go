package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/job"
	"farhail/cmd/internal/plan"
)

// mirrorFlags are the flags of a mirror and of sounds as typed.
type mirrorFlags struct {
	mirrorWidth, mirrorHeight                          float64
	reflectivityOfMirror, mirrorSweep                  float64
	sunAzimuth, sunElevation, aimAzimuth, aimElevation float64
	secondMirror                                       bool

	whistle, tone, temperature, humidity, noise, foliage float64
	shout                                                bool
}

func (f *mirrorFlags) registerMirror(cmd *cobra.Command) {
	cli.Size(cmd, &f.mirrorWidth, &f.mirrorHeight, "mirror", cli.Length.Positive(), "", "a mirror of this `size` in the sun (76x127mm)")
	cli.Aim(cmd, &f.sunAzimuth, &f.sunElevation, "sun", "true azimuth and elevation of the sun, a `direction` in degrees (180/45); that of --at and --place when not given")
	cli.Aim(cmd, &f.aimAzimuth, &f.aimElevation, "mirror-target", "true azimuth and elevation of what the mirror is aimed at, a `direction` in degrees (90/0); when not given the eye, or the level square to the sun")
	cli.Quantity(cmd, &f.reflectivityOfMirror, "mirror-reflectivity", plan.MirrorShare, "", "`share` of the light that the mirror throws back (85% when not given)")
	cli.Quantity(cmd, &f.mirrorSweep, "mirror-sweep", cli.TurnRate.Positive(), "", "`rate` at which the spot is swept over the target (5deg/s); held on it when not given")
	cmd.Flags().BoolVar(&f.secondMirror, "second-mirror", false, "a second mirror takes over where one does less, as with the sun behind")
	cli.Quantity(cmd, &f.whistle, "whistle", plan.WhistleLevel, "", "a whistle of this `level` at 1 m (115dB)")
	cmd.Flags().BoolVar(&f.shout, "shout", false, fmt.Sprintf("a shout of %d dB at 1 m, or of the level of --whistle", job.ShoutDB))
	cli.Quantity(cmd, &f.tone, "tone", plan.ToneRange, "", fmt.Sprintf("`frequency` of the whistle (%dHz when not given)", plan.DefaultToneHz))
	cli.Quantity(cmd, &f.temperature, "temperature", plan.SoundAir, "", "`temperature` of the air that a sound goes through (10C when not given)")
	cli.Quantity(cmd, &f.humidity, "humidity", plan.SoundDamp, "", "relative humidity of that air, a `share` (70% when not given)")
	cli.Quantity(cmd, &f.noise, "noise", plan.NoiseLevel, "", fmt.Sprintf("`level` of the noise at the listener, in the third octave of the sound (%ddB when not given)", plan.DefaultNoiseDB))
	cli.Quantity(cmd, &f.foliage, "foliage", cli.Length.NotNegative(), "", "`length` of dense foliage on the way of a sound (50m)")
}

// sounds reports whether a sound was asked for.
func (f *mirrorFlags) sounds() bool { return given(f.whistle) || f.shout }

// mirrorFaults lists what can be wrong with these flags for a kind of signal.
func (f *sightFlags) mirrorFaults(kind string) []flagFault {
	mirror, sound := kind == job.KindMirror, f.sounds()
	const leave = "leave it out"
	return []flagFault{
		{!mirror && given(f.sunAzimuth), "--sun", "is for mirrors", leave},
		{!mirror && given(f.aimAzimuth), "--mirror-target", "is for mirrors", leave},
		{!mirror && given(f.reflectivityOfMirror), "--mirror-reflectivity", "is for mirrors", leave},
		{!mirror && given(f.mirrorSweep), "--mirror-sweep", "is for mirrors", leave},
		{!mirror && f.secondMirror, "--second-mirror", "is for mirrors", leave},
		{mirror && !given(f.sunAzimuth) && f.at.IsZero(), "--mirror", "needs to know where the sun stands", "add --sun 180/45, or --at and --place"},
		{mirror && given(f.sunAzimuth) && !f.at.IsZero(), "--sun", "and --at both say where the sun stands", "give one of them"},
		{mirror && given(f.aimAzimuth) && f.from != nil, "--mirror-target", "and --from with --toward both say where the eye is", "give one of them"},
		{!sound && given(f.tone), "--tone", "is for a whistle", leave},
		{f.shout && given(f.tone), "--tone", "is for a whistle, and a shout has its own", leave},
		{!sound && given(f.temperature), "--temperature", "is for sounds", leave},
		{!sound && given(f.humidity), "--humidity", "is for sounds", leave},
		{!sound && given(f.noise), "--noise", "is for sounds", leave},
		{!sound && given(f.foliage), "--foliage", "is for sounds", leave},
		{sound && len(f.terrain) > 0, "--terrain", "does not count for a sound", "hills are not modelled: leave it out"},
		{sound && f.task != "", "--task", "does not count for a sound", leave},
		{sound && given(f.stems), "--stems", "does not count for a sound", "give --foliage, the dense foliage on its way"},
		{sound && given(f.leafArea), "--leaf-area", "does not count for a sound", "give --foliage, the dense foliage on its way"},
		{sound && given(f.threshold), "--threshold", "does not count for a sound", "give --noise"},
	}
}

// mirrorRequest turns the flags into a mirror, nil where none was asked for.
func (f *mirrorFlags) mirrorRequest() *job.MirrorRequest {
	if !given(f.mirrorWidth) {
		return nil
	}
	return &job.MirrorRequest{
		WidthM: f.mirrorWidth, HeightM: f.mirrorHeight, Reflectivity: or(f.reflectivityOfMirror, 0), SweepDegS: or(f.mirrorSweep, 0), Second: f.secondMirror,
		SunAzimuthDeg: f.sunAzimuth, SunElevationDeg: f.sunElevation, TargetAzimuthDeg: f.aimAzimuth, TargetElevationDeg: f.aimElevation,
	}
}

// soundRequest turns the flags into a sound.
func (f *sightFlags) soundRequest() job.SoundRequest {
	return job.SoundRequest{
		LevelDB: or(f.whistle, job.ShoutDB), Shout: f.shout, ToneHz: or(f.tone, plan.DefaultToneHz), TemperatureC: or(f.temperature, plan.DefaultTemperatureC), Humidity: or(f.humidity, plan.DefaultHumidity),
		NoiseDB: or(f.noise, plan.DefaultNoiseDB), FoliageM: or(f.foliage, 0), ToM: f.to,
	}
}

// printSound writes how far a sound is heard.
func (f *sightFlags) printSound(w cli.Text, r *job.SightResult) {
	fmt.Fprintf(w, "%s\n  noticed      %-9s 13 dB over the noise: by somebody who does not wait for it\n", r.Signal, w.Distance(float64(r.NoticedM)))
	fmt.Fprintf(w, "  perceptible  %-9s level with the noise: by somebody who listens for it\n", w.Distance(float64(r.PerceptibleM)))
	if given(float64(r.LevelDB)) {
		fmt.Fprintf(w, "  at %s %.1f dB\n", w.Distance(f.to), float64(r.LevelDB))
	}
	fmt.Fprintf(w, "  %s\n", w.Sentence(r.Why))
	printHelp(w, r)
	fmt.Fprintf(w, "  taken: noise %.0f dB in the band, absorption %.3g dB/km, still air over open ground\n", float64(r.SightSound.NoiseDB), float64(r.AbsorptionDBPerKM))
}

// printMirror writes how to hold the mirror, where its light can go, and the
// hours of the day.
func printMirror(w cli.Text, m *job.SightMirror) {
	if m == nil {
		return
	}
	fmt.Fprintf(w, "  sun at %.0f/%.0f, %.0f deg from the target", float64(m.SunAzDeg), float64(m.SunElDeg), float64(m.TurnDeg))
	if given(float64(m.NormalElDeg)) {
		fmt.Fprintf(w, "; the mirror faces %.0f/%.0f", float64(m.NormalAzDeg), float64(m.NormalElDeg))
	}
	if m.Second {
		fmt.Fprint(w, "; two mirrors do it")
	}
	fmt.Fprintf(w, "; %.3g cd\n", float64(m.IntensityCD))
	fmt.Fprintf(w, "  one mirror reaches bearings of the level %s\n", m.Words())
	if len(m.Hours) == 0 {
		return
	}
	fmt.Fprintln(w, "  hour   sun az/el   one mirror reaches       square to the sun")
	for _, h := range m.Hours {
		fmt.Fprintf(w, "  %s   %03.0f/%02.0f      %-24s %.2g cd\n", h.At.Format("15:04"), float64(h.SunAzDeg), float64(h.SunElDeg), h.Words(), float64(h.SquareCD))
	}
}
