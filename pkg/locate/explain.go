package locate

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"datum-ambiguous", `The touches fit the drawing in two ways, turned differently. The wrong
one puts the opening elsewhere on the wing. Touch one more datum, or a second place on the line.`},
		{"datum-degenerate", `The datums or lines that were touched leave a direction or the turn of
the work open: all on one spot, or lines that are parallel. Touch some that lie apart.`},
		{"datum-invalid", `A datum has a figure that is no number or far out, or something is
missing. Correct it in the job.`},
		{"datum-mirrored", `The measurements fit the other panel much better than this one. Cut like
that, port openings go into the starboard wing. See which panel lies on the machine and which side
is up, then correct mirrored, panel or side_up.`},
		{"datum-missing", `Nothing tells where the wing lies on the machine. Touch two or more marks
that are on the drawing, three to be able to believe them, and add a [[datum]] for each.`},
		{"datum-residual", `A touched datum does not lie where the others say it should. It was
mistouched, is drawn elsewhere, or the wing is not as drawn. Touch all of them again and compare
with the drawing.`},
		{"datum-scale", `The datums lie further apart, or nearer together, than they are drawn:
wrong units, the wrong drawing, or the wrong marks. Nothing that is cut would fit. Find out which.`},
		{"datum-single", `One datum says where the work lies but not how it is turned, and nothing
checks it. At the other end of the wing one degree is many millimetres. Touch a second and a third;
accept it for small work that lies against a fence.`},
		{"handedness-unknown", `The datums fit the other panel as well as this one, as two points
always do. They cannot tell a panel from its mirror image. Touch a third one off the line through
the others, or look at the panel and accept it.`},
		{"rule-unknown", `What becomes of a cut on the other panel is one of three words: "mirror",
"keep" or "turn". Correct it.`},
		{"servo-rule", `A servo is not its own mirror image: its shaft and lugs lie off the middle,
and a mirrored opening may not fit it. Say under the cut what is to become of it on the other panel:
panels = "mirror", "keep" or "turn".`},
	}
}
