package skin

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"sparclear/pkg/diag"
)

// heightReader reads measured points line by line.
type heightReader struct {
	name  string
	found diag.List
	rows  []row
	sep   rune // ',', ';', '\t' or ' '
	flat  func(name string) bool
	inch  bool    // the controller shows inches
	unit  float64 // mm
}

type row struct {
	line   int
	text   string
	fields []field
}

type field struct {
	text string
	col  int
}

// The largest file that is read: far beyond any grid that a probe can touch.
const (
	maxLines    = 100_000
	maxLineSize = 4096
	maxFaults   = 20
)

// ReadHeights reads measured points: one point a line as x, y, z and, if wanted,
// a name, in mm; separated by comma, semicolon, tab or blanks; or the words of a
// log such as "X1.5 Y2 Z-0.25". A first line may name the columns in any order
// (x, y, z, name; "x_mm", "X [mm]", and "x_in" for inches). Lines that start with # and blank lines
// are passed over. A decimal comma is read where it cannot mean anything else.
//
// What is unclear is refused, with line and column: "heights-decimal" (comma as
// decimal mark or as separator, or thousands), "heights-units" (columns in other
// or several units), "heights-field" (a field that is no number), "heights-columns"
// (too few or too many fields, or a column missing), "heights-large",
// "heights-empty", "heights-read". name is the file's name for findings. With a
// stop the touches must not be used.
func ReadHeights(r io.Reader, name string) ([]Touch, diag.List) {
	return ReadMeasured(r, name, false, func(string) bool { return false })
}

// ReadMeasured reads as ReadHeights does a list in which some rows need no height:
// those of datums, which flat tells by their names. A height that is not there is
// NaN. inch says that the controller shows inches: a log is then in inches, and a
// table must name its units ("heights-units"), since its numbers may have been
// written down from the display or reckoned in mm.
func ReadMeasured(r io.Reader, name string, inch bool, flat func(name string) bool) ([]Touch, diag.List) {
	h := &heightReader{name: name, flat: flat, inch: inch, unit: 1}
	h.load(r)
	if len(h.found) > 0 {
		return nil, h.found
	}
	if len(h.rows) == 0 {
		h.add("heights-empty", 0, 0, "no measured point in the file", "write one point a line: x, y, z in mm")
		return nil, h.found
	}
	if h.isLog() {
		if inch {
			h.unit = mmPerInch
		}
		return h.log(), h.found
	}
	h.split()
	columns, rows := h.header()
	if len(h.found) > 0 {
		return nil, h.found
	}
	decimal := h.decimalMark(rows, columns)
	if len(h.found) > 0 {
		return nil, h.found
	}
	var out []Touch
	for _, row := range rows {
		if t, ok := h.touch(row, columns, decimal); ok {
			out = append(out, t)
		}
		if len(h.found) >= maxFaults {
			break
		}
	}
	if len(out) == 0 && len(h.found) == 0 {
		h.add("heights-empty", 0, 0, "no measured point in the file", "write one point a line: x, y, z in mm")
	}
	return out, h.found
}

func (h *heightReader) add(code string, line, col int, message, help string) {
	f := diag.Finding{Code: code, Severity: diag.Stop, Input: true, Subject: h.name, Message: message, Help: help}
	if line > 0 {
		f = f.AtLine(h.name, line, col)
	}
	h.found.Add(f)
}

// load keeps the lines that say something.
func (h *heightReader) load(r io.Reader) {
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 0, maxLineSize), maxLineSize)
	line := 0
	for s.Scan() {
		line++
		if line > maxLines {
			h.add("heights-large", line, 0, fmt.Sprintf("more than %d lines", maxLines), "leave out points far from the openings")
			return
		}
		text := s.Text()
		if line == 1 {
			text = strings.TrimPrefix(text, "\ufeff")
		}
		if t := strings.TrimSpace(text); t == "" || strings.HasPrefix(t, "#") {
			continue
		}
		if strings.ContainsRune(text, 0) {
			h.add("heights-read", line, 0, "the file is no plain text", "save it as plain text (CSV)")
			return
		}
		h.rows = append(h.rows, row{line: line, text: text})
	}
	if err := s.Err(); err != nil {
		h.add("heights-read", line+1, 0, fmt.Sprintf("the file cannot be read: %v", err), "save it as plain text (CSV), one point a line")
	}
}

// isLog tells whether every line has the words X, Y and Z of a log.
func (h *heightReader) isLog() bool {
	_, _, ok := logWords(h.rows[len(h.rows)-1].text)
	return ok
}

