package series

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// vacuumLog is a log of ten seconds' steps: from 20000 Pa down to 30 Pa in 20 minutes,
// then up by 2 Pa a minute for 15, in a unit.
func vacuumLog(head string, of func(pa float64) float64, comma bool) string {
	var b strings.Builder
	sep := ","
	if comma {
		sep = ";"
	}
	fmt.Fprintf(&b, "time s%sother%s%s\n", sep, sep, head)
	for s := 0; s <= 2100; s += 10 {
		pa := 30 + 20000*math.Exp(-float64(s)/60)
		if s > 1200 {
			pa = 30 + 2*float64(s-1200)/60
		}
		line := fmt.Sprintf("%d%s%d%s%.4f", s, sep, s%7, sep, of(pa))
		if comma {
			line = strings.ReplaceAll(line, ".", ",")
		}
		fmt.Fprintln(&b, line)
	}
	return b.String()
}

// The same vacuum in four units, with point and with comma, gives the same two parts;
// each counts from its own start and the last reading is kept.
func TestReadVacuumInEveryUnit(t *testing.T) {
	const micron = 101325.0 / 760000
	for _, c := range []struct {
		head, unit string
		of         float64 // Pa of one
		comma      bool
	}{{"gauge micron", "micron", micron, false}, {"gauge Pa", "Pa", 1, true}, {"gauge mbar", "mbar", 100, false}, {"gauge", "micron", micron, true}} {
		raw := []byte(vacuumLog(c.head, func(pa float64) float64 { return pa / c.of }, c.comma))
		l, err := Detect(raw)
		if err != nil {
			t.Fatal(err)
		}
		v, err := ReadVacuum(raw, l, 2, c.unit, ValvedLowest)
		if err != nil {
			t.Fatalf("%s: %v", c.head, err)
		}
		if math.Abs(v.Pumped-20) > 0.2 || math.Abs(v.Held-15) > 0.2 || math.Abs(v.Off*micron-30) > 0.5 || math.Abs(v.End*micron-60) > 0.5 {
			t.Errorf("%s: %+v", c.head, v)
		}
		pull, rise := strings.Split(v.Pull, "\n"), strings.Split(v.Rise, "\n")
		if len(pull) != v.Lines[0] || len(rise) != v.Lines[1] || !strings.HasPrefix(rise[0], "0.000 ") || !strings.HasPrefix(rise[len(rise)-1], "15.0") {
			t.Errorf("%s: %d and %d lines, %q to %q", c.head, len(pull), len(rise), rise[0], rise[len(rise)-1])
		}
		if alone, err := ReadVacuum(raw, l, 2, c.unit, ValvedNever); err != nil || alone.Rise == "" && alone.Pull == "" || alone.Rise != "" {
			t.Errorf("%s, pull-down alone: %q %v", c.head, alone.Rise, err)
		}
		if alone, err := ReadVacuum(raw, l, 2, c.unit, ValvedBefore); err != nil || alone.Pull != "" || alone.Rise == "" {
			t.Errorf("%s, rise alone: %q %v", c.head, alone.Pull, err)
		}
	}
}

func TestReadVacuumRefuses(t *testing.T) {
	raw := []byte("time s,gauge micron\n0,500\n10,510\n")
	l, err := Detect(raw)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []Valved{ValvedLowest, ValvedBefore, ValvedNever} {
		if v, err := ReadVacuum(raw, l, 1, "micron", at); err == nil {
			t.Errorf("two readings gave %+v", v)
		}
	}
	if _, err := ReadVacuum(raw, l, 0, "micron", ValvedBefore); err == nil {
		t.Error("time was taken for a vacuum")
	}
	if _, err := ReadVacuum(raw, l, 1, "F", ValvedBefore); err == nil {
		t.Error("a temperature was taken for a vacuum")
	}
	long := strings.Builder{}
	long.WriteString("time s,gauge micron\n")
	for s := range 5000 {
		fmt.Fprintf(&long, "%d,%d\n", s, 300+s/10)
	}
	if l, err = Detect([]byte(long.String())); err != nil {
		t.Fatal(err)
	}
	v, err := ReadVacuum([]byte(long.String()), l, 1, "micron", ValvedLowest)
	if err != nil || v.Lines[1] > maxVacuumLines+1 || v.Pull != "" || len(v.Rise) > 19000 {
		t.Errorf("%d lines, %d bytes, %v", v.Lines[1], len(v.Rise), err)
	}
}
