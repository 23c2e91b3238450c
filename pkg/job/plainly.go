package job

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

var (
	wrongType = regexp.MustCompile(`^cannot decode TOML (.+) into struct field \S+ of type (\S+)$`)
	tooLarge  = regexp.MustCompile(`ParseFloat: parsing "([^"]*)": value out of range`)
	stray     = regexp.MustCompile(`U\+[0-9A-F]+ ('.+')`)
)

// plainly says in words of the shop what the reader of TOML says in its own, and
// what to do about it.
func plainly(e *toml.DecodeError) (message, help string) {
	text := oneLine(strings.TrimPrefix(e.Error(), "toml: "))
	key := "this key"
	if k := e.Key(); len(k) > 0 {
		key = k[len(k)-1]
	}
	const names = "text stands in quotes, a number has a point, and no comma or unit behind it"
	if m := wrongType.FindStringSubmatch(text); m != nil {
		return fmt.Sprintf("%s takes %s, here stands %s", key, taken(m[2]), stands(m[1])), "sparclear help with the name of the kind of cut shows how it is written"
	}
	if m := tooLarge.FindStringSubmatch(text); m != nil {
		return fmt.Sprintf("%s is larger than any number that can be reckoned with", m[1]), "correct the number"
	}
	said := ""
	if m := stray.FindStringSubmatch(text); m != nil {
		said = m[1]
	}
	switch {
	case strings.HasPrefix(text, "expected newline"):
		return fmt.Sprintf("%s stands behind a value that had ended", said), names
	case strings.HasPrefix(text, "unexpected character") && strings.HasSuffix(text, "at start of value"):
		return fmt.Sprintf("no value begins with %s", said), names
	case strings.Contains(text, "strings cannot have new lines"):
		return "a text has no closing quote on its line", "close the quotes"
	case strings.HasPrefix(text, "invalid escape"):
		return "a backslash stands in a text, where it has a meaning of its own", "write names of files with /, as in \"drawings/panel.dxf\", also on Windows"
	case strings.HasPrefix(text, "invalid UTF-8"), strings.HasPrefix(text, "invalid character at start of key") && strings.Contains(said, "ÿ"):
		return "the file is not written in UTF-8", "save it as plain text in UTF-8"
	case strings.HasPrefix(text, "cannot store an array table"):
		return "a table in [[ ]] stands where there is only one", "write its name in [ ]"
	case strings.HasSuffix(text, "already exists as a table, but should be an array table"):
		return "a table stands in [ ] and again in [[ ]]", "write the names of tables of which there may be several in [[ ]], every time"
	case strings.HasSuffix(text, "is already defined"):
		return strings.TrimSuffix(strings.TrimPrefix(text, "key "), "is already defined") + "is given twice", "leave one of the two out"
	}
	return text, "mend this line; lengths are numbers in mm or text such as \"1/8 in\""
}

// taken names a kind of value that a key takes.
func taken(goType string) string {
	switch {
	case strings.HasPrefix(goType, "[]"):
		return "a list in [ ]"
	case strings.HasPrefix(goType, "map["), strings.Contains(goType, "job."):
		return "a table in { }"
	}
	switch goType {
	case "string":
		return "a text in quotes"
	case "bool":
		return "true or false"
	case "int", "int64", "uint64":
		return "a whole number"
	}
	return "a number"
}

// stands names a kind of value that stands in the file.
func stands(tomlType string) string {
	switch tomlType {
	case "string":
		return "a text"
	case "integer", "float":
		return "a number"
	case "boolean":
		return "true or false"
	case "array":
		return "a list"
	}
	return "a table"
}
