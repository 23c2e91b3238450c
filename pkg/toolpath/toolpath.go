// Package toolpath is the plain data that the planner hands to the writer: where
// the tip of the cutter goes, in program coordinates (mm), in which order, with
// which cutter, speed and feed. It holds no logic of planning and is never read
// by the proof, which reads the program text instead.
package toolpath

import "sparclear/pkg/geom"

// Kind is the kind of a move.
type Kind uint8

// The kinds of move.
const (
	Rapid Kind = iota // G0
	Line              // G1
	Arc               // G2 or G3 in the XY plane, Z linear with the turn
)

// Move takes the tip to To.
type Move struct {
	Kind    Kind
	X, Y, Z float64    // where the tip arrives
	Center  geom.Point // of an arc, absolute
	CCW     bool       // sense of an arc
	Feed    float64    // mm/min along the path; unused for a rapid
}

// Path is one operation: a cutter, a speed and its moves. A path begins with a
// rapid to its start at safe height and ends at safe height.
type Path struct {
	Cut    string   // name of the cut, e.g. "flap servo"
	Op     string   // "drill", "bore", "rough", "finish", …
	Cutter int      // index into work.Work.Cutters
	RPM    float64  // spindle speed; of no meaning when Still
	Still  bool     // the spindle stays stopped: an air pass
	Notes  []string // comment lines written before it
	Moves  []Move
}

// Program is one file to be.
type Program struct {
	Name  string   // file name without folder and ending
	Head  []string // comment lines at the top
	SafeZ float64  // height of rapids across, mm
	Paths []Path
}
