package job

import (
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"farhail/cmd/internal/cli"
	"farhail/cmd/internal/plan"
	"farhail/geo/cover"
	"farhail/geo/grid"
	"farhail/geo/terrain"
)

// A Cover is what covers the ground of a terrain, class by class.
type Cover struct {
	Files     []string      `json:"files"`
	Elsewhere string        `json:"elsewhere"` // class of ground that no file tells
	Classes   []CoverClass  `json:"classes"`   // that occur
	Unclassed []CoverTag    `json:"unclassed"` // areas whose tags tell nothing of the ground
	Screen    string        `json:"screen"`    // whether its heights stand in the way of sight lines, and why
	Barriers  *CoverBarrier `json:"barriers"`  // null where nobody walks

	mapped *cover.Map
	grid   *cover.Grid
	ask    plan.Cover
}

// A CoverClass is the cells of one class and the figures that they were given.
type CoverClass struct {
	Class      string   `json:"class"`
	Cells      int      `json:"cells"`
	AreaM2     cli.Area `json:"area_m2"`
	CanopyM    cli.Len  `json:"canopy_m"` // that sight lines must pass over; null where it was not used
	CanopyFrom string   `json:"canopy_from"`
	// How many times as long it takes as the walking rule's own ground, and as a
	// good path; null where nobody walks.
	TimeFactor       cli.Num `json:"time_factor"`
	TimeFactorOnPath cli.Num `json:"time_factor_on_path"`
	TimeFactorFrom   string  `json:"time_factor_from"`

	class cover.Class
}

// A CoverTag is a tag and how many areas bear it.
type CoverTag struct {
	Tag   string `json:"tag"`
	Areas int    `json:"areas"`
}

// A CoverBarrier is what walkers do not cross.
type CoverBarrier struct {
	Crossing    string `json:"crossing"` // the least water that stops them: none, lakes, rivers, streams
	WaterCells  int    `json:"water_cells"`
	CliffCells  int    `json:"cliff_cells"`
	OpenedCells int    `json:"opened_cells"` // of water, at bridges
	CutCells    int    `json:"cut_cells"`    // of trails in running water without a bridge
	Trails      int    `json:"trails"`
}

// CoverClasses lists the words for what covers the ground.
func CoverClasses() []string { return plan.CoverClasses() }

// CoverCrossings lists the words for which water stops a walker.
func CoverCrossings() []string { return plan.Crossings() }

// LoadCover reads what covers the cells of a terrain, and what is odd about it. It
// returns nil where no file is asked for.
func LoadCover(fsys fs.FS, ask plan.Cover, f grid.Frame) (*Cover, []cli.Note, error) {
	if len(ask.Files) == 0 {
		return nil, nil, nil
	}
	m, err := cover.Read(fsys, ask.Files, f.Bound())
	if err != nil {
		return nil, nil, cli.InputError(strings.Join(ask.Files, ","), err)
	}
	elsewhere, _ := cover.Named(ask.Elsewhere)
	nan := math.NaN()
	c := &Cover{Files: m.Files, Elsewhere: elsewhere.String(), Classes: []CoverClass{}, Unclassed: []CoverTag{}, Screen: "not used", mapped: m, grid: m.On(f, elsewhere), ask: ask}
	for _, s := range c.grid.Sums() {
		c.Classes = append(c.Classes, CoverClass{Class: s.Class.String(), Cells: s.N, AreaM2: cli.Area(s.AreaM2),
			CanopyM: cli.Len(nan), TimeFactor: cli.Num(nan), TimeFactorOnPath: cli.Num(nan), class: s.Class})
	}
	for _, t := range m.Unclassed {
		c.Unclassed = append(c.Unclassed, CoverTag{t.Tag, t.N})
	}
	return c, c.notes(), nil
}

// Over returns the same cover over other cells.
func (c *Cover) Over(f grid.Frame) *Cover {
	out := *c
	elsewhere, _ := cover.Named(c.ask.Elsewhere)
	out.grid, out.Classes, out.Barriers = c.mapped.On(f, elsewhere), slices.Clone(c.Classes), nil
	return &out
}

// notes tells what the files have that is odd, and how much they leave open.
func (c *Cover) notes() []cli.Note {
	var notes []cli.Note
	for _, p := range c.mapped.Problems {
		if p.Severity == "warning" {
			notes = append(notes, warning(p.Hint, "%s: %s", p.File, p.Text))
		}
	}
	unknown := 0
	for _, class := range c.Classes {
		if class.class == cover.Unknown {
			unknown = class.Cells
		}
	}
	if all := len(c.grid.Class); unknown > 0 {
		notes = append(notes, warning("say what it is, like --cover-elsewhere grass (in a plan cover_elsewhere: grass)",
			"no file tells what covers %.0f %% of the terrain: nothing stands there in the way of sight, and it is walked as the rule's own ground", math.Ceil(100*float64(unknown)/float64(all))))
	}
	return notes
}

func warning(hint, format string, args ...any) cli.Note {
	n := cli.Note{Severity: cli.SeverityWarning, Text: fmt.Sprintf(format, args...)}
	if hint != "" {
		n.Hint = &hint
	}
	return n
}

// Raise returns the heights that sight lines over a terrain must pass over: the
// ground with the canopy on it. It returns nil where the terrain holds the treetops
// already, so that none stands twice. What it did it also tells.
func (c *Cover) Raise(t *terrain.Terrain) ([]float32, []cli.Note) {
	if strings.Contains(t.Info.Surface, terrain.SurfaceTops) {
		c.Screen = "not used: the terrain is a surface model, which holds treetops and roofs already"
		return nil, []cli.Note{warning("give a model of the bare ground to have trees counted by the ground cover", "trees of the ground cover are not put on the terrain: it is a surface model and holds them already")}
	}
	table := c.canopies()
	var notes []cli.Note
	guessed := false
	for i := range c.Classes {
		class := &c.Classes[i]
		figure := class.class.Traits().CanopyM
		class.CanopyM, class.CanopyFrom = cli.Len(table[class.class]), figure.Source
		switch {
		case class.class == cover.Unknown:
			class.CanopyFrom = "not known: taken as open"
		case class.class.Wooded() && c.ask.CanopyM > 0:
			class.CanopyFrom = "given"
		case class.class.Wooded():
			guessed = true
		}
	}
	c.Screen = "the ground with the canopy of each class on it; no light passes below, and nobody stands on it"
	if t.Info.Surface != terrain.SurfaceGround {
		notes = append(notes, warning("leave out --cover (in a plan: cover:) if it is a surface model", "the terrain does not say whether it holds treetops: if it does, they now stand twice"))
	}
	if guessed {
		notes = append(notes, warning("give --canopy-height 15m (in a plan canopy_height: 15 m)", "woods are taken for %.0f m high, a guess", cover.Wood.Traits().CanopyM.Value))
	}
	return c.grid.Screen(&t.Heights, table), notes
}

func (c *Cover) canopies() cover.Table {
	if c.ask.CanopyM > 0 {
		return cover.Canopies(c.ask.CanopyM, 0)
	}
	return cover.Canopies(math.NaN(), 0)
}

// Under returns by how much the canopy stands above something at a place that is
// that high above the ground [m]; 0 where it does not.
func (c *Cover) Under(p orb.Point, heightM float64) float64 {
	return max(0, c.canopies()[c.grid.At(p)]-heightM)
}

// Class returns the name of what covers a place.
func (c *Cover) Class(p orb.Point) string { return c.grid.At(p).String() }
