package assess

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

func demo(t testing.TB) *record.Job {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func run(t testing.TB, j *record.Job) *Report {
	t.Helper()
	r, err := Run(j)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func set(t testing.TB, j *record.Job, key record.Key, value, unit string) {
	t.Helper()
	if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: time.Unix(1.79e9, 0)}); err != nil {
		t.Fatal(err)
	}
}

func find(t testing.TB, r *Report, key string) Finding {
	t.Helper()
	f, ok := r.Find(key)
	if !ok {
		t.Fatalf("no finding %s", key)
	}
	return f
}

// Every row of the limits belongs to a definition, and fits its dimension; what a
// definition takes is there.
func TestLimitsFitDefinitions(t *testing.T) {
	l, err := loadLimits()
	if err != nil {
		t.Fatal(err)
	}
	tables, err := supply.Load()
	if err != nil {
		t.Fatal(err)
	}
	rows := map[string]bool{}
	for _, d := range definitions {
		if _, ok := tables.Rule(d.rule); d.rule != "" && !ok {
			t.Errorf("%s: no rule %s", d.key, d.rule)
		}
		row, ok := l.byFinding[d.limit]
		switch {
		case d.limit == "":
			if d.rule == "" && (d.target != nil || d.bounds != nil) {
				t.Errorf("%s has a band and no limit", d.key)
			}
			continue
		case !ok || d.rule != "":
			t.Errorf("%s: limit %q, rule %q", d.key, d.limit, d.rule)
		}
		rows[d.limit] = true
		if _, err := row.band(d.dim, 1); err != nil {
			t.Error(err)
		}
		if row.NextOK == "" {
			t.Errorf("%s: no next step when within", d.key)
		}
	}
	for _, row := range l.Limits {
		if !rows[row.Finding] {
			t.Errorf("limits: %s belongs to no definition", row.Finding)
		}
	}
	for _, a := range l.Assumed {
		if a.Source == "" || a.Plus <= 0 {
			t.Errorf("%s is assumed without a source or a doubt", a.Key)
		}
	}
	for _, f := range record.Fields {
		if f.Origin == record.Measured && f.Kind == record.Number {
			if c, ok := l.byClass[f.Class]; !ok || c.Dim != f.Dim {
				t.Errorf("%s: class %q of %s does not measure %s", f.Key, f.Class, c.Dim, f.Dim)
			}
		}
	}
}

func TestDeterministic(t *testing.T) {
	var last []byte
	for range 3 {
		b, err := json.Marshal(run(t, demo(t)))
		if err != nil {
			t.Fatal(err)
		}
		if last != nil && !bytes.Equal(b, last) {
			t.Fatal("the same record gave other findings")
		}
		last = b
	}
}

// A capacitor of 6.1 A across 405 V at 60 Hz holds 39.95 uF (computed from
// C = I/(2 pi f V) in the project's trade facts, section 10), and the factor
// usually quoted, 2652 at 60 Hz, comes out of the same formula.
func TestCapacitorUnderLoad(t *testing.T) {
	j := demo(t)
	set(t, j, record.CapCurrent, "6.1", "A")
	set(t, j, record.CapVolts, "405", "V")
	f := find(t, run(t, j), "cap_underload")
	if math.Abs(f.Value*1e6-39.95) > 0.005 {
		t.Errorf("%.4f uF", f.Value*1e6)
	}
	if k := f.Value * 1e6 * 405 / 6.1; math.Abs(k-2652.6) > 0.05 {
		t.Errorf("factor %.2f", k)
	}
	if f.Verdict != Within {
		t.Errorf("40 uF where 40 are required: %s", f.Verdict)
	}
	set(t, j, record.CapRating, "45", "uF")
	if f := find(t, run(t, j), "cap_underload"); f.Verdict != Outside || f.Next == "" {
		t.Errorf("40 uF where 45 are required: %s", f.Verdict)
	}
}

// Superheat and subcooling against the saturation table of the trade facts,
// section 5.3 (R-410A at 45 F dew 130.1 psig, at 105 F bubble 341.9 psig, at
// 14.696 psia; pressures there have one decimal, so 0.05 F).
func TestSuperheatSubcooling(t *testing.T) {
	j := demo(t)
	set(t, j, record.Altitude, "0", "ft")
	set(t, j, record.SuctionPressure, "130.1", "psig")
	set(t, j, record.SuctionTemp, "55", "F")
	set(t, j, record.LiquidPressure, "341.9", "psig")
	set(t, j, record.LiquidTemp, "95", "F")
	r := run(t, j)
	ip := units.Preferred(units.TempDiff, units.IP)
	for key, want := range map[string]float64{"superheat": 10, "subcooling": 10} {
		if f := find(t, r, key); math.Abs(ip.Span(f.Value)-want) > 0.05 {
			t.Errorf("%s %.3f F, want %.1f", key, ip.Span(f.Value), want)
		}
	}
}

