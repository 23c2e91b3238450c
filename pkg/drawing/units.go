package drawing

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// unit is a unit of length that a drawing can be made in.
type unit struct {
	code int // $INSUNITS
	name string
	mm   float64
}

// units lists the units by their code (DXF reference, HEADER, $INSUNITS; codes
// 21 to 24 as the general-purpose readers know them). The US survey foot is
// 1200/3937 m. What is larger than a kilometre is no unit of a workpiece, but
// the file says it, so it is carried to the question about the size.
func units() []unit {
	const survey = 1200.0 / 3937 * 1000
	return []unit{
		{1, "inch", 25.4}, {2, "foot", 304.8}, {3, "mile", 1609344}, {4, "mm", 1}, {5, "cm", 10},
		{6, "m", 1000}, {7, "km", 1e6}, {8, "microinch", 25.4e-6}, {9, "mil", 0.0254},
		{10, "yard", 914.4}, {11, "angstrom", 1e-7}, {12, "nm", 1e-6}, {13, "micron", 1e-3},
		{14, "dm", 100}, {15, "dam", 1e4}, {16, "hm", 1e5}, {17, "Gm", 1e12},
		{18, "au", 1.495978707e14}, {19, "light year", 9.4607304725808e18}, {20, "parsec", 3.0856775814913673e19},
		{21, "survey foot", survey}, {22, "survey inch", survey / 12}, {23, "survey yard", survey * 3},
		{24, "survey mile", survey * 5280},
	}
}

// Units returns the names that Options.Units takes.
func Units() []string {
	var out []string
	for _, u := range units() {
		out = append(out, u.name)
	}
	sort.Strings(out)
	return out
}

// unitNamed finds a unit by its name or a usual other spelling.
func unitNamed(s string) (unit, bool) {
	s = strings.ToLower(strings.TrimSpace(s))
	switch s {
	case "in", "inches", `"`:
		s = "inch"
	case "millimetre", "millimeter", "millimetres", "millimeters":
		s = "mm"
	case "centimetre", "centimeter":
		s = "cm"
	case "metre", "meter", "metres", "meters":
		s = "m"
	case "ft", "feet":
		s = "foot"
	case "thou":
		s = "mil"
	case "um", "µm", "micrometre", "micrometer":
		s = "micron"
	}
	for _, u := range units() {
		if strings.ToLower(u.name) == s {
			return u, true
		}
	}
	return unit{}, false
}

func unitCoded(code int) (unit, bool) {
	for _, u := range units() {
		if u.code == code {
			return u, true
		}
	}
	return unit{}, false
}

// settleUnits decides the scale: the override, else the header, else 1 and
// unknown. $MEASUREMENT only picks hatch patterns and never overrides $INSUNITS.
func (b *builder) settleUnits(code, metric int) {
	d := b.d
	said, has := unitCoded(code)
	if has {
		d.Said = said.name
	}
	if b.o.Units != "" {
		if u, ok := unitNamed(b.o.Units); ok {
			d.Units, d.UnitsFrom, b.scale = u.name, "override", u.mm
			if has && said.name != u.name {
				b.found.Add(diag.Finding{Code: "units-overridden", Severity: diag.Confirm, Subject: b.name,
					Message: fmt.Sprintf("the drawing says %s and is read as %s", said.name, u.name),
					Help:    "accept the finding if the drawing is wrong; leave units away if it is right"})
			}
			d.Scale = b.scale
			return
		}
		b.found.Add(diag.Finding{Code: "units-unheard-of", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: fmt.Sprintf("no unit is called %q", safeKind(b.o.Units)),
			Help:    "use one of " + strings.Join(Units(), ", ")})
	}
	if !has {
		return
	}
	d.Units, d.UnitsFrom, b.scale = said.name, "header", said.mm
	d.Scale = b.scale
	inch := said.name == "inch" || said.name == "foot" || said.name == "mil"
	if metric == 1 && inch || metric == 0 && (said.name == "mm" || said.name == "cm" || said.name == "m") {
		system := map[int]string{0: "imperial", 1: "metric"}[metric]
		b.found.Add(diag.Finding{Code: "units-contradict", Severity: diag.Warn, Subject: b.name,
			Message: fmt.Sprintf("$INSUNITS says %s, $MEASUREMENT says %s; $INSUNITS is believed", said.name, system),
			Help:    "hold one measure of the picture against the part"})
	}
}

