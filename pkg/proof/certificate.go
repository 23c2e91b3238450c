// Package proof reads program text back and holds it against the job: members,
// depth, rapids, shape, holding, travel and sense. It imports nothing that plans
// and shares no path code with the planner. What it certifies it certifies by
// bounds that hold everywhere on a move, never by sampling (the one exception,
// the depth of each pass, guards the cutter and says so).
//
// In come a resolved work and the text of all its programs, out go a
// Certificate and the findings; nothing is opened, written or changed.
//
//	cert, findings := proof.Prove(ctx, w, []proof.Source{{File: "panel.nc", Text: text}})
//	if cert.OK { b, err := cert.Encode() … }
//
// How the distance to a member is certified: the moves stand in a tree of
// boxes. A branch and bound over boxes of moves, stretches of one move and boxes
// of the member's footprint keeps a witness (a place and its room) and leaves a
// branch only when a bound that holds everywhere in it shows at least as much
// room. Bodies of revolution are unions of convex pieces that hold the axis, so
// that the distance to a column of the member depends on its horizontal distance
// and its range of heights alone and grows with the former; heights come from
// the bounds of the skin model (range, slope, bend) over the box. Certified bound
// and witness lie within 1 µm of each other, or 5 % of the room where that is
// more; whether the need is met is decided to 1 µm.
package proof

import "sparclear/pkg/diag"

// Schema is the version of the certificate's layout. Keys are added without a
// new version; a key that changes its meaning makes one.
const Schema = 1

// Certificate states what was checked, with which figures, and what was not. It
// is written as JSON by Encode; the same work and programs give the same bytes.
//
// OK is true only if every check holds, no finding blocks, and every program was
// read to its end. Programs carry the SHA-256 of their bytes, Inputs that of the
// files that the work was made from. Margins hold the least room found for each
// member and clamp ("members"), limit and floor ("depth"), edge ("shape") and
// axis ("travel"), each with a witness. Findings are those of the proof alone,
// the most important last.
type Certificate struct {
	Schema      int           `json:"schema"`
	Tool        string        `json:"tool"` // name and version
	Title       string        `json:"title"`
	OK          bool          `json:"ok"`
	Programs    []ProgramInfo `json:"programs"`
	Inputs      []InputInfo   `json:"inputs"`
	Assumptions []string      `json:"assumptions"` // what must hold beside the programs
	Checks      []Check       `json:"checks"`      // in fixed order
	Margins     []Margin      `json:"margins"`     // by check, the least room first
	Leftovers   []Leftover    `json:"leftovers,omitempty"`
	Sizes       []Size        `json:"sizes,omitempty"`    // of finished outlines, as they will measure
	Cutting     []Cutting     `json:"cutting,omitempty"`  // how hard each cut is worked, from the replay
	Fibre       []Fibre       `json:"fibre,omitempty"`    // how edges meet the fibre that the job states
	Accepted    []string      `json:"accepted,omitempty"` // what the job accepts although it asks for a word
	NotChecked  []string      `json:"not_checked"`
	Findings    diag.List     `json:"findings"`
}

// ProgramInfo is one program that the certificate speaks of.
type ProgramInfo struct {
	File   string     `json:"file"`
	SHA256 string     `json:"sha256"`
	Moves  int        `json:"moves"`
	Blocks int        `json:"blocks"`
	TimeS  [2]float64 `json:"time_s"` // lowest, highest
	FeedMM float64    `json:"feed_path_mm"`
	RapidM float64    `json:"rapid_path_mm"`
}

// InputInfo is one file that the job was made from.
type InputInfo struct {
	Role   string `json:"role"`
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// Check is one of the seven checks of a program.
type Check struct {
	Name   string `json:"name"` // "members", "depth", "rapids", "shape", "holding", "travel", "sense"
	OK     bool   `json:"ok"`
	Detail string `json:"detail"`
}

// Margin is the smallest room that a check found for one member, cut or limit.
// For members and clamps MarginMM is a distance that is held against NeededMM,
// the clearance and the error budget; for the other checks it is what is left
// of a limit, errors already taken off, and NeededMM is 0. 1e6 stands for no
// bound. File and Line name the move at the witness; At is where its tip stands,
// Drawing the nearest place of the member on its own drawing.
type Margin struct {
	Check    string      `json:"check"`
	Member   string      `json:"member"`
	Cut      string      `json:"cut,omitempty"`
	MarginMM float64     `json:"margin_mm"` // distance found, lower bound
	NeededMM float64     `json:"needed_mm"` // clearance and error budget
	File     string      `json:"file"`
	Line     int         `json:"line"`
	At       *[3]float64 `json:"at_machine_mm,omitempty"`
	Drawing  *[2]float64 `json:"at_drawing_mm,omitempty"`
	Body     string      `json:"body,omitempty"` // "cutter", "shank", "holder"
	Budget   []Share     `json:"budget,omitempty"`
}

// Share is one contribution to an error budget.
type Share struct {
	Name string  `json:"name"`
	MM   float64 `json:"mm"`
	Kind string  `json:"kind"` // "bound" adds linearly, "random" as root sum of squares at coverage factor 2
}

// Leftover is material that stays although the drawing has it gone. SizeMM is
// how far a corner stays short of the sharp one, the width of a tab at its
// narrowest, or the thickness of an onion skin.
type Leftover struct {
	Cut     string     `json:"cut"`
	Kind    string     `json:"kind"` // "corner", "tab", "onion"
	AreaMM2 float64    `json:"area_mm2"`
	At      [2]float64 `json:"at_machine_mm"`
	SizeMM  float64    `json:"size_mm"`
}
