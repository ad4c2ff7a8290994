package page

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"
	"farhail/geo/layer"
)

// A margins table is how well each signal shows over the ground. All rasters share their
// steps, so that one list of words serves them.
type margins struct {
	BaseLog10 float64      `json:"base_log10"` // the margin of code 1; code 0 is hidden, unknown or out of reach
	StepLog10 float64      `json:"step_log10"`
	Words     []string     `json:"words"` // of each code
	Sites     []siteMargin `json:"sites"`
}

type siteMargin struct {
	Name  string    `json:"name"`
	Frame cellFrame `json:"frame"`
	Codes string    `json:"codes"`
}

const (
	finestLog10 = 0.01 // the finest step of a margin
	mostCodes   = 255  // in 8 bits, beside code 0
)

func marginsOf(m *job.Map, layers []layer.Layer) *margins {
	low, high := math.Inf(1), math.Inf(-1)
	for _, s := range m.Margins {
		for _, v := range s.Log10 {
			if x := float64(v); !math.IsNaN(x) && !math.IsInf(x, 0) {
				low, high = math.Min(low, x), math.Max(high, x)
			}
		}
	}
	if low > high {
		low, high = 0, 0
	}
	out := &margins{Sites: []siteMargin{}, Words: []string{"hidden by the ground, not known, or out of reach"}}
	out.StepLog10 = finestLog10 * math.Ceil((high-low)/(mostCodes-2)/finestLog10)
	out.StepLog10 = math.Max(out.StepLog10, finestLog10)
	out.BaseLog10 = out.StepLog10 * math.Floor(low/out.StepLog10)
	for code := 1; code <= mostCodes; code++ {
		out.Words = append(out.Words, marginWords(out.BaseLog10+float64(code-1)*out.StepLog10, out.StepLog10))
	}
	for _, s := range m.Margins {
		codes := make([]uint16, len(s.Log10))
		for i, v := range s.Log10 {
			switch x := float64(v); {
			case math.IsNaN(x):
			case x > high:
				codes[i] = mostCodes
			case x < low: // nothing reaches the eye
			default:
				codes[i] = uint16(1 + math.Round((x-out.BaseLog10)/out.StepLog10))
			}
		}
		out.Sites = append(out.Sites, siteMargin{letterOf(s, layers) + marginName(s), frameOf(s.Frame), packPlanes(codes, max(s.Frame.Cols, 1), 1)})
	}
	return out
}

// marginWords says what a margin means: how often what reaches the eye holds what being
// noticed asks.
func marginWords(log10, step float64) string {
	times := twoFigures(math.Pow(10, log10))
	switch {
	case math.Abs(log10) < step:
		return "just enough to be noticed"
	case log10 > 0:
		return "noticed, with " + times + " times the signal that it takes"
	}
	return "only " + times + " of the signal that it takes to be noticed; at best for who knows where to look"
}

// letterOf returns the letter that a site has on the map, ready to stand before its name; ""
// for what is no site.
func letterOf(m job.Margin, layers []layer.Layer) string {
	for _, l := range layers {
		if l.ID != overlay.Sites {
			continue
		}
		letters := overlay.Letters(l)
		for i, f := range l.Features {
			if f.Name == m.Site && text(f, "signal") == m.Signal && f.Time.Equal(timeOf(m.At)) && letters[i] != "" {
				return letters[i] + ": "
			}
		}
	}
	return ""
}

func twoFigures(v float64) string {
	if v < 10 {
		return strconv.FormatFloat(v, 'g', 2, 64)
	}
	step := math.Pow10(int(math.Log10(v)) - 1)
	return strconv.FormatFloat(step*math.Round(v/step), 'f', 0, 64)
}

func marginName(m job.Margin) string {
	name := fmt.Sprintf("%s, %s", m.Signal, m.Site)
	if m.At != nil {
		name += ", " + overlay.Clock(m.At)
	}
	if m.Observer != "" && m.Observer != "eye" {
		name += ", through " + strings.TrimPrefix(m.Observer, "through ")
	}
	return name
}
