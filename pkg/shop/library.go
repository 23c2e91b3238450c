package shop

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"sort"
	"strings"
	"sync"

	"sparclear/pkg/diag"
	"sparclear/profiles"
)

// Library holds the machines, cutters and materials that a job can name. It is
// read-only once loaded and safe for concurrent use; what it hands out are
// copies.
type Library struct {
	machines  map[string]entry[Machine]
	cutters   map[string]entry[Cutter]
	materials map[string]entry[Material]
	files     []File
}

// File is a profile file that a library was made from.
type File struct {
	Name   string // name within its folder
	Layer  int    // 0 is the first folder given to Load
	SHA256 string
}

// embedded is read once; it is never changed afterwards.
var embedded = sync.OnceValues(func() (*Library, diag.List) { return Load(profiles.Files) })

// Embedded returns the library of the profiles that come with the program. It
// panics when they are faulty, which only a broken build can cause.
func Embedded() *Library {
	l, list := embedded()
	if list.Blocks() {
		panic("embedded profiles: " + list.Sorted()[len(list)-1].Error())
	}
	return l
}

// WithUser returns the embedded library with the user's folder laid over it.
func WithUser(user fs.FS) (*Library, diag.List) { return Load(profiles.Files, user) }

// maxFiles is the largest number of profile files read from one folder.
const maxFiles = 1000

// Load reads every *.toml of each folder (not of folders within). A profile in a
// later folder replaces the one of the same name in an earlier one, and may say
// like = its own name to change only a few keys of it. Within one folder a name
// may stand once. Faulty profiles are left out and reported, the rest is usable.
func Load(first fs.FS, more ...fs.FS) (*Library, diag.List) {
	var list diag.List
	l := &Library{}
	machines, cutters, materials := newStack(machineKind()), newStack(cutterKind()), newStack(materialKind())
	for layer, folder := range append([]fs.FS{first}, more...) {
		names, err := fs.Glob(folder, "*.toml")
		if err == nil {
			_, err = fs.Stat(folder, ".")
		}
		if err != nil {
			list.Add(diag.Finding{Code: "profile-unreadable", Severity: diag.Stop, Input: true,
				Message: "profile folder cannot be read: " + oneLine(err.Error()), Help: "check the name of the folder"})
			continue
		}
		if len(names) > maxFiles {
			list.Add(diag.Finding{Code: "profile-too-many", Severity: diag.Stop, Input: true,
				Message: fmt.Sprintf("profile folder holds %d files, at most %d are read", len(names), maxFiles), Help: "name a folder that holds only profiles"})
			continue
		}
		sort.Strings(names)
		for _, name := range names {
			src, err := readLimited(folder, name)
			if err != nil {
				list.Add(diag.Finding{Code: "profile-unreadable", Severity: diag.Stop, Subject: name, Input: true,
					Message: "profile file cannot be read: " + oneLine(err.Error()), Help: "check the rights of the file", At: []diag.Place{{File: name}}})
				continue
			}
			sum := sha256.Sum256(src)
			l.files = append(l.files, File{name, layer, hex.EncodeToString(sum[:])})
			doc, faults := readDocument(name, src)
			list.Add(faults...)
			if doc == nil {
				continue
			}
			root := table{values: doc.values, doc: doc}
			for _, key := range sortedKeys(doc.values) {
				switch key {
				case "machine":
					list.Add(machines.add(root, layer)...)
				case "cutter":
					list.Add(cutters.add(root, layer)...)
				case "material":
					list.Add(materials.add(root, layer)...)
				default:
					list.Add(diag.Finding{Code: "profile-key", Severity: diag.Stop, Subject: name, Input: true,
						Message: fmt.Sprintf("unknown key %q", clip(key)), Help: diag.DidYouMean(key, []string{"machine", "cutter", "material"}),
						At: []diag.Place{root.place(key)}})
				}
			}
		}
	}
	var faults diag.List
	l.machines, faults = machines.resolveAll()
	list.Add(faults...)
	l.cutters, faults = cutters.resolveAll()
	list.Add(faults...)
	l.materials, faults = materials.resolveAll()
	list.Add(faults...)
	return l, list
}

func readLimited(folder fs.FS, name string) ([]byte, error) {
	info, err := fs.Stat(folder, name)
	if err != nil {
		return nil, err
	}
	if info.Size() > maxProfile {
		return nil, fmt.Errorf("%d bytes, at most %d are read", info.Size(), maxProfile)
	}
	return fs.ReadFile(folder, name)
}

// stack holds the tables of one kind of profile by name, layer upon layer.
type stack[T any] struct {
	kind   kindOfProfile[T]
	tables map[string][]layered
}

type layered struct {
	table
	layer int
}

func newStack[T any](k kindOfProfile[T]) *stack[T] {
	return &stack[T]{k, map[string][]layered{}}
}

