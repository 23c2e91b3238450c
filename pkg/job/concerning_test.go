package job_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/job"
)

// A reference on a layer that the job does not use may hold a piece of a member: what
// is missing there is asked about, and a drawing that is not whole is refused.
func TestWhatAReferenceMayHoldMattersOnAnyLayer(t *testing.T) {
	blocks := "0 SECTION 2 BLOCKS 0 BLOCK 2 HOLES 0 CIRCLE 8 0 10 300 20 0 40 .1 0 ENDBLK " +
		"0 BLOCK 2 FAR 70 4 0 ENDBLK 0 BLOCK 2 HALF 0 LINE 8 0 10 300 20 0 11 301 21 0 0 3DSOLID 8 0 0 ENDBLK 0 ENDSEC "
	for _, tc := range []struct {
		fact, reference, code string
		accepted              bool // a job may go on with it
	}{
		{"a block that is not in the file", "0 INSERT 8 FRAME 2 GONE 10 0 20 0", "block-missing", true},
		{"a block of another file", "0 INSERT 8 FRAME 2 FAR 10 0 20 0", "block-external", true},
		{"an array without end", "0 INSERT 8 FRAME 2 HOLES 10 0 20 0 70 9000 71 9000 44 1 45 1", "drawing-too-large", false},
		{"a member whose block cannot all be read", "0 INSERT 8 SPAR 2 HALF 10 0 20 0", "entity-unread", false},
	} {
		t.Run(tc.fact, func(t *testing.T) {
			src := strings.ReplaceAll(blocks, " ", "\n") + dxf(box("SERVO", 40, 30, 80, 50), box("SPAR", -10, 12, 130, 22), tc.reference)
			run := func(text string) []string {
				res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: job.Prove, Files: memory{"job.toml": text, "panel.dxf": src}})
				require.NoError(t, err)
				return blockers(res.Findings)
			}
			assert.Contains(t, run(plainJob), tc.code)
			accepted := run("accept = [\"" + tc.code + "\"]\n" + plainJob)
			assert.Equal(t, tc.accepted, len(accepted) == 0, "%v", accepted)
		})
	}
}
