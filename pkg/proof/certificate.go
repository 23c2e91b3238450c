// Package proof reads program text back and holds it against the job: members,
// depth, rapids, shape, holding, travel and sense. It imports nothing that plans
// and shares no path code with the planner. What it certifies it certifies by
// bounds that hold everywhere on a move, never by sampling.
package proof

import "sparclear/pkg/diag"

// Schema is the version of the certificate's layout.
const Schema = 1

// Certificate states what was checked, with which figures, and what was not.
type Certificate struct {
	Schema      int           `json:"schema"`
	Tool        string        `json:"tool"` // name and version
	Title       string        `json:"title"`
	OK          bool          `json:"ok"`
	Programs    []ProgramInfo `json:"programs"`
	Inputs      []InputInfo   `json:"inputs"`
	Assumptions []string      `json:"assumptions"`
	Checks      []Check       `json:"checks"`
	Margins     []Margin      `json:"margins"`
	Leftovers   []Leftover    `json:"leftovers,omitempty"`
	Accepted    []string      `json:"accepted,omitempty"`
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

// Leftover is material that stays although the drawing has it gone.
type Leftover struct {
	Cut     string     `json:"cut"`
	Kind    string     `json:"kind"` // "corner", "tab", "onion"
	AreaMM2 float64    `json:"area_mm2"`
	At      [2]float64 `json:"at_machine_mm"`
	SizeMM  float64    `json:"size_mm"`
}
