package supply

import (
	"testing"
)

// Cells of the 2023 edition's tables, read in a machine-readable copy of its text:
// aluminum of Table 310.16, the ends of Tables 310.15(B)(1)(1) and 310.15(C)(1), 250.122,
// 240.4(D), 430.248 and 430.251(A).
func TestTablesOf2023(t *testing.T) {
	tb := tables(t)
	for gauge, want := range map[string][3]float64{"12": {15, 20, 25}, "6": {40, 50, 55}, "3": {65, 75, 85}, "1/0": {100, 120, 135}} {
		for i, r := range []Rating{60, 75, 90} {
			near(t, gauge, must[Ampacity](t)(tb.AmpacityOf(gauge, Conditions{Insulation: r, Terminals: r, Aluminum: true})).Amps, want[i], 0)
		}
	}
	if _, err := tb.AmpacityOf("14", Conditions{Aluminum: true}); err == nil {
		t.Error("14 AWG aluminum has an ampacity")
	}
	at := func(celsius float64, r Rating) (Ampacity, error) {
		return tb.AmpacityOf("10", Conditions{Insulation: r, Terminals: 60, Ambient: celsius + 273.15})
	}
	near(t, "85 C, 90 C insulation", must[Ampacity](t)(at(85, 90)).Ambient, 0.29, 0)
	near(t, "70 C, 75 C insulation", must[Ampacity](t)(at(70, 75)).Ambient, 0.33, 0)
	for _, c := range []struct {
		celsius float64
		r       Rating
	}{{86, 90}, {71, 75}, {56, 60}} {
		if a, err := at(c.celsius, c.r); err == nil {
			t.Errorf("%g C with %d C insulation: %+v", c.celsius, c.r, a)
		}
	}
	near(t, "41 together", must[Ampacity](t)(tb.AmpacityOf("10", Conditions{Bundle: 41})).Bundling, 0.35, 0)
	if g, err := tb.EquipmentGround(225); err != nil || g != "4" {
		t.Error(g, err)
	}
	if a, small := tb.SmallConductor("10", true); !small || a != 25 {
		t.Error(a, small)
	}
	if _, small := tb.SmallConductor("14", true); small {
		t.Error("14 AWG aluminum is in no line")
	}
}

// 440.12(A): 19.2 A at 230 V is between 3 hp (17 A) and 5 hp (28 A); 112 A locked rotor
// between 3 hp (102 A) and 5 hp (168 A). At 208 V 18.7 A is 3 hp, until the rotor locks
// at 114 A. The numbers are of Tables 430.248 and 430.251(A), 2023.
func TestDisconnectHorsepower(t *testing.T) {
	tb := tables(t)
	for _, c := range []struct{ volts, rla, lra, want float64 }{
		{230, 19.2, 112, 5}, {230, 17, 102, 3}, {230, 10, 168, 5}, {208, 18.7, 113, 3}, {208, 18.7, 114, 5}, {240, 5, 0, 0.75},
	} {
		hp, err := tb.DisconnectHP(c.volts, c.rla, c.lra)
		if err != nil || hp != c.want {
			t.Errorf("%+v: %g, %v", c, hp, err)
		}
	}
	for _, c := range [][3]float64{{230, 51, 0}, {230, 10, 301}, {460, 10, 50}} {
		if hp, err := tb.DisconnectHP(c[0], c[1], c[2]); err == nil {
			t.Errorf("%v: %g hp", c, hp)
		}
	}
}

// 440.22(A): 1.75 x 18 is 31.5 A: 30 A taken down, 35 A by exception 1 of 2023; 1.75 x 20
// is a standard size, 35 A, either way.
func TestEditions(t *testing.T) {
	tb := tables(t)
	for _, c := range []struct{ rla, down, up float64 }{{18, 30, 35}, {20, 35, 35}} {
		d, err := tb.MOCP(c.rla)
		u, err2 := tb.MOCPUp(c.rla)
		if err != nil || err2 != nil || d.Size != c.down || u.Size != c.up {
			t.Errorf("%+v: %g, %g, %v, %v", c, d.Size, u.Size, err, err2)
		}
	}
}

// Nominal voltages are matched by the plate's range, not by the tolerance of a running
// voltage: 230 V on 208 V and 265 V on 240 V do not fit.
func TestNominalVoltages(t *testing.T) {
	tb := tables(t)
	for _, c := range []struct {
		supply float64
		plate  []float64
		want   Outcome
	}{
		{208, []float64{230}, Misfit}, {240, []float64{265}, Misfit}, {240, []float64{208}, Misfit}, {277, []float64{230}, Misfit},
		{240, []float64{230}, Fits}, {208, []float64{208, 230}, Fits}, {240, []float64{208, 230}, Fits}, {277, []float64{265}, Fits}, {208, []float64{200}, Fits},
	} {
		if k := must[Check](t)(tb.CheckSupplyMatch(c.supply, 0, 0, 0, 0, c.plate...)); k.Outcome != c.want {
			t.Errorf("%+v: %s, %s", c, k.Outcome, k.Why)
		}
	}
}

// 250.122(B): supply conductors of 8 AWG (16510 circular mils) where 10 (10380) would do
// ask for 1.59 times the ground's area; (A): never more than the circuit conductors.
func TestGroundGrows(t *testing.T) {
	tb := tables(t)
	if k := must[Check](t)(tb.CheckGround("10", 40, "8", "10")); k.Outcome != Misfit {
		t.Errorf("%+v", k)
	}
	if k := must[Check](t)(tb.CheckGround("8", 40, "8", "10")); k.Outcome != Fits {
		t.Errorf("%+v", k)
	}
	// 70 A ahead of 10 AWG: the table says 8 AWG, the circuit conductors are 10.
	if k := must[Check](t)(tb.CheckGround("10", 70, "10", "10")); k.Outcome != Fits {
		t.Errorf("%+v", k)
	}
}
