package state

import (
	"strings"
	"testing"
)

func TestBatch(t *testing.T) {
	in := "fluid,kind,T_K,p_Pa\nR-22,sat-bubble,273.15,\nR-22,oops,1,2\nR-410A,single,300,500000\nR-410A,sat-dew,,1000000\nR-22,single,x,1\n\"broken\nR-22"
	var out, errs strings.Builder
	err := Batch(strings.NewReader(in), &out, &errs)
	if err == nil || !strings.Contains(err.Error(), "could not be answered") {
		t.Errorf("error %v", err)
	}
	lines := strings.Split(strings.TrimRight(out.String(), "\n"), "\n")
	if len(lines) < 6 || lines[2] != ",,,,," || lines[5] != ",,,,," || strings.Contains(lines[1], ",,") || strings.Contains(lines[3], ",,") {
		t.Errorf("%q", lines)
	}
	// IIR reference state of the published equations: h = 200 kJ/kg for
	// saturated liquid at 0 degC.
	if !strings.HasPrefix(lines[1], "273.15,") || !strings.Contains(lines[1], ",2000") && !strings.Contains(lines[1], ",199999.9") {
		t.Errorf("saturated R-22 at 0 degC: %s", lines[1])
	}
	if !strings.Contains(errs.String(), "standard input:3: kind") || !strings.Contains(errs.String(), `standard input:6: T_K: "x" is not a number`) {
		t.Errorf("errors:\n%s", errs.String())
	}
}

func FuzzBatch(f *testing.F) {
	f.Add("R-22,single,300,1e5\n")
	f.Fuzz(func(t *testing.T, in string) {
		var out, errs strings.Builder
		_ = Batch(strings.NewReader(in), &out, &errs)
		if strings.Contains(out.String(), "NaN") || strings.Contains(out.String(), "Inf") {
			t.Fatal(out.String())
		}
	})
}
