package cover

// Water marks the cells with water, still or running, down to the smallest stream
// that the files hold, and bridges or trails over it change nothing: the cells to
// keep away from, not those that stop a walker (see [Map.Stops]).
func (m *Map) Water(g *Grid) []bool {
	mask := make([]bool, len(g.Class))
	mark := func(col, row int) { mask[row*g.Cols+col] = true }
	m.stillWater(g, mark)
	m.runningWater(g, true, mark)
	return mask
}

// Cliffs marks the cells that mapped cliffs run through.
func (m *Map) Cliffs(g *Grid) []bool {
	mask := make([]bool, len(g.Class))
	for _, l := range m.Lines {
		if l.Kind == Cliff {
			g.Along(l.Path, func(col, row int) { mask[row*g.Cols+col] = true })
		}
	}
	return mask
}

// TellsStreams reports whether the files hold any stream or river as a line. Where
// they do not, as in CORINE, ground without water marks may still have some.
func (m *Map) TellsStreams() bool {
	for _, l := range m.Lines {
		if l.Kind == River || l.Kind == Stream {
			return true
		}
	}
	return false
}
