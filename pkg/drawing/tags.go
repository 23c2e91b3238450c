package drawing

import (
	"bytes"
	"errors"
	"io"
)

// tag is one group of a DXF file: its code and its value. text holds the value
// as written and is good until the next tag is read; values of binary files
// that are numbers stand in num.
type tag struct {
	code int
	text []byte
	num  float64
	kind tagKind
}

type tagKind uint8

const (
	asText tagKind = iota // ASCII files, and strings of binary files
	asNumber
)

// tagSource gives the groups of a file one after the other.
type tagSource interface {
	// next returns the next group. io.EOF means that the file ends between two
	// groups, io.ErrUnexpectedEOF that it ends inside one.
	next() (tag, error)
	// line is the line on which the last group began, 0 for binary files.
	line() int
	// clean tells that the last group was ended by a line end, so that its value
	// cannot have been cut short.
	clean() bool
}

// errNotDXF says that what stands in a file is no group at all.
var errNotDXF = errors.New("a group code was expected")

// errLongLine says that a line is longer than any drawing needs.
var errLongLine = errors.New("line too long")

// longestLine bounds what one line may take, bytes. Embedded pictures come in
// short lines; the longest seen in real files is a text of some kilobytes.
const longestLine = 64 << 20

// asciiSource splits lines at LF, CRLF or CR, whatever comes, and pairs them.
type asciiSource struct {
	r          io.Reader
	buf        []byte
	pos, end   int
	err        error // of the reader, once it has given one
	lines      int   // lines read so far
	tagLine    int
	terminated bool
}

func newASCIISource(r io.Reader) *asciiSource {
	return &asciiSource{r: r, buf: make([]byte, 64<<10)}
}

func (s *asciiSource) line() int   { return s.tagLine }
func (s *asciiSource) clean() bool { return s.terminated }

// fill moves what is left to the front and reads more. It reports whether
// anything came.
func (s *asciiSource) fill() bool {
	if s.err != nil {
		return false
	}
	if s.pos > 0 {
		copy(s.buf, s.buf[s.pos:s.end])
		s.end -= s.pos
		s.pos = 0
	}
	if s.end == len(s.buf) {
		if len(s.buf) >= longestLine {
			s.err = errLongLine
			return false
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	for range 100 { // a reader that gives nothing for ever must not hang us
		n, err := s.r.Read(s.buf[s.end:])
		s.end += max(n, 0)
		if err != nil {
			s.err = err
		}
		if n > 0 {
			return true
		}
		if err != nil {
			return false
		}
	}
	s.err = io.ErrNoProgress
	return false
}

// readLine returns the next line without its end, good until the next call.
func (s *asciiSource) readLine() ([]byte, error) {
	scanned := 0
	for {
		b := s.buf[s.pos:s.end]
		for i := scanned; i < len(b); i++ {
			c := b[i]
			if c > '\r' || c != '\n' && c != '\r' {
				continue
			}
			next := i + 1
			if c == '\r' {
				if next == len(b) { // LF may follow in the next block
					if s.fill() {
						b = s.buf[s.pos:s.end]
					}
				}
				if next < len(b) && b[next] == '\n' {
					next++
				}
			}
			s.pos += next
			s.lines++
			s.terminated = true
			return b[:i], nil
		}
		scanned = len(b)
		if s.fill() {
			continue
		}
		if s.err != io.EOF {
			return nil, s.err
		}
		if s.pos == s.end {
			return nil, io.EOF
		}
		b = s.buf[s.pos:s.end]
		s.pos = s.end
		s.lines++
		s.terminated = false
		return b, nil
	}
}

// quick returns the next group when it lies whole in the buffer and is as plain
// as nearly all are: no white space but in front of the code, no comment, lines
// that end in LF or CRLF. Otherwise it changes nothing, and next reads slowly.
func (s *asciiSource) quick() (tag, bool) {
	b := s.buf[s.pos:s.end]
	i := 0
	for i < len(b) && b[i] == ' ' {
		i++
	}
	code, first := 0, i
	for i < len(b) && b[i]-'0' <= 9 {
		code = code*10 + int(b[i]-'0')
		i++
	}
	if i == first || i > first+4 || code == 999 {
		return tag{}, false
	}
	if i < len(b) && b[i] == '\r' {
		i++
	}
	if i >= len(b) || b[i] != '\n' {
		return tag{}, false
	}
	i++
	v := b[i:]
	for k, c := range v {
		if c > '\r' || c != '\n' && c != '\r' {
			continue
		}
		n := k + 1
		if c == '\r' {
			if n == len(v) || v[n] != '\n' {
				return tag{}, false
			}
			n++
		}
		s.pos += i + n
		s.tagLine = s.lines + 1
		s.lines += 2
		s.terminated = true
		return tag{code: code, text: v[:k]}, true
	}
	return tag{}, false
}

func (s *asciiSource) next() (tag, error) {
	for {
		b, err := s.readLine()
		if err != nil {
			return tag{}, err
		}
		s.tagLine = s.lines
		code, ok := parseCode(b)
		if !ok {
			if len(bytes.TrimSpace(b)) == 0 && s.onlyBlanksFollow() {
				return tag{}, io.EOF
			}
			return tag{}, errNotDXF
		}
		v, err := s.readLine()
		if err == io.EOF {
			return tag{}, io.ErrUnexpectedEOF
		}
		if err != nil {
			return tag{}, err
		}
		if code == 999 {
			continue
		}
		return tag{code: code, text: v}, nil
	}
}

// onlyBlanksFollow reads on and tells whether nothing but white space is left.
func (s *asciiSource) onlyBlanksFollow() bool {
	for {
		b, err := s.readLine()
		if err != nil {
			return err == io.EOF
		}
		if len(bytes.TrimSpace(b)) > 0 {
			return false
		}
	}
}

// parseCode reads a group code: an integer with blanks around it.
func parseCode(b []byte) (int, bool) {
	i := 0
	for i < len(b) && (b[i] == ' ' || b[i] == '\t') {
		i++
	}
	neg := false
	if i < len(b) && b[i] == '-' {
		neg = true
		i++
	}
	n, digits := 0, 0
	for i < len(b) && b[i]-'0' <= 9 && digits < 6 {
		n = n*10 + int(b[i]-'0')
		i++
		digits++
	}
	for i < len(b) && (b[i] == ' ' || b[i] == '\t') {
		i++
	}
	if digits == 0 || i < len(b) {
		return 0, false
	}
	if neg {
		n = -n
	}
	return n, true
}
