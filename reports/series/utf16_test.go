package series

import (
	"encoding/binary"
	"reflect"
	"testing"
	"unicode/utf16"
)

// A log in UTF-16, which says so by its mark, is read as the same in UTF-8 is, letters beyond
// 16 bits too; one that is cut in the middle of a letter gives no other numbers.
func TestUTF16(t *testing.T) {
	const text = "Time,Suction ° 𝕊 (psig)\n2026-07-01 10:00:00,130.1\n2026-07-01 10:00:10,130.3\n2026-07-01 10:00:20,131.2\n"
	read := func(b []byte) (Layout, *Log) {
		t.Helper()
		l, err := Detect(b)
		if err != nil {
			t.Fatal(err)
		}
		g, err := Read(b, l)
		if err != nil {
			t.Fatal(err)
		}
		return l, g
	}
	want, log := read([]byte(text))
	for name, order := range map[string]binary.AppendByteOrder{"little": binary.LittleEndian, "big": binary.BigEndian} {
		var b []byte
		for _, u := range append([]uint16{0xfeff}, utf16.Encode([]rune(text))...) {
			b = order.AppendUint16(b, u)
		}
		got, g := read(b)
		if !reflect.DeepEqual(got, want) || !reflect.DeepEqual(g, log) {
			t.Errorf("%s end first: %+v, not %+v", name, got, want)
		}
		if l, err := Detect(b[:len(b)-1]); err == nil {
			if g, err := Read(b[:len(b)-1], l); err == nil && g.Len() > log.Len() {
				t.Errorf("%s end first, cut: %d lines", name, g.Len())
			}
		}
	}
}
