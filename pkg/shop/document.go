package shop

import (
	"errors"
	"fmt"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"sparclear/pkg/diag"
)

// maxProfile is the longest profile file that is read, bytes.
const maxProfile = 1 << 20

// document is a TOML file with the place of each of its keys.
type document struct {
	file   string
	values map[string]any
	places map[string][2]int // path → line, column
}

// table is one table of a document, or a table that came without a file: then
// every place is the one given.
type table struct {
	values map[string]any
	doc    *document
	path   []string
	at     diag.Place
}

// readDocument reads TOML. The finding tells the line of the first fault.
func readDocument(file string, src []byte) (*document, diag.List) {
	if len(src) > maxProfile {
		return nil, diag.List{{Code: "profile-too-long", Severity: diag.Stop, Subject: file, Input: true,
			Message: fmt.Sprintf("profile file has %d bytes, at most %d are read", len(src), maxProfile),
			At:      []diag.Place{{File: file}}, Help: "split the file"}}
	}
	d := &document{file: file, values: map[string]any{}, places: map[string][2]int{}}
	if err := toml.Unmarshal(src, &d.values); err != nil {
		f := diag.Finding{Code: "profile-syntax", Severity: diag.Stop, Subject: file, Input: true,
			Message: "not valid TOML: " + oneLine(err.Error()), At: []diag.Place{{File: file}},
			Help: "correct the line named; the language is TOML 1.0"}
		var de *toml.DecodeError
		if errors.As(err, &de) {
			f.At[0].Line, f.At[0].Col = de.Position()
		}
		return nil, diag.List{f}
	}
	d.locate(src)
	return d, nil
}

func oneLine(s string) string {
	return strings.TrimPrefix(clipTo(strings.Join(strings.Fields(s), " "), 160), "toml: ")
}

func clipTo(s string, n int) string {
	r := []rune(s)
	if len(r) > n {
		return string(r[:n]) + "…"
	}
	return s
}

// maxDepth is how deep a key may lie for its place to be noted; profiles need six.
// Without a bound a long dotted key costs the square of its length.
const maxDepth = 10

// locate notes where each key of the document stands.
func (d *document) locate(src []byte) {
	starts := []int{0}
	for i, b := range src {
		if b == '\n' {
			starts = append(starts, i+1)
		}
	}
	var p unstable.Parser
	p.Reset(src)
	note := func(path []string, node *unstable.Node) {
		off := int(node.Raw.Offset)
		line := sort.SearchInts(starts, off+1)
		if _, known := d.places[pathKey(path)]; !known {
			d.places[pathKey(path)] = [2]int{line, off - starts[line-1] + 1}
		}
	}
	var prefix []string
	counts := map[string]int{}
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			prefix = nil
			for it := e.Key(); it.Next() && len(prefix) <= maxDepth; {
				prefix = append(prefix, string(it.Node().Data))
				note(prefix, it.Node())
				// A table below an array of tables belongs to its last element.
				if n := counts[pathKey(prefix)]; n > 0 && !it.IsLast() {
					prefix = append(prefix, strconv.Itoa(n-1))
				}
			}
			if e.Kind == unstable.ArrayTable {
				k := pathKey(prefix)
				prefix = append(prefix, strconv.Itoa(counts[k]))
				counts[k]++
				note(prefix, e.Child())
			}
		case unstable.KeyValue:
			locatePair(prefix, e, note)
		}
	}
}

// locatePair notes a key and, inside it, the keys of inline tables and of inline
// tables in arrays.
func locatePair(prefix []string, e *unstable.Node, note func([]string, *unstable.Node)) {
	path := append([]string(nil), prefix...)
	for it := e.Key(); it.Next() && len(path) <= maxDepth; {
		path = append(path, string(it.Node().Data))
		note(path, it.Node())
	}
	locateValue(path, e.Value(), note)
}

func locateValue(path []string, v *unstable.Node, note func([]string, *unstable.Node)) {
	if len(path) > maxDepth {
		return
	}
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			locatePair(path, it.Node(), note)
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); {
			locateValue(append(append([]string(nil), path...), strconv.Itoa(i)), it.Node(), note)
			i++
		}
	}
}

func pathKey(path []string) string { return strings.Join(path, "\x00") }

// place returns where the key path below the table stands; where that is not
// known, the place of the nearest table around it.
func (t table) place(path ...string) diag.Place {
	if t.doc == nil {
		return t.at
	}
	full := append(append([]string(nil), t.path...), path...)
	for n := len(full); n > 0; n-- {
		if at, ok := t.doc.places[pathKey(full[:n])]; ok {
			return diag.Place{File: t.doc.file, Line: at[0], Col: at[1]}
		}
	}
	return diag.Place{File: t.doc.file}
}

// sub returns the table under the key path, and whether it is a table.
func (t table) sub(v any, path ...string) (table, bool) {
	m, ok := v.(map[string]any)
	return table{values: m, doc: t.doc, at: t.at, path: append(append([]string(nil), t.path...), path...)}, ok
}

// sortedKeys returns the keys of m in order.
func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
