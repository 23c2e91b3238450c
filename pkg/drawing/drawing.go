// Package drawing reads outlines from DXF and SVG files and writes layouts as
// DXF. What comes in is a stream and a name for messages; what goes out is a
// Drawing in mm: closed outlines with their holes nested, open chains, drill
// points and labels, each with its layer and handle, and a list of findings
// that names everything that was skipped, healed, joined or doubtful. It never
// guesses units, never closes a gap wider than the tolerance, and never drops
// an entity without saying so.
//
//	d, found := drawing.Read(f, "panel.dxf", drawing.Options{})
//	servo, more := d.Layer("SERVO")
package drawing

import (
	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// Options tell how a drawing is to be read. The zero value reads what the file
// says, with the default tolerances.
type Options struct {
	// Units overrides what the file says: "mm", "cm", "m", "inch" (or "in"),
	// "foot", "mil" and the other names of Units. "" takes the file's word.
	Units string
	// JoinTol is the widest gap between two ends that is closed, mm; 0 = 0.01.
	JoinTol float64
	// CurveTol is how far the arcs that stand for an ellipse or a spline may
	// lie from it, mm; 0 = 0.002.
	CurveTol float64
	// Limit is the size that no sensible drawing exceeds, mm (the sheet, the
	// panel, the machine); 0 = 4000. A larger drawing is suspected of wrong units.
	Limit float64
	// Hidden includes layers that are off, frozen or not plotted, and invisible
	// entities.
	Hidden bool
	// Paper includes what lies in paper space.
	Paper bool
	// Hatches includes the boundaries of hatches.
	Hatches bool
	// WideOutlines reads a polyline with width as the outline of the drawn band;
	// otherwise its centre line counts and a finding says so.
	WideOutlines bool
	// Layers limits reading to these layers (letter case does not matter); empty = all.
	Layers []string
}

// Default tolerances, mm.
const (
	// DefaultJoinTol closes nearly all gaps met in real drawings; 1e-6 leaves
	// many outlines open.
	DefaultJoinTol = 0.01
	// DefaultCurveTol is well under what a router can show.
	DefaultCurveTol = 0.002
	// DefaultLimit is the largest size taken without a question.
	DefaultLimit = 4000.0
)

func (o Options) withDefaults() Options {
	if !(o.JoinTol > 0) {
		o.JoinTol = DefaultJoinTol
	}
	if !(o.CurveTol > 0) {
		o.CurveTol = DefaultCurveTol
	}
	o.CurveTol = max(o.CurveTol, 1e-6)
	if !(o.Limit > 0) {
		o.Limit = DefaultLimit
	}
	return o
}

// Drawing is what was read, in mm when the units are known and in drawing units
// otherwise.
type Drawing struct {
	Name      string    // for messages, mostly the file name
	Format    string    // "DXF", "binary DXF" or "SVG"
	Version   string    // $ACADVER, "" when the file does not say
	Release   string    // "R12", "2000" …, "" when unknown
	Units     string    // "mm", "inch" …; "" unknown
	UnitsFrom string    // "header", "override" or ""
	Said      string    // units that the file itself states, "" when it does not
	Scale     float64   // drawing unit → mm; 1 when unknown
	Layers    []Layer   // by name
	Outlines  []Outline // closed, nested; by layer, then size
	Open      []OpenChain
	Points    []DrawnPoint
	Labels    []Label
	Bounds    geom.Box // of outlines, open chains and points
	Length    float64  // of all outlines and open chains, mm
	Entities  []Count  // what the file holds in model space, by type
	Skipped   []Count  // what was not read, by type
	Join      JoinReport
	Curves    CurveReport
	found     diag.List
}

// Layer is one layer of the drawing and its state.
type Layer struct {
	Name     string
	Colour   int // colour number 1-255, 7 when not said
	Off      bool
	Frozen   bool
	NoPlot   bool
	Locked   bool
	Used     bool // geometry lies on it
	Outlines int  // closed outlines that are read
	Open     int  // open chains that are read
	Points   int  // points that are read
	Hidden   int  // entities not read because of the layer's or their own state
	Kinds    []Count
}

// Visible tells whether what lies on the layer is cut when nobody asks for more.
func (l Layer) Visible() bool { return !l.Off && !l.Frozen && !l.NoPlot }

// Outline is a closed outline with its holes.
type Outline struct {
	Layer  string
	Handle string // of the first entity, as the file spells it; "" when it has none
	Line   int    // line of that entity in the file, from 1; 0 for binary files
	Region geom.Region
	// Crosses tells that a contour crosses itself or another one of its layer; a
	// finding gives the place.
	Crosses bool
}

// OpenChain is a chain of lines and arcs that does not close.
type OpenChain struct {
	Layer  string
	Handle string
	Line   int
	Chain  geom.Chain
	Gap    float64 // distance between its two ends, mm
	// Branched tells that one of its ends meets two or more others, so that
	// nobody can say how the outline goes on.
	Branched bool
}

// DrawnPoint is a POINT entity: a place to drill.
type DrawnPoint struct {
	Layer  string
	Handle string
	Point  geom.Point
}

// Label is a text of the drawing.
type Label struct {
	Layer  string
	Handle string
	Point  geom.Point
	Height float64 // mm
	Turn   float64 // rad
	Text   string
}

// Count is how many there are of a kind.
type Count struct {
	Name string `json:"name"`
	N    int    `json:"count"`
}

// CurveReport says what ellipses and splines became.
type CurveReport struct {
	Curves int     // ellipses and splines, and arcs of blocks that are scaled unequally
	Arcs   int     // arcs and lines that stand for them
	Lines  int     // lines that a polyline as near to them would take
	Tol    float64 // how far the arcs may lie from the curves, mm
}

// Gap is a place where two ends that did not quite meet were joined.
type Gap struct {
	Width float64 // mm
	At    geom.Point
}

// JoinReport says what joining loose ends did.
type JoinReport struct {
	Pieces     int     // lines and arcs that were joined or stood alone
	Drawn      float64 // length of all of them together, drawn twice or not, mm
	Gaps       int     // gaps wider than 1e-6 mm that were closed
	WidestGap  float64 // mm
	WidestAt   geom.Point
	Widest     []Gap // the widest first, at most 20 of them
	Duplicates int   // pieces drawn a second time and removed
	Overlaps   int   // pieces that lay on another and were removed or trimmed
	Zero       int   // pieces without length
	Tiny       int   // pieces shorter than the tolerance
	Branches   int   // places where three or more ends meet
	Crossings  int   // places where outlines cross themselves or each other
}

// Content is what lies on one layer.
type Content struct {
	Layer    Layer
	Outlines []Outline
	Open     []OpenChain
	Points   []DrawnPoint
	Labels   []Label
	// Findings holds what was found about this layer, as severe as it is for
	// one who wants to cut what lies there.
	Findings diag.List
}

// Regions returns the regions of the outlines.
func (c Content) Regions() []geom.Region {
	out := make([]geom.Region, len(c.Outlines))
	for i := range c.Outlines {
		out[i] = c.Outlines[i].Region
	}
	return out
}

// Chains returns the open chains.
func (c Content) Chains() []geom.Chain {
	out := make([]geom.Chain, len(c.Open))
	for i := range c.Open {
		out[i] = c.Open[i].Chain
	}
	return out
}
