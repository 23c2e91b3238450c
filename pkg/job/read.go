package job

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sparclear/pkg/diag"
)

// Parse reads a job file. It is strict: an unknown key is a finding with its
// line and column and the nearest real key. The file is returned as far as it
// could be read.
func Parse(name string, src []byte) (*File, *Positions, diag.List) {
	var f File
	var l diag.List
	src = bytes.TrimPrefix(src, byteOrderMark)
	dec := toml.NewDecoder(bytes.NewReader(src))
	dec.DisallowUnknownFields()
	err := dec.Decode(&f)
	var strict *toml.StrictMissingError
	var bad *toml.DecodeError
	switch {
	case err == nil:
	case errors.As(err, &strict):
		for i := range strict.Errors {
			e := &strict.Errors[i]
			l.Add(unknownKey(name, e.Key(), e))
		}
		// Read again without strictness, so that what follows can name more.
		if err := toml.Unmarshal(src, &f); errors.As(err, &bad) {
			l.Add(badValue(name, bad))
		}
	case errors.As(err, &bad):
		l.Add(badValue(name, bad))
	default:
		l.Add(diag.Finding{Code: "job-broken", Severity: diag.Stop, Subject: name, Input: true,
			Message: oneLine(err.Error()), Help: "mend the file; it must be valid TOML"}.AtLine(name, 0, 0))
	}
	pos := positionsOf(src)
	if !stops(l) {
		l.Add(notFinite(name, pos, "", reflect.ValueOf(f))...)
	}
	return &f, pos, l
}

// byteOrderMark is what some editors write before UTF-8; it means nothing.
var byteOrderMark = []byte("\xef\xbb\xbf")

// notFinite finds numbers that are none: TOML knows nan and inf, a workshop does not.
func notFinite(name string, pos *Positions, key string, v reflect.Value) diag.List {
	under := func(part string) string { return strings.TrimPrefix(key+"."+part, ".") }
	var l diag.List
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			line, col := pos.Of(key)
			l.Add(diag.Finding{Code: "number-bad", Severity: diag.Stop, Subject: name, Input: true,
				Message: fmt.Sprintf("%s is %g, which is no number to cut by", key[strings.LastIndexByte(key, '.')+1:], x), Help: "give a number, or leave the key out"}.AtLine(name, line, col))
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			l = notFinite(name, pos, key, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			l.Add(notFinite(name, pos, under(v.Type().Field(i).Tag.Get("toml")), v.Field(i))...)
		}
	case reflect.Slice:
		for i := range v.Len() {
			l.Add(notFinite(name, pos, under(strconv.Itoa(i)), v.Index(i))...)
		}
	case reflect.Map:
		keys := v.MapKeys()
		slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
		for _, k := range keys {
			l.Add(notFinite(name, pos, under(k.String()), v.MapIndex(k))...)
		}
	}
	return l
}

func unknownKey(name string, key toml.Key, e *toml.DecodeError) diag.Finding {
	row, col := e.Position()
	word := key[len(key)-1]
	f := diag.Finding{Code: "key-unknown", Severity: diag.Stop, Subject: name, Input: true,
		Message: fmt.Sprintf("unknown key %q", strings.Join(key, ".")),
		Help:    diag.DidYouMean(word, keysAt(key[:len(key)-1]))}
	return f.AtLine(name, row, col)
}

func badValue(name string, e *toml.DecodeError) diag.Finding {
	row, col := e.Position()
	message, help := plainly(e)
	return diag.Finding{Code: "job-broken", Severity: diag.Stop, Subject: name, Input: true, Message: message, Help: help}.AtLine(name, row, col)
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// keysAt lists the keys that the table at the path may have.
func keysAt(path []string) []string {
	t := reflect.TypeFor[File]()
	for _, p := range path {
		for i := range t.NumField() {
			if t.Field(i).Tag.Get("toml") == p {
				t = t.Field(i).Type
				for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
					t = t.Elem()
				}
				break
			}
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
	}
	var keys []string
	for i := range t.NumField() {
		if k := t.Field(i).Tag.Get("toml"); k != "" {
			keys = append(keys, k)
		}
	}
	return keys
}

// Positions knows the line and column of every key of a job file. Keys are
// dotted, tables of arrays numbered from 0: "cut.1.layer".
type Positions struct{ at map[string][2]int }

// Of returns line and column of the key, or of the nearest table above it; 0, 0
// when nothing is known.
func (p *Positions) Of(key string) (line, col int) {
	if p == nil {
		return 0, 0
	}
	for {
		if at, ok := p.at[key]; ok {
			return at[0], at[1]
		}
		i := strings.LastIndexByte(key, '.')
		if i < 0 {
			return 0, 0
		}
		key = key[:i]
	}
}

// Has tells whether the key itself stands in the file.
func (p *Positions) Has(key string) bool {
	if p == nil {
		return false
	}
	_, ok := p.at[key]
	return ok
}

// positionsOf walks the expressions of a TOML text. A text that cannot be
// parsed gives the positions up to the fault.
func positionsOf(src []byte) *Positions {
	p := &Positions{at: map[string][2]int{}}
	count := map[string]int{}
	table := ""
	var parser unstable.Parser
	parser.Reset(src)
	for parser.NextExpression() {
		e := parser.Expression()
		var words []string
		var first unstable.Range
		for it := e.Key(); it.Next(); {
			if len(words) == 0 {
				first = it.Node().Raw
			}
			words = append(words, string(it.Node().Data))
		}
		key := strings.Join(words, ".")
		switch e.Kind {
		case unstable.ArrayTable:
			table = key + "." + strconv.Itoa(count[key])
			count[key]++
		case unstable.Table:
			table = key
		case unstable.KeyValue:
			if table != "" {
				key = table + "." + key
			}
		default:
			continue
		}
		if e.Kind != unstable.KeyValue {
			key = table
		}
		if first.Length > 0 {
			at := parser.Shape(first).Start
			p.at[key] = [2]int{at.Line, at.Column}
		}
	}
	return p
}
