package drawing

import (
	"fmt"
	"io"
	"math"
	"strings"
	"sync"

	dxf "github.com/yofu/dxf/drawing"
	"github.com/yofu/dxf/insunit"
	"github.com/yofu/dxf/table"

	"sparclear/pkg/geom"
)

// Layout is what Write puts into a file: outlines, chains and points on named
// layers, mm. The zero value is empty.
type Layout struct {
	items []layoutItem
}

type layoutItem struct {
	layer   string
	contour geom.Contour
	chain   geom.Chain
	point   *geom.Point
}

// Add puts the contours of a region on a layer, which is made when it is new.
func (l *Layout) Add(layer string, g geom.Region) {
	for _, c := range g.Contours() {
		if len(c) > 0 {
			l.items = append(l.items, layoutItem{layer: layer, contour: c})
		}
	}
}

// AddChain puts an open chain on a layer.
func (l *Layout) AddChain(layer string, c geom.Chain) {
	if len(c) > 1 {
		l.items = append(l.items, layoutItem{layer: layer, chain: c})
	}
}

// AddPoint puts a drill position on a layer.
func (l *Layout) AddPoint(layer string, p geom.Point) {
	l.items = append(l.items, layoutItem{layer: layer, point: &p})
}

// writing guards the writer's package: it keeps the handles of its standard
// line types, styles and layer 0 in package variables, so that two drawings
// made side by side would change each other.
var writing sync.Mutex

// Write writes the layout as ASCII DXF 2000 in mm. Circles become CIRCLE, other
// contours closed LWPOLYLINE with their bulges, chains LWPOLYLINE, points POINT.
// Coordinates must be finite and layer names not empty. Letters outside ASCII in
// layer names are written as \U+XXXX, characters that a layer name may not hold
// as "_"; letter case does not make two layers. The same layout gives the same bytes. It is safe for concurrent use.
func Write(w io.Writer, l Layout) error {
	box := geom.EmptyBox()
	for _, it := range l.items {
		if err := it.check(); err != nil {
			return err
		}
		box = box.Union(it.bounds())
	}
	writing.Lock()
	defer writing.Unlock()
	d := dxf.New()
	h := d.Header()
	h.InsUnit = insunit.Millimeters
	if !box.Empty() { // the package's own extents are wrong for polylines
		h.ExtMin = []float64{box.Min.X, box.Min.Y, 0}
		h.ExtMax = []float64{box.Max.X, box.Max.Y, 0}
	}
	names := map[string]string{} // letter case does not make two layers
	for _, it := range l.items {
		key := layerName(foldName(it.layer))
		if names[key] == "" {
			names[key] = layerName(it.layer)
		}
		if err := it.put(d, names[key]); err != nil {
			return fmt.Errorf("write layer %q: %w", it.layer, err)
		}
	}
	if _, err := d.WriteTo(w); err != nil {
		return fmt.Errorf("write drawing: %w", err)
	}
	return nil
}

func (it layoutItem) vertices() []geom.Vertex {
	if it.point != nil {
		return []geom.Vertex{{Point: *it.point}}
	}
	if it.contour != nil {
		return it.contour
	}
	return it.chain
}

func (it layoutItem) bounds() geom.Box {
	switch {
	case it.point != nil:
		return geom.EmptyBox().Extend(*it.point)
	case it.contour != nil:
		return it.contour.Bounds()
	}
	return it.chain.Bounds()
}

// check refuses what would be written as no number, or as a file that no one reads.
func (it layoutItem) check() error {
	if strings.TrimSpace(it.layer) == "" {
		return fmt.Errorf("write drawing: a layer has no name")
	}
	for _, v := range it.vertices() {
		if !v.Finite() || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
			return fmt.Errorf("write drawing: a coordinate on layer %q is not finite", it.layer)
		}
	}
	return nil
}

func (it layoutItem) put(d *dxf.Drawing, name string) error {
	if _, err := d.Layer(name, true); err != nil {
		if _, err := d.AddLayer(name, 7, table.LT_CONTINUOUS, true); err != nil {
			return err
		}
	}
	if it.point != nil {
		_, err := d.Point(it.point.X, it.point.Y, 0)
		return err
	}
	if c := it.contour; len(c) == 2 && c[0].Bulge == c[1].Bulge && math.Abs(c[0].Bulge) == 1 {
		o := c[0].Lerp(c[1].Point, 0.5)
		_, err := d.Circle(o.X, o.Y, 0, c[0].Dist(c[1].Point)/2)
		return err
	}
	vs := it.vertices()
	coords := make([][]float64, len(vs)) // the package keeps what it is given
	for i, v := range vs {
		coords[i] = []float64{v.X, v.Y}
	}
	p, err := d.LwPolyline(it.contour != nil, coords...)
	if err != nil {
		return err
	}
	for i, v := range vs {
		if it.contour != nil || i < len(vs)-1 {
			p.Bulges[i] = v.Bulge
		}
	}
	return nil
}

// layerName spells a layer name as a DXF 2000 file holds it.
func layerName(s string) string {
	var b strings.Builder
	for _, r := range strings.TrimSpace(s) {
		switch {
		case r < ' ' || r == 0x7f, strings.ContainsRune("<>/\\\":;?*|,=`^", r):
			b.WriteByte('_')
		case r > 0xFFFF:
			b.WriteByte('_')
		case r > '~':
			fmt.Fprintf(&b, "\\U+%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
