package terrain

import (
	"bufio"
	"compress/zlib"
	"errors"
	"io"
)

// maxPacking is more than deflate (1032 times), LZW (1400) and PackBits (64)
// save; zstd may save 32768 times, a run of 128 KiB in a block of 4 bytes
// (RFC 8878, section 3.1.1.2).
const (
	maxPacking     = 2000
	maxPackingZstd = 32768
)

// maxStride bounds a row of a strip or tile [bytes]: besides the grid it is all
// the memory that reading takes.
const maxStride = 1 << 24

// block reads the strips or tiles of a GeoTIFF one after the other, each row by
// row into the same memory, and no further than is asked for.
type block struct {
	t        *tiff
	n        int // the block's number
	at, size int64
	empty    bool // the block was not written: all no data
	in       *bufio.Reader
	un       unpacker
	left     int // rows still to come
	line     samples
}

func newBlock(t *tiff) *block {
	b := &block{t: t, in: bufio.NewReaderSize(nil, 1<<16), line: newSamples(t)}
	if t.pack != packNone {
		b.un = newUnpacker(t.pack)
	}
	return b
}

// open begins a block of a number of rows, of which the first ones are skipped
// and some are wanted.
func (b *block) open(n, rows, skip, wanted int) error {
	t := b.t
	name := t.dir.src.name
	var err error
	if b.at, b.size, err = t.place(n); err != nil {
		return err
	}
	b.n, b.left = n, rows
	if b.empty = b.size == 0; b.empty {
		return nil // a sparse file leaves out blocks without data
	}
	if b.at > t.dir.src.size || b.size > t.dir.src.size-b.at {
		return malformed(name, t.dir.at, "%s %d has %d bytes at %d, beyond the end of the file", t.blockWord(), n, b.size, b.at)
	}
	stride := int64(len(b.line.raw))
	need := int64(rows) * stride
	if t.pack == packNone {
		if need > b.size {
			return malformed(name, b.at, "%s %d of %d bytes cannot hold %d by %d samples", t.blockWord(), n, b.size, t.blockW, rows)
		}
		first := b.at + int64(skip)*stride
		b.in.Reset(io.NewSectionReader(t.dir.src, first, int64(wanted)*stride))
		return nil
	}
	most := int64(maxPacking)
	if t.pack == packZstd {
		most = maxPackingZstd
	}
	if need/most > b.size {
		return malformed(name, b.at, "%s %d of %d bytes cannot hold %d by %d samples", t.blockWord(), n, b.size, t.blockW, rows)
	}
	b.in.Reset(io.NewSectionReader(t.dir.src, b.at, b.size))
	if err := b.un.Reset(b.in); err != nil {
		return b.broken(err)
	}
	for range skip {
		if err := b.fetch(); err != nil {
			return err
		}
	}
	return nil
}

// next reads the next row; its samples then stand in b.line.
func (b *block) next() error {
	if b.empty {
		return nil
	}
	if err := b.fetch(); err != nil {
		return err
	}
	b.line.undo()
	return nil
}

func (b *block) fetch() error {
	r := io.Reader(b.in)
	if b.un != nil {
		r = b.un
	}
	if _, err := io.ReadFull(r, b.line.raw); err != nil {
		return b.broken(err)
	}
	// Behind the last row stands the checksum of the whole, if there is one.
	if b.left--; b.left == 0 && b.un != nil {
		var end [1]byte
		if _, err := b.un.Read(end[:]); errors.Is(err, zlib.ErrChecksum) {
			return b.broken(err)
		}
	}
	return nil
}

func (b *block) broken(err error) error {
	return malformed(b.t.dir.src.name, b.at, "%s %d of %d bytes: %v", b.t.blockWord(), b.n, b.size, err)
}

// indexed is how many places of blocks are read at once.
const indexed = 1024

// blockIndex is a part of the lists of where blocks lie: the whole lists may be
// larger than the window of the grid that is asked for.
type blockIndex struct {
	from           int
	offsets, sizes []int64
}

// place returns where a block lies; a size of 0 means that it was not written.
func (t *tiff) place(n int) (at, size int64, err error) {
	x := &t.index
	if i := n - x.from; i < 0 || i >= len(x.offsets) {
		x.from = n - n%indexed
		count := min(indexed, int64(t.blocks-x.from))
		if x.offsets, err = t.dir.someUints(t.offsets, int64(x.from), count); err != nil {
			return 0, 0, err
		}
		if x.sizes, err = t.dir.someUints(t.sizes, int64(x.from), count); err != nil {
			return 0, 0, err
		}
	}
	at, size = x.offsets[n-x.from], x.sizes[n-x.from]
	if at == 0 {
		size = 0
	}
	return at, size, nil
}

func (t *tiff) blockWord() string {
	if t.offsets == tagTileOffsets {
		return "tile"
	}
	return "strip"
}

// heights turns samples of the current row from a column of the block on into
// metres, NaN for no data, and returns how many held a fill value that the file
// does not declare.
func (b *block) heights(z []float32, col int) (undeclared int) {
	t := b.t
	if b.empty {
		for i := range z {
			z[i] = nan32
		}
		return 0
	}
	values := b.line.values(col, len(z))
	for i, v := range values {
		h := t.h.scale.metres(v)
		if v != v || t.declared && v == t.noData {
			h = nan32
		} else if isFill(v, h) {
			h = nan32
			undeclared++
		}
		z[i] = h
	}
	return undeclared
}
