package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"sparclear/pkg/nest"
)

// terminal opens a pseudo-terminal: what is written to the second end can be read
// from the first.
func terminal(t *testing.T) (master, tty *os.File) {
	t.Helper()
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	if err != nil {
		t.Skip("no pseudo-terminals here: ", err)
	}
	t.Cleanup(func() { _ = master.Close() })
	ask := func(request uintptr, value *uint32) {
		_, _, errno := syscall.Syscall(syscall.SYS_IOCTL, master.Fd(), request, uintptr(unsafe.Pointer(value)))
		require.Zero(t, errno)
	}
	var lock, number uint32
	ask(syscall.TIOCSPTLCK, &lock)
	ask(syscall.TIOCGPTN, &number)
	tty, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	return master, tty
}

// A search of more than half a second says on a terminal how far it is, on one line,
// and Ctrl-C ends it with the layout that it has; the line is empty again in the end.
func TestTheSearchForPlacesTellsHowFarItIsOnATerminal(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "job.toml")
	text := `title = "discs"
material = "carbon-plate-2"
machine = "small-router-metric"
zero = "table"
no_clamps = true
[nest]
budget = 900000000000
[[sheet]]
size = [200, 150]
thickness = 2
fibre_deg = 0
[[part]]
name = "disc"
drawing = "disc.svg"
layer = "DISC"
cutter = "burr-2-coated"
quantity = 8
`
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	disc := `<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"><g id="DISC"><circle cx="50" cy="50" r="15"/></g></svg>`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "disc.svg"), []byte(disc), 0o600))
	master, tty := terminal(t)
	said := make(chan string)
	go func() {
		var all strings.Builder
		b, ended := make([]byte, 4096), false
		guard := time.AfterFunc(time.Minute, func() { _ = syscall.Kill(os.Getpid(), syscall.SIGINT) }) // a search that says nothing ends, too
		defer guard.Stop()
		for {
			n, err := master.Read(b)
			all.Write(b[:n])
			if err != nil { // the other end is closed
				said <- all.String()
				return
			}
			if !ended && strings.Contains(all.String(), "placing parts") {
				ended = true
				_ = syscall.Kill(os.Getpid(), syscall.SIGINT)
			}
		}
	}()
	var out strings.Builder
	code := Run([]string{"nest", name, "--no-color"}, strings.NewReader(""), &out, tty)
	require.NoError(t, tty.Close())
	on := <-said
	require.Equal(t, exitDone, code, on)
	const clear = "\r\x1b[K"
	lines := strings.Split(on, clear)
	last := 0
	for i, line := range lines {
		if strings.HasPrefix(line, "placing parts (") {
			assert.NotContains(t, line, "\n", "one line only")
			assert.Contains(t, line, "Ctrl-C ends nest with the best so far")
			last = i
		}
	}
	require.Positive(t, last)
	assert.Less(t, last, len(lines)-1, "the line is empty again")
	assert.Contains(t, lines[len(lines)-1], "next: sparclear cut")
	assert.Contains(t, on, "search-stopped")
	assert.FileExists(t, filepath.Join(dir, "out", "layout.toml"))
}

func TestProgressIsForTerminalsOnly(t *testing.T) {
	long := time.Now().Add(-time.Hour)
	var file strings.Builder
	p := newProgress(&env{err: &stream{w: &file}}, long)
	p.nesting(nest.Progress{Phase: "explore"})
	p.stage("plan", 0, 3)
	p.done()
	assert.Empty(t, file.String(), "in a file")

	_, tty := terminal(t)
	defer func() { _ = tty.Close() }()
	for _, tc := range []struct {
		fact  string
		json  bool
		start time.Time
		shown bool
	}{
		{"after half a second", false, long, true},
		{"before it", false, time.Now().Add(time.Hour), false},
		{"with --json", true, long, false},
	} {
		p := newProgress(&env{err: &stream{w: tty}, json: tc.json}, tc.start)
		p.nesting(nest.Progress{Phase: "explore"})
		assert.Equal(t, tc.shown, p.drawn, tc.fact)
	}
}
