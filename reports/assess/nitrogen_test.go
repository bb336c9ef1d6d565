package assess

import (
	"math"
	"strconv"
	"testing"

	"retrostage/reports/record"
)

// The smallest leak that a hold could have seen, against a reckoning by hand that shares
// nothing with it: the ideal gas law for the nitrogen that twice the doubt would be, and
// Poiseuille's and Knudsen's laws (from memory) for the same hole with refrigerant at
// rest behind it.
func TestSmallestLeakByHand(t *testing.T) {
	const (
		psi, atm      = 6894.757293168, 101325.0
		r             = 8.314462618
		nitrogen      = 28.0134e-3
		r410A         = 72.585e-3
		thin, thinRef = 17.8e-6, 12.5e-6 // Pa s near room temperature: nitrogen; refrigerant vapour, as the program has it
		litres        = 8e-3
		seconds       = 3600.0
	)
	j := demo(t)
	set(t, j, record.Altitude, "0", "ft")
	set(t, j, record.Barometer, "29.921", "inHg")
	set(t, j, record.FreeVolume, "8", "L")
	set(t, j, record.RestPressure, "200", "psig")
	for _, e := range []entry{{record.TestP1, "240", "psig"}, {record.TestT1, "75", "F"}, {record.TestP2, "240", "psig"}, {record.TestT2, "75", "F"}, {record.TestTime, "60", "min"}} {
		set(t, j, e.key, e.value, e.unit)
	}
	rep := run(t, j)
	doubt := find(t, rep, "pressure_hold").U
	lost := 2 * doubt * litres * nitrogen / (r * 297.04) / seconds // kg/s
	test, rest := 240*psi+atm, 200*psi+atm
	viscous := lost * (r410A / nitrogen) * (thin / thinRef) * (rest*rest - atm*atm) / (test*test - atm*atm)
	molecular := lost * math.Sqrt(r410A/nitrogen) * (rest - atm) / (test - atm)
	want := math.Max(viscous, molecular)
	f := find(t, rep, "hold_smallest")
	if !f.Measured || math.Abs(f.Value/want-1) > 0.04 { // real gas, viscosity
		t.Errorf("%.4g kg/s, by hand %.4g (%s)", f.Value, want, f.Reason)
	}
	if f.Verdict == Within {
		t.Error("a sensitivity is no proof that nothing leaks")
	}
	// Twice the volume, twice the leak; four times as long, a quarter of it.
	set(t, j, record.FreeVolume, "16", "L")
	if g := find(t, run(t, j), "hold_smallest"); math.Abs(g.Value/f.Value-2) > 1e-6 {
		t.Errorf("twice the volume: %g times the leak", g.Value/f.Value)
	}
	set(t, j, record.FreeVolume, "8", "L")
	set(t, j, record.TestTime, "240", "min")
	if g := find(t, run(t, j), "hold_smallest"); math.Abs(g.Value/f.Value-0.25) > 1e-6 {
		t.Errorf("four times as long: %g times the leak", g.Value/f.Value)
	}
}

// Held for as long as the wait says, a hold sees the leak sought and hardly less; and
// neither is said where something of it is not known.
func TestWaitForTheLeakSought(t *testing.T) {
	j := demo(t)
	set(t, j, record.FreeVolume, "8", "L")
	set(t, j, record.LeakSought, "500000", "g/a")
	wait := find(t, run(t, j), "hold_wait")
	if !wait.Measured || wait.Value < 60 || wait.Value > 3000*60 {
		t.Fatalf("wait %g s (%s)", wait.Value, wait.Reason)
	}
	set(t, j, record.TestTime, num(wait.Value/60), "min")
	got := find(t, run(t, j), "hold_smallest")
	want := 500000e-3 / (365.25 * 86400)
	if math.Abs(got.Value/want-1) > 0.02 {
		t.Errorf("held for %g min: sees %g kg/s, sought %g", wait.Value/60, got.Value, want)
	}
	for _, k := range []record.Key{record.FreeVolume, record.TestT2, record.TestTime, record.Refrigerant} {
		j := demo(t)
		set(t, j, record.FreeVolume, "8", "L")
		set(t, j, record.LeakSought, "500000", "g/a")
		set(t, j, k, "", "")
		for _, f := range run(t, j).Findings {
			if (f.Key == "hold_smallest" || f.Key == "hold_wait") && f.Measured {
				t.Errorf("without %s: %s is %g", k, f.Key, f.Value)
			}
		}
	}
}

func num(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }
