package series

import (
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/record"
)

// Ten megabytes of anything in place of a logger's file are read or refused in a second of
// the processor and 200 MB.
func TestTenMegabytes(t *testing.T) {
	things := soak.Hostile("Time,Suction (psig)\n2026-07-01 10:00:00,130.1\n", "2026-07-01 10:00:00,130.1\n")
	wide := "t" + strings.Repeat(",a", 2000) + "\n"
	things["wide lines"] = []byte(wide + strings.Repeat("1"+strings.Repeat(",2", 2000)+"\n", (10<<20)/4002))
	things["semicolons"] = []byte(strings.Repeat("0;1,5;", (10<<20)/6))
	head, line := "Time,Suction (psig)\n2026-07-01 10:00:00,130.1\n", "2026-07-01 10:00:00,130.1\n"
	things["as many lines as can be"] = []byte(head + strings.Repeat(line+"\n", MaxRows-2)) // twice that, every second blank
	things["an open quote"] = []byte(`"` + strings.Repeat(line, maxLines-2))
	things["full of numbers"] = []byte(strings.Repeat("1"+strings.Repeat(",98.7", 29)+"\n", (10<<20)/147))
	things["numbers in thousands"] = []byte(strings.Repeat("1"+strings.Repeat(";1,234.5", 29)+"\n", (10<<20)/234))
	for name, b := range things {
		var l Layout
		var err error
		soak.Bounded(t, "a log of "+name, func() {
			if l, err = Detect(b); err == nil {
				if _, err := Read(b, l); err == nil {
					t.Logf("%s was read", name)
				}
			}
		})
		if err != nil {
			continue
		}
		for k := range min(3, len(l.Columns)) {
			soak.Bounded(t, "a vacuum of "+name, func() { ReadVacuum(b, l, k, "micron", ValvedLowest) })
		}
		soak.Bounded(t, "a column of "+name, func() {
			Keep(b, l, "a", []Use{{Column: 1, Key: record.SuctionPressure, Unit: "psig"}})
		})
	}
}

// What is too long is told with what would fit, before every delimiter is tried on it.
func TestTooLong(t *testing.T) {
	head := "Time,Suction (psig)\n2026-07-01 10:00:00,130.1\n"
	for text, says := range map[string]string{
		head + strings.Repeat("\n", maxLines):                       "more than 400000 lines, blank ones counted; allowed are 200000 with readings",
		head + strings.Repeat("2026-07-01 10:00:00,1\n", MaxRows+1): "more than 200000 lines",
		head + "x,\"" + strings.Repeat("y\n", maxRow):               "until a quote is closed",
	} {
		l, err := Detect([]byte(head))
		if err != nil {
			t.Fatal(err)
		}
		if _, err = Read([]byte(text), l); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v; want %q", err, says)
		}
	}
}
