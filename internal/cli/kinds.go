package cli

import (
	"fmt"
	"slices"
	"strings"

	"sparclear/pkg/plan"
	"sparclear/pkg/work"
)

// kindPage is the help of one kind of cut. Example is a [[cut]] that works.
type kindPage struct {
	kind    work.Kind
	short   string
	about   string
	example string
}

// kindPages is in the order in which a shop meets them.
var kindPages = []kindPage{
	{work.Opening, "inside of a closed outline",
		`The cutter goes round inside the outline, in equal passes no deeper than the
material allows, and enters by a ramp along the outline. The slug is held by tabs
or by a skin (onion); a slug that nobody holds is said aloud by loose = true.
finish = 0.15 leaves an allowance for a last pass at full depth. relief =
"dogbone" or "tbone" clears inside corners for a square tab.`,
		`kind = "opening"
layer = "SERVO"
cutter = "carbide-2"
through = true
limit = 3.5
tabs = { count = 4, width = 4, height = 0.6 }`},
	{work.PartCut, "outside of a closed outline",
		`Like an opening, on the other side of the line: the part stays. Holes of the part
are cuts of their own and come before it. A [[part]] of a sheet job asks for its
outline and holes by itself.`,
		`kind = "part"
layer = "BRACKET"
cutter = "carbide-2"
through = true
tabs = { auto = true }`},
	{work.Pocket, "area cleared to a depth",
		`Cleared in rings from the inside out, islands kept, no slivers left. The largest
distance of the rings is options = { stepover = … } in parts of the diameter.`,
		`kind = "pocket"
layer = "RECESS"
cutter = "carbide-2"
depth = 0.8`},
	{work.Rebate, "ledge around an opening",
		`A pocket whose outline is that of the cover and whose islands are none: the ledge
that a flush hatch lies on. Depth = cover and tape. Cut it before its opening,
while the plug stiffens the skin. The skin that is left is checked everywhere.`,
		`kind = "rebate"
layer = "HATCH"
cutter = "carbide-2"
depth = 0.8`},
	{work.Bore, "round hole, by a helix",
		`The way to make holes larger than the cutter in laminate: a helix whose pitch
follows from the ramp angle, then a full circle at depth, the feed corrected for
the inside of an arc. Circles of the layer give places and diameter.`,
		`kind = "bore"
layer = "SCREWS"
cutter = "carbide-1"
through = true`},
	{work.Drill, "round hole, straight down with a drill",
		`Circles or points of the layer; a circle must have the drill's diameter. The length
of the point is added and held against the floor. peck = 1.5 drills in pecks.`,
		`kind = "drill"
layer = "SCREWS"
cutter = "drill-1.6"
through = true`},
	{work.Slot, "slot, from its centre line or its outline",
		`A line gives a slot of the cutter's width in one lane; options = { width = … } both
walls. An outline is cleared.`,
		`kind = "slot"
layer = "RIBSLOT"
cutter = "carbide-2"
depth = 1`},
	{work.Score, "groove or row of short cuts along lines",
		`Follows open lines at a depth below the local skin: a hinge line. The layer that is
kept is held against what is known of the height. options = { cut = 4,
bridge = 1 } perforates. A cut from one side cannot finish a skin hinge:
resin on the inside stays, and chordwise ends come last.`,
		`kind = "score"
layer = "HINGE"
cutter = "vee-60"
depth = 0.3`},
	{work.Mark, "lettering and part numbers",
		`Single lines, shallow, in an alphabet of our own. text = "A-12" begins at options =
{ x = …, y = … } on the drawing; without text the lines of the layer are marked.`,
		`kind = "mark"
text = "A-12"
cutter = "vee-60"
depth = 0.15
options = { x = 20, y = 15, height = 4 }`},
	{work.Chamfer, "edge broken along an outline",
		`A vee or ball cutter runs along the edge; depth is how far the edge is broken.`,
		`kind = "chamfer"
layer = "HATCH"
cutter = "vee-90"
depth = 0.3`},
	{work.Door, "slug that is used again as its own door",
		`The path lies on the line, so that the gap is the cutter's width and its runout
all round. The tabs are cut by hand on the hidden side.`,
		`kind = "door"
layer = "BAY"
cutter = "carbide-1"
through = true
tabs = { count = 4, width = 3, height = 0.5 }`},
}

// kindHelp prints the page of one kind of cut; it reports whether there is one.
func (e *env) kindHelp(word string) bool {
	for _, k := range kindPages {
		if string(k.kind) != word {
			continue
		}
		fmt.Fprintf(e.out, "kind = %q: %s\n\n%s\n\n[[cut]]\nname = \"…\"\n%s\n", k.kind, k.short, k.about, k.example)
		first := true
		for _, o := range plan.Options() {
			if !slices.Contains(o.Kinds, k.kind) {
				continue
			}
			if first {
				fmt.Fprintln(e.out, "\noptions = { … }:")
				first = false
			}
			fmt.Fprintln(e.out, strings.TrimRight(fmt.Sprintf("  %-18s %-8s %s (default: %s)", o.Name, o.Unit, o.Help, o.Default), " "))
		}
		return true
	}
	return false
}
