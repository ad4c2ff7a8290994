package job

import (
	"farhail/cmd/internal/cli"
	"farhail/geo/grid"
	"farhail/geo/walk"
)

// OpenStart opens the cell of the start itself, the first of those that walking
// begins in, where it lies on a barrier: somebody by a stream may be on either bank,
// however well the position is known. It returns what to tell then.
func OpenStart(o *walk.Options, f grid.Frame) []cli.Note {
	if o.Barrier == nil || len(o.Starts) == 0 {
		return nil
	}
	s := o.Starts[0]
	if s.Col < 0 || s.Row < 0 || s.Col >= f.Cols || s.Row >= f.Rows || !o.Barrier[s.Row*f.Cols+s.Col] {
		return nil
	}
	o.Barrier[s.Row*f.Cols+s.Col] = false
	return []cli.Note{warning("look whether the position is meant; a finer terrain may tell the banks apart", "the start lies in a cell that is not crossed (a barrier, water or a cliff): the cell is opened, and both its sides are")}
}
