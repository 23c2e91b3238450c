package drawing

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"io"
	"math"
)

// sentinel begins every binary DXF file (DXF reference, "Binary DXF Files").
var sentinel = []byte("AutoCAD Binary DXF\r\n\x1a\x00")

// binarySource reads the groups of a binary file. Codes take two bytes since
// R13; before, one byte, where 255 announces two more.
type binarySource struct {
	r    *bufio.Reader
	wide bool
	buf  []byte
}

// newBinarySource expects r just behind the sentinel. The first group is
// always "0 SECTION": a second zero byte before the S tells the width of codes.
func newBinarySource(r *bufio.Reader) *binarySource {
	head, _ := r.Peek(2)
	return &binarySource{r: r, wide: bytes.Equal(head, []byte{0, 0})}
}

func (s *binarySource) line() int   { return 0 }
func (s *binarySource) clean() bool { return true }

func (s *binarySource) next() (tag, error) {
	code, err := s.code()
	if err != nil {
		return tag{}, err
	}
	t, err := s.value(code)
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return t, err
}

func (s *binarySource) code() (int, error) {
	b, err := s.r.ReadByte()
	if err != nil {
		return 0, err
	}
	if !s.wide && b != 255 {
		return int(b), nil
	}
	lo := b
	if !s.wide {
		if lo, err = s.r.ReadByte(); err != nil {
			return 0, io.ErrUnexpectedEOF
		}
	}
	hi, err := s.r.ReadByte()
	if err != nil {
		return 0, io.ErrUnexpectedEOF
	}
	return int(int16(uint16(lo) | uint16(hi)<<8)), nil
}

// valueSize returns how the value of a code is stored: bytes of an integer, 9
// for a double, 0 for a NUL-ended string, -1 for a counted chunk, -2 for a code
// that does not exist (DXF reference, "Group Codes in Numerical Order"; the
// sizes of binary values follow the general-purpose readers).
func valueSize(code int) int {
	const double, text, chunk = 9, 0, -1
	switch {
	case code < 0:
		return -2
	case code <= 9:
		return text
	case code <= 59:
		return double
	case code <= 79:
		return 2
	case code >= 90 && code <= 99:
		return 4
	case code >= 100 && code <= 109:
		return text
	case code >= 110 && code <= 149:
		return double
	case code >= 160 && code <= 169:
		return 8
	case code >= 170 && code <= 179:
		return 2
	case code >= 210 && code <= 239:
		return double
	case code >= 270 && code <= 289:
		return 2
	case code >= 290 && code <= 299:
		return 1
	case code >= 300 && code <= 309:
		return text
	case code >= 310 && code <= 319:
		return chunk
	case code >= 320 && code <= 369:
		return text
	case code >= 370 && code <= 389:
		return 2
	case code >= 390 && code <= 399:
		return text
	case code >= 400 && code <= 409:
		return 2
	case code >= 410 && code <= 419:
		return text
	case code >= 420 && code <= 429:
		return 4
	case code >= 430 && code <= 439:
		return text
	case code >= 440 && code <= 459:
		return 4
	case code >= 460 && code <= 469:
		return double
	case code >= 470 && code <= 481:
		return text
	case code == 1004:
		return chunk
	case code >= 999 && code <= 1009:
		return text
	case code >= 1010 && code <= 1059:
		return double
	case code >= 1060 && code <= 1070:
		return 2
	case code == 1071:
		return 4
	}
	return -2
}

func (s *binarySource) value(code int) (tag, error) {
	t := tag{code: code, kind: asNumber}
	var b [8]byte
	switch size := valueSize(code); size {
	case -2:
		return t, errNotDXF
	case -1:
		n, err := s.r.ReadByte()
		if err != nil {
			return t, err
		}
		_, err = s.r.Discard(int(n))
		t.kind = asText
		return t, err
	case 0:
		return s.text(t)
	case 9:
		if _, err := io.ReadFull(s.r, b[:8]); err != nil {
			return t, err
		}
		t.num = math.Float64frombits(binary.LittleEndian.Uint64(b[:8]))
		return t, nil
	default:
		if _, err := io.ReadFull(s.r, b[:size]); err != nil {
			return t, err
		}
		switch size {
		case 1:
			t.num = float64(b[0])
		case 2:
			t.num = float64(int16(binary.LittleEndian.Uint16(b[:2])))
		case 4:
			t.num = float64(int32(binary.LittleEndian.Uint32(b[:4])))
		case 8:
			t.num = float64(int64(binary.LittleEndian.Uint64(b[:8])))
		}
		return t, nil
	}
}

func (s *binarySource) text(t tag) (tag, error) {
	t.kind = asText
	s.buf = s.buf[:0]
	for {
		part, err := s.r.ReadSlice(0)
		s.buf = append(s.buf, part...)
		if err == nil {
			t.text = s.buf[:len(s.buf)-1]
			return t, nil
		}
		if err != bufio.ErrBufferFull {
			return t, err
		}
		if len(s.buf) > longestLine {
			return t, errLongLine
		}
	}
}
