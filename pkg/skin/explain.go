package skin

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"cutter-too-wide-for-skin", `Where the skin slopes, one edge of a wide cutter passes the
limit before the other is through. Take a thinner cutter, tilt the panel so that it lies flatter
there, or give a deeper limit where nothing lies below.`},
		{"foil-order", `The points of a section do not run along the surface. They go from nose to
tail above and then below, or round from tail to tail. Put them in one of these orders.`},
		{"foil-points", `The file of a section has too few points to tell its shape. Use one with
more.`},
		{"foil-read", `A line of the file of a section is no pair of numbers. Leave x and y on each
line, and the title on the first.`},
		{"foil-scale", `The section is not drawn from 0 to 1. Scale it to a chord of 1, nose at x =
0; the chord in millimetres stands in the job.`},
		{"foil-unknown", `The name of the section is no four or five digits of the NACA series, or
none is named. Give them, such as "2412", or name a file of coordinates.`},
		{"height-invalid", `A touched place is no number or far out. A comma that slipped, or a
column that was exchanged. Correct it in the list.`},
		{"height-outlier", `One touched height stands off all those around it, more than a skin
bends. Tape, dust, a bent probe or a mistyped digit reads wrong, and the cut would follow it. Touch
that place again; accept it if the skin has a step there.`},
		{"height-repeat", `One place was touched twice with different heights. Something moved, or a
figure is wrong. Touch it again and take the wrong one out.`},
		{"height-swapped", `A touched place lies far from all others, and among them when two of its
figures are exchanged. Look at its columns and put them right.`},
		{"heights-columns", `Two columns of the list bear one name. Which one counts cannot be told.
Name each once: x, y, z, name.`},
		{"heights-decimal", `Points and commas in the numbers of the list cannot be told apart: a
comma may be a decimal mark or a thousands mark, a factor of a thousand between them. Write all
numbers with a decimal point.`},
		{"heights-degenerate", `All touches lie on one spot or along one line, so the skin may be
tilted any way about it. Touch places on both sides of the line.`},
		{"heights-empty", `The list holds no touched point. Write one a line: x, y, z in mm, as the
display shows them.`},
		{"heights-few", `Too few heights are touched to carry a surface. Touch around each opening
and in the middle of it.`},
		{"heights-field", `A line of the list lacks X, Y or Z, or a number. Correct it, or put #
before it to leave it out.`},
		{"heights-large", `The list has more lines than any panel is touched in. Look whether it is
the right file; leave out what lies far from the openings.`},
		{"heights-many", `More heights are given than a surface is fitted through. Leave out touches
far from the openings.`},
		{"heights-out-of-reach", `Your touches repeat less well than the height is to be known, so
more of them hardly help. Touch more slowly, clean skin and probe, or ask for less.`},
		{"heights-read", `The list of heights is no plain text; a table of a spreadsheet program
must be saved as CSV. Save it again.`},
		{"heights-sparse", `The touches do not tell how the skin bends between them, so a strong
bend is allowed for, and the error budget grows by it. Touch the middle of each opening and of its
sides, nine places or more.`},
		{"heights-uncertain", `The height of the skin at an opening is known less well than it is
asked for. Touch the places that are listed.`},
		{"heights-units", `The columns of the list are in another unit than mm or in, not all in the
same, or say nothing while the display of the machine shows inches. A factor of 25.4 is a ruined wing.
Name the columns x_mm, y_mm, z_mm, or x_in, y_in, z_in.`},
		{"loft-poor", `A touch lies off the wing that its sections give: sections, chords or their
places are wrong, or the wing was built otherwise. The far skin would be elsewhere too. Check them,
or use the touched heights alone.`},
		{"loft-sections", `The sections of the wing do not make a wing: fewer than two, not in order
of span, or one without chord or shape. Give at least two.`},
		{"loft-tilt", `The touched heights leave open how the wing is tilted on the machine; it is
taken as drawn. Touch at least three places of the skin that lie apart.`},
		{"loft-untouched", `No height was touched, so the wing is taken to lie exactly as its
sections are drawn. It never does. Touch three places or more that lie apart.`},
		{"plane-poor", `The touched points do not lie in one plane by far. The skin is curved, or
one is wrong. Use them as heights, or touch again.`},
		{"plane-unchecked", `No touch lies well inside the others. Corners fit a plane however round
the skin is between them, and it bulges, or is hollow, by what is given. Touch the middle too, or use
heights; accept it where the skin is level.`},
	}
}
