package proof

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"air-low", `An air pass traces the outlines above the skin, so that you can see where they
lie. Here it comes nearer to the skin than was asked, and a wing that lies a little higher than
thought would be scratched. Make the trace again with more --height, or touch the heights again.`},
		{"block-delete", `A line begins with a stroke, so a switch on the machine decides whether it
runs. What depends on a switch cannot be proven. Take the stroke out if the line is meant to run,
the line if it is not.`},
		{"certificate-broken", `The file that is held against the programs is no certificate of
sparclear, or it was damaged. Prove the job again; its certificate is written afresh.`},
		{"certificate-changed", `The certificate says other things than the proof says now of the
same job and programs. Somebody edited it, or another version wrote it. Do not rely on it; prove the
job again and compare.`},
		{"certificate-version", `The certificate was written by a version that arranged it
otherwise. It cannot be held against the programs. Prove the job again.`},
		{"change-low", `The program pauses or asks for another cutter while the tip stands below the
safe height. Hands come near the work then, and the way back to the cut is not proven. Go to safe
height before the pause.`},
		{"clamp-near", `Cutter, shank or holder may come nearer to a clamp than its clearance,
rapids included. The cutter would break, or pull the work loose. Move the clamp and correct its
place in the job, or move the cut.`},
		{"controller-word", `The controller that the profile describes does not know this word, or
takes it for something else. What it would do then is unknown. Take the word out, or correct the
capabilities in the profile if the controller knows it.`},
		{"coolant-wet", `The program starts coolant, which has no place here: in a trace nothing is
cut, and in a hollow panel or in laminate fluid creeps in and stays. Take the word out; extract the
dust instead.`},
		{"corner-left", `An inside corner of the outline is tighter than the cutter, so material
stays there. The most that stays is given. If something square must seat, ask for relief = "dogbone"
or "tbone", take a thinner cutter, or draw the corner round.`},
		{"depth-limit", `Somewhere under the cutter the program goes deeper than the limit that the
job gives for this cut, errors of height included. What lies below, a spar or a wire, is what the
limit protects. Raise the cut, touch more heights, or give a deeper limit where you know that
nothing lies below.`},
		{"distance-unstated", `The program moves before G90 or G91 says how its figures are meant.
After another program the machine may still be in the other mode. Write G90 at the head.`},
		{"dwell-in-material", `The cutter waits while it stands in the cut. It rubs on one spot, and
heat softens the resin. Lift before waiting.`},
		{"dwell-long", `The wait is longer than any spindle needs. P of G4 counts seconds; some
controllers count thousandths, and a figure meant for one waits for an hour on another. Correct P.`},
		{"edge-unsure", `By runout, and by what the cutter's diameter may be off, the edge may lie
further out than the tolerance of this cut. Nothing is wrong with the program. Measure the cutter
and give its diameter, clean the collet, or allow more where it does not matter.`},
		{"end-missing", `The program has no M2 or M30 at its end. It may have been cut off on its
way to the machine, and then half an opening looks like a whole program. Write it again.`},
		{"end-not-retracted", `The program ends with the tip below the safe height, in or beside the
work. The next move of anybody would drag it through. Let it end at safe height.`},
		{"feed-missing", `A move at feed comes before any F word. The machine would stop with an
error in the work, or use what an earlier program left. Write F before it.`},
		{"feed-slow", `The feed is so slow that a tooth takes hardly anything off: it rubs, heats,
burns the resin and dulls. Run the feed that the cut asks for, or turn slower.`},
		{"flaw-in-part", `A part lies over a place of the sheet that you marked as flawed. Move the
part, or accept it by that name under the part if the flaw does not matter there.`},
		{"floor-passed", `The program may reach deeper than the floor, the depth that nothing may
pass because the far skin or wires lie there. Errors of height are counted in. Raise the cut, or
measure again how deep the inside is.`},
		{"gouge", `The program cuts where the drawing does not ask for it: past the edge of an
outline, or off every cut. Place and depth are given. A program that was edited by hand needs its
move put right; one that sparclear wrote itself should never say so, please report the job.`},
		{"height-unknown", `The skin was touched too far from here to say how high it lies, so
neither depth nor clearance can be told. Touch around this place; sparclear measure says where.`},
		{"holder-in-work", `Shank, nut or holder would come into the material before the tip is at
depth. It burns, and pushes the work away. Let the cutter stand out further, cut less deep, or take
a cutter with a longer neck.`},
		{"holder-near", `The cutter itself keeps clear of a member, the shank or holder above it
does not, as happens on a steep skin or beside a high rib. Let the cutter stand out further, or move
the cut by the distance given.`},
		{"input-changed", `A file that the job reads, a drawing or a list of heights, is not the one
of the certificate. The proof holds for the old one only. Prove the job again.`},
		{"keepout-deep", `A keep-out begins deeper than anything cuts here, so it binds nothing.
That is right if its depth was measured. If it was a guess, measure it: a spar that lies higher
would not be seen.`},
		{"keepout-near", `The cutter, with all errors counted in, may come nearer to a member inside
the wing than its clearance. A nicked spar is found in the air. Move or shrink the opening by the
distance given, touch more or better datums to shrink the errors, or trim the opening back with
trim. A primary member can never be accepted.`},
		{"keepout-unknown", `How near the cutter comes to this member could not be bounded, mostly
since the height of the skin above it is unknown or its footprint is far out. Look at its layer,
from and to, and touch heights around it.`},
		{"leftover", `After a cut that clears an area some of the area still stands. A servo that is
to lie flat there would rock. Plan the job again; in an edited program put the missing move back.`},
		{"length-offset", `The length of one cutter is taken from the entry of another, G43 with a
wrong H. The tip would stand too deep or too high by the difference of the two. Give each cutter its
own entry.`},
		{"loose-part", `The program cuts in a piece after everything that held it was cut away. A
loose piece is thrown, or turns and jams under the cutter. Cut its holes first, hold it by tabs or
an onion skin, or leave a skin for the last pass.`},
		{"not-cut", `Part of the outline is not cut at all. A program that was cut short or edited
does that. The place is given; write the program again.`},
		{"not-deep", `The cut does not reach the depth that the job asks for. Look for a pass that
is missing, or a Z that was raised by hand.`},
		{"not-through", `The cut should go through and does not: material stays, all errors taken in
its disfavour. Torn out by hand, the skin delaminates. Cut deeper where nothing lies below, or touch
more heights.`},
		{"offsets-changed", `The program shifts or turns its own coordinates, by G92, G10, G54 to
G59.3 or the like. The job knows one zero, and what is proven about that zero alone. Take the shift
out, and set zero on the machine as the run sheet says.`},
		{"origin-unknown", `The program moves in machine coordinates (G53), and nothing says where
its zero lies in them. Where it goes is unknown. Use program coordinates, or give origin in the job.`},
		{"part-free", `The part comes loose with its last cut, as nothing holds it. It may lift and
be caught by the cutter. Give it tabs or an onion skin, or hold it by vacuum or tape.`},
		{"path-mode", `Corners are blended (G64) without saying by how much. On the machine each
corner is then rounded by an unknown amount. Write G61, or G64 with P, or give the machine's
acceleration in its profile.`},
		{"pause-in-material", `The program stops, or changes the cutter, while the tip stands in the
material. Going on leaves a mark at best and a broken cutter at worst. Lift to safe height before
it.`},
		{"pause-spinning", `The program pauses or changes the cutter while the spindle turns. Hands
reach in at a pause. Write M5 before it.`},
		{"peck-deep", `The drill goes deeper without lifting than the cut asks for. Chips pack the
flutes, the drill heats and may break. Lift more often.`},
		{"piece-freed", `Several cuts together go round a piece of the wing that no outline asks for. It
comes loose with the last of them and falls inside, or the cutter throws it. Move the cuts apart or
leave bridges; if the piece is to come out, accept it under the cut that is named.`},
		{"plane-unstated", `An arc comes before G17, G18 or G19 says in which plane it lies. After
another program that may be the wrong one, and the arc would dive. Write G17 at the head.`},
		{"plunge-fast", `The cutter goes straight down faster than the cut asks for. Few cutters cut
with their middle, and small ones break. Write the feed that is given.`},
		{"probe-in-air", `An air pass may not probe: what stands behind a probing move depends on
where it touched. Make the trace again.`},
		{"probe-in-cut", `A program that cuts also probes. Where the tip stands afterwards depends
on the touch, so nothing behind it can be proven. Probe in a program of its own and write the result
into the job.`},
		{"probe-spinning", `A probe is driven down while the spindle turns: it is destroyed, and the
reading is worthless. Stop the spindle first, and wait until it stands.`},
		{"program-changed", `A program is not the one of the certificate, byte for byte, or it is
missing. What was proven was another text. Write it again with cut, or prove the new one by
sparclear prove.`},
		{"program-empty", `The program holds no move. Run on the machine it would look like a cut
that went well. Write it again.`},
		{"program-missing", `A program that was named cannot be found or read. Check name and
folder; sparclear cut writes the programs of a job into out beside it.`},
		{"proof-stopped", `The proof was stopped before its end, so it says nothing about what it
had not seen. Nothing is written. Run it again.`},
		{"ramp-steep", `The cutter goes down along its path more steeply than the cut asks for.
Below the flutes' ends it hardly cuts, so it is pushed and heats. Ramp more gently, over a longer
way.`},
		{"rapid-down-diagonal", `A rapid goes down and across in one move. Most machines do not go
straight then: each axis takes its own time, and the tip may come down early. Lift, go across, then
down.`},
		{"rapid-in-material", `A rapid may pass through material, whichever way the axes take.
Cutters break at that speed, and parts fly. Go to safe height, then across, then down.`},
		{"rapid-low", `The probe crosses the work below the safe height, where a rib or clamp may
stand. Go up first.`},
		{"relative", `A move under G91 begins where the last touch ended, which nobody knows
beforehand. Only the short way straight up is possible then. Write G90 before anything else.`},
		{"relative-digits", `Moves under G91 carry more digits than the controller takes. Each is
rounded, and the errors add up along the way. Write G90, or round them yourself.`},
		{"relief-missing", `Corners that should have been relieved stay round, so a square tab will
not seat. Plan the job again, or draw the relief.`},
		{"rib-entered", `The cutter comes into the clearance of a rib, wire run or other secondary
member, or into the member itself. That weakens the wing or cuts a wire, and may yet be what you
want. If so, accept it under that cut by name: accept = ["rib-entered: rib 3"]. It is printed on the
run sheet.`},
		{"rpm-off", `The spindle turns at another speed than the cut asks for. Chips get too thick
or too thin. Write the S that is given.`},
		{"rpm-range", `The speed lies outside of what the spindle can do. What it would do instead
is unknown. Correct S.`},
		{"slug-drops", `The slug comes loose at the end of the cut, as the job says by loose = true.
Be there to take it out: in a hollow wing it rattles, in the air it jams a control.`},
		{"slug-loose", `A piece comes free that nothing holds. In a wing it falls inside, where it
jams a control; at the cutter it is caught and thrown. It may be the slug of an opening, what a slot
or a row of holes goes round, or a corner of the sheet. Give tabs, an onion skin or bridges; where
you will be there to take it out, say loose = true.`},
		{"spin-up", `The cutter reaches the material before the spindle had time to come up to
speed. Teeth bite too much and may break. Write a dwell (G4 P) after M3.`},
		{"spindle-low", `The spindle is started while the tip stands below the safe height, in or
beside the work. Lift first.`},
		{"spindle-off", `The cutter is moved through material while the spindle stands. It breaks,
or drags the work off. Write M3 with S before it.`},
		{"spindle-reverse", `The spindle turns backwards, so the teeth rub with their backs. Write
M3 in place of M4.`},
		{"spindle-turns", `A program that only traces or probes starts the spindle. Hands and eyes
are near the tip then. Take the M3 out, or make the program again.`},
		{"start-dependent", `Where the program goes depends on where the tip stood before it, or on
a parameter that it does not set. From another place it may cross the wing. Begin with safe height,
then X and Y under G90, and set every parameter that is read.`},
		{"start-height", `The program does not begin by going up to safe height. From wherever the
tip stands, it goes across first. Begin with G0 to safe height, or bring the tip there by hand every
time.`},
		{"step-deep", `One pass takes more depth than the cut asks for. The cutter bends, slants the
wall, and breaks if it is much. Cut in more passes.`},
		{"tab-missing", `Fewer tabs hold the piece than the job asks for. It may come loose in the
last pass. Plan the job again, or ask for fewer tabs if fewer are enough.`},
		{"tab-small", `A tab comes out narrower than asked for, or is cut through. It may break
while the cutter still runs. Keep the cutter higher for longer, by the cutter's width more than the
tab is wide.`},
		{"through-unsure", `As drawn the cut goes through, but by the errors of height and thickness
a film may stay. Cut deeper where nothing lies below, touch more heights, or cut the film by hand.`},
		{"touch-deep", `The probe may go on further down than allowed without a touch. If the work
is not there it strikes what lies below. Let it end higher, or give more --reach.`},
		{"touch-drag", `The probe is driven on sideways or down where it already touches. It bends,
and every later reading is off. Go up first.`},
		{"touch-end", `The program ends with the probe down in contact reach. Whoever moves the
machine next drags it. End at safe height.`},
		{"touch-fast", `The probe goes faster than it may. It overruns the touch by what the machine
needs to stop: the reading is off, or the tip is bent. Probe slower.`},
		{"touch-feed", `The probe goes down at feed without probing, so nothing stops it at a touch.
Come down by rapid to where nothing rises, and from there by G38.2.`},
		{"touch-missing", `The program should touch something and never probes. It was cut short or
edited. Make it again by sparclear measure.`},
		{"touch-slant", `A touch from above goes sideways as well. The place of the touch is then
not known. Probe along Z alone.`},
		{"travel", `The program leaves the travel of the machine, or comes too near to its end. The
machine stops in the cut, or strikes its stop and loses its place. Move the work, set zero
elsewhere, or split the job.`},
		{"units-unstated", `The program moves before it says its units, G20 or G21. After another
program the machine may be in the other ones, and 25.4 times as far is a crash. Write G21 at the
head.`},
		{"work-unsound", `What the job says cannot be proven about: a thickness below 0, a figure
that is no number, a cutter that is not there. What it is stands in the message. Repair the job.`},
		{"wrong-cutter", `A cut is made with another cutter than it asks for. Its width, and so the
edge, is another one, and its length may be too. Call the right one before it.`},
	}
}
