package drawing

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"arc-without-sweep", `An arc or ellipse starts and ends at the same angle. Some programs mean a full
circle by it, others nothing at all; a full circle could go through the edge of the part, so it is
not cut. Draw a circle if one is meant, delete the arc if not.`},
		{"block-cycle", `A block holds a reference to itself, directly or through others, so that it would
have to be drawn without end. Nothing of the drawing is used. Break the ring in the drawing: explode
one of the references, or delete it.`},
		{"block-external", `A reference points into another drawing file, which is not read: what is cut must
stand in the file that is named in the job. Bind the reference into this drawing and save it again.`},
		{"block-missing", `A reference names a block that the file does not define, so that something which
was drawn is not there. Write the drawing again with its blocks, or delete the reference if nothing
of it is to be cut. A layer on which this happens is not cut.`},
		{"contour-crosses", `An outline crosses itself or another outline of its layer, so that inside and
outside cannot be told apart at the place given. Often a line was drawn past its corner or an outline
was copied onto another one. Trim it, or put what does not belong there on a layer of its own. A layer
on which this happens is not cut.`},
		{"coordinate-absurd", `Something lies further away than any drawing reaches, mostly through a wrong
scale of a block, or a number that was damaged. It is not read, and its layer is not cut. Correct or
delete it.`},
		{"drawing-broken", `The file does not hold what its format asks for at the line given: groups and
values are out of step, or the XML is damaged. What stands behind is unknown, so nothing is cut. Write
or copy the drawing again.`},
		{"drawing-cut-off", `The file ends in the middle of something. A copy was interrupted, or a disk was
full. Half an outline may look whole, so nothing is cut. Write or copy the drawing again.`},
		{"drawing-empty", `Nothing on the drawing can be cut: it holds no line, no outline and no point, or all
of them are hidden or on layers that are off. Look whether the right file was saved; look --hidden shows
what is hidden.`},
		{"drawing-no-end", `The file ends after a whole entity, but without the words that close it. Some
programs leave them out; a file that was cut off looks the same. Look whether all outlines are there;
if they are, accept the finding in the job.`},
		{"drawing-no-eof", `The file lacks its last word, EOF, though every section is whole. Some programs
leave it out. Nothing is missing from the drawing; the note only says so.`},
		{"drawing-not-dxf", `The file is no DXF file: another format, or text in UTF-16. Save the drawing as
DXF, as text or binary, in any version; or as SVG.`},
		{"drawing-not-svg", `The file is called .svg but holds no svg element. Save the drawing as SVG again,
or as DXF.`},
		{"drawing-too-large", `References to blocks draw more than 300,000 pieces that do not stand in the file,
mostly an array with wrong counts of rows and columns: the one that draws most is named. Nothing is cut.
Correct the counts, or explode the block and keep what is to be cut. The same is said of a drawing of which
thousands of different kinds of things cannot be read.`},
		{"drawing-unreadable", `Reading the file failed on the way: a disk, a network or a stick gave an error.
Copy the file to this machine and try again.`},
		{"drawn-over", `A loose line or arc lies on another one. What lies on an outline is left out, an end
that runs past its corner along the neighbour is cut back, and joining goes on from there. Look at the
places given: if an end was meant to stick out, the drawing says something else than you mean.`},
		{"drawn-twice", `Lines, arcs or whole outlines stand twice on the same place, as happens when a drawing
is copied onto itself. One of each is read. Cut twice, the second pass would widen the cut.`},
		{"entity-broken", `An entity lacks something that it needs, or holds a value that makes no sense: a
radius of zero, a missing coordinate, knots that do not rise. It is not read, and its layer is not cut.
Repair or delete it; handle and line tell which it is.`},
		{"entity-ignored", `A dimension, leader, image, viewport or the like: it holds no outline and is never
cut. The note counts them, so that you can see that nothing else was left out.`},
		{"entity-not-flat", `An entity lies in a tilted plane, or its points differ in height, or it is a mesh.
Seen from above it would have another shape than it has. It is not read, and its layer is not cut.
Flatten the drawing to the XY plane.`},
		{"entity-unread", `An entity of a kind that is not read: a solid body, a region, something that one
program alone knows. If it belongs to an outline, explode it into lines, arcs or polylines. Its layer
is not cut until it is gone.`},
		{"gaps-closed", `Ends of lines that should meet did not quite, and were joined in the middle between
them. Number and width of the widest gap are given, with its place. Gaps wider than the tolerance stay
open; join, in the job or as --join, sets it.`},
		{"hatch-ignored", `A hatch is a filling beside an outline that is drawn as well; cut too, it would go
over the edge twice. Where the hatch alone shows the shape, ask for its boundary with --hatches, or
hatches = true in the job.`},
		{"hidden-not-read", `Something is invisible, on a layer that is off, frozen or not plotted, or in paper
space. What nobody sees is not cut. Turn the layer on in the drawing, or ask for what is hidden, if it
is meant.`},
		{"layer-empty", `A layer that the job names holds nothing that can be cut. Perhaps the outline lies on
another layer, or it is hidden. look lists layers with what they hold.`},
		{"layer-missing", `The job names a layer that the drawing does not have. The nearest name is given, if
one is near. Letter case does not matter, blanks within the name do.`},
		{"outline-branches", `Three or more lines end at one place, so that nobody can say how the outline goes
on; guessing could cut through the part. Delete or trim what does not belong to the outline. A layer on
which this happens is not cut.`},
		{"outline-open", `A chain of lines and arcs does not close; both ends are given, and how far apart they
lie. For a slot, a groove or a mark that is right. What is cut out along its edge must close: repair the
gap in the drawing, or join with a wider tolerance if it is drawn by mistake.`},
		{"outline-without-area", `A closed chain runs back on itself and holds no area: a line drawn there and
back. There is no inside to cut. It is not read; delete it.`},
		{"outlines-tangled", `So many outlines lie over each other that they cannot be told apart, mostly an
array whose spacing is far too small. Nothing is cut. Delete what is drawn over itself.`},
		{"pieces-dropped", `Lines without length, or shorter than the joining tolerance, were healed: their
neighbours now meet. No corner moved further than the tolerance. Such crumbs come from conversions and
are harmless; they would only make the machine stutter.`},
		{"polyline-wide", `A polyline is drawn with a width, as a band. Its centre line is read. If the edges
of the band are meant, ask for them with --wide, or wide_outlines = true in the job; a band whose width
varies, or that is wider than its bends, must be drawn as an outline.`},
		{"section-unclosed", `A section of the file ends without its closing word; the next one begins all the
same. What was read before it is whole. Look whether all outlines are there.`},
		{"spline-by-points", `A spline is given only by the points that it passes, without the curve itself.
The file does not say how it runs between them; a smooth cubic curve is read, which may differ from what
the drawing program shows. Look at its shape, or save the drawing with control points.`},
		{"units-contradict", `One word of the file says metric, another imperial. $INSUNITS is believed, since
it is the one that programs use for lengths. Hold one measure of the picture against the part.`},
		{"units-doubtful", `In the units that the file states, the drawing is larger than what it is to fit, or
no larger than a screw: perhaps it was drawn in others. Measure the part and say which units are right;
look --units shows the drawing either way.`},
		{"units-overridden", `The job or the command says other units than the file. It counts, and the job asks
you to accept it, since a factor of 25.4 between the two is a ruined part.`},
		{"units-unheard-of", `The units asked for are none that are known. The names are listed: mm, cm, m, inch
and so on.`},
		{"units-unknown", `The file does not say its units, and sizes in mm and in inches are both given.
Units are never guessed: measure the part and say units = "mm" or units = "inch" in the job, or --units
with look.`},
	}
}
