package entry

import (
	"testing"

	"retrostage/thermo/units"
)

// A gauge's vacuum side counts inches of mercury downward from the air's pressure.
func TestVacuumSideOfAGauge(t *testing.T) {
	spec := Spec{Dim: units.Pressure, Unit: "psig", Min: -15, Max: 100}
	for text, want := range map[string]float64{"10 inHg": -4.912, "10 in Hg": -4.912, "10 in. Hg": -4.912, `10 "Hg`: -4.912, "29.9 inHg": -14.686, "-10 inHg": -4.912, "0 inHg": 0, "10 inHg vac": -4.912} {
		v, err := Read(text, spec, "psig")
		if err != nil || v.X != want || v.Unit != "psig" {
			t.Errorf("%q: %+v %v", text, v, err)
		}
	}
	for _, text := range []string{"40 inHg", "inHg", "ten inHg"} {
		if v, err := Read(text, spec, "psig"); err == nil {
			t.Errorf("%q is taken as %+v", text, v)
		}
	}
	if v, err := Read("10 inHg", Spec{Dim: units.Pressure, Unit: "psig", Min: 50, Max: 800}, "psig"); err == nil {
		t.Errorf("a design pressure in a vacuum: %+v", v)
	}
}