type entry struct {
	key         record.Key
	value, unit string
}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		set     entry
		finding string
		want    Verdict
	}{
		{entry{}, "subcooling", Within},
		{entry{record.LiquidTemp, "108", "F"}, "subcooling", Outside},
		{entry{record.LiquidTemp, "104.2", "F"}, "subcooling", TooClose},
		{entry{record.LiquidTemp, "", ""}, "subcooling", NotMeasured},
		{entry{record.TagSubcooling, "", ""}, "subcooling", NotJudged},
		{entry{record.OutdoorTemp, "48", "F"}, "subcooling", NotJudged},
		{entry{record.SupplyVoltage, "180", "V"}, "supply_voltage", Outside},
		{entry{record.RunCurrent, "24", "A"}, "run_current", Outside},
		{entry{record.RSR, "3.1", "ohm"}, "winding_sum", Outside},
		{entry{record.TestP2, "228", "psig"}, "pressure_hold", Outside},
		{entry{record.CapTolerance, "", ""}, "cap_meter", Within}, // by the narrowest class
	} {
		j := demo(t)
		if c.set != (entry{}) {
			set(t, j, c.set.key, c.set.value, c.set.unit)
		}
		f := find(t, run(t, j), c.finding)
		if f.Verdict != c.want {
			t.Errorf("%v: %s is %q (%s), want %q", c.set, c.finding, f.Verdict, f.Reason, c.want)
		}
		if f.Next == "" {
			t.Errorf("%v: %s has no next step", c.set, c.finding)
		}
		if (f.Verdict == TooClose) != (f.Settle != "") {
			t.Errorf("%v: %s settle %q", c.set, c.finding, f.Settle)
		}
	}
}

func TestProblemsBesideTheField(t *testing.T) {
	j := demo(t)
	set(t, j, record.LiquidPressure, "750", "psig")
	set(t, j, record.SupplyWB, "70", "F")
	set(t, j, record.MapMassFlow, "1 2 3", "")
	set(t, j, record.VacuumRise, "soon", "")
	r := run(t, j)
	got := map[record.Key]string{}
	for _, p := range r.Problems {
		got[p.Key] = p.Text
	}
	if !strings.Contains(got[record.LiquidPressure], "critical") || got[record.SupplyWB] == "" || got[record.MapMassFlow] == "" || got[record.VacuumRise] == "" {
		t.Errorf("%v", got)
	}
	if f := find(t, r, "subcooling"); f.Verdict != NotMeasured || f.Reason == "" {
		t.Errorf("%+v", f)
	}
}

// The demo closes on the equations of state: no problem, no contradiction. One
// thing is outside, on purpose: the breaker that suited the old plate.
func TestDemo(t *testing.T) {
	r := run(t, demo(t))
	if len(r.Problems) > 0 || r.Cycle == nil || len(r.Cycle.Points) != 4 {
		t.Errorf("%v %v", r.Problems, r.Cycle)
	}
	for _, f := range r.Findings {
		t.Logf("%-26s %12.6g ± %-10.3g %s %s", f.Key, f.Value, f.Expanded(), f.Verdict, f.Reason)
		if (f.Verdict == Outside) != (f.Key == "breaker_fit") {
			t.Errorf("%s is %s", f.Key, f.Verdict)
		}
		if math.IsNaN(f.Value) || math.IsNaN(f.U) {
			t.Errorf("%s is not a number", f.Key)
		}
	}
}

func TestEmptyJob(t *testing.T) {
	for _, f := range run(t, record.New("e")).Findings {
		if f.Key != "site_pressure" && f.Verdict != NotMeasured {
			t.Errorf("%s is %s", f.Key, f.Verdict)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	j := demo(b)
	for b.Loop() {
		if _, err := Run(j); err != nil {
			b.Fatal(err)
		}
	}
}

// A capacitor whose class nobody entered is held against the narrowest there is: what a
// wider class would let pass is outside, and the words say what to do.
func TestCapacitorWithoutItsClass(t *testing.T) {
	for class, want := range map[string]Verdict{"": Outside, "5 %": Outside, "15 %": Within} {
		j := demo(t)
		set(t, j, record.CapTolerance, class, "")
		rating, _ := j.SI(record.CapRating, 0)
		set(t, j, record.CapMeter, strconv.FormatFloat(rating*1e6*0.92, 'f', 2, 64), "uF")
		f := find(t, run(t, j), "cap_meter")
		if f.Verdict != want || class == "" && !strings.Contains(f.Next, "narrowest") {
			t.Errorf("class %q: %s, %s", class, f.Verdict, f.Next)
		}
	}
}
