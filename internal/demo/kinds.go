package demo

import (
	"embed"
	"io/fs"
	"path"
	"slices"
	"strings"
)

//go:embed kinds
var kinds embed.FS

// sharedFolder holds the drawings and touched heights that the jobs of Kinds name.
const sharedFolder = "shared"

// Kinds lists the small demo jobs, one for each kind of cut and for what stands
// beside them (onion skin, cleared corners, fits), by name.
func Kinds() []string {
	entries, err := kinds.ReadDir("kinds")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	var out []string
	for _, e := range entries {
		if e.Name() != sharedFolder {
			out = append(out, e.Name())
		}
	}
	return out
}

// Kind returns the files of one small demo job: job.toml and what it names, by
// their names; false when there is no demo of that name.
func Kind(name string) (map[string][]byte, bool) {
	if !slices.Contains(Kinds(), name) {
		return nil, false
	}
	files := map[string][]byte{"job.toml": read(name, "job.toml")}
	entries, err := kinds.ReadDir("kinds/" + sharedFolder)
	if err != nil {
		panic(err) // as above
	}
	for _, e := range entries {
		if strings.Contains(string(files["job.toml"]), `"`+e.Name()+`"`) {
			files[e.Name()] = read(sharedFolder, e.Name())
		}
	}
	return files, true
}

// Example returns what a demo job asks for: its tables from the last [[cut]] or
// [[part]] of the given kind of table on that holds the text, up to the next
// table; "" when there is none.
func Example(name, table, holds string) string {
	if !slices.Contains(Kinds(), name) {
		return ""
	}
	found := ""
	for _, block := range strings.Split(string(read(name, "job.toml")), "\n\n") {
		if strings.HasPrefix(block, "[["+table+"]]") && strings.Contains(block, holds) {
			found = strings.TrimSpace(block)
		}
	}
	return found
}

func read(folder, name string) []byte {
	b, err := fs.ReadFile(kinds, path.Join("kinds", folder, name))
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return b
}