// questionSize asks about units: when they are unknown, or when the size is
// more than the limit or hardly more than a screw.
func (b *builder) questionSize() {
	d := b.d
	if d.Bounds.Empty() {
		return
	}
	s := d.Bounds.Size()
	w := math.Max(s.X, s.Y)
	if d.UnitsFrom == "" {
		b.found.Add(diag.Finding{Code: "units-unknown", Severity: diag.Stop, Input: true, Subject: b.name,
			Message: fmt.Sprintf("the drawing does not say its units: %s × %s units are %s × %s mm if drawn in mm, %s × %s mm if drawn in inches",
				short(s.X), short(s.Y), short(s.X), short(s.Y), short(s.X*25.4), short(s.Y*25.4)),
			Help: `measure the part and give units = "mm" or units = "inch"`})
		return
	}
	if d.UnitsFrom == "override" {
		return
	}
	if f, ok := d.SizeQuestion(b.o.Limit); ok {
		b.found.Add(f)
	} else if w > 0 && w < 5 {
		b.found.Add(sizeFinding(d, diag.Warn, "the drawing", d.Bounds, w, 5, "is hardly larger than a screw"))
	}
}

// SizeQuestion holds the drawing against a size that it must fit, mm: the
// sheet, the panel, the reach of the machine. It returns a finding that asks for
// the units when the drawing is larger.
func (d *Drawing) SizeQuestion(limit float64) (diag.Finding, bool) {
	return d.SizeQuestionOf("the drawing", d.Bounds, limit, "what it is to fit")
}

// SizeQuestionOf is SizeQuestion for what lies in box, by its name in the
// sentence, and for what it is to fit, such as "the largest sheet".
func (d *Drawing) SizeQuestionOf(what string, box geom.Box, limit float64, fit string) (diag.Finding, bool) {
	if box.Empty() {
		return diag.Finding{}, false
	}
	s := box.Size()
	w := math.Max(s.X, s.Y)
	if w <= limit {
		return diag.Finding{}, false
	}
	return sizeFinding(d, diag.Confirm, what, box, w, limit, "is larger than "+fit), true
}

// Bounds returns the smallest box that holds the outlines, chains and points.
func (c Content) Bounds() geom.Box {
	b := geom.EmptyBox()
	for _, o := range c.Outlines {
		b = b.Union(o.Region.Bounds())
	}
	for _, o := range c.Open {
		b = b.Union(o.Chain.Bounds())
	}
	for _, p := range c.Points {
		b = b.Extend(p.Point)
	}
	return b
}

func sizeFinding(d *Drawing, sev diag.Severity, what string, box geom.Box, w, limit float64, why string) diag.Finding {
	s := box.Size()
	u := d.Units
	if u == "" {
		u = "drawing units"
	}
	other, k := "mm", 1/d.Scale
	if d.Units == "mm" {
		other, k = "inches", 25.4
	}
	return diag.Finding{Code: "units-doubtful", Severity: sev, Subject: d.Name,
		Message: fmt.Sprintf("in %s %s is %s × %s mm, which %s; in %s it would be %s × %s mm",
			u, what, short(s.X), short(s.Y), why, other, short(s.X*k), short(s.Y*k)),
		Help: "give units = … to say which reading is right"}.With(w, limit, "mm")
}

// short prints a length with no more digits than a reader wants.
func short(x float64) string {
	s := fmt.Sprintf("%.3f", x)
	if math.Abs(x) >= 1000 {
		s = fmt.Sprintf("%.1f", x)
	}
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}
