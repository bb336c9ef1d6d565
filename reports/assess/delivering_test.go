package assess

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/reports/uncertainty/montecarlo"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// mapped is the demo with a flat map through 630 lb/h, 3400 W and 17 A, made at
// 20 F superheat, and with the supply's wet bulb.
func mapped(t testing.TB) *record.Job {
	j := demo(t)
	flat := func(x string) string { return x + strings.Repeat(" 0", 9) }
	set(t, j, record.MapUnits, "F, lb/h, W", "")
	set(t, j, record.MapMassFlow, flat("630"), "")
	set(t, j, record.MapPower, flat("3400"), "")
	set(t, j, record.MapCurrent, flat("17"), "")
	set(t, j, record.MapSuperheat, "20", "F")
	set(t, j, record.SupplyWB, "57", "F")
	return j
}

// The mass flow is that of the density correction at this suction gas, worked
// here from the equation of state alone.
func TestMapIsCorrectedToTheSuctionGas(t *testing.T) {
	j := mapped(t)
	r := run(t, j)
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	p, _ := j.SI(record.SuctionPressure, r.Site)
	ts, _ := j.SI(record.SuctionTemp, r.Site)
	dew, err := f.DewT(p)
	if err != nil {
		t.Fatal(err)
	}
	at, err1 := f.TP(ts, p)
	rated, err2 := f.TP(dew+20/1.8, p)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	want := 630 * 0.45359237 / 3600 * (1 + 0.75*(at.Rho/rated.Rho-1))
	if got := find(t, r, "flow_expected"); math.Abs(got.Value/want-1) > 1e-9 {
		t.Errorf("%v kg/s, want %v", got.Value, want)
	}
	for key, verdict := range map[string]Verdict{"flow_deviation": Within, "power_deviation": Within, "current_deviation": Within, "sides_agree": Within} {
		if f := find(t, r, key); f.Verdict != verdict && f.Verdict != TooClose {
			t.Errorf("%s: %.3f ± %.3f %s %s", key, f.Value, f.Expanded(), f.Verdict, f.Reason)
		}
	}
	for _, f := range r.Findings {
		if f.Group == qDeliver || f.Group == qPump {
			t.Logf("%-22s %10.5g ± %-9.3g %s", f.Key, f.Value, f.Expanded(), f.Verdict)
		}
	}
}

// A compressor that draws twice what its map says, or pumps half, stands out.
func TestMapTellsTheCompressor(t *testing.T) {
	for key, c := range map[string]entry{"power_deviation": {record.MapPower, "1700", ""}, "flow_deviation": {record.MapMassFlow, "1260", ""}, "current_deviation": {record.MapCurrent, "34", ""}, "sides_agree": {record.MapMassFlow, "1260", ""}} {
		j := mapped(t)
		set(t, j, c.key, c.value+strings.Repeat(" 0", 9), "")
		if f := find(t, run(t, j), key); f.Verdict != Outside {
			t.Errorf("%s with %s %s: %.3f ± %.3f %s %s", key, c.key, c.value, f.Value, f.Expanded(), f.Verdict, f.Reason)
		}
	}
}

func TestMapRefusals(t *testing.T) {
	for _, c := range []struct {
		key               record.Key
		value, unit, want string
	}{
		{record.MapMassFlow, "1 2 3", "", "3 coefficients"},
		{record.MapMassFlow, "a" + strings.Repeat(" 0", 9), "", "coefficient 1"},
		{record.MapUnits, "", "", "units of the map"},
		{record.MapPower, "", "", "map's power"},
		{record.MapReturnGas, "65", "F", "either"},
		{record.SuctionPressure, "20", "psig", "outside"},
	} {
		j := mapped(t)
		set(t, j, c.key, c.value, c.unit)
		f := find(t, run(t, j), "flow_expected")
		if f.Measured || !strings.Contains(f.Reason, c.want) {
			t.Errorf("%s %q: %v %s", c.key, c.value, f.Measured, f.Reason)
		}
	}
}

// The trade facts, section 10: 1200 cfm at sea level from 80/67 to 58/56 F are
// 41 360 Btu/h in all and 28 510 sensible by the factors 4.5 and 1.08. Those
// factors take standard air; here the return air's own density is some percent
// less, and the condensate's heat is taken off, so 5 % and the exact sum.
func TestAirSide(t *testing.T) {
	j := demo(t)
	for key, v := range map[record.Key]string{record.Altitude: "0", record.ReturnDB: "80", record.ReturnWB: "67", record.SupplyDB: "58", record.SupplyWB: "56", record.Airflow: "1200"} {
		unit := map[record.Key]string{record.Altitude: "ft", record.Airflow: "cfm"}[key]
		if unit == "" {
			unit = "F"
		}
		set(t, j, key, v, unit)
	}
	r := run(t, j)
	btu := units.Preferred(units.Capacity, units.IP).Scale / 12000
	for key, want := range map[string]float64{"capacity_air": 41360, "capacity_sensible": 28510} {
		f := find(t, r, key)
		got := f.Value / btu
		if math.Abs(got/want-1) > 0.05 {
			t.Errorf("%s %.0f Btu/h, want about %.0f", key, got, want)
		}
		t.Logf("%s %.0f ± %.0f Btu/h", key, got, f.Expanded()/btu)
	}
}

// A line that rises loses its static head: R-410A at 95 F, .438 psi/ft (the
// trade facts, section 5.1). Its slope is 4.79 psi/F at 105 F and 4.55 in the
// mean from 95 to 105 F (5.3), so 40 ft take between 3.66 and 3.85 F.
func TestSubcoolingAtTheValve(t *testing.T) {
	lost := func(rise, length string) float64 {
		j := demo(t)
		set(t, j, record.Altitude, "0", "ft")
		set(t, j, record.LiquidPressure, "341.9", "psig")
		set(t, j, record.LiquidTemp, "95", "F")
		set(t, j, record.LineRise, rise, "ft")
		set(t, j, record.LineLength, length, "ft")
		r := run(t, j)
		v := find(t, r, "subcooling_valve")
		if !v.Measured {
			t.Fatal(v.Reason)
		}
		return (find(t, r, "subcooling").Value - v.Value) * 1.8
	}
	if got := lost("-40", "50") - lost("0", "50"); got < 3.66 || got > 3.85 {
		t.Errorf("40 ft of rise take %.2f F", got)
	}
	if got := lost("0", "100") - lost("0", "50"); got <= 0 || got > 3 {
		t.Errorf("50 ft of line take %.2f F", got)
	}
}

func TestRiseReadings(t *testing.T) {
	j := demo(t)
	set(t, j, record.VacuumEnd, "2301", "micron")
	set(t, j, record.VacuumRise, "0, 300\n2; 500\n4 700\n6, 901\n8, 1099\n10, 1300\n12 1500\n14, 1700\n16 1900\n18 2100\n20 2301", "")
	r := run(t, j)
	const micron = 101325.0 / 760e3 // Pa; 760 mm of mercury are an atmosphere
	if f := find(t, r, "vacuum_word"); f.Verdict != Outside || math.Abs(f.Value/(1000*micron)-1) > 0.05 {
		t.Errorf("100 micron a minute: %.0f micron in 10 min ± %.0f, %s %s", f.Value/micron, f.Expanded()/micron, f.Verdict, f.Reason)
	}
	if r.Rise == nil || r.Rise.Word != "leaking" || len(r.Rise.P) != 11 || len(r.Rise.CurveT) == 0 {
		t.Errorf("%+v", r.Rise)
	}
	for _, bad := range []string{"0, 300", "0 300\nx 2\n5 6", "0 1 2\n3 4 5\n6 7 8", "5 300\n4 300\n3 300"} {
		set(t, j, record.VacuumRise, bad, "")
		if f := find(t, run(t, j), "vacuum_word"); f.Measured || f.Reason == "" {
			t.Errorf("%q: %v %q", bad, f.Value, f.Reason)
		}
	}
}

