package job

import "sparclear/pkg/shop"

// Length is a length in a job file: a number in mm, or text with its unit such
// as "1/8 in".
type Length = shop.Length

// File is a job file as written. A nil pointer means that the key is absent.
// Keys are those of the toml tags; an unknown key is an error with its line.
type File struct {
	Title     string   `toml:"title"`
	Name      string   `toml:"name"`      // base name of the programs; default: from the folder
	Material  any      `toml:"material"`  // name of a profile, or a table like { like = "…" }
	Machine   any      `toml:"machine"`   // likewise
	Zero      string   `toml:"zero"`      // "skin" or "table"
	Panel     string   `toml:"panel"`     // "port" or "starboard"
	SideUp    string   `toml:"side_up"`   // "upper" or "lower"
	Safe      *Length  `toml:"safe"`      // height of rapids above the highest thing on the table
	Origin    []Length `toml:"origin"`    // machine coordinates of the program's zero
	Tolerance *Length  `toml:"tolerance"` // how far a finished edge may lie from the drawn one
	HeightTol *Length  `toml:"height_tolerance"`
	TouchU    *Length  `toml:"touch_uncertainty"`   // standard uncertainty of one touched coordinate of a datum
	TouchUZ   *Length  `toml:"touch_uncertainty_z"` // of one touched height
	Accept    []string `toml:"accept"`              // findings accepted that belong to no cut
	NoClamps  bool     `toml:"no_clamps"`           // said aloud: nothing stands above the work
	Layout    string   `toml:"layout"`              // file of placements, written by nest
	Programs  string   `toml:"programs"`            // "one", or "per-cutter": one file for each; absent: as the machine

	// Used is how many metres a cutter has cut before, by its name.
	Used map[string]float64 `toml:"used_m"`

	Drawing  *Drawing         `toml:"drawing"`
	Probe    *Probe           `toml:"probe"`
	Datums   []Datum          `toml:"datum"`
	Edges    []Edge           `toml:"edge"`
	Skin     *Skin            `toml:"skin"`
	Keepouts []Keepout        `toml:"keepout"`
	Clamps   []Clamp          `toml:"clamp"`
	Cuts     []Cut            `toml:"cut"`
	Sheets   []Sheet          `toml:"sheet"`
	Parts    []Part           `toml:"part"`
	From     []From           `toml:"from"` // parts of other jobs
	Nest     *Nest            `toml:"nest"`
	Cutters  []map[string]any `toml:"cutter"` // cutters of this job alone: name, and keys of a profile
}

// Drawing says which drawing a wing job is cut from.
type Drawing struct {
	File     string  `toml:"file"`
	Units    string  `toml:"units"`     // when the drawing does not say, or says it wrongly
	Mirrored bool    `toml:"mirrored"`  // the drawing is of the other panel
	JoinTol  *Length `toml:"join"`      // largest gap closed
	CurveTol *Length `toml:"curve_tol"` // for splines and ellipses
	Hidden   bool    `toml:"hidden"`    // layers that are off, frozen or not plotted count too
	Paper    bool    `toml:"paper"`     // paper space counts too
	Hatches  bool    `toml:"hatches"`   // boundaries of hatches count too
	Wide     bool    `toml:"wide"`      // polylines with width count as the band that is drawn
}

// Probe is what stands in the spindle while measuring.
type Probe struct {
	Diameter *Length `toml:"diameter"` // of its tip
	Length   *Length `toml:"length"`   // from collet nut to tip
	Search   *Length `toml:"search"`   // how far a datum may lie from where the job says
}

// Datum is a point or mark that was drawn and touched.
type Datum struct {
	Name     string   `toml:"name"`
	Drawn    []Length `toml:"drawn"`
	Touched  []Length `toml:"touched"` // by eye first, where a probe is to find it
	Weight   *float64 `toml:"weight"`
	Feature  string   `toml:"feature"`  // "mark", touched by eye; "pin" and "hole" can be probed from the side
	Diameter *Length  `toml:"diameter"` // of the pin or hole
	SideZ    *Length  `toml:"side_z"`   // height of the tip where it touches the side, as the display shows it
}

// Edge is a touch somewhere along a straight line of the drawing: a hinge line, a
// root rib. It says how far the line lies across, not where along.
type Edge struct {
	Name    string   `toml:"name"`
	From    []Length `toml:"from"` // the line on the drawing
	To      []Length `toml:"to"`
	Touched []Length `toml:"touched"`
	Offset  *Length  `toml:"offset"` // of the touched centre from the line, left of from→to positive: the radius of an edge finder
	Weight  *float64 `toml:"weight"`
	SideZ   *Length  `toml:"side_z"` // height of the tip where it touches the edge; absent: touched by hand
}

