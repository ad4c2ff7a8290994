package source

import (
	"fmt"
	"math"
	"strings"
)

// VisualTimeS is the constant a of Blondel and Rey's law [s]. Modern rules
// (ICAO Doc 9157 Part 4, IALA E-200-4) use 0.2; the first paper found 0.21.
const VisualTimeS = 0.2

// Flash is the rhythm of a light. The zero value is a steady light.
type Flash struct {
	OnS    float64    // length of one pulse, foot to foot [s]
	EveryS float64    // from the start of a flash to the start of the next [s]; 0: not stated
	Pulses int        // in one flash; 0: one
	GapS   float64    // dark time between the pulses of one flash [s]
	Pulse  PulseShape // "": Rectangular
	Law    FlashLaw   // "": Douglas1957
	// ConstantS replaces [VisualTimeS] in every law [s]; 0: not.
	ConstantS float64
}

// PulseShape is how the intensity runs over one pulse.
type PulseShape string

// The shapes of pulses.
const (
	Rectangular PulseShape = "rectangular" // the whole intensity for the whole pulse
	Triangular  PulseShape = "triangular"  // up to the intensity and down again, evenly: a beam that sweeps past
)

// PulseShapes lists the shapes of pulses, the usual first.
var PulseShapes = []PulseShape{Rectangular, Triangular}

// FlashLaw names by author and year how a flash is turned into the steady light
// that is seen as far. All are laws of the threshold, within about 25 %, for
// flashes that the eye takes one by one; there is no valid law for lights well
// above the threshold (IALA E-200-4, preamble). For one rectangular pulse all
// of them are t / (a + t).
type FlashLaw string

// The laws. I is the intensity, a the constant, the integral that of I over
// time.
const (
	// Douglas1957 is Blondel and Rey's quotient over the times that make it
	// greatest: the default, and the lowest of the three for sloping pulses.
	// Douglas, Illum. Eng. 52 (1957) 641, from memory.
	Douglas1957 FlashLaw = "blondel-rey-douglas-1957"
	// Blondel1911 is the integral over one pulse / (a + its length). Blondel and
	// Rey, J. Phys. Theor. Appl. 1 (1911) 530-550, 643-655, read second-hand.
	Blondel1911 FlashLaw = "blondel-rey-1911"
	// Schmidt1971 is the form factor: I / (1 + a I / the integral over one pulse).
	// Schmidt-Clausen, in The Perception and Application of Flashing Lights,
	// 1971; year and place from memory.
	Schmidt1971 FlashLaw = "schmidt-clausen-1971"
	// Allard2008 is the modified Allard law: the greatest value of the
	// convolution of I with a / (a + t)^2. IALA E-200-4, 2008, and CIE 229:2018,
	// which does not yet call it an official recommendation; the kernel is from
	// memory.
	Allard2008 FlashLaw = "modified-allard-2008"
)

// FlashLaws lists the laws, the default first.
var FlashLaws = []FlashLaw{Douglas1957, Blondel1911, Schmidt1971, Allard2008}

var flashSources = map[FlashLaw]string{
	Douglas1957: "Blondel and Rey 1911 over the best times, Douglas 1957",
	Blondel1911: "Blondel and Rey 1911, one pulse",
	Schmidt1971: "form factor, Schmidt-Clausen 1971, one pulse",
	Allard2008:  "modified Allard law, IALA E-200-4 of 2008 and CIE 229:2018",
}

// Share returns what the flash is worth as a share of a steady light of the
// same greatest intensity, by its law; 1 for a steady light. The laws of
// Blondel and Rey and of Schmidt-Clausen take the pulses of a flash one by one,
// the others together. The dark time between flashes is never averaged over.
func (f Flash) Share() float64 {
	t, a := f.OnS, f.constant()
	switch {
	case t == 0:
		return 1
	case f.law() == Allard2008:
		return f.allard(t, a)
	case f.law() == Douglas1957:
		// Equal pulses: the best times take in one of them or all.
		return max(f.douglas(t, a, 1), f.douglas(t, a, f.pulses()))
	case f.law() == Schmidt1971:
		return 1 / (1 + a/f.integral())
	}
	return f.integral() / (a + t)
}

// integral returns the integral of one pulse of intensity 1 [s].
func (f Flash) integral() float64 {
	if f.Pulse == Triangular {
		return f.OnS / 2
	}
	return f.OnS
}

// douglas returns the quotient over n pulses, from where the first rises above
// the quotient to where the last falls below it. For triangles of base t that
// span d, with the corners outside cut off, q (a + d - t q) = n t/2 - t q^2/2,
// hence q^2 - 2 c q + n = 0 with c = (a + d) / t.
func (f Flash) douglas(t, a float64, n int) float64 {
	span, k := float64(n)*t+float64(n-1)*f.GapS, float64(n)
	if f.Pulse != Triangular {
		return k * t / (a + span)
	}
	c := (a + span) / t
	return k / (c + math.Sqrt(c*c-k))
}

// allard returns the greatest response to all pulses, which falls into the last
// of them, since each earlier one only adds.
func (f Flash) allard(t, a float64) float64 {
	last := func(u float64) float64 {
		sum := 0.0
		for i := range f.pulses() {
			sum += f.response(u+float64(i)*(t+f.GapS), a)
		}
		return sum
	}
	if f.Pulse != Triangular {
		return last(t) // rises to the end of the pulse
	}
	const steps = 64
	best := 0
	for i := range steps + 1 {
		if last(t*float64(i)/steps) > last(t*float64(best)/steps) {
			best = i
		}
	}
	lo, hi := t*float64(max(best-1, 0))/steps, t*float64(min(best+1, steps))/steps
	for range 40 {
		third := (hi - lo) / 3
		if last(lo+third) < last(hi-third) {
			lo += third
		} else {
			hi -= third
		}
	}
	return last((lo + hi) / 2)
}