func FuzzRiseReadings(f *testing.F) {
	f.Add("0, 300\n2; 500\n4 700")
	f.Fuzz(func(t *testing.T, s string) {
		a, b, err := riseReadings(s)
		if err == nil && len(a) != len(b) {
			t.Fatal("uneven")
		}
	})
}

func FuzzCoefficients(f *testing.F) {
	f.Add("1 2 3 4 5 6 7 8 9 10")
	f.Fuzz(func(t *testing.T, s string) {
		if p, err := coefficients(s); err == nil {
			for _, x := range p {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatal(x)
				}
			}
		}
	})
}

// By the heat balance the power cancels from the ratio of cooling to power: a
// reading that enters twice moves both places at once and leaves no doubt.
func TestSharedReadingCancels(t *testing.T) {
	j := demo(t)
	for _, key := range []record.Key{record.MapMassFlow, record.MapPower, record.MapCurrent} {
		set(t, j, key, "", "") // with a map the flow is the map's, not the balance's
	}
	f := find(t, run(t, j), "eer_refrigerant")
	seen := map[string]bool{}
	for _, i := range f.Inputs {
		if seen[i.Key] {
			t.Errorf("%s stands twice", i.Key)
		}
		seen[i.Key] = true
		if (i.Key == "run_current" || i.Key == "supply_voltage" || i.Key == "assumed/power_factor") && math.Abs(i.Share) > 1e-6 {
			t.Errorf("%s has share %g", i.Key, i.Share)
		}
	}
	if !seen["run_current"] || !f.Measured {
		t.Error("the power does not enter at all")
	}
}

// A log's steady stretch stands in for readings that were not typed, and adds its
// scatter to those that were.
func TestSteadyStretch(t *testing.T) {
	j := demo(t)
	set(t, j, record.SuctionTemp, "", "")
	typed := find(t, run(t, demo(t)), "subcooling")
	s := record.Series{Name: "log", Start: time.Unix(1.79e9, 0)}
	a := record.SeriesColumn{Key: record.SuctionTemp, Unit: "F", Instrument: "T1"}
	b := record.SeriesColumn{Key: record.LiquidTemp, Unit: "F"}
	for i := range 60 {
		x := float64(i)
		s.Seconds = append(s.Seconds, 20*x)
		a.Values = append(a.Values, 55.5+20*math.Exp(-x/5)+0.2*math.Sin(7*x))
		b.Values = append(b.Values, 101.2+0.6*math.Sin(5*x))
	}
	s.Columns = []record.SeriesColumn{a, b}
	j.Series = []record.Series{s}
	r := run(t, j)
	sh := find(t, r, "superheat")
	if want := find(t, run(t, demo(t)), "superheat").Value; math.Abs(sh.Value-want) > 0.2 { // the tail of the start-up, within the drift allowed
		t.Errorf("superheat %.3f K from the log, %.3f K typed", sh.Value, want)
	}
	sc := find(t, r, "subcooling")
	if sc.Value != typed.Value || !(sc.U > typed.U) {
		t.Errorf("typed subcooling %.4f ± %.4f became %.4f ± %.4f", typed.Value, typed.U, sc.Value, sc.U)
	}
	if f := find(t, r, "log_steady"); f.Verdict != Within || f.Value > 19*60 {
		t.Errorf("steady for %.0f s: %s", f.Value, f.Verdict)
	}
	if len(r.Logs) != 1 || !r.Logs[0].Steady || r.Logs[0].To != s.Seconds[59] || len(r.Logs[0].Columns) != 2 {
		t.Errorf("%+v", r.Logs)
	}
	for i := range j.Series[0].Seconds {
		j.Series[0].Columns[0].Values[i] = 40 + float64(i)
	}
	r = run(t, j)
	if l := r.Logs[0]; l.Steady || l.Columns[0].Pass || !l.Columns[1].Pass {
		t.Errorf("%+v", l)
	}
	if f := find(t, r, "log_steady"); f.Verdict != Outside {
		t.Errorf("a drifting log is %s", f.Verdict)
	}
	if f := find(t, r, "superheat"); f.Measured {
		t.Error("a drifting log gave a superheat")
	}
}

