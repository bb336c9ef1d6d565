package soak

import (
	"crypto/sha256"
	"encoding/binary"
	"math/rand/v2"
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"sort"
	"testing"
	"time"
)

// yardstick is work of a known size, and how long it took of the processor; at rest is
// what the two-core server on which the bounds were set takes for it when it does nothing
// else (least of 40).
func yardstick() time.Duration {
	const mark = 3 << 20
	was, b := ProcessorTime(), make([]byte, mark)
	for i := range b {
		b[i] = byte(i * i >> 3)
	}
	sum := sha256.Sum256(b)
	sort.Slice(b, func(i, j int) bool { return b[i]^sum[0] < b[j]^sum[0] })
	return ProcessorTime() - was
}

const atRest = 210 * time.Millisecond

// Bounded fails where something takes more than a second of the processor, or more than
// 200 MB of room beyond what was taken before, with what it let go and was not swept yet.
// A second is one of that server at rest: where others press on the processor's caches the
// same work takes longer, and the yardstick tells by how much.
func Bounded(t *testing.T, name string, do func()) {
	t.Helper()
	defer debug.SetGCPercent(debug.SetGCPercent(100)) // as the program has it, whatever the test runs with
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
	second := time.Second
	if took > second {
		second = max(second, time.Duration(float64(second)*float64(yardstick())/float64(atRest)))
	}
	if took > second || most > 200 {
		t.Errorf("%s takes %v and %.0f MB", name, took, most)
	}
}

// Hostile is what a parser may be given: ten megabytes of anything. head opens a file of
// its own kind, line is one of what it holds many of.
func Hostile(head, line string) map[string][]byte {
	const most = 10 << 20
	r := rand.New(rand.NewPCG(14, 1))
	chaos := make([]byte, most)
	for i := range most / 8 {
		binary.LittleEndian.PutUint64(chaos[8*i:], r.Uint64())
	}
	fill := func(head, body, tail string) []byte {
		b := append(make([]byte, 0, most), head...)
		from := len(b)
		for b = append(b, body...); 2*len(b)-from+len(tail) <= most; {
			b = append(b, b[from:]...)
		}
		more := (most - len(b) - len(tail)) / len(body) * len(body)
		return append(append(b, b[from:from+more]...), tail...)
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
