package terrain

import (
	"bufio"
	"compress/zlib"
	"errors"
	"io"

	"github.com/klauspost/compress/zstd"
	"golang.org/x/image/tiff/lzw"
)

// unpacker gives the unpacked bytes of one block after the other.
type unpacker interface {
	io.Reader
	// Reset begins a block.
	Reset(*bufio.Reader) error
}

func newUnpacker(pack int64) unpacker {
	switch pack {
	case packLZW:
		return &unLZW{}
	case packZstd:
		return &unZstd{}
	case packBits:
		return &packBitsReader{}
	default:
		return &unDeflate{}
	}
}

// unDeflate unpacks deflate in a zlib wrapper (RFC 1950).
type unDeflate struct{ io.ReadCloser }

func (u *unDeflate) Reset(in *bufio.Reader) (err error) {
	if u.ReadCloser != nil {
		return u.ReadCloser.(zlib.Resetter).Reset(in, nil)
	}
	u.ReadCloser, err = zlib.NewReader(in)
	return err
}

// unLZW unpacks LZW (TIFF 6.0 section 13).
type unLZW struct{ io.ReadCloser }

func (u *unLZW) Reset(in *bufio.Reader) error {
	u.ReadCloser = lzw.NewReader(in, lzw.MSB, 8)
	return nil
}

// maxZstdWindow bounds the memory that a zstd frame may ask for [bytes]. Every
// decoder should take 8 MiB (RFC 8878, section 3.1.1.1.2); a large strip packed at
// a high level asks for more.
const maxZstdWindow = 32 << 20

// unZstd unpacks Zstandard (RFC 8878), which GDAL writes as scheme 50000.
type unZstd struct{ *zstd.Decoder }

func (u *unZstd) Reset(in *bufio.Reader) (err error) {
	if u.Decoder == nil {
		// One at a time, without goroutines of its own: nothing is left running
		// when a block is not read to its end.
		u.Decoder, err = zstd.NewReader(in, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true),
			zstd.WithDecoderMaxWindow(maxZstdWindow), zstd.WithDecoderMaxMemory(maxDecoded))
		return err
	}
	return u.Decoder.Reset(in)
}

// maxDecoded bounds what one zstd block may unpack to [bytes]; it is no memory
// that is taken, and more than any strip or tile holds.
const maxDecoded = 1 << 40

// packBitsReader unpacks PackBits (TIFF 6.0 section 9).
type packBitsReader struct {
	r       *bufio.Reader
	literal int // bytes still to copy
	repeat  int // times still to repeat one
	one     byte
}

func (p *packBitsReader) Reset(in *bufio.Reader) error {
	*p = packBitsReader{r: in}
	return nil
}

func (p *packBitsReader) Read(out []byte) (int, error) {
	if len(out) == 0 {
		return 0, nil
	}
	for p.literal == 0 && p.repeat == 0 {
		head, err := p.r.ReadByte()
		if err != nil {
			return 0, err
		}
		switch n := int(int8(head)); {
		case n >= 0:
			p.literal = n + 1
		case n != -128: // which means nothing
			p.repeat = 1 - n
			if p.one, err = p.r.ReadByte(); err != nil {
				return 0, errors.Join(io.ErrUnexpectedEOF, err)
			}
		}
	}
	if p.repeat > 0 {
		n := min(p.repeat, len(out))
		for i := range n {
			out[i] = p.one
		}
		p.repeat -= n
		return n, nil
	}
	n, err := p.r.Read(out[:min(p.literal, len(out))])
	p.literal -= n
	return n, err
}
