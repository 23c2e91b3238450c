package attack_test

import (
	"bytes"
	"context"
	"io/fs"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"sparclear/internal/demo"
	"sparclear/pkg/job"
	"sparclear/pkg/proof"
)

// folder holds the files of a job in memory.
type folder map[string][]byte

func (f folder) ReadFile(name string) ([]byte, error) {
	b, ok := f[name]
	if !ok {
		return nil, fs.ErrNotExist
	}
	return b, nil
}

// One byte, changed at random in any file of a job, in a program or in the
// certificate: the certificate holds no longer, or the job is no longer read.
func TestAChangedByteAnywhereIsNoticed(t *testing.T) {
	n := 60
	if os.Getenv("SPARCLEAR_LONG") != "" {
		n = 6000
	}
	const tool = "sparclear attacked"
	files := folder{}
	names := []string{"job.toml", "panel.dxf", "heights.csv"}
	for _, name := range names {
		b, err := fs.ReadFile(demo.Files, "wing/"+name)
		require.NoError(t, err)
		files[name] = b
	}
	run := func(f folder, goal job.Goal) *job.Result {
		res, err := job.Run(context.Background(), job.Request{Name: "job.toml", Goal: goal, Files: f})
		require.NoError(t, err)
		return res
	}
	first := run(files, job.Prove)
	require.False(t, first.Findings.Blocks(), first.Findings)
	var src []proof.Source
	for _, p := range first.Programs {
		src = append(src, proof.Source{File: p.File, Text: p.Text})
	}
	sealed, _ := proof.Prove(context.Background(), first.Work, src)
	sealed.Tool = tool
	cert, err := sealed.Encode()
	require.NoError(t, err)
	_, l := proof.Recheck(context.Background(), "certificate.json", tool, cert, first.Work, src)
	require.False(t, job.Accept(first, l).Blocks(), l)

	r := rand.New(rand.NewPCG(7, 7))
	spoil := func(b []byte) []byte {
		b = bytes.Clone(b)
		b[r.IntN(len(b))] ^= byte(1 + r.IntN(255))
		return b
	}
	for i := range n {
		f, programs, sheet := folder{}, append([]proof.Source(nil), src...), cert
		for k, v := range files {
			f[k] = v
		}
		k := r.IntN(len(names) + 2)
		what := "certificate"
		switch {
		case k < len(names):
			what = names[k]
			f[what] = spoil(f[what])
		case k == len(names):
			p := &programs[r.IntN(len(programs))]
			what, p.Text = p.File, spoil(p.Text)
		default:
			sheet = spoil(cert)
		}
		res := run(f, job.Resolve)
		if res.Findings.Blocks() || res.Work == nil {
			continue
		}
		_, l := proof.Recheck(context.Background(), "certificate.json", tool, sheet, res.Work, programs)
		require.True(t, job.Accept(res, l).Blocks(), "change %d, in %s", i, what)
	}
}
