package rs274

import (
	"math"
)

// maxParameter is the highest parameter (NISTIR 6556, Table 2).
const maxParameter = 5399

// readReal reads an expression, a parameter or a function at p.
func (r *reader) readReal(p int) (float64, int, bool) {
	p = r.blanks(p)
	switch c := r.peek(p); {
	case c == '[':
		return r.readExpression(p)
	case c == '#':
		return r.readParameter(p)
	case c|0x20 >= 'a' && c|0x20 <= 'z':
		return r.readFunction(p)
	}
	return r.readNumber(p)
}

// readIndex reads the number of a parameter behind the # at p.
func (r *reader) readIndex(p int) (int, int, bool) {
	at := p
	if p-r.start > maxLine { // bounds the depth of ####…
		return 0, p, r.fail(ruleLineLong, p, "line is longer than %d characters", maxLine)
	}
	v, p, ok := r.readReal(p + 1)
	if !ok {
		return 0, p, false
	}
	n, ok := whole(v)
	if !ok || n < 1 || n > maxParameter {
		return 0, p, r.fail(ruleParameter, at, "there is no parameter #%s", trim(v))
	}
	return n, p, true
}

func (r *reader) readParameter(p int) (float64, int, bool) {
	at := p
	n, p, ok := r.readIndex(p)
	if !ok {
		return 0, p, false
	}
	if r.probed && n >= 5061 && n <= 5066 {
		return 0, p, r.fail(ruleProbeResult, at, "#%d holds what the probe found", n)
	}
	return r.parameter(n), p, true
}

// readSetting reads #n=value at p.
func (r *reader) readSetting(p int) (int, bool) {
	n, p, ok := r.readIndex(p)
	if !ok {
		return p, false
	}
	p = r.blanks(p)
	if r.peek(p) != '=' {
		return p, r.fail(ruleSetting, p, "= expected behind the parameter, found %s", r.shown(p))
	}
	v, p, ok := r.readReal(p + 1)
	if !ok {
		return p, false
	}
	r.b.sets = append(r.b.sets, setting{n, v})
	return p, true
}

// operator is a binary operation; its level is 3 for **, 2 for the products
// and 1 for the sums (3.3.2.3), 0 for the closing bracket.
type operator uint8

const (
	opClose operator = iota
	opPower
	opTimes
	opOver
	opMod
	opPlus
	opMinus
	opOr
	opXor
	opAnd
)

func (o operator) level() int {
	switch o {
	case opClose:
		return 0
	case opPower:
		return 3
	case opTimes, opOver, opMod:
		return 2
	}
	return 1
}

// readExpression reads [ … ] at p. Operators of one level go from left to right.
func (r *reader) readExpression(p int) (float64, int, bool) {
	if p-r.start > maxLine { // bounds the depth of [[[[…
		return 0, p, r.fail(ruleLineLong, p, "line is longer than %d characters", maxLine)
	}
	var vals [4]float64 // one for each level at most
	var ops [4]operator
	n := 0
	p++
	for {
		v, q, ok := r.readReal(p)
		if !ok {
			return 0, q, false
		}
		op, q, ok := r.readOperator(q)
		if !ok {
			return 0, q, false
		}
		for n > 0 && ops[n-1].level() >= op.level() {
			n--
			var good bool
			if v, good = apply(ops[n], vals[n], v); !good {
				return 0, q, r.fail(ruleValue, p, "the operation has no finite real value")
			}
		}
		if op == opClose {
			return v, q, true
		}
		vals[n], ops[n] = v, op
		n++
		p = q
	}
}

func (r *reader) readOperator(p int) (operator, int, bool) {
	p = r.blanks(p)
	switch r.peek(p) {
	case ']':
		return opClose, p + 1, true
	case '+':
		return opPlus, p + 1, true
	case '-':
		return opMinus, p + 1, true
	case '/':
		return opOver, p + 1, true
	case '*':
		if q := r.blanks(p + 1); r.peek(q) == '*' {
			return opPower, q + 1, true
		}
		return opTimes, p + 1, true
	}
	for _, w := range [...]struct {
		name string
		op   operator
	}{{"mod", opMod}, {"or", opOr}, {"xor", opXor}, {"and", opAnd}} {
		if q, ok := r.word(p, w.name); ok {
			return w.op, q, true
		}
	}
	return 0, p, r.fail(ruleExpression, p, "operator or ] expected, found %s", r.shown(p))
}