// logWords reads the words of one line, e.g. "X1.5 Y2 Z-0.25 (root pin)"; what
// stands in brackets is the name.
func logWords(text string) (v [3]float64, name string, ok bool) {
	if a := strings.IndexByte(text, '('); a >= 0 {
		if b := strings.IndexByte(text[a:], ')'); b > 0 {
			name = strings.TrimSpace(text[a+1 : a+b])
			text = text[:a] + " " + text[a+b+1:]
		}
	}
	var seen [3]bool
	rest := strings.TrimSpace(text)
	for rest != "" {
		k := strings.IndexByte("XYZ", rest[0]&^0x20)
		if k < 0 || seen[k] {
			return v, "", false
		}
		rest = strings.TrimLeft(rest[1:], " \t:=")
		end := strings.IndexFunc(rest, func(r rune) bool { return !strings.ContainsRune("0123456789+-.", r) })
		if end < 0 {
			end = len(rest)
		}
		f, err := strconv.ParseFloat(rest[:end], 64)
		if err != nil {
			return v, "", false
		}
		v[k], seen[k] = f, true
		rest = strings.TrimLeft(rest[end:], " \t,;")
	}
	return v, name, seen == [3]bool{true, true, true}
}

func (h *heightReader) log() []Touch {
	var out []Touch
	for _, r := range h.rows {
		v, name, ok := logWords(r.text)
		if !ok {
			h.add("heights-field", r.line, 1, "a line without the words X, Y and Z, each with a number", "correct the line, or put # before it")
			if len(h.found) >= maxFaults {
				return out
			}
			continue
		}
		out = append(out, Touch{X: v[0] * h.unit, Y: v[1] * h.unit, Z: v[2] * h.unit, Name: name, Line: r.line})
	}
	return out
}

// split finds the separator, which is the same in the whole file, and cuts the
// rows at it.
func (h *heightReader) split() {
	h.sep = ' '
	for _, sep := range []rune{';', '\t', ','} {
		n := 0
		for _, r := range h.rows {
			if strings.ContainsRune(r.text, sep) {
				n++
			}
		}
		// A comma within blanks-separated fields is a decimal mark.
		if n == len(h.rows) && (sep != ',' || !h.blanksSeparate()) {
			h.sep = sep
			break
		}
	}
	for i := range h.rows {
		h.rows[i].fields = cut(h.rows[i].text, h.sep)
	}
}

// blanksSeparate tells whether every line has at least three fields between
// blanks, none of which ends in a comma.
func (h *heightReader) blanksSeparate() bool {
	for _, r := range h.rows {
		f := strings.Fields(r.text)
		if len(f) < 3 {
			return false
		}
		for _, s := range f {
			if strings.HasSuffix(s, ",") || strings.HasPrefix(s, ",") || s == "," {
				return false
			}
		}
	}
	return true
}

func cut(text string, sep rune) []field {
	var out []field
	add := func(from, to int) {
		s := text[from:to]
		lead := len(s) - len(strings.TrimLeft(s, " \t\r"))
		out = append(out, field{strings.Trim(strings.TrimSpace(s), `"`), from + lead + 1})
	}
	if sep == ' ' {
		from := -1
		for i, r := range text + " " {
			if r == ' ' || r == '\t' || r == '\r' {
				if from >= 0 {
					add(from, i)
				}
				from = -1
			} else if from < 0 {
				from = i
			}
		}
		return out
	}
	from := 0
	for i, r := range text {
		if r == sep {
			add(from, i)
			from = i + 1
		}
	}
	add(from, len(text))
	return out
}

// columnsOf tells where x, y, z and the name stand, -1 = not there, and how many
// columns have a name, 0 unknown.
type columnsOf struct {
	at    [4]int
	width int
}

// header reads the first line as column names when none of its fields is a
// number; otherwise the order is x, y, z, name.
func (h *heightReader) header() (columnsOf, []row) {
	c := columnsOf{at: [4]int{0, 1, 2, -1}}
	first := h.rows[0]
	for _, f := range first.fields {
		if f.text != "" && strings.ContainsRune("+-.0123456789", rune(f.text[0])) {
			c.at[3] = 3
			h.unitless(first.line)
			return c, h.rows
		}
	}
	c.at, c.width = [4]int{-1, -1, -1, -1}, len(first.fields)
	said := map[string]bool{}
	for i, f := range first.fields {
		word, unit := columnName(f.text)
		k := map[string]int{"x": 0, "y": 1, "z": 2, "height": 2, "name": 3, "point": 3, "label": 3}
		j, known := k[word]
		switch {
		case !known:
			continue
		case c.at[j] >= 0:
			h.add("heights-columns", first.line, f.col, fmt.Sprintf("two columns are called %q", word), "name each column once")
		case j < 3 && unit != "" && unit != "mm" && unit != "in" && unit != "inch":
			h.add("heights-units", first.line, f.col, fmt.Sprintf("column %s is in %q; heights are read in mm or in", word, unit), "write the file in mm")
		case j < 3:
			said[strings.TrimSuffix(unit, "ch")] = true
		}
		c.at[j] = i
	}
	switch {
	case said["in"] && len(said) > 1:
		h.add("heights-units", first.line, 1, "the columns x, y and z are not all in the same unit, or one does not say it", "write all of them in mm")
	case said["in"]:
		h.unit = mmPerInch
	case said[""]:
		h.unitless(first.line)
	}
	for j, word := range []string{"x", "y", "z"} {
		if c.at[j] < 0 {
			h.add("heights-columns", first.line, 1, fmt.Sprintf("no column is called %s", word), "name the columns x, y, z and, if wanted, name")
		}
	}
	return c, h.rows[1:]
}

