package cli

import (
	"fmt"
	"slices"
	"strings"

	"sparclear/internal/demo"
	"sparclear/pkg/plan"
	"sparclear/pkg/work"
)

// kindPage is the help of one kind of cut; its example is what the small demo job
// of that kind asks for, so that it works as it stands.
type kindPage struct {
	kind  work.Kind
	short string
	about string
}

// kindPages is in the order in which a shop meets them.
var kindPages = []kindPage{
	{work.Opening, "inside of a closed outline",
		`The cutter goes round inside the outline, in equal passes no deeper than the
material allows, and enters by a ramp along the outline. The slug is held by tabs
or by a skin (onion); a slug that nobody holds is said aloud by loose = true.
finish = 0.15 leaves an allowance for a last pass at full depth. relief =
"dogbone" or "tbone" clears inside corners for a square tab.
See also sparclear help onion, corners, fit.`},
	{work.PartCut, "outside of a closed outline",
		`Like an opening, on the other side of the line: the part stays. Holes of the part
are cuts of their own and come before it. A [[part]] of a sheet job asks for its
outline and holes by itself, as here; a [[cut]] of kind "part" asks for one
outline alone.`},
	{work.Pocket, "area cleared to a depth",
		`Cleared in rings from the inside out, islands kept, no slivers left. The largest
distance of the rings is options = { stepover = … } in parts of the diameter; along
straights the cutter meets no more, in corners up to a full slot, which feed and
depth are chosen for. What a pocket has cleared no later cut of the piece cuts in
the air; of pockets as deep that overlap the first one clears what both have.`},
	{work.Rebate, "ledge around an opening",
		`A pocket whose outline is that of the cover and whose islands are none: the ledge
that a flush hatch lies on. Depth = cover and tape. Cut it before its opening,
while the plug stiffens the skin. The skin that is left is checked everywhere.`},
	{work.Bore, "round hole, by a helix",
		`The way to make holes larger than the cutter in laminate: a helix whose pitch
follows from the ramp angle, then a full circle at depth, the feed corrected for
the inside of an arc. Circles of the layer give places and diameter.`},
	{work.Drill, "round hole, straight down with a drill",
		`Circles or points of the layer; a circle must have the drill's diameter. The length
of the point is added and held against the floor. peck = 1.5 drills in pecks.`},
	{work.Slot, "slot, from its centre line or its outline",
		`A line gives a slot of the cutter's width in one lane; options = { width = … } both
walls. An outline is cleared.`},
	{work.Score, "groove or row of short cuts along lines",
		`Follows open lines at a depth below the local skin: a hinge line. The layer that is
kept is held against what is known of the height. options = { cut = 4,
bridge = 1 } perforates. A cut from one side cannot finish a skin hinge:
resin on the inside stays, and chordwise ends come last.`},
	{work.Mark, "lettering and part numbers",
		`Single lines, shallow, in an alphabet of our own. text = "A-12" begins at options =
{ x = …, y = … } on the drawing; without text the lines of the layer are marked.`},
	{work.Chamfer, "edge broken along an outline",
		`A vee or ball cutter runs along the edge; depth is how far the edge is broken.`},
	{work.Door, "slug that is used again as its own door",
		`The path lies on the line, so that the gap is the cutter's width and its runout
all round. The tabs are cut by hand on the hidden side.`},
}

// besides are the small demo jobs that show no kind of cut of their own, with
// what they show.
var besides = []struct{ name, short, about string }{
	{"corners", "dog-bone and T-bone in inside corners",
		`A cutter leaves inside corners round by its radius, and the square corner of another
plate does not seat. relief = "dogbone" goes on along the bisector until the corner
is reached, "tbone" along the longer wall. The key stands under a [[cut]] or a
[[part]]; relief that runs into a neighbour is warned of.`},
	{"fit", "fits, tolerance classes and slots for tabs",
		`fit moves each edge of the finished outline: a number (outwards positive), or a
class of ISO 286 at the size of the outline, "H11" for holes, "h11" for outsides,
"H11/h11" for both. Each edge then lies in the middle of its zone. What machine and
cutter hold stands beside it on the run sheet: mostly IT11 to IT13. nominal = 8
names the size where it is not the diameter or the width across. hole_fit is the
fit of the holes of a [[part]]. tolerance takes "ISO 2768-m" and the like.
tab_slot = { thickness = 2.05, slip = 0.1 } under a cut, tab_slots = { drawn = 2 }
under a part: a slot drawn for the nominal thickness is cut for the measured one.`},
	{"onion", "a thin skin in place of tabs",
		`onion = 0.3 leaves that much at the bottom, all round; it is cut with a knife and
sanded. It must be thicker than what is known of the height.`},
}

// kindHelp prints the page of one kind of cut, or of one of besides; it reports
// whether there is one.
func (e *env) kindHelp(word string) bool {
	for _, b := range besides {
		if b.name == word {
			fmt.Fprintf(e.out, "%s: %s\n\n%s\n\n%s\n", b.name, b.short, b.about, exampleOf(word))
			e.demoHint(word)
			return true
		}
	}
	for _, k := range kindPages {
		if string(k.kind) != word {
			continue
		}
		fmt.Fprintf(e.out, "kind = %q: %s\n\n%s\n\n%s\n", k.kind, k.short, k.about, exampleOf(word))
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
		e.demoHint(word)
		return true
	}
	return false
}

// exampleOf is what the small demo job of a name asks for.
func exampleOf(name string) string {
	if x := demo.Example(name, "cut", fmt.Sprintf("= %q", name)); x != "" {
		return x
	}
	if x := demo.Example(name, "cut", ""); x != "" {
		return x
	}
	return demo.Example(name, "part", "")
}

func (e *env) demoHint(name string) {
	fmt.Fprintf(e.out, "\nsparclear demo --kind %s DIR writes a small job that shows it, and runs it.\n", name)
}