// word matches a name at p, in any case and with blanks between its letters.
func (r *reader) word(p int, name string) (int, bool) {
	for i := range len(name) {
		p = r.blanks(p)
		if r.peek(p)|0x20 != name[i] {
			return p, false
		}
		p++
	}
	return p, true
}

// apply carries out one operation; false when the result is not finite.
func apply(o operator, a, b float64) (float64, bool) {
	truth := func(t bool) float64 {
		if t {
			return 1
		}
		return 0
	}
	var v float64
	switch o {
	case opPower:
		v = math.Pow(a, b)
	case opTimes:
		v = a * b
	case opOver:
		v = a / b
	case opMod:
		if v = math.Mod(a, b); v < 0 {
			v += math.Abs(b)
		}
	case opPlus:
		v = a + b
	case opMinus:
		v = a - b
	case opOr:
		v = truth(a != 0 || b != 0)
	case opXor:
		v = truth((a != 0) != (b != 0))
	case opAnd:
		v = truth(a != 0 && b != 0)
	}
	return v, finite(v)
}

// finite tells whether none of the values is endless or no number.
func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// functions lists the names; a name that begins another stands after it.
var functions = [...]string{"abs", "acos", "asin", "atan", "cos", "exp", "fix", "fup", "ln", "round", "sin", "sqrt", "tan"}

// readFunction reads name[…] at p.
func (r *reader) readFunction(p int) (float64, int, bool) {
	for _, name := range functions {
		q, ok := r.word(p, name)
		if !ok {
			continue
		}
		if q = r.blanks(q); r.peek(q) != '[' {
			return 0, q, r.fail(ruleFunction, q, "[ expected behind %s, found %s", name, r.shown(q))
		}
		arg, q, ok := r.readExpression(q)
		if !ok {
			return 0, q, false
		}
		v := 0.0
		if name == "atan" {
			var x float64
			if x, q, ok = r.readDivisor(q); !ok {
				return 0, q, false
			}
			v = math.Atan2(arg, x) * 180 / math.Pi
		} else {
			v = evaluate(name, arg)
		}
		if !finite(v) {
			return 0, q, r.fail(ruleValue, p, "%s of %s is not a real number", name, trim(arg))
		}
		return v, q, true
	}
	return 0, p, r.fail(ruleFunction, p, "unknown function that begins with %c", r.peek(p)|0x20)
}

// readDivisor reads the /[x] of ATAN[y]/[x].
func (r *reader) readDivisor(p int) (float64, int, bool) {
	if p = r.blanks(p); r.peek(p) != '/' {
		return 0, p, r.fail(ruleFunction, p, "/ expected behind atan[…], found %s", r.shown(p))
	}
	if p = r.blanks(p + 1); r.peek(p) != '[' {
		return 0, p, r.fail(ruleFunction, p, "[ expected behind atan[…]/, found %s", r.shown(p))
	}
	return r.readExpression(p)
}

// evaluate returns the value of a function of one argument, angles in degrees;
// not finite when there is none.
func evaluate(name string, v float64) float64 {
	const deg = math.Pi / 180
	switch name {
	case "abs":
		return math.Abs(v)
	case "acos":
		return math.Acos(v) / deg
	case "asin":
		return math.Asin(v) / deg
	case "cos":
		return math.Cos(v * deg)
	case "exp":
		return math.Exp(v)
	case "fix":
		return math.Floor(v)
	case "fup":
		return math.Ceil(v)
	case "ln":
		return math.Log(v)
	case "round":
		return math.Round(v)
	case "sin":
		return math.Sin(v * deg)
	case "sqrt":
		return math.Sqrt(v)
	}
	return math.Tan(v * deg)
}
