package prob

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"farhail/geo/grid"
)

// ErrNoView says that there is no view to average, or none with a weight.
var ErrNoView = errors.New("prob: no view has a weight")

// Weights is what one piece of evidence says of each cell: a density on any
// scale, 0 where the person cannot be.
type Weights struct {
	Name     string
	Evidence string    // what it rests on; "" when not stated
	Density  []float64 // by cell, per unit of area, 0 or more
	// Beyond is the share of the evidence's own probability that falls beyond
	// the map; NaN where it says nothing of it.
	Beyond float64
}

// Mass returns the densities times the cells' areas.
func (w Weights) Mass(f grid.Frame) []float64 {
	mass := make([]float64, len(w.Density))
	for row := range f.Rows {
		area := f.AreaM2(row)
		for i := row * f.Cols; i < (row+1)*f.Cols; i++ {
			mass[i] = w.Density[i] * area
		}
	}
	return mass
}

// surface returns the evidence taken alone, on the map.
func (w Weights) surface(f grid.Frame) (*Surface, error) {
	s, err := FromWeights(f, w.Mass(f), 0)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", w.Name, err)
	}
	return s, nil
}

// A Product is several pieces of evidence multiplied.
type Product struct {
	Weights
	EntropyBits     float64   // of the product, on the map
	PartsBits       []float64 // of each part alone
	Region90M2      float64   // smallest area with 90 % of it
	PartsRegion90M2 []float64 // of each part alone
	MeanRegion90M2  float64   // of the parts' plain mean
	Warnings        []string
}

// shrinkFlag is how many times smaller the 90 % region of a product may be than
// that of the mean before it is flagged: three, as a product claims that its parts
// are independent, and people overrate that.
const shrinkFlag = 3

// Multiply joins evidence by its product, which is right only where each part
// states something else: parts of the same Evidence, or of none stated, are
// warned of, and so is a product that shrinks the 90 % region more than
// threefold against the mean of its parts. One part alone is returned as it is.
func Multiply(f grid.Frame, name string, parts ...Weights) (Product, error) {
	if len(parts) == 0 {
		return Product{}, ErrNoView
	}
	p := Product{Weights: Weights{Name: name, Evidence: parts[0].Evidence, Density: slices.Clone(parts[0].Density), Beyond: math.NaN()}}
	if len(parts) == 1 {
		p.Beyond = parts[0].Beyond
		alone, err := p.surface(f)
		if err != nil {
			return Product{}, err
		}
		p.EntropyBits = alone.EntropyBits()
		p.PartsBits = []float64{p.EntropyBits}
		p.Region90M2 = alone.Region(0.9).AreaM2
		p.MeanRegion90M2, p.PartsRegion90M2 = p.Region90M2, []float64{p.Region90M2}
		return p, nil
	}
	mean := make([]float64, f.Cols*f.Rows)
	for i, part := range parts {
		s, err := part.surface(f)
		if err != nil {
			return Product{}, err
		}
		p.PartsBits = append(p.PartsBits, s.EntropyBits())
		p.PartsRegion90M2 = append(p.PartsRegion90M2, s.Region(0.9).AreaM2)
		for j, m := range s.Mass {
			mean[j] += m / float64(len(parts))
		}
		if i == 0 {
			continue
		}
		for j, d := range part.Density {
			p.Density[j] *= d
		}
	}
	p.Warnings = sameEvidence(parts)
	whole, err := p.surface(f)
	if err != nil {
		return Product{}, fmt.Errorf("%w: the parts contradict each other", err)
	}
	p.EntropyBits = whole.EntropyBits()
	p.Region90M2 = whole.Region(0.9).AreaM2
	p.MeanRegion90M2 = (&Surface{Frame: f, Mass: mean}).Region(0.9).AreaM2
	if text := p.shrunk(parts); text != "" {
		p.Warnings = append(p.Warnings, text)
	}
	return p, nil
}

// shrunk tells of a product whose 90 % region is more than shrinkFlag times smaller
// than that of the mean. A part that spreads over the whole map, like a direction,
// makes every mean wide: where the tightest part alone holds its 90 % on as little
// ground the product adds next to nothing to it, and that is said.
func (p Product) shrunk(parts []Weights) string {
	fold := p.MeanRegion90M2 / p.Region90M2
	if !(fold > shrinkFlag) {
		return ""
	}
	tight := 0
	for i, areaM2 := range p.PartsRegion90M2 {
		if areaM2 < p.PartsRegion90M2[tight] {
			tight = i
		}
	}
	text := fmt.Sprintf("%s: the product shrinks the 90 %% region %.1f-fold against the mean of its parts", p.Name, fold)
	own := p.PartsRegion90M2[tight] / p.Region90M2
	if own < shrinkFlag {
		return fmt.Sprintf("%s, but only %.1f-fold against %s alone, which does most of it", text, own, parts[tight].Name)
	}
	return fmt.Sprintf("%s, and %.1f-fold against %s alone: it is surer than its parts unless they are independent", text, own, parts[tight].Name)
}

func sameEvidence(parts []Weights) (warnings []string) {
	for i, a := range parts {
		if a.Evidence == "" {
			warnings = append(warnings, fmt.Sprintf("%s does not say what it rests on: a product counts it as evidence of its own", a.Name))
			continue
		}
		for _, b := range parts[i+1:] {
			if a.Evidence == b.Evidence {
				warnings = append(warnings, fmt.Sprintf("%s and %s both rest on %s: the product counts it twice", a.Name, b.Name, a.Evidence))
			}
		}
	}
	return warnings
}

// A View is one way to see the case, with the weight that people give it.
type View struct {
	Weights
	Weight float64 // 0 or more, on any scale
}

// Average returns the mean of the views by their weights, with the share
// outside of the map as it was stated: each view is made 1 on the map first,
// so that a view that says nothing of the outside does not move it.
func Average(f grid.Frame, outside float64, views []View) (*Surface, error) {
	total := 0.0
	for _, v := range views {
		if !(v.Weight >= 0) || math.IsInf(v.Weight, 1) {
			return nil, fmt.Errorf("prob: weight %g of view %s is not a number from 0 up", v.Weight, v.Name)
		}
		total += v.Weight
	}
	if !(total > 0) {
		return nil, ErrNoView
	}
	mass := make([]float64, f.Cols*f.Rows)
	for _, v := range views {
		if v.Weight == 0 {
			continue
		}
		s, err := v.surface(f)
		if err != nil {
			return nil, err
		}
		for i, m := range s.Mass {
			mass[i] += m * v.Weight / total
		}
	}
	return FromWeights(f, mass, outside)
}

// BeyondShare returns what the views together say lies beyond the map, the mean
// of their Beyond by weight over those that say anything; NaN where none does.
// A stated outside share below it is worth a warning.
func BeyondShare(views []View) float64 {
	share, total := 0.0, 0.0
	for _, v := range views {
		if !math.IsNaN(v.Beyond) {
			share += v.Weight * v.Beyond
			total += v.Weight
		}
	}
	return share / total // 0/0 is NaN
}
