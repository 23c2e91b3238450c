package outline

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"outline-size-missing", `A built-in outline needs a size that has no usual value, or one that decides the
fit. Measure it and give it under sizes, in mm. The message says what the size is of.`},
		{"outline-size-unknown", `The job gives a size that this outline does not have; perhaps it is misspelt. The
nearest real name is given, and sparclear help tells which outlines there are.`},
		{"outline-size-wrong", `A size makes no sense, or sizes do not fit together: a span over the lugs that is
shorter than the case, screw holes that break into the opening. Value and limit are given. Measure again,
and mind that sizes are in mm.`},
		{"outline-unknown", `There is no built-in outline of this name. The nearest real name is given. Anything
else can be drawn: put the outline on a layer of a DXF or SVG file.`},
		{"servo-not-measured", `The size of the servo case is taken from its class, not measured. Cases of one class
differ by half a millimetre, and an opening that is too small is filed into the paint. Measure length and
width and give them; or accept the finding where the fit does not matter.`},
		{"servo-size-unusual", `A servo case is longer or wider than those met in practice, or smaller. Most often
a value was read in inches, or a digit slipped. Measure again; accept the finding if it is right.`},
	}
}
