package rs274

import (
	"math"
	"strconv"
)

// maxLine is the longest line, characters (NISTIR 6556, 3.3).
const maxLine = 256

// block is one line, read but not yet carried out.
type block struct {
	words   uint32 // bit i: the letter 'A'+i is there (G and M apart)
	gset    uint16 // bit i: a G word of modal group i is there
	mset    uint16 // bit i: an M word of modal group i is there
	mcount  uint8
	skip    bool // begins with /
	comment bool
	any     bool // holds a word
	val     [26]float64
	pos     [26]int32 // offset in the text
	g       [16]int16 // ten times the G number, by modal group
	gpos    [16]int32
	m       [16]int16 // M number, by modal group
	mpos    [16]int32
	text    [2]int // the last comment
	sets    []setting
}

// setting is a parameter to be set once the line is read.
type setting struct {
	index int
	value float64
}

func bit(letter byte) uint32 { return 1 << (letter - 'A') }

func (b *block) has(letter byte) bool      { return b.words&bit(letter) != 0 }
func (b *block) value(letter byte) float64 { return b.val[letter-'A'] }
func (b *block) at(letter byte) int        { return int(b.pos[letter-'A']) }

// letterBits holds the letters that begin a word, G, M and N apart (Table 3).
const letterBits = 1<<0 | 1<<1 | 1<<2 | 1<<3 | 1<<5 | 1<<7 | 1<<8 | 1<<9 | 1<<10 | 1<<11 |
	1<<15 | 1<<16 | 1<<17 | 1<<18 | 1<<19 | 1<<23 | 1<<24 | 1<<25

// gGroups gives the modal group of a G word, plus one, by ten times its number
// (Table 4).
var gGroups = [1000]int8{
	0: 2, 10: 2, 20: 2, 30: 2, 382: 2, 800: 2, 810: 2, 820: 2, 830: 2, 840: 2, 850: 2, 860: 2, 870: 2, 880: 2, 890: 2,
	170: 3, 180: 3, 190: 3,
	900: 4, 910: 4,
	930: 6, 940: 6,
	200: 7, 210: 7,
	400: 8, 410: 8, 420: 8,
	430: 9, 490: 9,
	980: 11, 990: 11,
	540: 13, 550: 13, 560: 13, 570: 13, 580: 13, 590: 13, 591: 13, 592: 13, 593: 13,
	610: 14, 611: 14, 640: 14,
	40: 1, 100: 1, 280: 1, 300: 1, 530: 1, 920: 1, 921: 1, 922: 1, 923: 1,
}

// mGroups gives the modal group of an M word (Table 4), 0 for none.
var mGroups = [100]int8{0: 4, 1: 4, 2: 4, 30: 4, 60: 4, 6: 6, 3: 7, 4: 7, 5: 7, 7: 8, 8: 8, 9: 8, 48: 9, 49: 9}

// auxGroup is the group of M words that only the controller's profile names.
const auxGroup = 10

var powers = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12,
	1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// scan reads the line at r.pos into r.b and moves r.pos behind it. It returns
