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
	for name, b := range things {
		soak.Bounded(t, "a log of "+name, func() {
			l, err := Detect(b)
			if err != nil {
				return
			}
			if _, err := Read(b, l); err == nil && name != "its own lines" && name != "wide lines" {
				t.Logf("%s was read", name)
			}
			for k := range l.Columns {
				if k == 3 {
					break
				}
				ReadVacuum(b, l, k, "micron", ValvedLowest)
			}
			Keep(b, l, "a", []Use{{Column: 1, Key: record.SuctionPressure, Unit: "psig"}})
		})
	}
}
