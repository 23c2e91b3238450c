package job

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"accept-unknown", `What is to be accepted cannot be accepted here. A secondary member, a
rib or a wire, takes "rib-entered"; a primary member, a spar or tube, takes nothing at all.`},
		{"bore-sizes", `Circles of several diameters stand on one layer, and one bore has one
diameter. Put each diameter on a layer of its own, or give diameter.`},
		{"certificate-failed", `The certificate could not be put together, mostly because a figure
of the job is far out. Without it nothing is written. Look for that figure; if there is none, report
the job.`},
		{"clamp-place-missing", `A clamp is declared but not where it stands, so nothing could be
kept clear of it. Give rect = [x0, y0, x1, y1] in program coordinates, a layer, or an outline.`},
		{"clamp-place-twice", `The place of a clamp is given in more ways than one, and they need
not agree. Give rect, layer or outline, one of them.`},
		{"clearance-negative", `A clearance below 0 would let the cutter into the member. Give 0 or
more; 1 mm is common beside a spar.`},
		{"corners-rounded", `At its feed the machine may round a square corner by more than half of
the tolerance of the cut. Feed slower, let the controller stop at corners (path_mode), or allow
more.`},
		{"cuts-missing", `The job holds no cut, so there is nothing to do. Add a [[cut]] with name,
kind, layer and cutter; sparclear help KIND shows one of each.`},
		{"cutter-twice", `A job that parts are taken from has a cutter of the same name and other
values. One name must mean one cutter, or the wrong diameter is cut with. Rename one of them.`},
		{"datum-blocked", `A clamp stands where the probe would come down beside the datum. Move the
clamp, or touch this one by eye: feature = "mark".`},
		{"datum-partial", `To find the middle of a pin or hole it is touched from both sides along X
and along Y. Some of these touches are missing from the list or log. Touch them, and read it again.`},
		{"datum-size", `The touches make the pin or hole larger or smaller than you said. It may be
another one, dirty, or the tip of the probe has another diameter. Look, clean, touch again; accept
it if the figure in the job was the wrong one.`},
		{"datum-unknown", `The list that is read back names a datum which the job does not have.
Keep the names of the list as sparclear measure wrote them.`},
		{"datum-unsized", `To probe a pin or hole from the side its diameter, the tip's, and the
height of the touch must be known. Measure them with a caliper, and give diameter, side_z and
[probe] diameter.`},
		{"datums-first", `The place of the skin under the probe is known only when the datums are.
This list holds the datums alone; touch them, read it back, and measure again for the heights.`},
		{"depth-missing", `The cut says neither that it goes through nor how deep it goes. A guess
would be cut into the wing. Add through = true or depth.`},
		{"depth-twice", `The cut goes through and has a depth as well. Only one of them can hold.
Leave out the other; a bound on how deep it may go is limit.`},
		{"depths-swapped", `The member ends above where it begins, so it would take up no room and
protect nothing. Both are depths below the skin: from is the smaller one.`},
		{"drawing-missing", `No drawing is named, or the file that is named cannot be read. It is
looked for beside the job. Check name and folder; letter case counts on most machines.`},
		{"drill-size", `The circle on the drawing and the drill differ. A drill makes its own
diameter. Take the right drill, or bore the hole with a thinner cutter.`},
		{"edge-distance", `The middle of a hole lies so near to an edge that a bolt may tear out of
the laminate. Value and limit are in diameters. Move the hole inward; accept it where the hole
carries no load.`},
		{"edge-offset", `An edge is to be touched from the side, and where the tip stands to it then
is not told. Give offset = the tip's radius, positive where the probe comes from the left of from to
to.`},
		{"feature-apart", `Two cuts are kept as made on the other panel, each about its own middle,
so their places to each other change. If they belong together, as a servo and its screws do, give
both the same feature.`},
		{"feature-mixed", `Cuts of one feature must be treated alike on the other panel, or they
would no longer fit each other. Give all of them the same panels.`},
		{"fibre-unsaid", `Parts are bound to turns about the fibre, and the sheet does not say how
its fibre runs. Turns are counted from +X. Add fibre_deg, or any_turn = true under the parts.`},
		{"fibre-unstated", `The direction of the fibre is not given, so edges are not held against
it. If you want to know where they may splinter, add fibre_deg.`},
		{"fit-useless", `A fit moves the edge of an outline or hole, and this cut has none. Leave
fit out.`},
		{"flaw-broken", `A flaw is given by two opposite corners, [x0, y0, x1, y1] on the sheet, and
these make no rectangle. A flaw that is not understood would be built into a part. Write it again.`},
		{"floor-high", `The floor, the depth that nothing may pass, lies within the skin itself. It
is measured from the outer skin down. Measure the inside and correct it.`},
		{"floor-low", `The floor lies deeper than the far skin by the sections of the wing. One of
the two is wrong, and the cutter would come out on the other side. Measure the inside and give a
floor above it.`},
		{"floor-missing", `The wing is hollow, and nothing says how deep the inside is. A drill that
comes through would go on into the far skin or a wire. Measure, and give [skin] floor; say solid =
true where there is no inside.`},
		{"from-chain", `The jobs that parts are taken from take parts from one another in a circle, so
that there would be no end of them. The finding lists the way around: take one [[from]] out.`},
		{"from-empty", `The job that parts are taken from makes none from sheet. Name one with
[[part]].`},
		{"from-missing", `A [[from]] takes parts of another sheet job. Name the file of that job by
job.`},
		{"from-twice", `The same job is named twice, so its parts would be cut twice unseen. Name it
once; times = 2 makes them twice, parts chooses among them.`},
		{"geometry-failed", `The outline could not be moved or combined with certainty at the place
given: edges that almost touch, or very many points in a small place. Rather than guess, nothing is
cut. Draw it more simply there.`},
		{"height-missing", `Zero lies on the table, and nothing says how high the skin is above it.
Touch the skin and give heights, plane or height, or set zero = "skin" and touch off beside the
opening.`},
		{"heights-datum", `A row of the list is the touch of a datum, not of the skin. Taken for a
height it would bend the surface towards a pin or a hole. Read the list back with sparclear measure
--read, which tells them apart, or take the row out.`},
		{"heights-enough", `What is touched tells the height of the skin well enough at every cut.
Nothing more needs touching.`},
		{"heights-missing", `The file of touched heights cannot be read. It is looked for beside the
job. Check its name, or let sparclear measure write a list to fill in.`},
		{"heights-single", `One single height stands for the whole skin. A skin that slopes by 5° lies
3.5 mm lower at the far end of an opening of 40 mm, and limits and floor are reckoned from it. A cut
that keeps a layer is refused; one that goes through asks. Touch the skin around the cut (sparclear
measure says where), or accept it where the skin is level.`},
		{"heights-stale", `The datums lie elsewhere than before, and the heights were touched before
that. If the wing was moved, touch the heights again.`},
		{"heights-twice", `The height of the skin is told in several ways that do not go together.
Which of them counts would be a guess. Leave one of height, plane and heights; sections of the wing
are laid on heights or on a plane.`},
		{"heights-unknown", `No height was touched within a cutter's radius of this cut, so its
height is reckoned from further away. Touch around it; accept it for a cut that goes through well
within its limit.`},
		{"hole-pitch", `Two screw holes stand so close that the laminate between them may shear.
Value and limit are in diameters. Move them apart, or carry no load there.`},
		{"job-broken", `The job file is no valid TOML, or no plain UTF-8 text. Line and column are
given where they are known. A missing quote or bracket on the line before is the usual reason.`},
		{"job-missing", `The job file cannot be read. Check its name and folder; sparclear demo DIR
writes jobs to start from.`},
		{"job-mixed", `A wing is cut where it lies, by its datums; parts are cut from sheet that lies
where at says. One job does one of them, and what belongs to the other would be passed over. Take it
out, or make two jobs.`},
		{"job-uneditable", `What was measured cannot be written into the job, since its tables are
written in a way that an edit could spoil. Give each [[datum]], each [[edge]] and [skin] a table of
its own, or copy the figures by hand.`},
		{"keepout-hole", `A cut lies in a hole of the outline of a keep-out, and a hole counts as
free. If the keep-out is a ring, that is right. If two outlines happen to lie in each other, the
member would be cut: put each on its own layer. Otherwise accept it by the member's name.`},
		{"keepout-inside", `A member lies wholly inside a through cut. No cutter touches it, and yet
it comes out with the slug or stands free below. Look whether cut and member are drawn in the right
place; accept it by the member's name if that is meant.`},
		{"keepout-unread", `The layer of a keep-out holds something that is not kept clear of: a
hatch, points, something hidden. What was drawn there was perhaps meant to be protected. Draw all of
it as outlines, or accept it by the member's name.`},
		{"key-unknown", `The job holds a key that does not exist, perhaps mistyped; the nearest real
one is given. Passed over in silence, a limit or clearance with a slip in it would be lost.`},
		{"key-useless", `The key is known but does nothing under a cut of this kind. Perhaps you
expect of it something that will not happen. sparclear help with the name of the kind lists what is
read.`},
		{"kind-unknown", `There is no kind of cut of that name; the nearest one is given. sparclear
help lists all kinds.`},
		{"layer-unnamed", `A cut crosses something that is drawn on a layer which the job does not
name, so nothing keeps clear of it. It may be a centre line; if it is a rib, a tube or a wire, add a
[[keepout]] for it.`},
		{"layout-failed", `The layout was found and could not be drawn or written. Nothing is
written. Please report the job.`},
		{"layout-missing", `The file that says where the parts lie cannot be read. sparclear nest
makes one; without layout the parts are nested at every run.`},
		{"located", `Tells how the drawing lies on the machine: its turn, how far the touched datums
are off, and what they would be off if the panel were the other one. A worst of a few hundredths is
good; half a millimetre means that a mark is not where it is drawn.`},
		{"machine-missing", `No machine is named, so travel, speeds and the words of its controller
are unknown. Add machine = "…"; sparclear shop lists them.`},
		{"material-missing", `No material is named, so no speed or feed can be chosen and no dust
named. Add material = "…"; sparclear shop lists them.`},
		{"material-unsaid", `Sheets of several materials are given, and the part does not say which
it needs. A bracket from the wrong one breaks in the air. Add material, or sheet, under the part.`},
		{"member-unknown", `trim names a keep-out that the job does not have; the nearest name is
given. Correct it.`},
		{"name-twice", `Two things bear one name, so nobody can say which is meant. Give each a name
of its own; equal sheets are one with quantity.`},
		{"no-clamps", `No clamp is declared, so rapids are checked against nothing that stands above
the work. Add a [[clamp]] for each clamp, strap and weight, or say no_clamps = true when there are
none.`},
		{"no-members", `No keep-out is declared, so nothing inside the wing is protected. Add a
[[keepout]] for every spar, rib and wire near the cuts; accept it only for a wing that has none
there.`},
		{"not-a-circle", `What is to be drilled or bored is no circle or point. Draw it as one, or
ask for an opening.`},
		{"not-a-sheet-job", `The command places parts on sheets, and this job has none. A wing job
is cut by sparclear cut.`},
		{"not-a-wing-job", `Datums and heights are touched on a wing. A sheet is measured with a
caliper at its corners; write what it shows under measured.`},
		{"not-positive", `A length, speed or size is 0 or below where more is needed. Look for a
missing digit or a sign; leave the key out if it may be chosen.`},
		{"not-proven", `The certificate is not complete, so no program is written. Its checks say
which one failed; the findings above say what to do.`},
		{"option-wrong", `An option of the cut has a value that makes no sense. The message says
which values do.`},
		{"origin-broken", `origin says where the program's zero lies in machine coordinates, and
takes three numbers. Leave it out if you do not need it.`},
		{"outline-missing", `The cut needs a closed outline, and its layer holds none. An outline
that looks closed may have a gap; sparclear look shows it with its width. Close it in the drawing.`},
		{"outline-vanishes", `Moved by its fit or allowance, the outline closes up and nothing is
left. Look at the sign: outwards is positive. Give a smaller one.`},
		{"part-outline", `The built-in outline makes several pieces, and a part is one. Use another
outline, or draw the part.`},
		{"part-unknown", `The job makes no part of that name; the nearest one is given. A cut of a
sheet job belongs to a part, or it would not be cut at all. Correct it.`},
		{"parts-missing", `A sheet is given and no part to cut from it. Add a [[part]] with drawing
and layer; sparclear help sheet shows every key.`},
		{"picture-failed", `A picture could not be drawn, so nothing was written: a run sheet that
is missing would be missed at the machine. Please report the job.`},
		{"place-broken", `A copy that is laid by hand needs two numbers, or three with its turn: [x,
y, degrees]. Write it again.`},
		{"place-left", `Where parts lie by hand in the job that they are taken from means nothing on
other sheets, so it is not taken over. Place them here if you want them placed.`},
		{"place-too-many", `More copies are laid by hand than the part is wanted. Raise the
quantity, or take a place out.`},
		{"place-unsure", `By what machine, cutter, datums and drawing may be off, the edge may lie
further from where it is drawn than the tolerance of the cut. The largest share is named: work on
that one. Touch datums farther apart and nearer to the cut; allow more only where it does not
matter.`},
		{"plane-broken", `A point of plane needs three numbers, [x, y, z] as the display shows them.
Write it again.`},
		{"point-broken", `A point needs two numbers, [x, y]. Write it again.`},
		{"probe-thick", `The tip of the probe does not fit into the hole, or finds no room to look
for the pin. Use a thinner one, or touch it by eye: feature = "mark".`},
		{"programs-one", `The machine's controller cannot change cutters within a program, so there
is one program for each cutter anyway. Leave programs out, or correct tool_change in its profile.`},
		{"promise-broken", `One step of the work handed on something that it should never. This is a
fault of sparclear, and nothing is written. Please report the job.`},
		{"room-left", `How much height is left in the wing below what goes into the opening. Look
whether plug and lead find room in it.`},
		{"room-short", `What goes into the opening is higher than the wing is thick here. It would
press the far skin out. Move it to where the wing is thicker; accept it if it may stick out.`},
		{"search-stopped", `You stopped the nesting; this is the best layout that it had found,
checked like any other. Run it again for a tighter one.`},
		{"sheet-missing", `Parts are asked for and no sheet to cut them from. Add a [[sheet]] with
size and thickness.`},
		{"sheet-outline", `The layer should hold the outline of the sheet and holds none, or
several. Draw it alone on a layer, holes inside it.`},
		{"sheet-size", `The sheet has no size, or one of 0. Add size = [x, y], or drawing and layer
for an offcut.`},
		{"sheet-uneven", `The sheet is thicker in one place than in another by more than tabs and
pockets forgive. Cut slots and pockets where it was measured, or take an evener sheet.`},
		{"sheet-unknown", `No sheet of that name stands in the job, or nothing is cut from it. The
names are listed.`},
		{"sheet-unmatched", `No sheet has the thickness and material that the part asks for. Add
one, or correct either of them.`},
		{"sheet-unsaid", `The job makes programs for several sheets, and the command works on one.
Name it.`},
		{"side-height", `The height at which a pin or hole is to be touched from the side lies above
top, or out of reach. side_z is what the display shows with the tip beside it. Correct it, or give
another --top or --reach.`},
		{"speed-out-of-range", `A speed or feed that you ask for is more than machine or cutter can
do, or less. Stay within the figures given, or leave the key out for the usual one.`},
		{"tab-drawn", `Holes that take tabs are known by the width that they are drawn with, and it
is not given. Add drawn under tab_slots.`},
		{"tab-shape", `A slot for a tab must be a rectangle, so that its width can be told from its
length. This one is not. Draw it with straight ends, or give its fit as a number.`},
		{"tab-thickness", `The slot shall fit a tab, and the thickness of that tab is not given.
Measure the sheet that it is cut from, and add thickness.`},
		{"tabs-broken", `Tabs need a count of at least one, a width and a height that are more than
a film. Thinner ones break while the cutter still runs. tabs = { count = 3, width = 4, height = 0.5
} is a beginning.`},
		{"thickness-missing", `The thickness of the sheet is not given. Sheets differ from their
name by tenths, and the cut would not be through. Measure at four corners, and add thickness or
measured.`},
		{"thickness-twice", `The sheet has a thickness and measured ones too. Leave thickness out;
what was measured counts.`},
		{"thickness-unsaid", `Sheets of several thicknesses are given, and the part does not say
which it needs. Add thickness, or sheet, under the part.`},
		{"tolerance-fine", `The tolerance class allows less than the machine holds on this size. The
size will often be outside it. Take a coarser class, or finish by hand.`},
		{"tolerance-unknown", `The general tolerances give nothing for this size in this class. Give
the tolerance as a length, or add nominal.`},
		{"touch-heights", `The probe comes down by rapid to a height where nothing rises, and goes a
stated way further. Neither can be guessed. Give --top, a height that clears everything on the
panel, and --reach.`},
		{"touch-repeat", `Tells how well repeated touches of one place agree. It is what your
touching is good for, and it counts in the error budget.`},
		{"touch-repeat-poor", `Repeated touches scatter more than the job states, so the errors that
are reckoned with are too small. Clean tip and work, see that nothing moves, touch again; or state
what you really reach.`},
		{"touch-top", `The probe comes down to --top by rapid, and the heights that the job holds say
that the skin lies higher. It would be driven into the skin. Give a top that nothing rises above;
heights of an earlier set-up are to be taken out of the job.`},
		{"trimmed", `The opening is cut back where it comes near to a member, as trim asks. The note
says how far and how much. See whether what goes in still fits.`},
		{"width-missing", `A member drawn as a line has no width, so it would be kept clear of as if
it were a thread. Add width, the thickness of the web.`},
		{"word-unknown", `The key knows a few words, and this is none of them. The nearest one is
given.`},
		{"zero-doubtful", `Zero and the heights of the skin do not go together: by them the work
would lie below the table, above what the machine reaches, or nowhere near the zero that was named.
A cut that begins at the wrong zero goes straight through the wing. Look whether the heights were
touched from that zero, in mm, and with their sign.`},
		{"zero-missing", `The job does not say where Z zero is, and every depth hangs on it. zero =
"table" is the top of the spoilboard, zero = "skin" the top of sheet or skin where you touch off.`},
	}
}
