package picture

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"io"
	"regexp"
	"strconv"
)

var (
	creationDate = regexp.MustCompile(`D:\d{14}(Z|[+-]\d{4})`)
	streamHead   = regexp.MustCompile(`/Length (\d+)>>stream\n`)
	objectHead   = regexp.MustCompile(`(?m)^(\d+) 0 obj\n`)
)

// timeless returns a PDF of one page without what the clock put into it, so that
// the same picture gives the same bytes: the date of its making, and the same date
// within each TrueType font. Fonts lie packed in streams; their length changes, so
// the table of offsets at the end is written anew.
func timeless(pdf []byte) ([]byte, error) {
	var out bytes.Buffer
	rest := pdf
	for {
		h := streamHead.FindSubmatchIndex(rest)
		if h == nil {
			break
		}
		n, err := strconv.Atoi(string(rest[h[2]:h[3]]))
		if err != nil || h[1]+n > len(rest) {
			return nil, fmt.Errorf("render PDF: a stream ends after the file")
		}
		packed := rest[h[1] : h[1]+n]
		if font, ok := undated(packed); ok {
			packed = font
		}
		out.Write(rest[:h[2]])
		fmt.Fprintf(&out, "%d>>stream\n", len(packed))
		out.Write(packed)
		rest = rest[h[1]+n:]
	}
	tail := bytes.LastIndex(rest, []byte("xref\n0 "))
	trailer := bytes.LastIndex(rest, []byte("trailer\n"))
	start := bytes.LastIndex(rest, []byte("startxref\n"))
	if tail < 0 || trailer < tail || start < trailer {
		return nil, fmt.Errorf("render PDF: no table of offsets")
	}
	out.Write(rest[:tail])
	body := creationDate.ReplaceAll(out.Bytes(), []byte("D:20000101000000Z"))
	return append(append(body, offsets(body)...), append(rest[trailer:start:start], fmt.Sprintf("startxref\n%d\n%%%%EOF\n", len(body))...)...), nil
}

// offsets writes the table of the places of objects 1, 2, … in a PDF.
func offsets(body []byte) []byte {
	places := map[int]int{}
	for _, m := range objectHead.FindAllSubmatchIndex(body, -1) {
		if n, err := strconv.Atoi(string(body[m[2]:m[3]])); err == nil {
			places[n] = m[0]
		}
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(places)+1)
	for n := 1; n <= len(places); n++ {
		fmt.Fprintf(&b, "%010d 00000 n \n", places[n])
	}
	return b.Bytes()
}

// undated unpacks a stream that holds a TrueType font, sets the time of its making
// to 0 and its checksums to match, and packs it again; false for other streams.
// (Layout: ISO/IEC 14496-22, "organization of an OpenType font" and "head".)
func undated(packed []byte) ([]byte, bool) {
	z, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, false
	}
	font, err := io.ReadAll(z)
	if err != nil || !bytes.HasPrefix(font, []byte{0, 1, 0, 0}) || len(font) < 12 {
		return nil, false
	}
	found := false
	for i := range int(binary.BigEndian.Uint16(font[4:])) {
		r := 12 + 16*i // records of tag, checksum, offset and length
		if r+16 > len(font) {
			break
		}
		off, size := int(binary.BigEndian.Uint32(font[r+8:])), int(binary.BigEndian.Uint32(font[r+12:]))
		if string(font[r:r+4]) != "head" || size < 36 || off+size > len(font) {
			continue
		}
		head := font[off : off+size]
		clear(head[28:36]) // modified
		clear(head[8:12])  // checksum of the whole font
		binary.BigEndian.PutUint32(font[r+4:], sum32(head))
		binary.BigEndian.PutUint32(head[8:], 0xB1B0AFBA-sum32(font))
		found = true
	}
	var b bytes.Buffer
	w := zlib.NewWriter(&b)
	if _, err := w.Write(font); err != nil || w.Close() != nil {
		return nil, false
	}
	return b.Bytes(), found
}

// sum32 adds big-endian words, the last filled up with 0.
func sum32(b []byte) (s uint32) {
	for len(b) >= 4 {
		s += binary.BigEndian.Uint32(b)
		b = b[4:]
	}
	var rest [4]byte
	copy(rest[:], b)
	return s + binary.BigEndian.Uint32(rest[:])
}
