package diag

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Text writes the list for people, one finding after the other, the most
// important last:
//
//	stop  panel.dxf: flap servo comes within 0.62 mm of main spar, 1.00 mm needed [keepout-near]
//	  at    drawing X118.42 Y36.08 mm, machine X231.07 Y94.40 mm, port-panel.nc:214
//	  help  move the opening 0.38 mm toward +Y
//
// Findings that are alike but for their place stand under one heading with a
// count. Three or more that differ in names and figures alone, as those of many
// copies of a part do, stand under the worst of them, the others by name; JSON has
// each. The error is that of w.
func Text(w io.Writer, l List) error {
	for _, g := range families(grouped(l.Sorted())) {
		if err := g.write(w); err != nil {
			return err
		}
	}
	return nil
}

// maxPlaces is how many places of alike findings are printed.
const maxPlaces = 5

// maxAlso is how many others of a family are named, and alike how many findings
// make one.
const (
	maxAlso = 8
	alike   = 3
)

type group struct {
	Finding
	count int
	also  []string // who else has such a finding
}

// grouped joins neighbours that say the same thing of different places.
func grouped(l List) []group {
	var out []group
	for _, f := range l {
		if n := len(out); n > 0 {
			g := &out[n-1]
			if g.Code == f.Code && g.Severity == f.Severity && g.Subject == f.Subject &&
				g.Message == f.Message && g.Cut == f.Cut && g.Member == f.Member && g.Accepted == f.Accepted {
				g.count++
				g.At = append(append([]Place(nil), g.At...), f.At...)
				continue
			}
		}
		out = append(out, group{Finding: f, count: 1})
	}
	return out
}

// families puts groups that differ in names and figures alone under the worst of
// them, at the place of the first.
func families(all []group) []group {
	of := map[string][]int{}
	for i, g := range all {
		of[g.pattern()] = append(of[g.pattern()], i)
	}
	var out []group
	for i, g := range all {
		kin := of[g.pattern()]
		switch {
		case len(kin) < alike:
			out = append(out, g)
		case kin[0] == i:
			worst := i
			for _, k := range kin {
				if all[k].excess() > all[worst].excess() {
					worst = k
				}
			}
			g = all[worst]
			for _, k := range kin {
				if who := all[k].whose(); k != worst && !slices.Contains(g.also, who) {
					g.also = append(g.also, who)
				}
			}
			out = append(out, g)
		}
	}
	return out
}

// pattern is what findings of a family share: all but names and figures.
func (g group) pattern() string {
	bare := func(s string) string {
		for _, name := range []string{g.Cut, g.Member, g.Subject} {
			if name != "" {
				s = strings.ReplaceAll(s, name, "\x00")
			}
		}
		return strings.Map(func(r rune) rune {
			if unicode.IsDigit(r) || r == '.' {
				return -1
			}
			return r
		}, s)
	}
	return fmt.Sprintf("%s %d %t %s|%s", g.Code, g.Severity, g.Accepted, bare(g.Message), bare(g.Help))
}

// excess is by how much the value is off its limit, 0 when it is not known.
func (g group) excess() float64 {
	if g.Value == nil || g.Limit == nil {
		return 0
	}
	return math.Abs(*g.Value - *g.Limit)
}

// whose names the finding among its kin by cut and member, or by its subject.
func (g group) whose() string {
	name := g.Cut
	if name == "" {
		name = g.Subject
	}
	if g.Member != "" {
		name = strings.TrimPrefix(name+" at "+g.Member, " at ")
	}
	return name
}

func (g group) write(w io.Writer) error {
	word := g.Severity.String()
	if g.Accepted {
		word = "accepted"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%-8s %s", word, g.Error())
	if g.count > 1 {
		fmt.Fprintf(&b, " (%d times)", g.count)
	}
	b.WriteByte('\n')
	for i, p := range g.At {
		if i == maxPlaces {
			fmt.Fprintf(&b, "         and %d more places\n", len(g.At)-maxPlaces)
			break
		}
		if s := p.String(); s != "" {
			label := "at"
			if i > 0 {
				label = ""
			}
			fmt.Fprintf(&b, "  %-6s %s\n", label, s)
		}
	}
	if g.Help != "" && !g.Accepted { // who accepted it has read the repair
		fmt.Fprintf(&b, "  %-6s %s\n", "help", g.Help)
	}
	if n := len(g.also); n > maxAlso {
		fmt.Fprintf(&b, "  %-6s %s and %d more\n", "also", strings.Join(g.also[:maxAlso], ", "), n-maxAlso)
	} else if n > 0 {
		fmt.Fprintf(&b, "  %-6s %s\n", "also", strings.Join(g.also, ", "))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// String returns the place on one line, "" when nothing is known.
func (p Place) String() string {
	var parts []string
	if p.Drawing != nil {
		parts = append(parts, fmt.Sprintf("drawing X%s Y%s mm", mm(p.Drawing[0]), mm(p.Drawing[1])))
	}
	if p.Layer != "" {
		parts = append(parts, "layer "+p.Layer)
	}
	if p.Handle != "" {
		parts = append(parts, "handle "+p.Handle)
	}
	if p.Machine != nil {
		s := fmt.Sprintf("machine X%s Y%s", mm(p.Machine[0]), mm(p.Machine[1]))
		if p.HasZ {
			s += " Z" + mm(p.Machine[2])
		}
		parts = append(parts, s+" mm")
	}
	if p.File != "" {
		s := p.File
		if p.Line > 0 {
			s += fmt.Sprintf(":%d", p.Line)
			if p.Col > 0 {
				s += fmt.Sprintf(":%d", p.Col)
			}
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, ", ")
}

// mm prints a length with two decimals and never -0.00.
func mm(v float64) string {
	s := fmt.Sprintf("%.2f", v)
	if s == "-0.00" {
		return "0.00"
	}
	return s
}
