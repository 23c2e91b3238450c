package cli

import "fmt"

// sheetPage is the help of sheet jobs: every key with which sheets and parts are
// ruled. A test holds it against the keys that the job file knows.
const sheetPage = `sheet: parts nested on sheets and offcuts

A sheet job has [[sheet]] and [[part]] tables. What a part does not lay by hand is
nested; parts go onto as many sheets as they need, the cheapest first, and every sheet
gets its own proven program, certificate, plan view, run sheet, film and labels, named
after it. sparclear nest writes the layout alone.

[[sheet]]
name          = "offcut 7"     # names the outputs; default: sheet 1, 2, …
size          = [300, 200]     # or drawing, layer and units: any outline, with holes;
                               # or a built-in outline:
outline       = "wheel-well"   # its sizes and turn_deg; its lower left corner lies at
sizes         = { wheel = 175 }  # the zero of the sheet, or its middle at center
center        = [90, 90]
turn_deg      = 0
drawing       = "offcut.dxf"
layer         = "SHEET"
units         = "mm"
at            = [0, 0]         # where its zero lies in program coordinates
thickness     = 2.0            # or measured = [2.01, 1.98, …] at several corners
measured      = [2.01, 1.98]
thickness_tol = 0.1
fibre_deg     = 0              # direction of the 0° fibre, from +X
material      = "carbon-plate-2"  # default: that of the job
margin        = 5              # kept free along edges and holes
spoil         = 0.5            # how deep the spoilboard may be cut
flaws         = [[x0, y0, x1, y1]]  # they may overlap each other and the edge
flaw_layer    = "FLAWS"        # outlines of its drawing that are flaws; and a
                               # [[sheet.flaw]] with outline, sizes, center and
                               # turn_deg for each built-in outline
quantity      = 2              # pieces at hand, or "unlimited"; default 1
cost          = 12.40          # of one piece; 0 for an offcut that is paid for; without
                               # it that of the material's profile, or not known

[[part]]
name          = "bulkhead A"
mark          = "A"            # printed on plan, label and run sheet
drawing       = "parts.dxf"
layer         = "BULKHEAD_A"   # one outline with its holes
units         = "mm"
outline       = "hatch"        # or a built-in outline with its sizes = { … }
quantity      = 3              # or "fill": as many as fit when all else lies; default 1
turns_deg     = [0, 180]       # relative to the fibre; default 0 alone
turn_tol_deg  = 5              # to either side of each turn
any_turn      = true           # any direction, in place of turns_deg
may_flip      = true           # may be turned over; otherwise face up
thickness     = 2              # binds the part to sheets of it, and asked for where the
material      = "…"            # sheets differ in it
sheet         = "offcut 7"     # binds it to one sheet
place         = [[x, y, turn]] # copies laid by hand; the rest is nested around them
cutter        = "carbide-2"
hole_cutter   = "carbide-1"    # for its holes; default: cutter
tabs          = { count = 4, width = 4, height = 0.8 }
finish        = 0.15           # and tolerance, fit, hole_fit, tab_slots, relief, accept
                               # as under [[cut]]

A [[cut]] with part = "bulkhead A" cuts other layers of its drawing on every copy.

[nest]
web           = 2              # left standing between two kerfs; default: the thickness,
                               # at least 2
spacing       = 6              # between two parts; default: two kerfs and the web
remnant       = 30             # narrowest remnant worth keeping; default: two margins
                               # and 20
budget        = 2000000        # positions tried: more is tighter and slower
seed          = 1              # another seed, another layout; the same seed, the same

layout = "layout.toml" takes the places from that file, written by nest or by hand:
each [[place]] has part, x_mm, y_mm, turn_deg, and, where they matter, sheet, piece and
flipped = true. Places are checked like nested ones. A copy without a place is nested.

[[from]] makes a job a cutting list of others:
[[from]]
job           = "../fuselage/job.toml"
parts         = ["bulkhead A"] # default: all
times         = 2              # default 1
Its parts come with their cutters and cuts, bound to their thickness and material, and
their labels say which job they are for. It may be a cutting list itself.

Parts may lie in holes of others. Order: holes before outlines, small parts before
large ones, from the middle of the sheet outwards, a part in a hole before the hole.
remnants.toml holds a [[sheet]] for every piece that is left, beside its drawing.
`

// sheetHelp prints the page of sheet jobs when the word asks for it.
func (e *env) sheetHelp(word string) bool {
	if word != "sheet" {
		return false
	}
	fmt.Fprint(e.out, sheetPage)
	return true
}
