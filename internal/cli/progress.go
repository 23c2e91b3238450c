package cli

import (
	"fmt"
	"time"
)

// progress names the stage on a terminal, after half a second and never
// elsewhere.
type progress struct {
	e     *env
	start time.Time
	drawn bool
}

func newProgress(e *env, start time.Time) *progress { return &progress{e: e, start: start} }

func (p *progress) stage(name string, done, of int) {
	if p.e.json || !p.e.err.isTerminal() || time.Since(p.start) < 500*time.Millisecond {
		return
	}
	p.drawn = true
	fmt.Fprintf(p.e.err, "\r\x1b[K%d of %d: %s", done+1, of, name)
}

func (p *progress) done() {
	if p.drawn {
		fmt.Fprint(p.e.err, "\r\x1b[K")
	}
}
