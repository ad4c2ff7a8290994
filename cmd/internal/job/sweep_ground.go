package job

import (
	"math"

	"farhail/cmd/internal/cli"
	"farhail/geo/cover"
	"farhail/signal/sweep"
)

// A SweptCellKind is ground on which a target is hidden by the same plants.
type SweptCellKind struct {
	Ground     string   `json:"ground"`
	Cells      int      `json:"cells"`
	AreaM2     cli.Area `json:"area_m2"`
	ClearLineM cli.Len  `json:"clear_line_m"` // mean, among its plants; null in the open
}

// A cellKind is such ground with its plants and its cells.
type cellKind struct {
	name   string
	plants sweep.Plants
	cover  bool // the plants are those of the cover
	among  bool // the target stands among plants that are counted on the pass, not as a wall
	cells  []int
	fine   int // spots of a cell that are looked at, across
}

// ground sorts the cells by what hides a target there. Among plants whose clear line
// is known they count along the pass, and the sight line runs over the bare ground;
// elsewhere the cover's trees stand in the line as walls: each counts once.
func (w *sweeping) ground() {
	w.kind = make([]uint8, len(w.centres))
	open := cellKind{name: "open ground", plants: w.plansPlants()}
	open.among = open.plants != (sweep.Plants{})
	if open.among {
		open.name = "among the plan's plants"
	}
	w.kinds = []cellKind{open}
	byClass := map[cover.Class]uint8{}
	for i := range w.centres {
		k := uint8(0)
		if w.run.cover != nil {
			class := w.run.cover.grid.At(w.frame.Point(float64(i%w.frame.Cols), float64(i/w.frame.Cols)))
			known := false
			if k, known = byClass[class]; !known {
				k = w.classKind(class)
				byClass[class] = k
			}
		}
		w.kind[i] = k
		w.kinds[k].cells = append(w.kinds[k].cells, i)
	}
	for _, k := range w.kinds {
		told := SweptCellKind{Ground: k.name, Cells: len(k.cells), ClearLineM: cli.Len(math.NaN())}
		for _, i := range k.cells {
			told.AreaM2 += cli.Area(w.areaM2[i])
		}
		if clear := k.plants.ClearM(); !math.IsInf(clear, 1) {
			told.ClearLineM = cli.Len(clear)
		}
		w.out.Cells = append(w.out.Cells, told)
	}
}

// plansPlants are what the plan says stands between those who look and the signals.
func (w *sweeping) plansPlants() sweep.Plants {
	p := w.run.plan.Plants
	return sweep.Plants{StemsPerM2: p.StemsPerM2, StemWidthM: p.StemWidthM, LeafAreaIndex: p.LeafAreaIndex, CanopyM: p.CanopyM}
}

// classKind returns the kind of ground of a class of cover.
func (w *sweeping) classKind(class cover.Class) uint8 {
	clear, _ := w.run.cover.clearM(class)
	if math.IsNaN(clear) || clear == 0 {
		return 0 // nothing known, or no canopy for its leaves
	}
	w.kinds = append(w.kinds, cellKind{name: class.String(), cover: true, among: true, plants: w.run.cover.plants(class)})
	return uint8(len(w.kinds) - 1)
}
