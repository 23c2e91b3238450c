package drawing

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/korean"
	"golang.org/x/text/encoding/simplifiedchinese"
	"golang.org/x/text/encoding/traditionalchinese"
)

// codePage returns the encoding that $DWGCODEPAGE names, nil when the name says
// nothing. Old files write dos932 as well as ANSI_932.
func codePage(name string) encoding.Encoding {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, p := range []string{"ansi_", "ansi", "dos", "cp", "windows-"} {
		name = strings.TrimPrefix(name, p)
	}
	switch name {
	case "874":
		return charmap.Windows874
	case "932":
		return japanese.ShiftJIS
	case "936", "gb2312", "gbk":
		return simplifiedchinese.GBK
	case "949":
		return korean.EUCKR
	case "950", "big5":
		return traditionalchinese.Big5
	case "1250":
		return charmap.Windows1250
	case "1251":
		return charmap.Windows1251
	case "1252":
		return charmap.Windows1252
	case "1253":
		return charmap.Windows1253
	case "1254":
		return charmap.Windows1254
	case "1255":
		return charmap.Windows1255
	case "1256":
		return charmap.Windows1256
	case "1257":
		return charmap.Windows1257
	case "1258":
		return charmap.Windows1258
	case "437":
		return charmap.CodePage437
	case "850":
		return charmap.CodePage850
	case "852":
		return charmap.CodePage852
	case "855":
		return charmap.CodePage855
	case "860":
		return charmap.CodePage860
	case "863":
		return charmap.CodePage863
	case "865":
		return charmap.CodePage865
	case "866":
		return charmap.CodePage866
	}
	return nil
}

// textReader turns bytes of a file into text. Since 2007 (AC1021) files are
// UTF-8 whatever $DWGCODEPAGE says; before, the code page rules. A file that
// names none and holds valid UTF-8 is taken as such, else as Windows-1252.
type textReader struct {
	page    encoding.Encoding
	utf8All bool
}

func (t textReader) decode(b []byte) string {
	if isPlain(b) {
		return string(b)
	}
	return unescape(t.bytes(b))
}

func (t textReader) bytes(b []byte) string {
	switch {
	case t.utf8All, t.page == nil && utf8.Valid(b):
		return strings.ToValidUTF8(string(b), "\uFFFD")
	case t.page != nil:
		if s, err := t.page.NewDecoder().Bytes(b); err == nil {
			return string(s)
		}
	}
	s, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return strings.ToValidUTF8(string(b), "\uFFFD")
	}
	return string(s)
}

// isPlain tells that nothing in b needs decoding.
func isPlain(b []byte) bool {
	for _, c := range b {
		if c >= 0x80 || c == '\\' || c == '^' {
			return false
		}
	}
	return true
}

// unescape resolves \U+XXXX (four hexadecimal digits), \M+nXXXX (a two-byte
// character of code page n: 1 = 932, 2 = 950, 3 = 949, 4 = 1361, 5 = 936) and
// the caret form of control characters. What is no escape stays.
func unescape(s string) string {
	if !strings.ContainsAny(s, `\^`) {
		return s
	}
	var out strings.Builder
	for i := 0; i < len(s); {
		switch {
		case s[i] == '\\' && len(s) >= i+7 && (s[i+1] == 'U' || s[i+1] == 'u') && s[i+2] == '+':
			if v, err := strconv.ParseUint(s[i+3:i+7], 16, 32); err == nil {
				out.WriteRune(rune(v)) // a lone surrogate becomes U+FFFD
				i += 7
				continue
			}
		case s[i] == '\\' && len(s) >= i+8 && (s[i+1] == 'M' || s[i+1] == 'm') && s[i+2] == '+':
			if r, ok := multibyte(s[i+3], s[i+4:i+8]); ok {
				out.WriteString(r)
				i += 8
				continue
			}
		case s[i] == '^' && len(s) > i+1 && s[i+1] == ' ':
			out.WriteByte('^')
			i += 2
			continue
		case s[i] == '^' && len(s) > i+1 && s[i+1] >= 'A' && s[i+1] <= '_':
			out.WriteByte(' ') // a control character has no business in a name
			i += 2
			continue
		}
		out.WriteByte(s[i])
		i++
	}
	return out.String()
}

func multibyte(page byte, hex string) (string, bool) {
	names := map[byte]string{'1': "932", '2': "950", '3': "949", '5': "936"}
	enc := codePage(names[page])
	v, err := strconv.ParseUint(hex, 16, 16)
	if enc == nil || err != nil {
		return "", false
	}
	s, err := enc.NewDecoder().Bytes([]byte{byte(v >> 8), byte(v)})
	if err != nil || bytes.ContainsRune(s, utf8.RuneError) {
		return "", false
	}
	return string(s), true
}

// plainMText takes the formatting out of a multi-line text: \P is a new line,
// \~ a blank, \A1; and its like are settings, braces group.
func plainMText(s string) string {
	var out strings.Builder
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c == '{' || c == '}':
		case c == '\\' && i+1 < len(s):
			i++
			switch k := s[i]; k {
			case 'P', 'N', '~':
				out.WriteByte(' ')
			case '\\', '{', '}':
				out.WriteByte(k)
			case 'L', 'l', 'O', 'o', 'K', 'k':
			default:
				if end := strings.IndexByte(s[i:], ';'); end >= 0 {
					if k == 'S' {
						out.WriteString(s[i+1 : i+end])
					}
					i += end
				}
			}
		default:
			out.WriteByte(c)
		}
	}
	return out.String()
}