// response returns the modified Allard response to one pulse of intensity 1, u
// after its start: the integral of I(u - s) a / (a + s)^2 over the time s ago.
func (f Flash) response(u, a float64) float64 {
	t := f.OnS
	if f.Pulse != Triangular {
		return fading(a, 1, 0, u-min(u, t), u)
	}
	half := t / 2
	up := fading(a, u/half, -1/half, u-min(u, half), u)
	if u <= half {
		return up
	}
	return up + fading(a, (t-u)/half, 1/half, u-min(u, t), u-half)
}

// fading returns the integral of (m + n s) a / (a + s)^2 from one age to
// another.
func fading(a, m, n, from, to float64) float64 {
	return a * (n*math.Log((a+to)/(a+from)) + (m-n*a)*(1/(a+from)-1/(a+to)))
}

func (f Flash) law() FlashLaw {
	if f.Law == "" {
		return Douglas1957
	}
	return f.Law
}

func (f Flash) constant() float64 {
	if f.ConstantS == 0 {
		return VisualTimeS
	}
	return f.ConstantS
}

func (f Flash) pulses() int { return max(f.Pulses, 1) }

// spanS returns the length of one flash with all its pulses [s].
func (f Flash) spanS() float64 {
	return float64(f.pulses())*f.OnS + float64(f.pulses()-1)*f.GapS
}

// MostInSecond returns how many pulses fall into one second, the mean over the
// period or the most within one flash, whichever is more; 0 for a steady light
// or a single flash.
func (f Flash) MostInSecond() float64 {
	most := 0.0
	if f.EveryS > 0 {
		most = float64(f.pulses()) / f.EveryS
	}
	if f.pulses() > 1 {
		most = max(most, min(float64(f.pulses()), math.Ceil(1/(f.OnS+f.GapS))))
	}
	return most
}

// source tells the law in use and its constant.
func (f Flash) source() string {
	return fmt.Sprintf("%s, a = %g s: a law of the threshold", flashSources[f.law()], f.constant())
}

// String describes the rhythm, "" for a steady light.
func (f Flash) String() string {
	if f.OnS == 0 {
		return ""
	}
	var s strings.Builder
	s.WriteString("flashes of ")
	if f.pulses() > 1 {
		fmt.Fprintf(&s, "%d ", f.pulses())
	}
	if f.Pulse == Triangular {
		s.WriteString("triangular ")
	}
	if f.pulses() > 1 {
		fmt.Fprintf(&s, "pulses of %g s, %g s apart", f.OnS, f.GapS)
	} else if f.Pulse == Triangular {
		fmt.Fprintf(&s, "pulses of %g s", f.OnS)
	} else {
		fmt.Fprintf(&s, "%g s", f.OnS)
	}
	if f.EveryS > 0 {
		fmt.Fprintf(&s, " every %g s", f.EveryS)
	}
	return s.String()
}

// mostPulses bounds the pulses of one flash.
const mostPulses = 1000

func (f Flash) check() error {
	_, known := flashSources[f.law()]
	switch {
	case !(f.OnS >= 0) || math.IsInf(f.OnS, 1):
		return fmt.Errorf("light: flash length %g s is not a number from 0 up", f.OnS)
	case !(f.EveryS >= 0) || math.IsInf(f.EveryS, 1):
		return fmt.Errorf("light: flash period %g s is not a number from 0 up", f.EveryS)
	case f.EveryS > 0 && f.OnS == 0:
		return fmt.Errorf("light: flash period of %g s without a flash length", f.EveryS)
	case f.Pulses < 0 || f.Pulses > mostPulses:
		return fmt.Errorf("light: %d pulses are not from 1 to %d", f.Pulses, mostPulses)
	case !(f.GapS >= 0) || math.IsInf(f.GapS, 1):
		return fmt.Errorf("light: gap of %g s between pulses is not a number from 0 up", f.GapS)
	case f.Pulses > 1 && (f.OnS == 0 || f.GapS == 0):
		return fmt.Errorf("light: %d pulses without their length and the gap between them", f.Pulses)
	case f.GapS > 0 && f.Pulses < 2:
		return fmt.Errorf("light: a gap of %g s needs two pulses or more", f.GapS)
	case f.EveryS > 0 && f.spanS() >= f.EveryS:
		return fmt.Errorf("light: flash of %g s is not shorter than its period of %g s", f.spanS(), f.EveryS)
	case f.Pulse != "" && f.Pulse != Rectangular && f.Pulse != Triangular:
		return fmt.Errorf("light: no pulse shape %q; there are rectangular and triangular", string(f.Pulse))
	case !known:
		words := make([]string, len(FlashLaws))
		for i, l := range FlashLaws {
			words[i] = string(l)
		}
		return fmt.Errorf("light: no flash law %q; there are %s", string(f.Law), strings.Join(words, ", "))
	case !(f.ConstantS >= 0) || math.IsInf(f.ConstantS, 1):
		return fmt.Errorf("light: time constant %g s of a flash law is not a number from 0 up", f.ConstantS)
	}
	return nil
}