// Loft describes a wing by its sections; it is laid on the touched heights.
type Loft struct {
	Root        string   `toml:"root"` // section: "2412", "23012", or a coordinate file
	Tip         string   `toml:"tip"`  // absent: as the root
	Closed      bool     `toml:"closed_tail"`
	Span        *Length  `toml:"span"`
	Chord       *Length  `toml:"chord"` // of the root
	Taper       *float64 `toml:"taper"` // chord of the tip in parts of the root's
	SweepDeg    float64  `toml:"sweep_deg"`
	DihedralDeg float64  `toml:"dihedral_deg"`
	WashoutDeg  float64  `toml:"washout_deg"`
	Lead        []Length `toml:"lead"`    // leading edge of the root on the drawing
	AftDeg      float64  `toml:"aft_deg"` // direction from nose to tail on the drawing
	TipTo       string   `toml:"tip_to"`  // "left" or "right" of that direction
}

// Skin is the surface of a wing.
type Skin struct {
	Thickness    *Length    `toml:"thickness"`
	ThicknessTol *Length    `toml:"thickness_tol"`
	Height       *Length    `toml:"height"`  // flat: the same everywhere
	Plane        [][]Length `toml:"plane"`   // three or more touched points
	Heights      string     `toml:"heights"` // file of touched points x,y,z
	Loft         *Loft      `toml:"loft"`
	Solid        bool       `toml:"solid"`     // not hollow
	Floor        *Length    `toml:"floor"`     // depth to what must never be touched below
	FibreDeg     *float64   `toml:"fibre_deg"` // direction of the top ply on the drawing
}

// Keepout is a member that nothing may touch.
type Keepout struct {
	Name      string   `toml:"name"`
	Layer     string   `toml:"layer"`
	Member    string   `toml:"member"` // "primary", "rib", "wire", "other"
	Width     *Length  `toml:"width"`  // of a web drawn as an open line
	From      *Length  `toml:"from"`   // depth below the skin where it begins
	To        *Length  `toml:"to"`     // where it ends; absent: through
	Clearance *Length  `toml:"clearance"`
	Accept    []string `toml:"accept"`

	Outline string            `toml:"outline"` // built-in outline instead of a layer
	Sizes   map[string]Length `toml:"sizes"`
	Center  []Length          `toml:"center"` // on the drawing
	TurnDeg float64           `toml:"turn_deg"`
}

// Clamp is something that stands above the work.
type Clamp struct {
	Name      string   `toml:"name"`
	Rect      []Length `toml:"rect"`  // x0, y0, x1, y1 in program coordinates
	Layer     string   `toml:"layer"` // or an outline of the drawing
	Height    *Length  `toml:"height"`
	Clearance *Length  `toml:"clearance"`
	Sheets    []string `toml:"sheets"` // on which it stands; absent: on all

	Outline string            `toml:"outline"` // or a built-in outline
	Sizes   map[string]Length `toml:"sizes"`
	Center  []Length          `toml:"center"` // on the drawing
	TurnDeg float64           `toml:"turn_deg"`
}

// Tabs hold a part or a slug.
type Tabs struct {
	Count  int     `toml:"count"`
	Width  *Length `toml:"width"`
	Height *Length `toml:"height"`
	Auto   bool    `toml:"auto"`
}

// Cut is one thing asked for.
type Cut struct {
	Name     string             `toml:"name"`
	Kind     string             `toml:"kind"`
	Layer    string             `toml:"layer"`
	Part     string             `toml:"part"`    // sheet jobs: the part that it belongs to
	Outline  string             `toml:"outline"` // built-in outline instead of a layer
	Sizes    map[string]Length  `toml:"sizes"`   // of a built-in outline
	Center   []Length           `toml:"center"`  // of a built-in outline, on the drawing
	TurnDeg  float64            `toml:"turn_deg"`
	Panels   string             `toml:"panels"`  // "mirror", "turn", "keep": what the other panel does with it
	Feature  string             `toml:"feature"` // cuts of one feature keep their places to each other on the other panel
	Cutter   string             `toml:"cutter"`
	Through  bool               `toml:"through"`
	Depth    *Length            `toml:"depth"`
	Overcut  *Length            `toml:"overcut"`
	Limit    *Length            `toml:"limit"`
	Diameter *Length            `toml:"diameter"`
	Step     *Length            `toml:"step"`
	RPM      *float64           `toml:"rpm"`
	Feed     *float64           `toml:"feed_mm_min"`
	Plunge   *float64           `toml:"plunge_mm_min"`
	RampDeg  *float64           `toml:"ramp_deg"`
	Finish   *Length            `toml:"finish"`
	Climb    *bool              `toml:"climb"`
	Tabs     *Tabs              `toml:"tabs"`
	Onion    *Length            `toml:"onion"`
	Peck     *Length            `toml:"peck"`
	Tol      *Tolerance         `toml:"tolerance"`
	Fit      *Allowance         `toml:"fit"`      // grows (+) or shrinks (-) the finished outline, or a class
	Nominal  *Length            `toml:"nominal"`  // size that a class is taken at; default: the diameter, or the width across
	TabSlot  *TabSlot           `toml:"tab_slot"` // the outline takes the tab of a sheet
	Visible  bool               `toml:"visible"`
	Relief   string             `toml:"relief"`
	Loose    bool               `toml:"loose"` // the slug is not held, said aloud
	Room     *Length            `toml:"room"`  // height of what goes in below the outer skin, such as a servo case
	Trim     string             `toml:"trim"`  // keep-out that the outline is trimmed back from
	Accept   []string           `toml:"accept"`
	Options  map[string]float64 `toml:"options"`
	Text     string             `toml:"text"`
}

