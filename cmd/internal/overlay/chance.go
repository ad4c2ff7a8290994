package overlay

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"farhail/cmd/internal/job"
	"farhail/geo/layer"

	"github.com/paulmach/orb"
)

// likely returns the smallest ground that holds a half and nine tenths of the
// probability.
func likely(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Likely, Title: "Where they are likely to be: the smallest ground with that share, and what is as likely as its edge"}
	if r.Chance == nil {
		return l
	}
	for _, g := range r.Chance.Regions {
		l.Features = append(l.Features, layer.New(fmt.Sprintf("%.0f %% of what the map holds", 100*float64(g.Share)), orb.Geometry(g.Shape),
			layer.P("share", float64(g.Share)), layer.P("share_of_whole", float64(g.Whole)), layer.P("area_m2", float64(g.AreaM2)), layer.P("drawn_m2", float64(g.DrawnM2)), layer.P("outside_share", float64(r.Chance.OutsideShare))))
	}
	return l
}

func searchAreas(r *job.Result) layer.Layer {
	l := layer.Layer{ID: Areas, Title: "Areas that one party can search"}
	if r.Chance == nil {
		return l
	}
	for _, a := range r.Chance.SearchAreas {
		l.Features = append(l.Features, layer.New(a.Name, orb.Geometry(a.Shape),
			layer.P("area_m2", float64(a.AreaM2)), layer.P("share", float64(a.Share)), layer.P("share_per_km2", float64(a.PerKM2))))
	}
	return l
}

// areasInBrief is how many search areas a page holds.
const areasInBrief = 10

func (b *brief) chance(r *job.Result) {
	c := r.Chance
	if c == nil {
		return
	}
	b.title("WHERE THEY ARE LIKELY TO BE")
	b.line("At %s. Outside of the map: %s, said by %s.", moment(c.At), share(float64(c.OutsideShare)), c.OutsideBy)
	for _, g := range c.Regions {
		b.line("The smallest ground with %s of what the map holds: %s.", share(float64(g.Share)), b.words.Area(float64(g.AreaM2)))
		if g.DrawnM2 > 1.01*g.AreaM2 {
			b.item("   ", "The map shows %s: no part of the ground at its limit is likelier than the rest.", b.words.Area(float64(g.DrawnM2)))
		}
	}
	score := ""
	if known(float64(c.RankScore)) {
		score = "  rank score"
		b.line("Rank score of the whole for the find: %.2f (1 best, 0 as by chance).", float64(c.RankScore))
	}
	b.columns("   %-26s %7s %-8s %13s%s", "view", "weight", "by", "entropy, bits", score)
	for _, v := range c.Views {
		score := ""
		if known(float64(v.RankScore)) {
			score = fmt.Sprintf("  %10.2f", float64(v.RankScore))
		}
		b.columns("   %-26.26s %7s %-8.8s %13.2f%s", ascii(v.Name), share(float64(v.Weight)), ascii(v.By), float64(v.EntropyBits), score)
	}
	b.products(c.Views)
	b.line("All views together: %.2f bits. A bit less halves what there is to search.", float64(c.EntropyBits))
	areas := slices.Clone(c.SearchAreas)
	slices.SortStableFunc(areas, func(a, b job.SearchArea) int { return cmp.Compare(b.PerKM2, a.PerKM2) })
	if len(areas) > areasInBrief {
		b.line("The %d densest of %d areas that one party can search:", areasInBrief, len(areas))
		areas = areas[:areasInBrief]
	}
	hours := ""
	if p := c.SearchParty; p != nil {
		b.line("A party of %d, %s apart at %s, covers %s in %s.", p.People, b.words.Distance(float64(p.SpacingM)), b.words.Speed(float64(p.SpeedMS)), b.words.Area(float64(p.AreaM2)), job.Duration(float64(p.ShiftS)))
		hours = "  party time"
	}
	b.columns("   %-26s %7s %12s %9s%s", "search area", "share", "area", "share/km2", hours)
	for _, a := range areas {
		if hours != "" {
			hours = fmt.Sprintf("  %10s", job.Duration(3600*float64(a.PartyHours)))
		}
		b.columns("   %-26.26s %7s %12s %9.3g%s", ascii(a.Name), share(float64(a.Share)), b.words.Area(float64(a.AreaM2)), float64(a.PerKM2), hours)
	}
	if c.WaterM2 > 0 {
		b.line("Mapped lakes and rivers are in no search area: %s with %s. Shores belong to the areas beside them; water itself is for those who are trained for it.", b.words.Area(float64(c.WaterM2)), share(float64(c.WaterShare)))
	}
	if c.Elsewhere > 0 {
		b.line("On the map, but in no search area: %s.", share(float64(c.Elsewhere)))
	}
	b.line("This sums up what was told to it. The share outside is a judgement, and low ground is not empty ground.")
}

// products tells what multiplying did to the entropy of each view.
func (b *brief) products(views []job.ChanceView) {
	for _, v := range views {
		if v.Product == nil {
			continue
		}
		var parts []string
		for _, p := range v.Product.Parts {
			parts = append(parts, fmt.Sprintf("%s %.2f", p.Name, float64(p.EntropyBits)))
		}
		b.item("   ", "%s, bits before and after its parts were multiplied: %s; after %.2f. 90 %% of it on %s, of the parts' mean on %s.", v.Name, strings.Join(parts, ", "),
			float64(v.Product.EntropyBits), b.words.Area(float64(v.Product.Region90M2)), b.words.Area(float64(v.Product.MeanRegion90M2)))
	}
}

// share writes a probability in per cent.
func share(p float64) string {
	switch {
	case p > 0 && p < 0.001:
		return "<0.1 %"
	case p < 0.1:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// Likelihood writes the part of the brief that tells where the traveller is
// likely to be.
func Likelihood(w io.Writer, r *job.Result) { part(w, r, (*brief).chance) }

// LikelihoodLayers returns the layers of likelihood alone.
func LikelihoodLayers(r *job.Result) []layer.Layer {
	return []layer.Layer{starts(r), likely(r), searchAreas(r)}
}
