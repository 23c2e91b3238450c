package skin_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"sparclear/pkg/geom"
	"sparclear/pkg/skin"
)

func TestTheSameTouchesGiveTheSameBits(t *testing.T) {
	touches := scattered(400, 9, saddle)
	first, _ := skin.Points(touches, skin.Options{})
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			m, _ := skin.Points(touches, skin.Options{})
			for k := range 500 {
				p := geom.Pt(float64(k%25)*12, float64(k/25)*10)
				b := geom.Box{Min: p, Max: p}.Grow(2)
				lo, hi := m.Range(b)
				lo1, hi1 := first.Range(b)
				u, e := m.Error(b)
				u1, e1 := first.Error(b)
				if m.Height(p) != first.Height(p) || lo != lo1 || hi != hi1 || u != u1 || e != e1 {
					t.Errorf("%v differs", p)
					return
				}
			}
		})
	}
	wait.Wait()
	assert.False(t, t.Failed())
}