// mmPerInch is exact by definition.
const mmPerInch = 25.4

// unitless refuses a table that does not say its units where the controller shows
// inches.
func (h *heightReader) unitless(line int) {
	if h.inch {
		h.add("heights-units", line, 1, "the display of this machine shows inches, and the list does not say its units", "name the columns x_in, y_in, z_in, or x_mm, y_mm, z_mm")
	}
}

// columnName takes "X [mm]", "x_mm" or "x (mm)" apart.
func columnName(s string) (word, unit string) {
	f := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return strings.ContainsRune(" _[]()/", r) })
	if len(f) > 0 {
		word = f[0]
	}
	if len(f) > 1 {
		unit = f[1]
	}
	return word, unit
}

// decimalMark decides between 12.5 and 12,5 for the whole file, or refuses.
func (h *heightReader) decimalMark(rows []row, c columnsOf) string {
	if h.sep == ',' {
		return "."
	}
	var dots, commas, sure int
	var at row
	var col int
	for _, r := range rows {
		for _, k := range c.at[:3] {
			if k >= len(r.fields) {
				continue
			}
			s := r.fields[k].text
			if strings.Contains(s, ".") {
				dots++
			}
			if i := strings.IndexByte(s, ','); i >= 0 {
				if commas == 0 {
					at, col = r, r.fields[k].col
				}
				commas++
				lead := strings.TrimLeft(s[:i], "+-")
				// 1,234 may be a thousand; 12,5 and 0,123 and 1,2345 may not.
				if len(s)-i-1 != 3 || lead == "0" || lead == "" || len(lead) > 3 {
					sure++
				}
			}
		}
	}
	switch {
	case commas == 0:
		return "."
	case dots > 0:
		h.add("heights-decimal", at.line, col, "numbers with a dot and numbers with a comma in one file", "write every number with a decimal point")
	case sure == 0:
		h.add("heights-decimal", at.line, col, "every comma is followed by three digits: a decimal comma and a thousands mark look the same", "write every number with a decimal point")
	}
	return ","
}

// touch reads one row.
func (h *heightReader) touch(r row, c columnsOf, decimal string) (Touch, bool) {
	t := Touch{Line: r.line}
	last := 0
	for _, k := range c.at {
		last = max(last, k)
	}
	if h.sep == ',' && len(r.fields) > last+1 && c.at[3] == 3 && len(r.fields) >= 6 {
		h.add("heights-decimal", r.line, 1, fmt.Sprintf("%d fields for x, y, z: is the comma a decimal mark?", len(r.fields)),
			"write every number with a decimal point, or separate the fields by semicolons")
		return t, false
	}
	if c.width > 0 && len(r.fields) > c.width && (h.sep != ' ' || c.at[3] != c.width-1) {
		h.add("heights-columns", r.line, 1, fmt.Sprintf("%d fields under %d column names", len(r.fields), c.width),
			"name every column; write numbers with a decimal point where commas part the fields")
		return t, false
	}
	t.Name = h.nameOf(r, c)
	for k, v := range []*float64{&t.X, &t.Y, &t.Z} {
		i := c.at[k]
		if i >= len(r.fields) || r.fields[i].text == "" {
			if k == 2 && h.flat(t.Name) {
				t.Z = math.NaN()
				continue
			}
			h.add("heights-columns", r.line, 1, fmt.Sprintf("%d fields, x, y and z needed", filled(r)), "complete the line, or put # before it")
			return t, false
		}
		f := r.fields[i]
		x, err := strconv.ParseFloat(strings.Replace(f.text, decimal, ".", 1), 64)
		if err != nil || math.IsNaN(x) || !(math.Abs(x) <= farAway) || strings.ContainsAny(f.text, "xXpP_") {
			h.add("heights-field", r.line, f.col, fmt.Sprintf("%q is no length in mm", clip(f.text)), "write a plain number such as -1.25")
			return t, false
		}
		*v = x * h.unit
	}
	return t, true
}

// filled counts the fields of a row that say something.
func filled(r row) int {
	n := 0
	for _, f := range r.fields {
		if f.text != "" {
			n++
		}
	}
	return n
}

func (h *heightReader) nameOf(r row, c columnsOf) string {
	i := c.at[3]
	if i < 0 || i >= len(r.fields) {
		return ""
	}
	name := r.fields[i].text
	if h.sep == ' ' { // a name may hold blanks
		for _, f := range r.fields[i+1:] {
			name += " " + f.text
		}
	}
	return name
}

func clip(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "…"
	}
	return s
}
