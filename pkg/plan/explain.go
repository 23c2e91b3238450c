package plan

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"allowance-vanishes", `What is to be left for the finish pass is more than hole or slot
have room for beside the cutter. Nothing would be left to rough. Leave less (finish = 0.1 is
common), or take a thinner cutter.`},
		{"cancelled", `Planning was stopped, by Ctrl-C or by a limit of time. Nothing is written.
Run it again.`},
		{"chamfer-cutter", `An edge is broken by the slanted or round side of a cutter. This one has
neither and would cut a step. Name a vee or ball cutter.`},
		{"cleared-before", `Another cut of the same piece clears the whole of this one as deep, so
nothing is cut for it. Leave it out, or cut it deeper if a step was meant.`},
		{"corner-rounded", `At this feed the machine rounds the corners of the path by more than the
tolerance leaves room for. Feed slower, let the controller stop exactly at corners (path_mode), or
give it a smaller blending tolerance.`},
		{"corner-tight", `In a skin that carries load a crack begins in a tight corner, and one that is
drawn sharp comes out with the radius of the cutter. Openings in wings get 3 to 5 mm, at least 2.
Where a square case must go in, leave it and put a doubler inside.`},
		{"cut-empty", `The layer that the cut names holds nothing that this kind of cut can use.
Look at the drawing with sparclear look, and name the layer that holds the outline, line or point.`},
		{"cut-too-large", `What is to be cut is larger than any machine: mostly the drawing is in
other units than the job believes. Hold one measure of it against the part.`},
		{"cuts-ordered", `Two cuts reach into each other, and one of them is made first because of
its kind. The note says which. Draw them as one outline where that is not meant.`},
		{"cuts-overlap", `Two through cuts reach into each other, so each would cut in what the
other has freed. A strip between them comes loose and is thrown. Draw them as one outline; accept it
only where the piece between them is held.`},
		{"cutter-cannot-mill", `A drill has no teeth on its side and breaks when it is moved
sideways. Name a milling cutter, or use kind = "drill".`},
		{"cutter-loaded-twice", `The cutter is put in, taken out, and put in again, because what
must come first allows no other order. Each change is a chance for a wrong length. Use one cutter
for both cuts that lie in each other, if you can.`},
		{"cutter-missing", `The cut does not say which cutter makes it, and the job gives none for
all. Add cutter = "…"; sparclear shop lists those that there are.`},
		{"cutter-too-wide", `The cutter does not fit into hole, slot, pocket or corner. Value and
limit are given. Take a thinner cutter, or draw it wider.`},
		{"door-gap", `The gap round a door is as wide as the cutter and its runout. The note says
how much; as a warning it is more than you allow. Take a thinner cutter, or allow the gap.`},
		{"drill-too-thin", `The drill is thinner than the hole that is drawn; a drill makes its own
diameter and no other. Take the right drill, or bore the hole by a helix with kind = "bore".`},
		{"flute-too-short", `The cut is deeper than the flutes are long. Above them the shank rubs
on the wall, heats and burns. Take a cutter with longer flutes, or cut less deep.`},
		{"groove-wider", `The groove is wider than the cutter, which makes one lane along the line.
Take a cutter as wide as the groove, or clear it with kind = "pocket".`},
		{"holes-overlap", `Two holes reach into each other. The second drill or helix runs off into
the first. Move one of them, or draw both as one outline; accept it where the shape does not matter.`},
		{"layer-gone", `A ledge, groove or pocket that should leave a layer of the skin goes through
it, slope and errors counted in. The strength of the wing is in that layer. Cut less deep, or say
what is glued below by the option doubler.`},
		{"layer-thin", `Very little skin stays under the cut. It tears when the hatch is pressed.
Cut less deep, or glue a doubler below.`},
		{"layer-unsure", `The onion skin that is to stay is no thicker than what the height may be
off, so it may be cut through in places, and the piece comes loose there. Leave a thicker skin,
touch more heights, or use a thinner cutter.`},
		{"ledge-ridge", `The ledge for a cover ends before the opening inside begins, so that a
ridge as high as the skin stays between them and the cover lies on it. Make the ledge wider, or leave
ledge out to clear the whole outline.`},
		{"letter-unknown", `The alphabet of single lines has no such letter. The ones it has are
listed. Write the text with them, or draw it on a layer.`},
		{"limit-passed", `To be through everywhere, the cutter must go deeper than the limit of the
cut allows: height error, overcut, slope under the cutter and the point of a drill add up. Touch
more heights, take a thinner cutter or a shorter point, a smaller overcut, or a deeper limit where
nothing lies below.`},
		{"mark-placeless", `A text needs a place. Draw a point on the layer of the mark, or give x
and y, in drawing coordinates, under options.`},
		{"number-not-finite", `A figure is no number, or without end. Nothing can be planned with
it. Look at the key named, and at the drawing near the place given.`},
		{"option-unknown", `The kind of cut has no such option; it may be mistyped, and would be
passed over in silence otherwise. sparclear help with the name of the kind lists its options.`},
		{"outline-degenerate", `An outline or line has no size at all. It comes from a slip in the
drawing. Take it out.`},
		{"outline-unreached", `The cutter is so wide that it leaves more than a corner: whole arms
or necks of the outline are not reached. Take a thinner cutter. Accept it only if what stays does
not matter.`},
		{"part-loose", `When the part is cut free nothing holds it. The cutter catches and throws
it. Give it tabs, an onion skin or a skin for the last pass.`},
		{"parts-overlap", `Two parts of the sheet lie over each other, so that neither would come
out whole. Place them apart, or let sparclear nest do it.`},
		{"passes-too-many", `The cut would need thousands of passes, mostly because a depth per pass
or peck was given in other units or with a digit too few. Correct it.`},
		{"path-too-long", `The path would have more motions than a machine is given in one program.
Take a wider cutter, a larger depth per pass, or thin out an outline that was exported with too many
points.`},
		{"ramp-too-long", `To come down at the angle asked for the cutter would go round far too
often: outline or hole are short against the depth. Take a steeper ramp, a thinner cutter, or a
larger depth per pass.`},
		{"relief-near", `The relief of a corner would cut into another wall of the outline, so it is
left out there. Use the other form, a thinner cutter, or draw the corner wider.`},
		{"relief-unknown", `There are two forms of corner relief, "dogbone" along the bisector and
"tbone" along a wall. sparclear help corners shows both.`},
		{"resumed", `The program goes on in the middle of a job, from the pass that you named. What
comes before it is taken to be cut. Clear the chips, touch off the new cutter, and look whether
anything has moved.`},
		{"rings-too-many", `The pocket is so large against the cutter that it would take more rings
than are planned. Take a wider cutter, or look at the units of the drawing.`},
		{"skin-and-onion", `A skin for the last pass is cut away at the end, so it has no meaning on
a cut that leaves a floor or an onion skin. Leave out one of the two.`},
		{"skin-missing", `Nothing says how high the work lies. Add [skin] for a wing or [[sheet]]
for parts from sheet.`},
		{"skin-thick", `The skin that is to stay for the last pass is as thick as the whole sheet.
Leave a thinner one, a few tenths of a millimetre.`},
		{"slope-too-steep", `The skin is so steep under the cutter that one edge would pass the
limit before the other is through. Tilt the panel, take a thinner cutter, or give a deeper limit
where nothing lies below.`},
		{"slot-one-pass", `The slot is as wide as the cutter, so both walls are cut at once and the
slot comes out as wide as the cutter runs. Take a thinner cutter where the width matters.`},
		{"spring-pass", `A finish pass that is run again takes almost nothing off. In metal it
corrects a bent cutter; in fibre composites it rubs and heats, in soft plastics it melts the edge.
Leave finish_passes out.`},
		{"stage-unknown", `There is no pass or stage of that number. Without --from, sparclear
resume lists what there is.`},
		{"stickout-too-short", `The cut is deeper than the cutter stands out of its nut, or nearly
so. The nut would run on the skin. Let it stand out further, and write the new stick-out into the
job.`},
		{"tab-thin", `On a slope the flat end of the cutter takes more from a tab on its side uphill
than under its middle, and hardly anything of this one would be left. Make the tabs higher, or take a
thinner cutter.`},
		{"tab-too-wide", `With its ramps up and down a tab is longer than the path has room for.
Make tabs narrower or lower, use an onion skin, or a centre-cutting cutter that may step straight
down.`},
		{"tab-visible", `Tabs leave marks, and this edge is marked as one that is seen. Put the tabs
on another edge, or leave an onion skin.`},
		{"tabs-and-onion", `Tabs, and a skin for the last pass or an onion skin, both hold the
piece. Choose one of them.`},
		{"tabs-few", `A large piece hangs on one tab. It can turn about it and be caught. Give it
two or more, apart from each other.`},
		{"tabs-needless", `The cutter clears the whole opening, so there is nothing that tabs could
hold. Leave them out.`},
		{"tabs-too-many", `Not all of the tabs find room along the straight or gentle parts of the
outline. Fewer, narrower or lower ones do.`},
		{"tip-left", `A pointed tip is to be cleared, and a round cutter cannot get into it. The
radius that it would leave is given. Draw the tip round, or cut along it as an opening.`},
		{"trace-height", `A trace needs a height above the skin and a feed above 0. Give --height; 3
mm or more is common.`},
	}
}
