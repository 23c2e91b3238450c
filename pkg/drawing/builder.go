package drawing

import (
	"sort"
	"strings"

	"sparclear/pkg/diag"
	"sparclear/pkg/geom"
)

// curve is one drawn thing: a line, an arc, a polyline, or what a spline became.
// Its pieces stand one after the other in builder.pieces.
type curve struct {
	handle uint64
	line   int32
	layer  int32
	first  int32
	n      int32
	closed bool
}

// builder gathers what the parser finds. Coordinates stay in drawing units
// until finish, when the units are known.
type builder struct {
	name  string
	o     Options
	d     *Drawing
	text  textReader
	found diag.List
	cut   string // kind of the entity inside which the file ended

	layers    []*layerState
	layerByID map[string]int32
	layerRaw  map[string]int32 // as the bytes of the file spell it
	lastLayer struct {         // most entities lie on the layer of the one before
		raw string
		id  int32
	}
	layerZero int32
	wanted    map[string]bool

	pieces growing[geom.Seg]
	curves growing[curve]
	points []pointAt
	labels []labelAt
	later  growing[shape] // curves and inserts, for when units and blocks are known

	kinds   map[string]*int
	skipped map[string]*int
	tally   tally
	notes   map[noteKey]*note
	untold  bool // there were more

	blocks  map[string]*block
	inBlock *block
	hiding  bool       // the block that is put lies under a frozen layer
	heavy   heavy      // POLYLINE that is being read
	normal  [3]float64 // extrusion of the entity that is being decoded

	openTold, openUntold int // open chains told one by one, and not

	scale  float64  // drawing unit → mm
	extent geom.Box // of the outlines
	budget int      // pieces that inserts may still make
	most   greedy   // what took most of it
}

type layerState struct {
	Layer
	defined bool
	want    bool
	kinds   []Count // few
}

// count adds one of a kind. Few kinds lie on one layer; the rest of a hostile
// file is not told apart.
func (l *layerState) count(kind string) {
	for i := range l.kinds {
		if l.kinds[i].Name == kind {
			l.kinds[i].N++
			return
		}
	}
	if len(l.kinds) < 64 {
		l.kinds = append(l.kinds, Count{kind, 1})
	}
}

// tallied counts one of a kind of the whole drawing. A hostile file may make up
// names without end: those beyond any real drawing are counted under one name.
func tallied(m map[string]*int, kind string) {
	n := m[kind]
	if n == nil {
		if len(m) >= 500 {
			kind = "other kinds"
		}
		if n = m[kind]; n == nil {
			n = new(int)
			m[kind] = n
		}
	}
	*n++
}

type pointAt struct {
	at     geom.Point
	handle uint64
	layer  int32
}

type labelAt struct {
	at     geom.Point
	height float64
	turn   float64
	text   string
	handle uint64
	layer  int32
}

// tally counts what was left out on the way.
type tally struct{ zero, hiddenPaper, hiddenEntity int }

// block is a named group of shapes that INSERT puts somewhere.
type block struct {
	name   string
	base   geom.Point
	shapes []shape
	xref   bool
	space  bool              // *Model_Space or *Paper_Space: not inserted, its shapes are elsewhere
	open   bool              // being inserted, to notice a cycle
	notes  map[noteKey]*note // what is remarked when it is put
}

func newBuilder(name string, o Options) *builder {
	b := &builder{
		name: name, o: o, d: &Drawing{Name: name, Scale: 1},
		layerByID: map[string]int32{}, layerRaw: map[string]int32{},
		kinds: map[string]*int{}, skipped: map[string]*int{}, notes: map[noteKey]*note{},
		blocks: map[string]*block{}, scale: 1, budget: mostDrawn,
	}
	if len(o.Layers) > 0 {
		b.wanted = map[string]bool{}
		for _, n := range o.Layers {
			b.wanted[foldName(n)] = true
		}
	}
	b.lastLayer.id = -1
	b.layerZero = b.layerNamed("0")
	return b
}