// Sheet is stock.
type Sheet struct {
	Name         string     `toml:"name"`
	Size         []Length   `toml:"size"` // x, y
	At           []Length   `toml:"at"`   // program coordinates of its lower left corner
	Drawing      string     `toml:"drawing"`
	Units        string     `toml:"units"`
	Layer        string     `toml:"layer"`
	Thickness    *Length    `toml:"thickness"`
	ThicknessTol *Length    `toml:"thickness_tol"`
	Measured     []Length   `toml:"measured"` // thickness at several corners, in place of thickness
	FibreDeg     *float64   `toml:"fibre_deg"`
	Margin       *Length    `toml:"margin"`
	Spoil        *Length    `toml:"spoil"`      // how deep the spoilboard may be cut
	Flaws        [][]Length `toml:"flaws"`      // rectangles x0,y0,x1,y1 on the sheet
	FlawLayer    string     `toml:"flaw_layer"` // outlines of its drawing
	FlawShapes   []Flaw     `toml:"flaw"`       // built-in outlines
	Material     any        `toml:"material"`   // absent: that of the job
	Quantity     *Count     `toml:"quantity"`   // pieces at hand, or "unlimited"; absent: one
	Cost         *float64   `toml:"cost"`       // of one piece, in the user's currency; absent: by the profile of the material, or unknown

	Outline string            `toml:"outline"` // built-in outline instead of a size or a drawing
	Sizes   map[string]Length `toml:"sizes"`
	Center  []Length          `toml:"center"` // from its zero; absent: its lower left corner lies there
	TurnDeg float64           `toml:"turn_deg"`
}

// Flaw is a place of a sheet that is no good, as a built-in outline.
type Flaw struct {
	Outline string            `toml:"outline"`
	Sizes   map[string]Length `toml:"sizes"`
	Center  []Length          `toml:"center"` // on the sheet
	TurnDeg float64           `toml:"turn_deg"`
}

// Part is something made from a sheet.
type Part struct {
	Name     string            `toml:"name"`
	Mark     string            `toml:"mark"`
	Drawing  string            `toml:"drawing"`
	Units    string            `toml:"units"`
	Layer    string            `toml:"layer"`
	Outline  string            `toml:"outline"` // built-in outline instead of a drawing; of a hatch or door its cover
	Sizes    map[string]Length `toml:"sizes"`
	Material string            `toml:"material"`  // binds it to sheets of this material
	Thick    *Length           `toml:"thickness"` // binds it to sheets of this thickness
	Sheet    string            `toml:"sheet"`     // binds it to the sheet of this name
	Quantity *Count            `toml:"quantity"`  // copies, or "fill": as many as fit; absent: one
	Place    [][]Length        `toml:"place"`     // x, y, turn in degrees for copies that are placed by hand
	TurnsDeg []float64         `toml:"turns_deg"` // relative to the fibre of the sheet
	TurnTol  float64           `toml:"turn_tol_deg"`
	AnyTurn  bool              `toml:"any_turn"`
	MayFlip  bool              `toml:"may_flip"` // may be turned over; otherwise face up
	Cutter   string            `toml:"cutter"`
	Hole     string            `toml:"hole_cutter"`
	Tabs     *Tabs             `toml:"tabs"`
	Finish   *Length           `toml:"finish"`
	Tol      *Tolerance        `toml:"tolerance"`
	Fit      *Allowance        `toml:"fit"`
	HoleFit  *Allowance        `toml:"hole_fit"`
	Relief   string            `toml:"relief"`    // of the inside corners of its outline and of its openings
	TabSlots *TabSlot          `toml:"tab_slots"` // which of its holes take tabs
	Accept   []string          `toml:"accept"`

	job string // title of the job that it comes from, "" this one
}

// From takes over parts of another sheet job, with their cuts and cutters.
type From struct {
	Job   string   `toml:"job"`   // its file
	Parts []string `toml:"parts"` // names; absent: all
	Times int      `toml:"times"` // how often it is made; absent: once
}

// Nest rules the placing of parts that are not placed by hand.
type Nest struct {
	Spacing *Length `toml:"spacing"` // between two parts; absent: two kerfs and the web
	Web     *Length `toml:"web"`     // that is left between two kerfs
	Remnant *Length `toml:"remnant"` // least width of a remnant that is worth keeping
	Budget  int64   `toml:"budget"`
	Seed    uint64  `toml:"seed"`
}
