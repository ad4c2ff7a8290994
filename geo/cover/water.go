package cover

// Water marks the cells with water, still or running, down to the smallest stream
// that the files hold, and bridges or trails over it change nothing: the cells to
// keep away from, not those that stop a walker (see [Map.Stops]).
func (m *Map) Water(g *Grid) []bool { return m.wet(g, true) }

// LargeWater marks the cells with still water and rivers, but not those with no more
// than a stream: what nobody may be drawn over. Bridges and trails change nothing.
func (m *Map) LargeWater(g *Grid) []bool { return m.wet(g, false) }

func (m *Map) wet(g *Grid, streams bool) []bool {
	mask := make([]bool, len(g.Class))
	mark := g.marker(mask)
	rivers := m.riverCells(g)
	m.stillWater(g, rivers, mark)
	m.runningWater(g, rivers, streams, mark)
	return mask
}

// Cliffs marks the cells that mapped cliffs run through.
func (m *Map) Cliffs(g *Grid) []bool {
	mask := make([]bool, len(g.Class))
	m.along(g, Cliff, g.marker(mask))
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