// Superheat and subcooling of the demo by Monte Carlo (JCGM 101), which assumes
// no linearity: same mean, same spread within 2 %, and the expanded interval
// covers as it says.
func TestMonteCarlo(t *testing.T) {
	j := demo(t)
	r := run(t, j)
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	for key, eval := range map[string]func(p, temp float64) (float64, error){
		"superheat":  func(p, temp float64) (float64, error) { s, err := f.DewT(p); return temp - s, err },
		"subcooling": func(p, temp float64) (float64, error) { s, err := f.BubbleT(p); return s - temp, err },
	} {
		got := find(t, r, key)
		x := map[string]Input{}
		for _, i := range got.Inputs {
			x[strings.TrimPrefix(strings.TrimPrefix(i.Key, "suction_"), "liquid_")] = i
		}
		// The pressure's input is absolute already; the site moves it by its own doubt.
		in := uncertainty.Inputs{X: []float64{x["pressure"].Value, x["temp"].Value, 0}, U: []float64{x["pressure"].U, x["temp"].U, x["site"].U}}
		mc, err := montecarlo.Run(func(v []float64) ([]float64, error) {
			y, err := eval(v[0]+v[2], v[1])
			return []float64{y}, err
		}, in, []montecarlo.Shape{montecarlo.Uniform, montecarlo.Uniform, montecarlo.Uniform}, 100_000, 7)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.4f ± %.4f K; Monte Carlo %.4f, %.4f", key, got.Value, got.U, mc.Mean[0], mc.SD[0])
		if math.Abs(mc.Mean[0]-got.Value) > 0.02*got.U || math.Abs(mc.SD[0]/got.U-1) > 0.02 {
			t.Errorf("%s: %.5f ± %.5f K; Monte Carlo %.5f ± %.5f", key, got.Value, got.U, mc.Mean[0], mc.SD[0])
		}
		if got.Value-got.Expanded() > mc.Lo[0] || got.Value+got.Expanded() < mc.Hi[0] {
			t.Errorf("%s: the interval does not cover 95 %% of the trials", key)
		}
	}
}

// bare is the demo without any doubt: each rule is then evaluated once.
func bare(t testing.TB) *context {
	c, err := newContext(mapped(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range definitions {
		if d.applies == nil || d.applies(c) {
			c.gather(d.inputs)
		}
	}
	for _, r := range c.cache {
		if r != nil {
			r.u = 0
		}
	}
	c.site.u = 0
	return c
}

// The price of doubt: time of a whole assessment over that of one without
// uncertainties.
func BenchmarkDoubt(b *testing.B) {
	j := mapped(b)
	var with, without time.Duration
	for b.Loop() {
		t := time.Now()
		if _, err := Run(j); err != nil {
			b.Fatal(err)
		}
		with += time.Since(t)
		c := bare(b)
		t = time.Now()
		for _, d := range definitions {
			if d.applies == nil || d.applies(c) {
				if _, err := c.find(d); err != nil {
					b.Fatal(err)
				}
			}
		}
		without += time.Since(t)
	}
	b.ReportMetric(float64(with)/float64(without), "with/without")
	b.ReportMetric(float64(with.Microseconds())/float64(b.N), "us/assessment")
}

func TestDeterministicWithMap(t *testing.T) {
	a, _ := json.Marshal(run(t, mapped(t)))
	b, _ := json.Marshal(run(t, mapped(t)))
	if string(a) != string(b) || strings.Contains(string(a), "NaN") {
		t.Error("another answer")
	}
}
