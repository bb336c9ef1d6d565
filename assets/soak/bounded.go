package soak

import (
	"math/rand/v2"
	"os"
	"runtime"
	"runtime/metrics"
	"strings"
	"testing"
	"time"
)

// Bounded fails where something takes more than a second of the processor, or more than
// 200 MB of room beyond what was taken before, with what it let go and was not swept yet.
func Bounded(t *testing.T, name string, do func()) {
	t.Helper()
	runtime.GC()
	room := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	held := func() float64 {
		metrics.Read(room)
		return float64(room[0].Value.Uint64()) / 1e6
	}
	before, most := held(), 0.0
	done, stopped := make(chan bool), make(chan bool)
	go func() {
		defer close(stopped)
		for {
			most = max(most, held()-before)
			select {
			case <-done:
				return
			case <-time.After(time.Millisecond):
			}
		}
	}()
	was := ProcessorTime()
	do()
	took := ProcessorTime() - was
	close(done)
	<-stopped
	t.Logf("%s: %v, %.0f MB", name, took.Round(time.Millisecond), most)
	if took > time.Second || most > 200 {
		t.Errorf("%s takes %v and %.0f MB", name, took, most)
	}
}

// Hostile is what a parser may be given: ten megabytes of anything. head opens a file of
// its own kind, line is one of what it holds many of.
func Hostile(head, line string) map[string][]byte {
	const most = 10 << 20
	r := rand.New(rand.NewPCG(14, 1))
	chaos := make([]byte, most)
	for i := range chaos {
		chaos[i] = byte(r.Uint32())
	}
	fill := func(head, body, tail string) []byte {
		return []byte(head + strings.Repeat(body, (most-len(head)-len(tail))/len(body)) + tail)
	}
	out := map[string][]byte{
		"chaos": chaos, "zeros": make([]byte, most), "brackets": fill("", "[", ""), "objects": fill("", `{"a":`, ""), "commas": fill("", ",", ""),
		"lines": fill("", "\n", ""), "one text": fill(`{"kind":"`, "x", `"}`), "escapes": fill(`{"kind":"`, `\u0041`, `"}`), "marks of bytes": fill("\xff\xfe", "\x01\xd8", ""),
		"commas of its kind": fill(head, ",", ""), "text of its kind": fill(head, "x", ""), "quotes of its kind": fill(head, `"`, ""),
	}
	if line != "" {
		out["its own lines"] = fill(head, line, "")
	}
	return out
}

// InFile is a file with these bytes.
func InFile(t *testing.T, name string, b []byte) string {
	t.Helper()
	path := t.TempDir() + "/" + name
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
