// Package rs274 is the language of the programs: a writer for controllers that
// are described by what they can do, and a reader (interpreter) for RS-274/NGC
// as NISTIR 6556 defines it, which turns text into moves of the tip. The two
// share no path code: what the writer rounds, the reader reads.
//
// In goes a toolpath.Program or the text of a program from anywhere; out come
// text, moves, times and findings placed by line and column. The package never
// guesses what a text may mean, never plans and never judges a move: that is for
// the proof.
//
//	replay, findings := rs274.Read("panel.nc", text, rs274.Options{})
package rs274

// Motion is the kind of a move.
type Motion uint8

// The motions.
const (
	Rapid  Motion = iota // G0: holds for every path that each axis can take in its own time
	Feed                 // G1
	ArcCW                // G2
	ArcCCW               // G3
	Probe                // G38.2
)

// Plane is the plane of arcs.
type Plane uint8

// The planes of G17, G18 and G19.
const (
	XY Plane = iota
	ZX
	YZ
)

// Move is one motion of the tip, mm, in program coordinates of the work offset
// in force. A canned cycle gives several moves with one line number.
type Move struct {
	From, To [3]float64
	// Center is the centre of an arc in the plane's two axes (X,Y or Z,X or Y,Z).
	Center [2]float64
	// Feed is the speed along the path, mm/min; 0 for rapids. Under G93 it is
	// worked out from the length.
	Feed   float64
	Line   int32 // from 1
	State  int32 // index into Replay.States
	Motion Motion
	Plane  Plane
}

// State is what holds while a move runs, apart from its geometry.
type State struct {
	Tool       int     // number of the cutter in the spindle, 0 none known
	Selected   int     // number of the last T word
	LengthFrom int     // H in force under G43, 0 none
	Spindle    int8    // +1 clockwise (M3), -1 counter-clockwise (M4), 0 stopped
	RPM        float64 // last S word
	Mist       bool
	Flood      bool
	PathMode   string  // "G61", "G61.1", "G64", "" never said
	BlendTol   float64 // P of G64, mm, 0 none
	Inch       bool
	Relative   bool // G91
	UnitsSaid  bool // G20/G21 was said before this move
	PlaneSaid  bool
	DistSaid   bool // G90/G91 was said
	FeedSaid   bool // an F word was said since the start
	System     int  // 1 to 9: G54 …
	Overrides  bool // M48
	// Compensation is +1 while the tip runs left of the contour in the text, -1
	// right of it, 0 on it (G41, G42, G40). Moves are those of the tip.
	Compensation int8
}

// Cutter returns the number of the cutter at work: that of the last M6, or where
// cutters are changed by hand (no M6 so far) that of the last T word; 0 when
// neither was said.
func (s *State) Cutter() int {
	if s.Tool != 0 {
		return s.Tool
	}
	return s.Selected
}

// EventKind is what happens between moves.
type EventKind uint8

// The kinds of event.
const (
	ToolChange EventKind = iota // M6; Value = number
	Dwell                       // G4; Value = s
	Pause                       // M0, M1, M60
	End                         // M2, M30
	SpindleOn                   // M3, M4; Value = ±rpm
	SpindleOff                  // M5
	Message                     // (MSG,…); Text
	Comment                     // other comments; Text
	OffsetSet                   // G10, G92…, a parameter from 5161 on set, another of G54 to G59.3, and before a move that depends on the machine's own zero (G53, G28, G30); Text says which; Value of a G53: 1 with X, 2 with Y, 4 with Z, added
	LengthSet                   // G43, G49; Value = H, 0 none
)

// Event is something that is not a motion. It happens before move Before.
type Event struct {
	Kind   EventKind
	Before int32 // index into Replay.Moves
	Line   int32
	Value  float64
	Text   string
}

// Replay is a program as a machine would run it.
type Replay struct {
	Moves  []Move
	States []State
	Events []Event
	Blocks int  // lines that hold at least one word
	Ended  bool // an M2 or M30 was reached
	// Final is the state when the program ended, before M2 or M30 put
	// everything back.
	Final State
}