// false when the line breaks a rule, which has then been reported.
func (r *reader) scan() bool {
	b := &r.b
	b.words, b.gset, b.mset, b.mcount = 0, 0, 0, 0
	b.skip, b.comment, b.any = false, false, false
	b.sets = b.sets[:0]
	src := r.src
	p := r.start
	if p < len(src) && src[p] == '/' {
		b.skip = true
		p = r.blanks(p + 1)
	}
	first := true
	for p < len(src) {
		c := src[p]
		switch {
		case c == ' ' || c == '\t':
			p++
			continue
		case c == '\n' || c == '\r':
			return r.endLine(p)
		case c == '(':
			to, ok := r.readComment(p)
			if !ok {
				return r.abandon(p)
			}
			b.comment, b.text = true, [2]int{p + 1, to}
			p = to + 1
			first = false
			continue
		case c == '#':
			to, ok := r.readSetting(p)
			if !ok {
				return r.abandon(p)
			}
			p, first = to, false
			continue
		}
		i := (c | 0x20) - 'a'
		if i > 25 {
			r.fail(ruleCharacter, p, "character %q is not allowed here", c)
			return r.abandon(p)
		}
		if c|0x20 == 'n' {
			to, ok := r.readLineNumber(p, first)
			if !ok {
				return r.abandon(p)
			}
			p, first = to, false
			continue
		}
		first = false
		at := p
		if 1<<i&(letterBits|1<<6|1<<12) == 0 {
			r.fail(ruleLetter, p, "%q begins no word", c)
			return r.abandon(p)
		}
		v, to, ok := r.readValue(p + 1)
		if !ok {
			return r.abandon(p)
		}
		p = to
		b.any = true
		switch i {
		case 'g' - 'a':
			ok = r.addG(v, at)
		case 'm' - 'a':
			ok = r.addM(v, at)
		default:
			if b.words&(1<<i) != 0 {
				ok = r.fail(ruleWordTwice, at, "second %c word on the line", c&^0x20)
			}
			b.words |= 1 << i
			b.val[i] = v
			b.pos[i] = int32(at)
		}
		if !ok {
			return r.abandon(p)
		}
	}
	return r.endLine(p)
}

// endLine closes the line whose end lies at p.
func (r *reader) endLine(p int) bool {
	long := p-r.start > maxLine
	if long {
		r.fail(ruleLineLong, r.start+maxLine, "line is %d characters long, %d allowed", p-r.start, maxLine)
	}
	r.next(p)
	return !long
}

// abandon skips to the end of a line that cannot be read.
func (r *reader) abandon(p int) bool {
	for p < len(r.src) && r.src[p] != '\n' && r.src[p] != '\r' {
		p++
	}
	r.next(p)
	return false
}

// next puts pos behind the end of line at p: CR, LF or both.
func (r *reader) next(p int) {
	if p < len(r.src) && r.src[p] == '\r' {
		p++
		if p < len(r.src) && r.src[p] == '\n' {
			p++
		}
	} else if p < len(r.src) {
		p++
	}
	r.pos = p
}

// blanks returns the offset of the first character from p that is neither
// space nor tab.
func (r *reader) blanks(p int) int {
	for p < len(r.src) && (r.src[p] == ' ' || r.src[p] == '\t') {
		p++
	}
	return p
}

// peek returns the character at p, or a line feed behind the end.
func (r *reader) peek(p int) byte {
	if p < len(r.src) {
		return r.src[p]
	}
	return '\n'
}

func (r *reader) readComment(p int) (end int, ok bool) {
	for q := p + 1; q < len(r.src); q++ {
		switch c := r.src[q]; {
		case c == ')':
			return q, true
		case c == '(':
			return q, r.fail(ruleCommentNested, q, "comment within a comment")
		case c == '\n' || c == '\r':
			return q, r.fail(ruleCommentOpen, p, "comment is not closed")
		case c < ' ' && c != '\t' || c == 0x7f:
			return q, r.fail(ruleCommentCharacter, q, "control character %#02x in a comment", c)
		}
	}
	return p, r.fail(ruleCommentOpen, p, "comment is not closed")
}

