// Package shop describes what stands in the workshop: machines, controllers,
// cutters and materials, and the cutting data that follow from them.
//
// In come profiles: TOML files (those that come with the program, a user's own
// folder laid over them, or tables inline in a job), read strictly, so that an
// unknown key, a unit that is none or two keys that contradict each other is a
// finding with its line. Out come plain values, each with its source mark, and
// from Data speed, feed, depth per pass, chip, force, bending and life, held
// against the limits of cutter, machine and trade. Beside them stand the tables
// of the trade: fits (ISO 286), general tolerances (ISO 2768-1), screw holes (ISO
// 273, ISO 2306), and how edges meet the fibre.
//
// It never names a maker, never guesses a missing value, and never calls a force
// of a composite anything but an estimate. Everything is safe for concurrent use.
//
//	lib := shop.Embedded()
//	machine, f := lib.Machine("small-router-metric")
//	data, findings := shop.Data(machine, cutter, material, shop.Engagement{Slot: true, Depth: 2})
package shop

// Machine is a three-axis router. Lengths mm, speeds mm/min unless said.
type Machine struct {
	Name       string     // key, e.g. "small-router-metric"
	Title      string     // one line for people
	TravelMin  [3]float64 // machine coordinates of the lower end of X, Y, Z
	TravelMax  [3]float64 // of the upper end
	FeedXY     float64    // fastest feed in X and Y
	FeedZ      float64    // fastest feed in Z
	RapidXY    float64    // rapid traverse in X and Y
	RapidZ     float64    // rapid traverse in Z
	Accel      float64    // acceleration of X and Y, mm/s²
	AccelZ     float64    // acceleration of Z, mm/s²
	Jerk       float64    // change of acceleration of each axis, mm/s³, 0 = as fast as it likes
	SpindleMin float64    // rpm
	SpindleMax float64    // rpm
	Power      float64    // spindle power at SpindleMax, W
	SpinUp     float64    // time to reach speed, s
	Runout     float64    // total indicated runout at the cutter, mm
	Reversal   float64    // reversal value (lost motion) of X and Y, mm
	ReversalZ  float64    // of Z, mm
	Repeat     float64    // repeatability of touching a datum, standard uncertainty, mm
	RepeatZ    float64    // of touching a height, standard uncertainty, mm
	Holder     Holder     // collet nut and what is above it
	Controller Controller
	Source     map[string]string // field (profile key) → source mark
}

// Holder is the stack of cylinders above the shank, from the lower face of the
// collet nut upwards.
type Holder []Cylinder

// Cylinder is one body of revolution of a holder, mm.
type Cylinder struct{ Diameter, Length float64 }

// ArcForm tells how arcs are written.
type ArcForm string

// The arc forms.
const (
	ArcCentre ArcForm = "centre" // G2/G3 with I and J, offsets from the start
	ArcRadius ArcForm = "radius" // G2/G3 with R
	ArcNone   ArcForm = "none"   // short straight lines
)

// ToolChange tells how a cutter is changed.
type ToolChange string

// The ways to change a cutter.
const (
	ChangeWord  ToolChange = "word"  // T and M6
	ChangePause ToolChange = "pause" // spindle off, retract, M0 with a message
	ChangeFiles ToolChange = "files" // one program for each cutter
)

// PathMode tells how a controller treats corners.
type PathMode string

// The path modes of NISTIR 6556, section 3.5.14.
const (
	PathExactStop PathMode = "exact-stop" // G61.1
	PathExact     PathMode = "exact-path" // G61
	PathBlend     PathMode = "blend"      // G64, corners rounded up to BlendTol
	PathUnstated  PathMode = "unstated"   // the controller knows no word for it; BlendTol is assumed
)

// Controller is described by what it can do.
type Controller struct {
	Arcs        ArcForm
	Units       string // "mm" or "inch": the units of the program
	Decimals    int    // decimals of a coordinate in those units
	ToolChange  ToolChange
	PathMode    PathMode
	BlendTol    float64  // largest distance from a programmed corner, mm
	LineNumbers bool     // write N words
	Percent     bool     // first and last line are %
	Comments    bool     // (comments) are understood
	Start, End  []string // extra lines after the head and before the end
	DustOn      string   // code that starts dust extraction, "" for none
	DustOff     string
	Dwell       bool    // G4 P seconds is understood; otherwise the run sheet asks to wait
	ArcTol      float64 // largest difference of start and end radius accepted, mm
	MaxLine     int     // longest line, characters
	Probe       bool    // G38.2 is understood
	LengthWord  bool    // write G43 H after a tool change
}

