package page

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"encoding/binary"
	"math"
	"strconv"

	"github.com/paulmach/orb"
)

// pack squeezes bytes for the page (zlib, RFC 1950) and writes them in base64.
func pack(data []byte) string {
	var b bytes.Buffer
	w, err := zlib.NewWriterLevel(&b, zlib.BestCompression)
	if err != nil {
		panic("page: " + err.Error()) // the level is a constant
	}
	_, _ = w.Write(data) // a buffer takes everything
	_ = w.Close()
	return base64.StdEncoding.EncodeToString(b.Bytes())
}

// packFloats packs numbers of 64 bits, little-endian.
func packFloats(values []float64) string {
	out := make([]byte, 0, 8*len(values))
	for _, v := range values {
		out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
	}
	return pack(out)
}

// packPlanes packs one code a cell as its difference to the cell before, in a row's first
// cell to the one above: all low bytes, then all high ones where the codes have two.
func packPlanes(codes []uint16, cols, width int) string {
	out := make([]byte, width*len(codes))
	for i, code := range codes {
		var before uint16
		switch {
		case i%cols > 0:
			before = codes[i-1]
		case i > 0:
			before = codes[i-cols]
		}
		d := code - before
		out[i] = byte(d)
		if width == 2 {
			out[len(codes)+i] = byte(d >> 8)
		}
	}
	return pack(out)
}

// unitM is the step of coordinates on the plane [m]: what is drawn is at most 0.35 m off.
const unitM = 0.5

// A flatRow is positions on the plane: x and y by turns, in steps of unitM from its
// south-western corner.
type flatRow []int

func (p *plane) appendFlat(row flatRow, at orb.Point) flatRow {
	return append(row, p.unit(at[0]-p.box.Min[0]), p.unit(at[1]-p.box.Min[1]))
}

// unit returns a length in steps; what is absurdly far off, at the same side of the map.
func (p *plane) unit(m float64) int {
	const far = 1 << 28
	return int(math.Max(-far, math.Min(far, math.Round(m/unitM))))
}

// A stream is rows of positions as one run of bytes: for each its number of positions,
// then differences from position to position, all as zigzag varints.
type stream struct{ data []byte }

func (s *stream) add(row flatRow) {
	s.data = binary.AppendUvarint(s.data, uint64(len(row)/2))
	var x, y int
	for i := 0; i < len(row); i += 2 {
		s.data = binary.AppendVarint(s.data, int64(row[i]-x))
		s.data = binary.AppendVarint(s.data, int64(row[i+1]-y))
		x, y = row[i], row[i+1]
	}
}

func (s *stream) pack() string { return pack(s.data) }

func number(v float64) string { return strconv.Itoa(int(v)) }
