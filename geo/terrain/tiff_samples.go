package terrain

import (
	"encoding/binary"
	"math"
)

var nan32 = float32(math.NaN())

// samples is one row of a block: its bytes, and how they become numbers.
type samples struct {
	raw       []byte // as stored, after undo little-endian and without predictor
	planes    []byte // for predictor 3
	out       []float64
	size      int // bytes of a sample
	kind      sampleKind
	predictor int64
	big       bool
}

// sampleKind is a format and its bits.
type sampleKind struct{ format, bits int64 }

// sampleKinds are the kinds that are read; half-precision floats are of IEEE 754.
var sampleKinds = map[sampleKind]bool{
	{formatUint, 8}: true, {formatUint, 16}: true, {formatUint, 32}: true,
	{formatInt, 8}: true, {formatInt, 16}: true, {formatInt, 32}: true,
	{formatFloat, 16}: true, {formatFloat, 32}: true, {formatFloat, 64}: true,
}

func newSamples(t *tiff) samples {
	size := int(t.kind.bits / 8)
	s := samples{raw: make([]byte, t.blockW*size), size: size, kind: t.kind, predictor: t.predictor, big: t.dir.order == binary.ByteOrder(binary.BigEndian)}
	if s.predictor == 3 {
		s.planes = make([]byte, len(s.raw))
	}
	return s
}

// undo turns the row as stored into little-endian samples.
func (s *samples) undo() {
	if s.predictor == 3 {
		undoFloatPlanes(s.raw, s.planes, s.size)
		return
	}
	if s.big {
		turn(s.raw, s.size)
	}
	if s.predictor == 2 {
		undoDifferences(s.raw, s.size)
	}
}

// turn turns big-endian samples into little-endian ones.
func turn(line []byte, size int) {
	switch size {
	case 2:
		for i := 0; i+2 <= len(line); i += 2 {
			binary.LittleEndian.PutUint16(line[i:], binary.BigEndian.Uint16(line[i:]))
		}
	case 4:
		for i := 0; i+4 <= len(line); i += 4 {
			binary.LittleEndian.PutUint32(line[i:], binary.BigEndian.Uint32(line[i:]))
		}
	case 8:
		for i := 0; i+8 <= len(line); i += 8 {
			binary.LittleEndian.PutUint64(line[i:], binary.BigEndian.Uint64(line[i:]))
		}
	}
}

// undoDifferences undoes predictor 2 (TIFF 6.0 section 14): each sample is
// stored as its difference from the one before.
func undoDifferences(line []byte, size int) {
	le := binary.LittleEndian
	switch size {
	case 1:
		for i := 1; i < len(line); i++ {
			line[i] += line[i-1]
		}
	case 2:
		sum := uint16(0)
		for i := 0; i+2 <= len(line); i += 2 {
			sum += le.Uint16(line[i:])
			le.PutUint16(line[i:], sum)
		}
	case 4:
		sum := uint32(0)
		for i := 0; i+4 <= len(line); i += 4 {
			sum += le.Uint32(line[i:])
			le.PutUint32(line[i:], sum)
		}
	case 8:
		sum := uint64(0)
		for i := 0; i+8 <= len(line); i += 8 {
			sum += le.Uint64(line[i:])
			le.PutUint64(line[i:], sum)
		}
	}
}

// undoFloatPlanes undoes predictor 3 (TIFF Technical Note 3): the row's most
// significant bytes come first, then the next, as differences of bytes.
func undoFloatPlanes(line, planes []byte, size int) {
	sum := byte(0)
	for i, d := range line {
		sum += d
		planes[i] = sum
	}
	n := len(line) / size
	for k := range size {
		plane := planes[k*n : (k+1)*n]
		for i, v := range plane {
			line[i*size+size-1-k] = v
		}
	}
}

// values returns n samples of the row from a column on; they are valid until the
// next call.
func (s *samples) values(col, n int) []float64 {
	if cap(s.out) < n {
		s.out = make([]float64, n)
	}
	out, le := s.out[:n], binary.LittleEndian
	raw := s.raw[col*s.size : (col+n)*s.size]
	switch s.kind {
	case sampleKind{formatUint, 8}:
		for i := range out {
			out[i] = float64(raw[i])
		}
	case sampleKind{formatInt, 8}:
		for i := range out {
			out[i] = float64(int8(raw[i]))
		}
	case sampleKind{formatUint, 16}:
		for i := range out {
			out[i] = float64(le.Uint16(raw[2*i:]))
		}
	case sampleKind{formatInt, 16}:
		for i := range out {
			out[i] = float64(int16(le.Uint16(raw[2*i:])))
		}
	case sampleKind{formatFloat, 16}:
		for i := range out {
			out[i] = half(le.Uint16(raw[2*i:]))
		}
	case sampleKind{formatUint, 32}:
		for i := range out {
			out[i] = float64(le.Uint32(raw[4*i:]))
		}
	case sampleKind{formatInt, 32}:
		for i := range out {
			out[i] = float64(int32(le.Uint32(raw[4*i:])))
		}
	case sampleKind{formatFloat, 32}:
		for i := range out {
			out[i] = float64(math.Float32frombits(le.Uint32(raw[4*i:])))
		}
	default:
		for i := range out {
			out[i] = math.Float64frombits(le.Uint64(raw[8*i:]))
		}
	}
	return out
}

// half decodes a half-precision float: sign, 5 bits of exponent, 10 of fraction
// (IEEE 754-2008, binary16).
func half(h uint16) float64 {
	exponent, v := int(h>>10&31), float64(h&1023)
	switch {
	case exponent == 31 && v != 0:
		return math.NaN()
	case exponent == 31:
		v = math.Inf(1)
	case exponent == 0:
		v = math.Ldexp(v, -24)
	default:
		v = math.Ldexp(v+1024, exponent-25)
	}
	if h>>15 == 1 {
		return -v
	}
	return v
}

// roundHalf rounds a number as a half-precision float holds it.
func roundHalf(v float64) float64 {
	if v == 0 || math.IsNaN(v) {
		return v
	}
	step := math.Ldexp(1, max(math.Ilogb(v), -14)-10)
	if v = math.RoundToEven(v/step) * step; math.Abs(v) > 65504 {
		return math.Copysign(math.Inf(1), v)
	}
	return v
}

// as returns a number as a sample of a kind holds it.
func (k sampleKind) as(v float64) float64 {
	switch k {
	case sampleKind{formatFloat, 16}:
		return roundHalf(v)
	case sampleKind{formatFloat, 32}:
		return float64(float32(v))
	}
	return v
}
