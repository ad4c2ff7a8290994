package plan

import (
	"github.com/goccy/go-yaml/ast"

	"farhail/cmd/internal/cli"
	"farhail/geo/cover"
)

// Cover is what covers the ground, and what is said beside its files.
type Cover struct {
	Line      int
	Files     []string // GeoJSON of OpenStreetMap, GeoTIFF of CORINE
	Elsewhere string   // class of ground that no file tells, "" for unknown
	CanopyM   float64  // height of woods; 0: that of their class
}

// Footing is how walkers get on over ground whose cover is known.
type Footing struct {
	Crossing    string             // the least water that stops them, one of Crossings
	TimeFactors map[string]float64 // by class: times as long as on a good path, instead of the published
}

// DefaultCrossing stops walkers at still water and the sea. Own choice: people ford
// rivers, and a ring is an outer limit.
const DefaultCrossing = string(cover.LakesStop)

// CanopyRange is a dimension that the plan shares with the command line.
var CanopyRange = cli.Length.Positive().AtMost(150) // no tree is taller

var timeFactorRange = cli.Number.Positive().AtMost(1000)

// CoverClasses lists the words for what covers the ground.
func CoverClasses() []string {
	var list []string
	for _, c := range cover.Classes() {
		list = append(list, c.String())
	}
	return list
}

// Crossings lists the words for which water stops a walker, the least first.
func Crossings() []string {
	var list []string
	for _, c := range cover.Crossings() {
		list = append(list, string(c))
	}
	return list
}

// coverKeys are the plan's keys of the ground cover.
func (r *reader) coverKeys(c *Cover) []key {
	return []key{
		{"cover", func(n ast.Node) {
			c.Line, _ = place(n)
			r.paths(&c.Files, "ground cover", true)(n)
		}, false},
		{"cover_elsewhere", r.word(&c.Elsewhere, CoverClasses()...), false},
		{"canopy_height", r.quantity(&c.CanopyM, CanopyRange), false},
	}
}

// footingKeys are the traveller's keys of the ground cover.
func (r *reader) footingKeys(g *Footing) []key {
	return []key{
		{"crossing", r.word(&g.Crossing, Crossings()...), false},
		{"time_factors", func(n ast.Node) {
			var keys []key
			given := map[string]*float64{}
			for _, class := range CoverClasses() {
				given[class] = new(float64)
				keys = append(keys, key{class, r.quantity(given[class], timeFactorRange), false})
			}
			b := r.block(n, "time_factors", keys...)
			g.TimeFactors = map[string]float64{}
			for class, factor := range given {
				if b.has(class) {
					g.TimeFactors[class] = *factor
				}
			}
		}, false},
	}
}
