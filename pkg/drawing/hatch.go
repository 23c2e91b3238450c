package drawing

import "sparclear/pkg/diag"

// hatchEntity skips a HATCH.
func (b *builder) hatchEntity(r *record) {
	h := b.newHead()
	for i := range r.tags {
		b.common(r, i, &h)
	}
	if !b.asked(&h, r.kind) {
		return
	}
	if b.inBlock == nil {
		b.skipped[r.kind]++
	}
	b.remark("hatch-ignored", diag.Note, h, r.kind, r.line, nil, "is a filling, no outline, and is not cut",
		"ask for hatches if its boundary is meant")
}