// CutterKind is the form of a cutter's end.
type CutterKind string

// The kinds of cutter.
const (
	Flat     CutterKind = "flat"     // square end
	Ball     CutterKind = "ball"     // ball nose
	BullNose CutterKind = "bullnose" // square end with corner radius
	Vee      CutterKind = "vee"      // cone
	Drill    CutterKind = "drill"    // twist drill with a point angle
)

// Cutter is one cutter as it stands in the holder. Lengths mm.
type Cutter struct {
	Name          string
	Title         string
	Number        int // T number
	Kind          CutterKind
	Form          string  // "endmill", "burr", "compression", "drill", …: what the cutting data are kept by
	Material      string  // "carbide", "carbide-diamond-coated", "pcd", "hss"
	Diameter      float64 // DC
	DiameterTol   float64 // ± of the diameter
	CornerRadius  float64 // RE
	PointAngle    float64 // SIG: included angle of a drill or vee point, rad
	Flutes        int     // NOF, 0 for a burr
	FluteLength   float64 // APMX: deepest cut
	Shank         float64 // DMM
	StickOut      float64 // from collet nut to tip
	CentreCutting bool
	MaxRPM        float64 // top speed given for the cutter
	UpcutLength   float64 // of a compression cutter
	Life          float64 // cutting length until blunt in the material it is meant for, m; 0 unknown
	Core          float64 // core diameter over diameter, 0 = 0.8
	Source        map[string]string
}

// Forms of cutter that the cutting data are kept by, Cutter.Form and Rule.Form.
const (
	FormEndMill     = "endmill"     // one or more helical teeth
	FormDownCut     = "downcut"     // end mill that presses the top ply down
	FormCompression = "compression" // up-cut below, down-cut above
	FormBurr        = "burr"        // diamond-pattern burr, no countable teeth
	FormBall        = "ball"        // ball nose
	FormVee         = "vee"         // engraving cone
	FormDrill       = "drill"       // twist drill
)

// Radius returns half the diameter.
func (c Cutter) Radius() float64 { return c.Diameter / 2 }

// Material is a sheet or a skin.
type Material struct {
	Name      string
	Title     string
	Family    string  // "cfrp", "gfrp", "balsa", "plywood", "foam", "sandwich", "aluminium", "acetal", "abs"
	Density   float64 // kg/m³
	Thickness float64 // nominal, mm, 0 when it varies
	Kc        float64 // specific cutting force, N/mm², where it is taken as constant
	KcLow     float64 // its range
	KcHigh    float64
	Kc11      float64 // specific cutting force at 1 mm chip, N/mm², 0 = use Kc
	KcExp     float64 // exponent mc of Kienzle's formula, with Kc11
	Shear     float64 // shear strength for tabs, N/mm²
	Fibre     bool    // has a fibre direction
	Abrasive  bool    // shortens the life of cutters
	Dust      []string
	Cost      float64 // per m², in the user's currency, 0 unknown
	Rules     []Rule  // cutting data by form of cutter
	Source    map[string]string
}

// Rule is one row of the cutting data of a material for one form of cutter.
type Rule struct {
	Form        string     // form of cutter
	Speed       [2]float64 // cutting speed vc, m/min, lowest and highest
	FeedTooth   [2]float64 // feed per tooth in parts of the diameter, or
	FeedToothMM [2]float64 // in mm
	FeedRev     [2]float64 // feed per revolution, mm (burrs, drills)
	Step        [2]float64 // depth per pass in parts of the diameter
	StepMax     float64    // deepest pass, mm, 0 = no limit
	Peck        float64    // depth per peck in parts of the diameter, 0 = one stroke
	Life        [2]float64 // cutting length until blunt, m, 0 unknown
	Source      string
	Note        string
}
