package terrain

import (
	"compress/zlib"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"golang.org/x/image/tiff/lzw"
)

// block reads the strips or tiles of a GeoTIFF one after the other into the
// same memory.
type block struct {
	t      *tiff
	raw    []byte // unpacked samples
	empty  bool   // the block was not written: all no data
	noData float64
	order  binary.ByteOrder // of the unpacked samples
}

func newBlock(t *tiff) *block {
	b := &block{t: t, noData: t.noDataAs(), order: t.dir.order}
	if t.predictor == 3 {
		b.order = binary.BigEndian // Technical Note 3: most significant byte first
	}
	return b
}

// maxPacking is more than any scheme saves: deflate 1032, LZW about 1400 times.
const maxPacking = 2000

// load unpacks a block. A strip at the lower edge holds fewer rows than others;
// tiles are always whole.
func (b *block) load(n, rows int) error {
	t := b.t
	name, at, size := t.dir.src.name, t.offsets[n], t.sizes[n]
	if b.empty = at == 0 && size == 0; b.empty {
		return nil // a sparse file leaves out blocks without data
	}
	if at+size > t.dir.src.size {
		return malformed(name, t.dir.at, "strip or tile %d has %d bytes at %d, beyond the end of the file", n, size, at)
	}
	stride := t.blockW * int(t.bits/8)
	if int64(rows*stride) > size*maxPacking {
		return malformed(name, at, "strip or tile %d of %d bytes cannot hold %d by %d samples", n, size, t.blockW, rows)
	}
	if b.raw == nil {
		b.raw = make([]byte, t.blockH*stride)
	}
	want := b.raw[:rows*stride]
	r, err := unpacker(t.pack, io.NewSectionReader(t.dir.src, at, size))
	if err == nil {
		defer r.Close()
		_, err = io.ReadFull(r, want)
	}
	if err != nil {
		return malformed(name, at, "strip or tile %d of %d bytes: %v", n, size, err)
	}
	for row := range rows {
		line := want[row*stride : (row+1)*stride]
		switch t.predictor {
		case 2:
			undoDifferences(line, int(t.bits)/8, t.dir.order)
		case 3:
			undoFloatPlanes(line, int(t.bits)/8)
		}
	}
	return nil
}

// unpacker returns the unpacked bytes of a block.
func unpacker(pack int64, r io.Reader) (io.ReadCloser, error) {
	switch pack {
	case packLZW:
		return lzw.NewReader(r, lzw.MSB, 8), nil
	case packDeflate, packOldDeflate:
		return zlib.NewReader(r)
	case packBits:
		return io.NopCloser(&packBitsReader{r: r}), nil
	}
	return io.NopCloser(r), nil
}

// heights turns a row of samples into metres and returns how many held a fill
// value that the file does not declare.
func (b *block) heights(z []float32, row, col int) (undeclared int) {
	t := b.t
	nan := float32(math.NaN())
	if b.empty {
		for i := range z {
			z[i] = nan
		}
		return 0
	}
	size := int(t.bits) / 8
	raw := b.raw[(row*t.blockW+col)*size:]
	for i := range z {
		v := b.sample(raw[i*size:])
		z[i] = t.h.scale.metres(v)
		if t.declared && v == b.noData || v != v {
			z[i] = nan
		} else if isFill(v, z[i]) {
			z[i] = nan
			undeclared++
		}
	}
	return undeclared
}

func (b *block) sample(raw []byte) float64 {
	switch b.t.format<<8 | b.t.bits {
	case formatInt<<8 | 16:
		return float64(int16(b.order.Uint16(raw)))
	case formatFloat<<8 | 32:
		return float64(math.Float32frombits(b.order.Uint32(raw)))
	case formatUint<<8 | 8:
		return float64(raw[0])
	case formatInt<<8 | 8:
		return float64(int8(raw[0]))
	case formatUint<<8 | 16:
		return float64(b.order.Uint16(raw))
	case formatUint<<8 | 32:
		return float64(b.order.Uint32(raw))
	case formatInt<<8 | 32:
		return float64(int32(b.order.Uint32(raw)))
	}
	return math.Float64frombits(b.order.Uint64(raw))
}

// undoDifferences undoes predictor 2 (TIFF 6.0 section 14): each sample is
// stored as its difference from the one before.
func undoDifferences(line []byte, size int, order binary.ByteOrder) {
	switch size {
	case 1:
		for i := 1; i < len(line); i++ {
			line[i] += line[i-1]
		}
	case 2:
		for i := 2; i+2 <= len(line); i += 2 {
			order.PutUint16(line[i:], order.Uint16(line[i:])+order.Uint16(line[i-2:]))
		}
	case 4:
		for i := 4; i+4 <= len(line); i += 4 {
			order.PutUint32(line[i:], order.Uint32(line[i:])+order.Uint32(line[i-4:]))
		}
	case 8:
		for i := 8; i+8 <= len(line); i += 8 {
			order.PutUint64(line[i:], order.Uint64(line[i:])+order.Uint64(line[i-8:]))
		}
	}
}

// undoFloatPlanes undoes predictor 3 (TIFF Technical Note 3): the row's most
// significant bytes come first, then the next, as differences of bytes.
func undoFloatPlanes(line []byte, size int) {
	for i := 1; i < len(line); i++ {
		line[i] += line[i-1]
	}
	planes := append([]byte(nil), line...)
	n := len(line) / size
	for i := range n {
		for k := range size {
			line[i*size+k] = planes[k*n+i]
		}
	}
}

// packBitsReader unpacks PackBits (TIFF 6.0 section 9).
type packBitsReader struct {
	r       io.Reader
	one     [1]byte
	literal int // bytes still to copy
	repeat  int // times still to repeat one
}

func (p *packBitsReader) Read(out []byte) (int, error) {
	if len(out) == 0 {
		return 0, nil
	}
	for p.literal == 0 && p.repeat == 0 {
		if _, err := io.ReadFull(p.r, p.one[:]); err != nil {
			return 0, err
		}
		switch n := int(int8(p.one[0])); {
		case n >= 0:
			p.literal = n + 1
		case n != -128: // which means nothing
			p.repeat = 1 - n
			if _, err := io.ReadFull(p.r, p.one[:]); err != nil {
				return 0, errors.Join(io.ErrUnexpectedEOF, err)
			}
		}
	}
	if p.repeat > 0 {
		n := min(p.repeat, len(out))
		for i := range n {
			out[i] = p.one[0]
		}
		p.repeat -= n
		return n, nil
	}
	n, err := p.r.Read(out[:min(p.literal, len(out))])
	p.literal -= n
	return n, err
}