// foldName makes layer and block names comparable: letter case does not matter
// in a drawing.
func foldName(s string) string { return strings.ToUpper(strings.TrimSpace(s)) }

// layerNamed returns the number of a layer, made when it is new: an entity may
// name a layer that no table has (DXF reference, "Writing a DXF Interface").
func (b *builder) layerNamed(name string) int32 {
	key := foldName(name)
	if id, ok := b.layerByID[key]; ok {
		return id
	}
	id := int32(len(b.layers))
	l := layerState{Layer: Layer{Name: cleanName(name), Colour: 7}}
	l.NoPlot = key == "DEFPOINTS" // the points of dimensions are never plotted
	l.want = b.wanted == nil || b.wanted[key]
	b.layers = append(b.layers, &l)
	b.layerByID[key] = id
	return id
}

// layerID is layerNamed for the bytes of a file, without allocating for names
// that have come before.
func (b *builder) layerID(raw []byte) int32 {
	if b.lastLayer.id >= 0 && string(raw) == b.lastLayer.raw {
		return b.lastLayer.id
	}
	id, ok := b.layerRaw[string(raw)]
	if !ok {
		id = b.layerNamed(b.text.decode(raw))
		b.layerRaw[string(raw)] = id
	}
	b.lastLayer.raw, b.lastLayer.id = string(raw), id
	return id
}

// cleanName keeps a name on one line and at a length that can be shown.
func cleanName(s string) string {
	s = oneLine(strings.TrimSpace(s))
	if len(s) > 255 {
		s = strings.ToValidUTF8(s[:252], "") + "…"
	}
	return s
}

// defineLayer reads an entry of the layer table.
func (b *builder) defineLayer(r *record) {
	var l Layer
	l.Colour = 7
	named := false
	for i := range r.tags {
		switch r.tags[i].code {
		case 2:
			l.Name = b.text.decode(r.bytes(i))
			named = true
		case 62:
			l.Colour = r.integer(i, 7)
			if l.Colour < 0 {
				l.Off, l.Colour = true, -l.Colour
			}
		case 70:
			f := r.integer(i, 0)
			l.Frozen, l.Locked = f&1 != 0, f&4 != 0
		case 290:
			l.NoPlot = r.integer(i, 1) == 0
		}
	}
	if !named {
		return
	}
	id := b.layerNamed(l.Name)
	old := b.layers[id]
	l.Name = old.Name
	l.NoPlot = l.NoPlot || old.NoPlot
	l.Hidden = old.Hidden
	old.Layer, old.defined = l, true
}

// shown tells whether what lies on a layer is read.
func (b *builder) shown(layer int32) bool {
	l := b.layers[layer]
	return b.o.Hidden || l.Visible()
}

func (b *builder) setVersion(v string) {
	b.d.Version, b.d.Release = v, releases[v]
	b.text.utf8All = v >= "AC1021" && strings.HasPrefix(v, "AC10")
}

// releases names the versions (DXF reference, HEADER section, $ACADVER).
var releases = map[string]string{
	"AC1002": "R2", "AC1003": "R2", "AC1004": "R9", "AC1006": "R10", "AC1009": "R12",
	"AC1012": "R13", "AC1014": "R14", "AC1015": "2000", "AC1018": "2004", "AC1021": "2007",
	"AC1024": "2010", "AC1027": "2013", "AC1032": "2018",
}

// byName puts counts in the order of their names.
func byName(c []Count) []Count {
	sort.Slice(c, func(i, j int) bool { return c[i].Name < c[j].Name })
	return c
}

// counts turns a tally into a list in the order of the names.
func counts(m map[string]*int) []Count {
	out := make([]Count, 0, len(m))
	for k, n := range m {
		out = append(out, Count{k, *n})
	}
	return byName(out)
}
