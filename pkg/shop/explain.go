package shop

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"chip-rubbing", `The largest chip is thinner than 0.005 mm. A tooth does not cut such a chip, it
rubs: the edge heats, resin softens, the cutter dulls in no time. Feed faster or turn slower; on
paths of short blocks the machine may not reach the feed at all.`},
		{"compression-shallow", `A compression cutter presses both faces inward, but only where its down-cut part
reaches. Passes shallower than the up-cut part let the top ply see up-cut alone, and it frays. Cut
at least that deep in one pass, or take another form of cutter.`},
		{"cutter-unknown", `No cutter of that name stands in the shop, in your own folder of profiles or in
the job. sparclear shop lists them; [[cutter]] with name and like adds one to the job.`},
		{"data-borrowed", `The material has no cutting data for this very form of cutter, those of the
nearest form are used. Look at the edge, and add a rule of its own to your profiles.`},
		{"data-missing", `The material has no cutting data for this form of cutter. Take another form, add
[[material.NAME.rule]] to your profiles, or give rpm, feed and depth per pass in the job.`},
		{"data-unjudged", `Speed, feed and depth are as asked for; the material has no data for this form of
cutter that they could be held against. Begin gently.`},
		{"deflection-high", `The cutter bends by more than half of the tolerance, by an estimate from the
specific cutting force beside it. Walls come out slanted and sizes small. Let it stand out less, take
shallower passes or a thicker cutter, or leave an allowance for a finish pass.`},
		{"drill-sideways", `A drill cuts with its point alone; moved sideways it breaks. Name an end mill or a
burr, or use kind = "drill".`},
		{"drill-unbacked", `A drill that comes out of a laminate with nothing behind it pushes the last plies
off before it cuts them. Put firm backing under the exit, or open the hole by a helix with kind =
"bore".`},
		{"engagement-wide", `The width of the cut is more than the cutter is wide. Take a wider cutter, or
several passes side by side.`},
		{"feed-high", `The feed per tooth, or per revolution, is above the range that the material's data
give: edges tear and small cutters break. Feed slower or turn faster.`},
		{"feed-limit", `The feed that is asked for is faster than the machine can go in that axis. Feed
slower; the figure is in the profile of the machine.`},
		{"feed-low", `The feed per tooth, or per revolution, is below the range of the material's data: the
cutter wears for nothing. Feed faster or turn slower.`},
		{"fibre-against", `Along these edges the tooth runs against the fibre of the top ply, where it lifts
and splinters most easily. Nothing is wrong with the path: use a sharp cutter, back or tape the
face, turn the part, or leave a finish pass.`},
		{"fit-press", `This fit may press into a laminate, which can push its plies apart. Take a fit with
clearance, or bond in a loose sleeve first. It can be accepted under the cut.`},
		{"fit-too-fine", `The tolerance class allows less than machine and cutter hold on a size: lost motion,
runout, tolerance of the cutter and its bend add up to what stands beside it, mostly IT11 to IT13.
Cut undersize by that much and drill, ream or sand to size, or take a wider class.`},
		{"fit-unknown", `The table holds H, JS, h and js of IT6 to IT14 and the common classes F7 to R7 and f7
to s6, for sizes up to 50 mm. Write holes in upper case, outsides in lower case, or give the fit as
a number.`},
		{"flute-short", `The cut is deeper than the flutes are long: above them the shank rubs and heats.
Take a cutter with longer flutes, or cut less deep.`},
		{"life-exceeded", `The cutter will be blunt before the job is done, by the cutting length that is
usual in this material. The places to put in a fresh one are named; used_m in the job counts what was
cut before. It can be accepted.`},
		{"life-pass", `A single pass is longer than a cutter lasts. Divide the cut, or take a cutter that
lasts longer.`},
		{"machine-unknown", `No machine of that name stands in the shop or in your own folder of profiles.
sparclear shop lists them.`},
		{"material-unknown", `No material of that name stands in the shop or in your own folder of profiles.
sparclear shop lists them.`},
		{"number-bad", `A number is 0, negative or no number where a length, speed or force is needed.
Nothing can be worked out from it. Correct it, or leave the key out where it may be chosen.`},
		{"plunge-not-centre-cutting", `The cutter has no teeth in its middle: straight down it stands on what
it cannot cut, and burns or breaks. Enter by a ramp or helix, pre-drill the entry, or take a
centre-cutting cutter.`},
		{"power-high", `The cut takes more than 80 % of what the spindle gives at that speed; small spindles
lose torque when they turn slowly. Take shallower passes or a slower feed.`},
		{"profile-base", `A profile is like another one that is faulty itself. Repair that one first.`},
		{"profile-circle", `Profiles are like each other in a ring, so none of them has a beginning. Let one of
them stand by itself.`},
		{"profile-contradiction", `Two keys of a profile cannot both hold, such as flutes longer than the cutter
stands out. Correct the one that is wrong.`},
		{"profile-deep", `Profiles are like one another in a long chain, which nobody can follow. Let one of them
stand by itself.`},
		{"profile-key", `A profile holds a key that is not known. It may be mistyped, and would be passed over
in silence otherwise.`},
		{"profile-missing", `A profile lacks a key that its kind needs. Give it, or say like and the name of a
profile to start from.`},
		{"profile-name", `A profile has no name, or one that is too long or holds odd characters, so that no
job could ask for it. Use letters, digits and hyphens.`},
		{"profile-syntax", `A profile is no valid TOML. The line is named.`},
		{"profile-too-long", `A file of profiles is far larger than any list of tools. Check that the right
folder is named.`},
		{"profile-too-many", `The folder holds more profiles than any shop has tools. Check that the right
folder is named.`},
		{"profile-twice", `Two profiles of one folder bear the same name. Which of them would count cannot be told,
and a cutter of another diameter cuts another part. Rename one.`},
		{"profile-unknown", `A profile is like another that there is not. It may be mistyped; sparclear shop lists
what there is.`},
		{"profile-unreadable", `A file in the folder of profiles cannot be read. Check its permissions.`},
		{"profile-value", `A value in a profile is of the wrong kind, out of its bounds, or has a unit that is
not known. Lengths are numbers in mm or text such as "1/8 in".`},
		{"rpm-high", `The spindle speed is above the top speed of spindle or cutter. A cutter that is turned
faster than its maker allows can burst. Turn slower.`},
		{"rpm-low", `The spindle cannot run that slowly. Turn faster, or take a thinner cutter.`},
		{"runout-high", `The runout is more than half of the feed per tooth: one tooth takes most of the chip,
the others rub. Clean or change the collet, or feed faster; with small cutters it can hardly be helped.`},
		{"speed-high", `The cutting speed is above the range of the material's data: the edge heats and dulls.
Turn slower or take a thinner cutter.`},
		{"speed-low", `The cutting speed is below the range of the material's data, mostly because a thin cutter
would have to turn faster than the spindle can. The cut is clean as long as the feed per tooth is kept.`},
		{"step-high", `Passes are deeper than the material's data give for this cutter. Take shallower ones,
or a stiffer cutter.`},
		{"stickout-short", `The cut is deeper than the cutter stands out: the collet nut would touch the work.
Let it stand out further.`},
		{"stress-high", `A blunt cutter would be bent with more than half of what breaks it, by an estimate
from the specific cutting force. Take shallower passes, a slower feed or a thicker cutter.`},
	}
}
