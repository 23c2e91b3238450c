package drawing

import (
	"fmt"

	"sparclear/pkg/diag"
)

// Layer returns what lies on a layer; letter case does not matter. The finding
// is nil when the layer can be used. It is a Stop when the layer is not there
// (layer-missing, with the nearest name), when it is empty, or when its outlines
// cannot be trusted: crossings, branches, entities that could not be read; all
// such findings stand in Content.Findings.
func (d *Drawing) Layer(name string) (Content, *diag.Finding) {
	var c Content
	key := foldName(name)
	at := -1
	names := make([]string, len(d.Layers))
	for i, l := range d.Layers {
		names[i] = l.Name
		if foldName(l.Name) == key {
			at = i
		}
	}
	if at < 0 {
		f := diag.Finding{Code: "layer-missing", Severity: diag.Stop, Input: true, Subject: d.Name,
			Message: fmt.Sprintf("the drawing has no layer %q", oneLine(name))}
		if near := diag.Nearest(name, names); near != "" {
			f.Help = fmt.Sprintf("did you mean %q?", near)
		} else if len(names) > 0 {
			f.Help = "its layers are " + listed(names)
		}
		c.Findings = diag.List{f}
		return c, &f
	}
	c.Layer = d.Layers[at]
	name = c.Layer.Name
	for _, o := range d.Outlines {
		if o.Layer == name {
			c.Outlines = append(c.Outlines, o)
		}
	}
	for _, o := range d.Open {
		if o.Layer == name {
			c.Open = append(c.Open, o)
		}
	}
	for _, p := range d.Points {
		if p.Layer == name {
			c.Points = append(c.Points, p)
		}
	}
	for _, l := range d.Labels {
		if l.Layer == name {
			c.Labels = append(c.Labels, l)
		}
	}
	var out diag.List
	for _, f := range d.found {
		if len(f.At) == 0 || f.At[0].Layer != name {
			continue
		}
		switch f.Code {
		case "contour-crosses", "outline-branches", "entity-unread", "entity-broken",
			"entity-not-flat", "block-missing", "block-external", "coordinate-absurd":
			f.Severity, f.Input = diag.Stop, true
		}
		out.Add(f)
	}
	if len(c.Outlines)+len(c.Open)+len(c.Points) == 0 {
		f := diag.Finding{Code: "layer-empty", Severity: diag.Stop, Input: true, Subject: d.Name,
			Message: fmt.Sprintf("layer %s holds no outline, no line and no point", name),
			At:      []diag.Place{{Layer: name}}}
		if c.Layer.Hidden > 0 {
			f.Message = fmt.Sprintf("all that lies on layer %s is hidden", name)
			f.Help = "turn the layer on in the drawing, or ask for hidden layers"
		}
		out.Add(f)
	}
	c.Findings = out
	for i := range out {
		if out[i].Severity == diag.Stop {
			return c, &out[i]
		}
	}
	return c, nil
}

// NeedClosed returns a Stop for every chain of the layer that is open: what is
// cut out along its edge must close.
func (c Content) NeedClosed() diag.List {
	var out diag.List
	for _, o := range c.Open {
		a, e := o.Chain[0], o.Chain[len(o.Chain)-1]
		f := diag.Finding{Code: "outline-open", Severity: diag.Stop, Input: true,
			Message: fmt.Sprintf("outline on layer %s is open: its ends are %s mm apart", o.Layer, short(o.Gap)),
			At: []diag.Place{
				{Layer: o.Layer, Handle: o.Handle, Drawing: &[2]float64{a.X, a.Y}},
				{Layer: o.Layer, Drawing: &[2]float64{e.X, e.Y}},
			},
			Help: "close the outline in the drawing, or move the line to another layer"}
		out.Add(f.With(o.Gap, 0, "mm"))
	}
	return out
}

// listed joins names for a sentence, the first dozen of them.
func listed(names []string) string {
	s := ""
	for i, n := range names {
		if i == 12 {
			return s + " …"
		}
		if i > 0 {
			s += ", "
		}
		s += n
	}
	return s
}
