package job

import (
	"fmt"
	"strings"

	"sparclear/pkg/drawing"
	"sparclear/pkg/geom"
	"sparclear/pkg/keepout"
)

// LocatedDXF renders a resolved job as a drawing in program coordinates: every
// outline where it lies on the machine, arcs as arcs, for a look in a drawing
// program over what was measured there. Each thing has a layer of its own, named by
// its role and its name: "OPENING flap servo" (the kind of the cut), "MEMBER main
// spar", "CLAMP strap", "PART bulkhead"; STOCK is what there is to cut from, DATUMS
// the touched points. Outlines of cuts are the finished ones, fits included, never
// paths of a cutter. The error is that of drawing.Write.
func LocatedDXF(r *Result) ([]byte, error) {
	var l drawing.Layout
	w := r.Work
	names := layerNames{}
	put := func(role, name string, regions []geom.Region, chains []geom.Chain, points []geom.Point) {
		layer := names.next(role, name)
		for _, g := range regions {
			l.Add(layer, g)
		}
		for _, c := range chains {
			l.AddChain(layer, c)
		}
		for _, p := range points {
			l.AddPoint(layer, p)
		}
	}
	put("STOCK", "", w.Stock, nil, nil)
	for _, p := range w.Parts {
		put("PART", p.Name, []geom.Region{p.Region}, nil, nil)
	}
	for _, c := range w.Cuts {
		put(strings.ToUpper(string(c.Kind)), c.Name, c.Regions, c.Chains, c.Points)
	}
	for _, v := range w.Members {
		role := "MEMBER"
		if v.Kind == keepout.Flaw {
			role = "FLAW"
		}
		put(role, v.Name, v.Footprint, nil, nil)
	}
	for _, v := range w.Clamps {
		put("CLAMP", v.Name, v.Footprint, nil, nil)
	}
	var touched []geom.Point
	for _, d := range w.Datums {
		touched = append(touched, d.Touched)
	}
	put("DATUMS", "", nil, nil, touched)
	return dxfOf(l)
}

// layerNames counts the layers of a drawing by their names, in which letter case
// does not matter.
type layerNames map[string]int

// next is a name that no layer has yet.
func (n layerNames) next(role, name string) string {
	layer := strings.TrimSpace(role + " " + name)
	key := strings.ToUpper(layer)
	n[key]++
	if k := n[key]; k > 1 {
		return n.next(role, fmt.Sprintf("%s (%d)", name, k))
	}
	return layer
}