func (r *reader) readLineNumber(p int, first bool) (int, bool) {
	if !first {
		return p, r.fail(ruleLineNumber, p, "line number is not first on its line")
	}
	digits := 0
	q := p + 1
	for ; q < len(r.src); q++ {
		c := r.src[q]
		if c == ' ' || c == '\t' {
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		digits++
	}
	if digits < 1 || digits > 5 {
		return p, r.fail(ruleLineNumber, p, "line number has %d digits", digits)
	}
	return q, true
}

func (r *reader) addG(v float64, at int) bool {
	b := &r.b
	t := math.Round(v * 10)
	if v < 0 || t > 999 || math.Abs(float64(v*10)-t) > 0.001 || gGroups[int(t)] == 0 {
		return r.fail(ruleGCode, at, "there is no G%s", trim(v))
	}
	g := gGroups[int(t)] - 1
	if b.gset&(1<<g) != 0 {
		return r.fail(ruleGroupTwice, at, "G%s and G%s are of one modal group", trim(float64(b.g[g])/10), trim(v))
	}
	b.gset |= 1 << g
	b.g[g] = int16(t)
	b.gpos[g] = int32(at)
	return true
}

func (r *reader) addM(v float64, at int) bool {
	b := &r.b
	n, ok := whole(v)
	if !ok || n < 0 || n > 999 {
		return r.fail(ruleMCode, at, "there is no M%s", trim(v))
	}
	g := int8(0)
	if n < len(mGroups) {
		g = mGroups[n]
	}
	if g == 0 && r.aux[n] {
		g = auxGroup
	}
	if g == 0 {
		return r.fail(ruleMCode, at, "there is no M%d", n)
	}
	if b.mset&(1<<g) != 0 {
		return r.fail(ruleGroupTwice, at, "M%d and M%d are of one modal group", b.m[g], n)
	}
	if b.mcount++; b.mcount > 4 {
		return r.fail(ruleManyM, at, "fifth M word on the line")
	}
	b.mset |= 1 << g
	b.m[g] = int16(n)
	b.mpos[g] = int32(at)
	return true
}

// readValue reads the real value that follows a letter at p.
func (r *reader) readValue(p int) (float64, int, bool) {
	src := r.src
	for p < len(src) && (src[p] == ' ' || src[p] == '\t') {
		p++
	}
	if p < len(src) {
		if c := src[p]; c == '[' || c == '#' || c|0x20 >= 'a' && c|0x20 <= 'z' {
			return r.readReal(p)
		}
	}
	return r.readNumber(p)
}

// readNumber reads a number: sign, digits and point, blanks anywhere.
func (r *reader) readNumber(p int) (float64, int, bool) {
	src := r.src
	at := p
	neg := false
	if p < len(src) && (src[p] == '-' || src[p] == '+') {
		neg = src[p] == '-'
		p++
	}
	var mant uint64
	digits, frac := 0, 0
	point := false
scan:
	for ; p < len(src); p++ {
		c := src[p]
		switch {
		case c-'0' <= 9:
			digits++
			if digits <= 19 {
				mant = mant*10 + uint64(c-'0')
			}
			if point {
				frac++
			}
		case c == '.' && !point:
			point = true
		case c == ' ' || c == '\t':
		default:
			break scan
		}
	}
	if digits == 0 {
		return 0, p, r.fail(ruleNumber, at, "number expected, found %s", r.shown(at))
	}
	var v float64
	if mant < 1<<53 && digits <= 19 && frac <= 22 {
		v = float64(mant) / powers[frac] // both exact, so rounded once
	} else if v = parseLong(src[at:p]); math.IsInf(v, 0) {
		return 0, p, r.fail(ruleRange, at, "number is too large")
	}
	if neg {
		v = -v
	}
	return v, p, true
}

// parseLong reads the absolute value of a number of many digits.
func parseLong(s []byte) float64 {
	clean := make([]byte, 0, len(s))
	for _, c := range s {
		if c >= '0' && c <= '9' || c == '.' {
			clean = append(clean, c)
		}
	}
	v, err := strconv.ParseFloat(string(clean), 64)
	if err != nil {
		return math.Inf(1)
	}
	return v
}

// shown names the character at p for a message.
func (r *reader) shown(p int) string {
	c := r.peek(p)
	if c == '\n' || c == '\r' {
		return "the end of the line"
	}
	return strconv.QuoteRune(rune(c))
}

// whole returns v as an integer when it is within 0.0001 of one (3.3.2.1).
func whole(v float64) (int, bool) {
	n := math.Round(v)
	if math.Abs(n) > 1e9 || math.Abs(v-n) > 0.0001 {
		return 0, false
	}
	return int(n), true
}

// trim prints a number without trailing noughts.
func trim(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
