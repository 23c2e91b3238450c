package cli

import "fmt"

// jobPage is the help of the job file: every key of it but those of sheet jobs,
// which have a page of their own. A test holds it against the keys that are read.
const jobPage = `job: every key of a job file

A job file is TOML. A length is a number in mm or text with its unit, "1/8 in". A key
that is not known is an error with its line. Paths start at the folder of the job.

title         = "Port panel: flap servo"
name          = "port-panel"   # of the programs; default: the title, or the folder
material      = "glass-balsa-glass-1.8"  # sparclear shop lists materials and machines,
machine       = "small-router-metric"    # or a table { like = "…", … } with other keys
zero          = "table"        # Z zero: top of the table or spoilboard, or "skin": the top
panel         = "port"         # or "starboard"; with side_up it stands on the run sheet
side_up       = "upper"        # or "lower"
safe          = 5              # rapids above the highest thing on the table
origin        = [0, 0, 0]      # machine coordinates of the program's zero, for the travel
tolerance     = 0.3            # of a finished edge, or "ISO 2768-m"; default 0.3 in a
                               # wing, its place included, 0.1 on sheet
height_tolerance    = 0.005    # of a path from its depth
touch_uncertainty   = 0.05     # standard uncertainty of a touched datum, each way
touch_uncertainty_z = 0.02     # of a touched height
accept        = ["code"]       # findings of the whole job that you answer for
no_clamps     = true           # said aloud: nothing stands above the work
programs      = "one"          # or "per-cutter": a file for each; default: as the machine
used_m        = { carbide-2 = 3.5 }  # metres that a cutter has cut before
layout        = "layout.toml"  # sheet jobs: see sparclear help sheet

[drawing]
file          = "panel.dxf"    # or an SVG file
units         = "mm"           # where the drawing does not say, or says it wrongly
mirrored      = false          # the drawing is of the other panel
join          = 0.01           # widest gap that is closed
curve_tol     = 0.002          # arcs for splines and ellipses
hidden        = false          # layers that are off, frozen or not plotted count too
paper         = false          # paper space counts too
hatches       = false          # outlines of hatches count too
wide          = false          # lines drawn with a width count as the band

[[datum]]                      # drawn on the drawing, touched on the machine; two at least,
name          = "root pin"     # three show whether they can be believed
drawn         = [12, 60]
touched       = [72.21, 103.01]
weight        = 1
feature       = "mark"         # or "pin", "hole": a probe finds it from the side
diameter      = 6              # of the pin or hole
side_z        = 41.5           # display with the tip beside the pin, or in the hole

[[edge]]                       # a touch somewhere along a line of the drawing
name          = "hinge line"
from          = [0, 0]         # the line on the drawing
to            = [400, 0]
touched       = [80.1, 44.0]
offset        = 2              # of the touching tip's middle, left of from → to positive
weight        = 1
side_z        = 41.5           # a probe touches it from the side; absent: touched by hand

[probe]
diameter      = 3              # of its tip
length        = 25             # it stands out below the collet nut
search        = 3              # how far a datum may lie from where your eye put it

[skin]
thickness     = 1.8
thickness_tol = 0.1
height        = 42.0           # the same everywhere; or plane, heights or loft
plane         = [[x, y, z], …] # three or more touched points
heights       = "heights.csv"  # touched points x, y, z, a name if wanted
floor         = 14             # depth that nothing may pass: the far skin, a wire
solid         = false          # foam or wood below, not hollow
fibre_deg     = 45             # direction of the top ply on the drawing

[skin.loft]                    # a wing of known sections, laid on the touched heights;
root          = "2412"         # it gives the floor as well. NACA digits or a file of
tip           = "2410"         # coordinates; default: as the root
closed_tail   = false
span          = 900
chord         = 240            # of the root
taper         = 0.7            # chord of the tip in parts of the root's
sweep_deg     = 2
dihedral_deg  = 3
washout_deg   = 1
lead          = [0, 240]       # leading edge of the root on the drawing
aft_deg       = -90            # from nose to tail on the drawing
tip_to        = "left"         # or "right" of that direction

[[keepout]]                    # what no cutter may enter
name          = "main spar"
layer         = "SPAR"         # or outline, sizes, center, turn_deg: a built-in outline
member        = "primary"      # default; or "rib", "wire", "other"
width         = 2              # of a web that is drawn as an open line
from          = 1.8            # depth below the skin where it begins; default: the inner
                               # face of the thinnest skin
to            = 20             # where it ends; default: all the way down
clearance     = 1.0            # the error of the place is added by itself
accept        = ["rib-entered"]  # never for a primary member

[[clamp]]                      # what stands above the work
name          = "strap"
rect          = [0, 0, 30, 60] # x0, y0, x1, y1 in program coordinates; or layer; or
                               # outline, sizes, center, turn_deg
height        = 12             # above the skin or sheet
clearance     = 3
sheets        = ["plate"]      # sheet jobs: on which it stands; default: on all

[[cut]]                        # sparclear help KIND shows each kind with its options
name          = "flap servo"
kind          = "opening"
layer         = "SERVO"        # or a built-in outline:
outline       = "servo-standard"
sizes         = { length = 40.5 }
center        = [118, 40]      # on the drawing
turn_deg      = 0
part          = "bulkhead A"   # sheet jobs: cuts that layer on every copy of the part
panels        = "mirror"       # "turn" or "keep": what the other panel does with it
feature       = "servo 1"      # cuts that keep their places to each other there
cutter        = "carbide-2"
through       = true           # or depth = 1.2, below the skin
overcut       = 0.1            # below the lower face; errors of height are added
limit         = 3.5            # nothing below this depth, ever
diameter      = 2.5            # of bores and drilled points
step          = 0.6            # depth of a pass; this and the next three by cutting data
rpm           = 18000
feed_mm_min   = 500
plunge_mm_min = 150
ramp_deg      = 3
finish        = 0.15           # left for a last round
climb         = true           # else against the feed
tabs          = { count = 4, width = 4, height = 0.6 }  # or { auto = true }
onion         = 0.2            # a skin left in place of tabs
loose         = true           # said aloud: nothing holds the slug
peck          = 2              # drilling: depth of a stroke
tolerance     = 0.1
fit           = 0.1            # grows (+) or shrinks (-) the outline; or "H11"
nominal       = 20             # size that a class is taken at
tab_slot      = { drawn = 2, thickness = 2.08, slip = 0.1, relief = "dogbone" }
relief        = "dogbone"      # or "tbone": inside corners cleared for a square part
visible       = true           # no tab on this edge
room          = 12             # height of what goes in, a servo case
trim          = "rib 3"        # keep-out that the outline is cut back from
text          = "A1"           # of a mark
options       = { … }          # finer ones, named by sparclear help KIND
accept        = ["code"]       # "rib-entered: rib 3" names its member

[[cutter]]                     # a cutter of this job alone
name          = "my 2 mm"
like          = "carbide-2"
diameter      = "1.97 mm"      # any key that sparclear shop carbide-2 shows
`

// jobHelp prints the page of the job file when the word asks for it.
func (e *env) jobHelp(word string) bool {
	if word != "job" {
		return false
	}
	fmt.Fprint(e.out, jobPage)
	return true
}
