package app

import (
	"runtime"
	"testing"
)

// Going from step to step leaves nothing behind: what was drawn once is drawn into again.
// Without that each switch left 390 things for the toolkit to keep for a minute.
func TestSwitchesLeaveNothingBehind(t *testing.T) {
	b, _ := bench(t, filled(t))
	objects := func() int64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.GC()
		runtime.ReadMemStats(&m)
		return int64(m.HeapObjects)
	}
	const rounds = 20
	var before int64
	for i := range 10 * (rounds + 5) {
		if i == 50 { // all was shown before
			before = objects()
		}
		b.Go(i % 10)
	}
	if each := float64(objects()-before) / (10 * rounds); each > 20 {
		t.Errorf("each switch leaves %.0f things behind", each)
	}
}
