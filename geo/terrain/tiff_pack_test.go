package terrain

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"testing"

	"github.com/klauspost/compress/zstd"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestPackBits is the worked example of TIFF 6.0 section 9, from memory.
func TestPackBits(t *testing.T) {
	packed := []byte{0xfe, 0xaa, 0x02, 0x80, 0x00, 0x2a, 0xfd, 0xaa, 0x03, 0x80, 0x00, 0x2a, 0x22, 0xf7, 0xaa}
	want := []byte{0xaa, 0xaa, 0xaa, 0x80, 0x00, 0x2a, 0xaa, 0xaa, 0xaa, 0xaa, 0x80, 0x00, 0x2a, 0x22,
		0xaa, 0xaa, 0xaa, 0xaa, 0xaa, 0xaa, 0xaa, 0xaa, 0xaa, 0xaa}
	u := newUnpacker(packBits)
	require.NoError(t, u.Reset(bufio.NewReader(bytes.NewReader(append([]byte{0x80}, packed...)))))
	got, err := io.ReadAll(u)
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

// TestZstdBlocks: one unpacker takes block after block, also after one that was
// not read to its end or is broken.
func TestZstdBlocks(t *testing.T) {
	w, err := zstd.NewWriter(nil)
	require.NoError(t, err)
	long := bytes.Repeat([]byte("farhail "), 100000)
	packed := w.EncodeAll(long, nil)
	u := newUnpacker(packZstd)
	for i := range 3 {
		require.NoError(t, u.Reset(bufio.NewReader(bytes.NewReader(packed))))
		part := make([]byte, 1000*(i+1))
		_, err := io.ReadFull(u, part)
		require.NoError(t, err)
		assert.Equal(t, long[:len(part)], part)
		require.NoError(t, u.Reset(bufio.NewReader(bytes.NewReader(packed[:len(packed)/2]))))
		_, err = io.ReadAll(u)
		require.Error(t, err)
	}
}

// TestHalf: values of binary16 as IEEE 754-2008 defines them; from memory.
func TestHalf(t *testing.T) {
	for bits, want := range map[uint16]float64{
		0x0000: 0, 0x3c00: 1, 0xc000: -2, 0x7bff: 65504, 0x0400: 0x1p-14, 0x03ff: 0x1.ff8p-15, 0x0001: 0x1p-24,
		0x3555: 0.333251953125, 0x7c00: math.Inf(1), 0xfc00: math.Inf(-1), 0x6c00: 4096,
	} {
		assert.Equal(t, want, half(bits), "%#x", bits)
	}
	assert.True(t, math.IsNaN(half(0x7e00)))
	// Every number that it holds is rounded to itself, and those between to one
	// of their neighbours, the even one in the middle.
	for bits := range uint16(0x7c00) {
		v := half(bits)
		require.Equal(t, v, roundHalf(v), "%#x", bits)
		require.Equal(t, -v, roundHalf(-v), "%#x", bits)
		if next := half(bits + 1); bits < 0x7bff {
			even := v
			if bits&1 == 1 {
				even = next
			}
			require.Equal(t, even, roundHalf((v+next)/2), "%#x", bits)
			require.Equal(t, next, roundHalf(v+0.6*(next-v)), "%#x", bits)
		}
	}
	assert.Equal(t, math.Inf(-1), roundHalf(-1e38))
	assert.Equal(t, -10000.0, roundHalf(-9999))
}

// TestTurn: a big-endian row gives the numbers of a little-endian one.
func TestTurn(t *testing.T) {
	for _, size := range []int{1, 2, 4, 8} {
		t.Run(fmt.Sprint(size), func(t *testing.T) {
			line := make([]byte, 3*size)
			for i := range line {
				line[i] = byte(i)
			}
			turn(line, size)
			for i := range line {
				assert.Equal(t, byte(i/size*size+size-1-i%size), line[i])
			}
		})
	}
}
