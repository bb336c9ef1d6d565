package series

import (
	"bytes"
	"runtime"
	"strings"
	"testing"
	"unicode/utf16"
)

// A log in UTF-16, as its mark says, reads as the same log in UTF-8; one cut in the
// middle of a letter does not read.
func TestUTF16(t *testing.T) {
	text := "time,suction °F\n2026-08-14 10:00:00,52.1\n2026-08-14 10:00:10,52.3\n2026-08-14 10:00:20,52.4\n"
	want, err := Detect([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for name, big := range map[string]bool{"little": false, "big": true} {
		var b []byte
		for _, u := range append([]uint16{0xfeff}, utf16.Encode([]rune(text))...) {
			if big {
				b = append(b, byte(u>>8), byte(u))
			} else {
				b = append(b, byte(u), byte(u>>8))
			}
		}
		got, err := Detect(b)
		if err != nil || got.Columns[1].Name != want.Columns[1].Name || got.TimeForm != want.TimeForm {
			t.Errorf("%s end first: %+v, %v", name, got, err)
		}
		if _, err := Read(b, got); err != nil {
			t.Error(err)
		}
		if _, err := Detect(b[:len(b)-1]); err == nil {
			t.Error("half a letter passed")
		}
	}
}

// What is no log is refused with little memory: a line of commas, lines of commas.
func TestHostileLogIsCheap(t *testing.T) {
	for name, b := range map[string][]byte{
		"one line": bytes.Repeat([]byte(","), 10<<20),
		"lines":    bytes.Repeat([]byte(strings.Repeat(",", 60)+"\n"), 10<<20/61),
		"quotes":   bytes.Repeat([]byte(`"`+"\n"), 5<<20),
		"newlines": bytes.Repeat([]byte("\n"), 10<<20),
	} {
		var was, is runtime.MemStats
		runtime.ReadMemStats(&was)
		l, err := Detect(b)
		if err == nil {
			_, err = Read(b, l)
		}
		runtime.ReadMemStats(&is)
		if err == nil {
			t.Errorf("%s: taken for a log", name)
		}
		if n := (is.TotalAlloc - was.TotalAlloc) >> 20; n > 200 {
			t.Errorf("%s: %d MB", name, n)
		}
	}
}
