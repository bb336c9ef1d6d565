package register

import (
	"context"
	"fmt"
	"runtime"
	"testing"

	"retrostage/assets/soak"
)

// What grows with the number of files is the table: no row keeps more than 4 kB, the
// text that it was read from least of all.
func TestMemory(t *testing.T) {
	dir, first := t.TempDir(), t.TempDir()
	n := soak.Count(60, 2000)
	for i := range 12 {
		write(t, first, fmt.Sprintf("%05d.xlsx", i), demoBook(t, i))
	}
	for i := range n {
		write(t, dir, fmt.Sprintf("%05d.xlsx", i), demoBook(t, i%12))
	}
	heap := func() uint64 {
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	if _, err := Run(context.Background(), first, Options{Today: today}, nil); err != nil { // whatever is made once
		t.Fatal(err)
	}
	before := heap()
	reg, err := Run(context.Background(), dir, Options{Today: today}, nil)
	if err != nil {
		t.Fatal(err)
	}
	after := heap()
	row := (float64(after) - float64(before)) / float64(n) / 1024
	t.Logf("%d rows, %.1f kB each", n, row)
	if row > 4 {
		t.Errorf("%.1f kB a row", row)
	}
	runtime.KeepAlive(reg)
}
