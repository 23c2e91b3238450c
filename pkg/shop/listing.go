package shop

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Item is one value of a profile as it is shown and as it may be written back.
type Item struct {
	Key    string `json:"key"` // as in the profile file
	Value  string `json:"value"`
	Unit   string `json:"unit,omitempty"`
	Source string `json:"source"`
}

// Items lists every value of the machine in the order of the profile.
func (m Machine) Items() []Item { return items(m, machineFields(), m.Source) }

// Items lists every value of the cutter in the order of the profile.
func (c Cutter) Items() []Item { return items(c, cutterFields(), c.Source) }

// Items lists every value of the material, its rules apart, in the order of the
// profile.
func (m Material) Items() []Item { return items(m, materialFields(), m.Source) }

// Items lists every value of the row that it gives.
func (r Rule) Items() []Item {
	all := items(r, ruleFields(), nil)
	out := all[:0]
	for _, it := range all {
		if it.Key == "source" || it.Value == "" || it.Value == "0" || it.Value == "0 to 0" {
			continue
		}
		it.Source = r.Source
		out = append(out, it)
	}
	return out
}

func items[T any](t T, fields []field[T], source map[string]string) []Item {
	var out []Item
	for _, f := range fields {
		if f.get == nil {
			continue
		}
		out = append(out, Item{f.key, show(f.get(t)), f.unit, source[f.key]})
	}
	return out
}

// show writes a value in the fewest digits that are true to a millionth.
func show(v any) string {
	switch x := v.(type) {
	case float64:
		return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64)
	case [2]float64:
		return show(x[0]) + " to " + show(x[1])
	case [3]float64:
		return show(x[0]) + ", " + show(x[1]) + ", " + show(x[2])
	case []string:
		return strings.Join(x, ", ")
	case Holder:
		parts := make([]string, len(x))
		for i, c := range x {
			parts[i] = show(c.Diameter) + " × " + show(c.Length)
		}
		return strings.Join(parts, ", ")
	}
	return fmt.Sprint(v)
}
