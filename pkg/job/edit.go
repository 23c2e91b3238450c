package job

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// edit sets one key of one table of a job file. Values are TOML scalars; more than
// one make an array.
type edit struct {
	table  string // "skin", or "datum.1" for the second [[datum]]
	key    string
	values []string
}

// editJob returns the job text with some values replaced or added. All else stays
// as it is, comments and line ends included: only the scalars themselves are
// written over, and a key that is missing gets a line of its own under the head of
// its table. The error names what cannot be edited, such as an inline table.
func editJob(src []byte, edits []edit) ([]byte, error) {
	src = bytes.TrimPrefix(src, byteOrderMark)
	at := spansOf(src)
	type change struct {
		span
		text string
	}
	var changes []change
	for _, e := range edits {
		key := e.table + "." + e.key
		old, there := at.values[key]
		switch {
		case there && len(old) == len(e.values):
			for i, o := range old {
				changes = append(changes, change{o, e.values[i]})
			}
		case there && len(old) == 0 && at.empty[key] != (span{}):
			changes = append(changes, change{at.empty[key], literal(e.values)})
		case there:
			return nil, fmt.Errorf("%s does not hold %d plain values", key, len(e.values))
		default:
			end, ok := at.heads[e.table]
			if !ok {
				return nil, fmt.Errorf("there is no table %s of its own", e.table)
			}
			mark := "\n"
			if end > 0 && src[end-1] == '\r' {
				mark, end = "\r\n", end-1
			}
			changes = append(changes, change{span{end, end}, mark + e.key + " = " + literal(e.values)})
		}
	}
	slices.SortStableFunc(changes, func(a, b change) int { return a.from - b.from })
	var out bytes.Buffer
	done := 0
	for _, c := range changes {
		if c.from < done {
			return nil, fmt.Errorf("two values for one place")
		}
		out.Write(src[done:c.from])
		out.WriteString(c.text)
		done = c.to
	}
	out.Write(src[done:])
	return out.Bytes(), nil
}

func literal(values []string) string {
	if len(values) == 1 {
		return values[0]
	}
	return "[" + strings.Join(values, ", ") + "]"
}

// span is a part of a text, from ≤ i < to.
type span struct{ from, to int }

// spans are the places in a job text that can be edited.
type spans struct {
	heads  map[string]int    // table → end of the line of its head
	values map[string][]span // table.key → its scalar, or those of its array
	empty  map[string]span   // table.key → an array without values
}

// spansOf walks the expressions of a TOML text as positionsOf does.
func spansOf(src []byte) spans {
	s := spans{heads: map[string]int{}, values: map[string][]span{}, empty: map[string]span{}}
	count := map[string]int{}
	table := ""
	var parser unstable.Parser
	parser.Reset(src)
	for parser.NextExpression() {
		e := parser.Expression()
		var words []string
		from := 0
		for it := e.Key(); it.Next(); {
			words = append(words, string(it.Node().Data))
			from = int(it.Node().Raw.Offset)
		}
		key := strings.Join(words, ".")
		switch e.Kind {
		case unstable.ArrayTable:
			table = key + "." + strconv.Itoa(count[key])
			count[key]++
			s.heads[table] = lineEnd(src, from)
		case unstable.Table:
			table = key
			s.heads[table] = lineEnd(src, from)
		case unstable.KeyValue:
			s.value(src, table+"."+key, e.Value(), from)
		}
	}
	return s
}

func (s spans) value(src []byte, key string, v *unstable.Node, from int) {
	of := func(n *unstable.Node) span {
		return span{int(n.Raw.Offset), int(n.Raw.Offset + n.Raw.Length)}
	}
	if v.Kind != unstable.Array {
		s.values[key] = []span{of(v)}
		return
	}
	list := []span{}
	for it := v.Children(); it.Next(); {
		if k := it.Node().Kind; k != unstable.Comment {
			list = append(list, of(it.Node()))
		}
	}
	s.values[key] = list
	if open := bytes.IndexByte(src[from:], '['); len(list) == 0 && open >= 0 {
		if end := bytes.IndexByte(src[from+open:], ']'); end >= 0 {
			s.empty[key] = span{from + open, from + open + end + 1}
		}
	}
}

func lineEnd(src []byte, from int) int {
	if i := bytes.IndexByte(src[from:], '\n'); i >= 0 {
		return from + i
	}
	return len(src)
}
