package terrain

import (
	"fmt"
	"strings"
)

// anyRoom is how many cells a file may give without a look at its length: those
// of a 1 arc-second tile, 52 MB of heights.
const anyRoom = 3601 * 3601

// thin is how many cells of a joined grid may come on one that a file gives.
const thin = 64

// tight is from how many cells a byte on a large file is read twice, the first
// time only to see that it is sound: real ground takes a byte for a cell or two,
// and unpacking a flat takes no time.
const tight = 25

// checkRoom refuses a grid before memory is taken for it: too many cells, files
// so far apart that the grid between them is empty, and a few bytes that claim
// to be a large grid and do not hold one.
func (s *tileSet) checkRoom(names []string, w window) error {
	refuse := func(file, help, format string, args ...any) error {
		return &FileError{File: file, At: -1, Kind: ErrTooLarge, Text: fmt.Sprintf(format, args...), Help: help}
	}
	n, all := w.cells(), strings.Join(names, ",")
	if n > MaxCells {
		return refuse(all, "ask for a smaller area, or make the cells larger with gdalwarp -tr", "%d cells; at most %d are taken", n, MaxCells)
	}
	given := int64(0)
	for _, t := range s.tiles {
		own, h := t.own(w).cells(), t.head()
		given += own
		if own > anyRoom && own > h.bytes*maxPacking {
			return refuse(h.file, "ask for a smaller area, or fetch the file again", "%d cells from a file of %d bytes: hardly any can have a height", own, h.bytes)
		}
		if own > anyRoom && own/tight > h.bytes {
			if _, err := t.read(t.own(w), func(int, int, []float32) {}); err != nil {
				return err
			}
		}
	}
	if n > anyRoom && n/thin > given {
		return refuse(all, "give the files of one area", "the files lie far apart: of the %d cells of the grid around them they give %d", n, given)
	}
	return nil
}

// own returns a window of the joined grid in the tile's own columns and rows.
func (t *tile) own(w window) window {
	return window{w.col0 - t.col, w.row0 - t.row, w.col1 - t.col, w.row1 - t.row}.meet(whole(t.head().frame))
}

func (w window) cells() int64 {
	if w.empty() {
		return 0
	}
	return int64(w.col1-w.col0) * int64(w.row1-w.row0)
}
