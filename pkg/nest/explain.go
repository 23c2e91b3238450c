package nest

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"cost-wrong", `What a sheet costs is no number or below 0. It only serves to choose the
cheapest. Give what one piece costs, 0 for an offcut, or leave it out.`},
		{"fibre-wrong", `The direction of the fibre of a sheet is no number. Give degrees from +X,
counter-clockwise.`},
		{"layout-broken", `A layout does not fit its job: it is damaged, or names parts, copies or
sheets that are not there. Nest again, or leave layout out of the job.`},
		{"locked-nowhere", `A copy is laid by hand on a sheet that there is not. Name one of the
sheets of the job.`},
		{"locked-too-many", `More copies are laid by hand than the part is wanted. Raise the
quantity, or take one away.`},
		{"locked-turn", `A copy that you laid by hand lies in a turn which the part does not allow,
so its fibre runs another way than you asked. It is left as you laid it. Turn it, or add that turn
to those allowed.`},
		{"margin-broken", `A part lies nearer to the edge of the sheet than the margin. Edges of
sheets fray and are rarely square. Move it inward, or nest again.`},
		{"margin-wrong", `The margin of a sheet is below 0 or no number. Give the distance that
parts keep from its edge.`},
		{"no-parts", `There is nothing to place. Name at least one part.`},
		{"no-room", `Some copies found no room on the sheets that are at hand. How many is given.
Add a sheet or offcut, allow more turns, take a smaller web, or give the search more time.`},
		{"no-sheets", `There is no sheet to place parts on. Name at least one.`},
		{"outline-apart", `The outline of a part falls into several pieces, and a part is one. Put
each piece on its own layer and make it a part of its own.`},
		{"outline-empty", `The outline of a part has fewer than two edges. Draw it closed.`},
		{"outline-too-fine", `The outline of a part has far more edges than its shape needs, as
exports from scans and meshes do. Nesting it would take for ever. Thin it out before the export;
arcs and splines in place of thousands of short lines.`},
		{"outline-wrong", `The outline of a part has a coordinate that is no number or far out. Draw
it again, and look at the units.`},
		{"part-off-sheet", `A part lies off the sheet, or over a hole of it. It would come out with
a piece missing. Move it, or nest again.`},
		{"part-too-large", `The part is larger than every sheet that it may lie on, in every turn
that it may take, margins included. By how much is given. Use a larger sheet, a smaller margin, or
allow more turns.`},
		{"parts-near", `Two parts lie nearer to each other than two kerfs and the web. The web
between them would break while it still holds one of them. Move one of them, or nest again.`},
		{"quantity-wrong", `A quantity makes no sense. Give a whole number from 1 on; "fill" for as
many parts as fit, "unlimited" for sheets that never run out.`},
		{"quantity-zero", `No copy is asked for, so the part is not made. Give a quantity, "fill",
or leave the part out.`},
		{"spacing-wrong", `The distance between parts, or the web that stays between them, is below
0 or no number. Leave both out for what cutter and thickness ask for.`},
		{"strip-rule", `On a strip of open length there is no end that fillers could fill up, and
nothing lies by hand. Nest on a sheet.`},
		{"too-many-copies", `More copies are asked for than one nest can hold. Look for a digit too
many in a quantity; split the job if it is right.`},
		{"turn-not-allowed", `A copy lies in a turn which the part does not allow. Laminate is
strong along its fibre alone, so turns are never changed in silence. Turn it back, or widen the
turns.`},
		{"turns-contradict", `A part may lie in any direction and also only in the turns that are
named. Leave one of the two out.`},
		{"turns-wrong", `The turns of a part, or what they may be off by, make no sense. Give
degrees about the fibre: turns_deg = [0, 180], turn_tol_deg = 5.`},
		{"zone-near", `A part comes nearer to a flaw or clamp zone of the sheet than it may. The
cutter would run into the clamp, or the flaw into the part. Move it, or nest again.`},
	}
}
