package geom

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"boolean-unproven", `Outlines could not be combined with certainty near the place given,
because edges almost coincide there. Nothing is cut rather than something near to it. Draw that
place more simply, or apart.`},
		{"contour-empty", `An outline holds no area: a line there and back, or one point. There is
no inside to cut. Delete it, or draw what was meant.`},
		{"contour-not-finite", `A coordinate of an outline is no number. The drawing or a size in
the job is damaged. Look at what is drawn there.`},
		{"contour-too-large", `Outlines lie kilometres apart, so that hundredths of a millimetre are
lost in the figures. Mostly the units of the drawing are wrong, or something was left far away.
Check the units; delete what lies far out.`},
		{"contour-twice", `An outline lies on another one and is left out. Cut twice, the second
pass would widen the cut. Delete one of the two in the drawing.`},
		{"needle-removed", `A needle of no width stood out of an outline and is left out. It comes
from a slip of the pen. Look whether the drawing means material or a cut there.`},
		{"offset-not-finite", `An outline should be moved by something that is no number. A cutter
or allowance is wrong. Correct it.`},
		{"offset-too-large", `An outline should be moved by more than can be reckoned with
certainty. Look at the cutter's diameter, at fits and allowances, and at the units.`},
		{"offset-unproven", `An outline was moved by the cutter's radius, and that it is right could
not be verified near the place given: edges almost touch there, or very many points crowd. Rather
than cut it near enough, nothing is cut. Draw that place more simply.`},
		{"vertices-repeated", `Points stood twice in an outline and are left out. Nothing of its
shape changed.`},
	}
}
