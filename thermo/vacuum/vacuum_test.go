package vacuum

import "testing"

const micron = 101325.0 / 760000

// What an inflow is, TestDecayExample holds against a worked example.
func TestInflowRefuses(t *testing.T) {
	if _, err := Inflow(0, 1); err == nil {
		t.Error("took no volume")
	}
}
