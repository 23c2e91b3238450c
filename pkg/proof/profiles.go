package proof

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"sparclear/pkg/work"
)

// profilesOf names machine, material and cutters with the SHA-256 of every value of
// theirs, as the proof got them: built in, from a folder or from the job itself. A
// figure that changes in any of them changes its sum.
func profilesOf(w *work.Work) []InputInfo {
	out := []InputInfo{profile(w.Machine.Name, w.Machine), profile(w.Material.Name, w.Material)}
	for _, c := range w.Cutters {
		out = append(out, profile(c.Name, c))
	}
	return out
}

func profile(name string, values any) InputInfo {
	b, err := json.Marshal(values)
	if err != nil { // what JSON cannot say: a figure that is no number
		b = fmt.Appendf(nil, "%+v", values)
	}
	sum := sha256.Sum256(b)
	return InputInfo{"profile", name, hex.EncodeToString(sum[:])}
}
