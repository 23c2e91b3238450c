package rs274

import "sparclear/pkg/diag"

// Explanations says what each finding of this package means; sparclear help CODE shows it.
func Explanations() diag.Paragraphs {
	return diag.Paragraphs{
		{"rs274-after-end", `Text stands behind the end of the program, M2 or M30. The machine does
not run it. Take it out if it is not meant to be, or the end word if it is.`},
		{"rs274-arc-ambiguous", `Start and end of an arc are the same but for the last digit: it may
be a whole circle or nothing, as each controller rounds. Repeat the very coordinates for a circle.`},
		{"rs274-arc-format", `An arc lacks what it needs: words of its plane, and either R or the
offsets of its centre. Write I and J for arcs in XY.`},
		{"rs274-arc-radius", `Start and end of an arc are not equally far from its centre. The
controller would stop, or bend the arc in its own way. Write more decimals, or correct the centre.`},
		{"rs274-arc-reach", `The radius of an arc is too small to reach its end, or the end is the
start. Use I and J in place of R.`},
		{"rs274-axis-missing", `The line asks for a motion and names no axis. Say where to.`},
		{"rs274-axis-twice", `Two words on one line both use the axis words, such as G10 and G1.
Which gets them differs between controllers. Put them on two lines.`},
		{"rs274-axis-unused", `Axis words stand on a line, and no motion is in force that they
belong to. Say how to move: G0, G1, G2 or G3.`},
		{"rs274-character", `A character stands in the program that the language does not have. A
copy may have been damaged. Take it out.`},
		{"rs274-comment-character", `A comment holds something unprintable. Controllers choke on it.
Take it out.`},
		{"rs274-comment-nested", `A comment opens within a comment. Where it ends differs between
controllers, and text becomes motion. Leave one of them.`},
		{"rs274-comment-open", `A comment is not closed on its line. What stands behind it may or
may not be run. Add the closing bracket.`},
		{"rs274-compensation", `While the controller compensates for the cutter, only plain motion
in XY can be followed. sparclear writes paths that need none. End it by G40 first.`},
		{"rs274-compensation-corner", `The path under compensation has an inside corner that the
cutter does not fit into. The controller stops there, in the cut. Draw an arc, or write the path of
the centre.`},
		{"rs274-compensation-gouge", `The way in under compensation, or an arc of it, is shorter
than the cutter's radius, so the cutter would cut into the edge. Begin further out, with larger
arcs.`},
		{"rs274-compensation-tool", `Compensation by a cutter whose diameter is not known here, or a
way in that cannot be followed. Name the cutter's number, and enter by a straight line.`},
		{"rs274-cycle-depth", `The retract level of a drilling cycle lies below the bottom of its
hole. Exchange R and Z.`},
		{"rs274-cycle-spindle", `A cycle that needs a turning spindle begins while it stands. Start
it before.`},
		{"rs274-cycle-value", `A drilling cycle has a wait below 0, a peck of 0 or less, or a repeat
that is no whole number. Correct P, Q or L.`},
		{"rs274-cycle-word", `A drilling cycle begins without a word that it needs. It would use
what an older one left. Write all of them at its first hole.`},
		{"rs274-dwell", `G4 waits for P seconds, and P is missing or below 0. Write it.`},
		{"rs274-expression", `A formula in brackets is not complete. Write [value operator value],
each bracket closed.`},
		{"rs274-feed", `A cut begins, and no feed was ever given. The machine would stop, or use
what an earlier program left. Write F before it.`},
		{"rs274-feed-units", `F stands on the line that changes between mm and inches, and it is
read in the old ones. Write it on the next line.`},
		{"rs274-file-long", `The program is larger than is read. Split it.`},
		{"rs274-function", `A function of a formula is none that the language has, or lacks its
argument. The help lists them.`},
		{"rs274-g-code", `There is no such G word in the language that is read. What a controller
would make of it is unknown. Take it out.`},
		{"rs274-group-twice", `Two words of one group stand on a line, such as G0 and G1. Only one
of them can hold. Take the other out.`},
		{"rs274-index", `A number that picks a cutter, coordinate system or the like is no whole
number, or there is no such one. Correct it.`},
		{"rs274-inverse-time", `Under G93 each cutting line says by its own F how long it may take.
One is missing, or a cycle was asked for. Use G94, feed per minute.`},
		{"rs274-length-index", `G43 takes the length of a cutter from the entry named by H, which is
missing or does not exist. Write it.`},
		{"rs274-letter", `A word begins with a letter that the language does not have. It may be a
mistyped one. Correct it.`},
		{"rs274-line-long", `A line is longer than controllers take; what stands too far right may
be lost unseen. Break it.`},
		{"rs274-line-number", `N takes one to five digits, first on its line. Correct it, or leave
line numbers out.`},
		{"rs274-m-code", `There is no such M word in the language that is read; words of one
controller alone stand in its profile. Take it out, or add it there.`},
		{"rs274-machine-move", `G53, a move in machine coordinates, goes with G0 or G1 alone.
Correct the line.`},
		{"rs274-many-findings", `So many lines are wrong that reading was stopped. Perhaps it is no
program at all. Repair the lines named and look again.`},
		{"rs274-many-m", `More than four M words on one line. Some controllers drop the rest. Spread
them over lines.`},
		{"rs274-many-moves", `Repeats and pecks make so many moves that it cannot be meant. Look at
L and Q.`},
		{"rs274-no-end", `The program does not end with M2 or M30. It may have been cut off. Write
it again.`},
		{"rs274-number", `A number cannot be read as one. A letter O in place of a zero and a comma
in place of a point are common. Correct it.`},
		{"rs274-offset", `A word that shifts coordinates lacks what it needs. Such shifts are not
proven anyway; take it out.`},
		{"rs274-parameter", `A parameter is no whole number within those that exist. Correct it.`},
		{"rs274-percent", `A program that begins with a percent line ends with one. The second is
missing, so it may have been cut off. Write it again.`},
		{"rs274-probe", `A probing move is shorter than the language allows. Let it begin further
off.`},
		{"rs274-probe-result", `The program reckons with what a probe found, which only the machine
knows, so nothing behind it can be proven. Measure first, and write the result into the job.`},
		{"rs274-range", `A length, feed or speed is larger than any machine has. Look for a missing
decimal point.`},
		{"rs274-retract", `A drilling cycle begins before G98 or G99 says how high it retracts. The
lower of the two was looked at. Say which.`},
		{"rs274-rotary", `The program turns an axis A, B or C. Only three axes are read and proven.
Take the word out.`},
		{"rs274-setting", `A parameter is set in a way that is not understood. Write #3=15.`},
		{"rs274-speed", `A speed below 0. Write S with a positive number; M4 turns backwards.`},
		{"rs274-value", `A formula has no value: a division by 0, the root of something below 0.
Correct it.`},
		{"rs274-word-twice", `One letter stands twice on a line, such as X10 X20. Which holds
differs between controllers. Take one out.`},
		{"rs274-word-unused", `A word stands on the line that nothing uses there. Perhaps the G word
that it belongs to is missing. Add it, or take the word out.`},
		{"touch-no-probe", `The controller has no word for a straight probe. Touch by hand, and fill
in the list that was written.`},
		{"touch-order", `A touch finds no room: top, reach and safe height lie in the wrong order,
or there is none to go aside. Give a higher safe height, another --top, or another place.`},
		{"write-arc", `An arc cannot be written so that start, end and centre agree within what the
controller accepts. It would stop there. Give the controller more decimals in its profile, or arcs =
"none".`},
		{"write-coordinate", `A coordinate or the safe height is no number. Nothing is written. Look
at the figures of the job; please report it if they are right.`},
		{"write-cutter", `A path names a cutter that the job does not have. Name one of them.`},
		{"write-dive", `A rapid would go across and down at once, which most machines do not do in a
straight line. It is never written. Please report the job.`},
		{"write-feed", `A cut has no feed above 0. Give it one, or leave it out for the usual one.`},
		{"write-line-long", `A line is longer than the controller takes. Raise max_line in its
profile if it takes more, or shorten its own start and end lines.`},
		{"write-speed", `A path has no spindle speed. Give one, or leave it out for the usual one.`},
		{"write-start", `A path does not begin at safe height. It is not written. Please report the
job.`},
		{"write-wait", `The controller has no word for waiting, so nothing in the program waits for
the spindle to come up. Hold the feed by hand until it is at speed.`},
	}
}
