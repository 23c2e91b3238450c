package cli

import (
	"fmt"
	"time"

	"sparclear/pkg/nest"
)

// progress names the stage on a terminal, after half a second and never
// elsewhere.
type progress struct {
	e     *env
	start time.Time
	told  time.Time
	drawn bool
}

func newProgress(e *env, start time.Time) *progress { return &progress{e: e, start: start} }

func (p *progress) stage(name string, done, of int) {
	p.show(fmt.Sprintf("%d of %d: %s", done+1, of, name))
}

func (p *progress) show(text string) {
	if p.e.json || !p.e.err.isTerminal() || time.Since(p.start) < 500*time.Millisecond {
		return
	}
	p.drawn = true
	fmt.Fprintf(p.e.err, "\r\x1b[K%s", text)
}

func (p *progress) done() {
	if p.drawn {
		fmt.Fprint(p.e.err, "\r\x1b[K")
	}
}

// betweenTells is how often the search for places says how far it is.
const betweenTells = 200 * time.Millisecond

// nesting tells how far the search for places is.
func (p *progress) nesting(n nest.Progress) {
	if now := time.Now(); now.Sub(p.told) >= betweenTells {
		p.told = now
		p.show(fmt.Sprintf("placing parts (%s): %.0f %%, %d sheet(s), parts take %.1f %%; Ctrl-C ends nest with the best so far", n.Phase, 100*n.Done, n.Sheets, 100*n.Use))
	}
}