// add takes the tables of one kind from a file.
func (s *stack[T]) add(root table, layer int) diag.List {
	var list diag.List
	all, ok := root.sub(root.values[s.kind.noun], s.kind.noun)
	if !ok {
		return diag.List{{Code: "profile-value", Severity: diag.Stop, Subject: root.doc.file, Input: true,
			Message: s.kind.noun + " must be a table of profiles", Help: "write [" + s.kind.noun + ".NAME] above each profile",
			At: []diag.Place{root.place(s.kind.noun)}}}
	}
	for _, name := range sortedKeys(all.values) {
		t, ok := all.sub(all.values[name], name)
		f := diag.Finding{Severity: diag.Stop, Subject: s.kind.noun + " " + clip(name), Input: true, At: []diag.Place{all.place(name)}}
		have := s.tables[name]
		switch _, err := asText(name); {
		case !ok:
			f.Code, f.Message, f.Help = "profile-value", "must be a table", "write ["+s.kind.noun+".NAME] above each profile"
			list.Add(f)
		case err != nil || len(name) > 60 || strings.TrimSpace(name) == "":
			f.Code, f.Message, f.Help = "profile-name", "name is empty, too long or has control characters", "use letters, digits and hyphens, at most 60"
			list.Add(f)
		case len(have) > 0 && have[len(have)-1].layer == layer:
			f.Code, f.Message, f.Help = "profile-twice", "stands twice in one folder", "rename one of the two"
			f.At = append(f.At, have[len(have)-1].place())
			list.Add(f)
		default:
			s.tables[name] = append(have, layered{t, layer})
		}
	}
	return list
}

// resolveAll resolves the topmost table of every name.
func (s *stack[T]) resolveAll() (map[string]entry[T], diag.List) {
	out := map[string]entry[T]{}
	var list diag.List
	for _, name := range sortedKeys(s.tables) {
		e, faults := s.resolve(name, len(s.tables[name])-1, nil)
		list.Add(faults...)
		if !faults.Blocks() {
			out[name] = e
		}
	}
	return out, list
}

// maxLike is the longest chain of profiles that are like one another.
const maxLike = 20

// resolve reads one table, and first the one it is like. trail holds the names
// on the way, so that a circle is found.
func (s *stack[T]) resolve(name string, level int, trail []string) (entry[T], diag.List) {
	here := fmt.Sprintf("%s/%d", name, level)
	trail = append(trail, here)
	return resolveTable(s.kind, name, s.tables[name][level].table, func(like string) (entry[T], *diag.Finding) {
		f := &diag.Finding{Severity: diag.Stop, Subject: s.kind.noun + " " + name, Input: true}
		below := len(s.tables[like]) - 1
		if like == name {
			below = level - 1
		}
		if below < 0 {
			f.Code, f.Message = "profile-unknown", fmt.Sprintf("is like %q, which there is not", clip(like))
			f.Help = diag.DidYouMean(like, sortedKeys(s.tables))
			return entry[T]{}, f
		}
		if len(trail) > maxLike {
			f.Code, f.Message = "profile-deep", fmt.Sprintf("is like another one through more than %d steps", maxLike)
			f.Help = "let it be like one nearer to the values"
			return entry[T]{}, f
		}
		next := fmt.Sprintf("%s/%d", like, below)
		for _, t := range trail {
			if t == next {
				f.Code, f.Message = "profile-circle", "is like itself by way of "+clip(like)
				f.Help = "give one of them its own values"
				return entry[T]{}, f
			}
		}
		e, faults := s.resolve(like, below, trail)
		for _, fault := range faults { // not the fault of the next one, but of the row
			if fault.Code == "profile-circle" || fault.Code == "profile-deep" {
				f.Code, f.Message, f.Help = fault.Code, fault.Message, fault.Help
				return entry[T]{}, f
			}
		}
		if faults.Blocks() {
			f.Code, f.Message = "profile-base", fmt.Sprintf("is like %q, which is faulty", clip(like))
			f.Help = "correct " + clip(like) + " first"
			return entry[T]{}, f
		}
		return e, nil
	})
}

// lookup finds a profile by name.
func lookup[T any](noun, name string, have map[string]entry[T], clone func(T) T) (T, *diag.Finding) {
	if e, ok := have[name]; ok {
		return clone(e.value), nil
	}
	var none T
	return none, &diag.Finding{Code: noun + "-unknown", Severity: diag.Stop, Input: true,
		Message: fmt.Sprintf("no %s is called %q", noun, clip(name)), Help: diag.DidYouMean(name, sortedKeys(have))}
}

// Machine returns the machine of that name; the finding (code "machine-unknown")
// carries the nearest name.
func (l *Library) Machine(name string) (Machine, *diag.Finding) {
	return lookup("machine", name, l.machines, Machine.clone)
}

// Cutter returns the cutter of that name; the finding (code "cutter-unknown")
// carries the nearest name.
func (l *Library) Cutter(name string) (Cutter, *diag.Finding) {
	return lookup("cutter", name, l.cutters, Cutter.clone)
}

// Material returns the material of that name; the finding (code
// "material-unknown") carries the nearest name.
func (l *Library) Material(name string) (Material, *diag.Finding) {
	return lookup("material", name, l.materials, Material.clone)
}

// Machines returns the names of all machines in order.
func (l *Library) Machines() []string { return sortedKeys(l.machines) }

// Cutters returns the names of all cutters in order.
func (l *Library) Cutters() []string { return sortedKeys(l.cutters) }

// Materials returns the names of all materials in order.
func (l *Library) Materials() []string { return sortedKeys(l.materials) }

// Files returns the profile files read, in the order they were laid.
func (l *Library) Files() []File { return append([]File(nil), l.files...) }
