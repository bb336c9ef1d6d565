package assess

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// mend sets entries on a job; a reading of the check at the time of what it replaces.
func mend(t testing.TB, j *record.Job, es ...entry) *record.Job {
	t.Helper()
	for _, e := range es {
		if was, ok := j.Entry(e.key); ok && e.key.Field().Step == record.Running {
			if err := j.Set(record.Entry{Key: e.key, Value: e.value, Unit: e.unit, Time: was.Time}); err != nil {
				t.Fatal(err)
			}
			continue
		}
		set(t, j, e.key, e.value, e.unit)
	}
	return j
}

// Readings of which nobody says that two instruments were used may be of one, and
// then their errors add where both push the same way; where they push against each
// other, they may be of two. The doubt is never less than either way leaves.
func TestUnnamedInstrumentsMayBeOneOrTwo(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		finding string
		keys    []record.Key
		kind    string
	}{
		{"temp_split", []record.Key{record.ReturnDB, record.SupplyDB}, "a difference"},
		{"capacity_air", []record.Key{record.ReturnWB, record.SupplyWB}, "a difference"},
		{"winding_sum", []record.Key{record.RCS, record.RCR, record.RSR}, "a sum and a difference"},
		{"approach", []record.Key{record.LiquidTemp, record.OutdoorTemp}, "of two classes"},
	} {
		u := func(names []string) float64 {
			j := mapped(t)
			for i, key := range c.keys {
				e, ok := j.Entry(key)
				if !ok {
					t.Fatalf("%s is not in the demo", key)
				}
				e.Instrument = names[i%len(names)]
				if err := j.Set(e); err != nil {
					t.Fatal(err)
				}
			}
			f := find(t, run(t, j), c.finding)
			if !f.Measured {
				t.Fatal(f.Reason)
			}
			return f.U
		}
		unnamed, two := u([]string{""}), u([]string{"nobody's 1", "nobody's 2", "nobody's 3"})
		one := u([]string{"nobody's 1"})
		if unnamed < two*(1-1e-9) || c.kind != "of two classes" && unnamed < one*(1-1e-9) {
			t.Errorf("%s, %s: %g without names, %g of two, %g of one", c.finding, c.kind, unnamed, two, one)
		}
	}
}

// Two tests one hour apart that a coarse gauge cannot tell from a loss are no
// agreement; nor is a comparison whose doubt is larger than what matters.
func TestDoubtIsNoAgreement(t *testing.T) {
	t.Parallel()
	j := mend(t, demo(t), entry{record.TestP1, "240", "psig"}, entry{record.TestP2, "237", "psig"}, entry{record.TestT1, "75", "F"}, entry{record.TestT2, "75", "F"})
	if f := find(t, run(t, j), "pressure_hold"); f.Verdict == Within {
		t.Errorf("240 to 237 psig is within: %s", f.Next)
	}
	// The air's side a sixth short, with a doubt of a quarter.
	j = mapped(t)
	set(t, j, record.Airflow, "960", "cfm")
	f := find(t, run(t, j), "sides_agree")
	if f.Verdict == Within && math.Abs(f.Value)+f.Expanded() > *f.Matters {
		t.Errorf("%.2f ± %.2f agrees", f.Value, f.Expanded())
	}
	// The worse the instruments, the harder it is to agree: a verdict may only go
	// from told to not told.
	for _, share := range []float64{1, 2, 4, 8} {
		c, err := newContext(mapped(t))
		if err != nil {
			t.Fatal(err)
		}
		l := *c.lim
		l.byClass = map[string]class{}
		for k, x := range c.lim.byClass {
			x.Plus, x.Percent = share*x.Plus, share*x.Percent
			l.byClass[k] = x
		}
		c.lim = &l
		fs, err := c.findings()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range fs {
			if f.Band.Low == nil || f.Band.High == nil || *f.Band.Low != *f.Band.High || f.Verdict != Within || f.U == 0 {
				continue
			}
			if f.Matters == nil || math.Abs(f.Value-*f.Band.Low)+f.Expanded() > *f.Matters {
				t.Errorf("instruments %g times as coarse: %s %.3g ± %.3g is within", share, f.Key, f.Value, f.Expanded())
			}
		}
	}
}

// Line gain and blower heat push one way: the air's side of a sound unit is some
// percent short of the refrigerant's, and that is where agreement lies.
func TestEqualityOfSidesCarriesItsBias(t *testing.T) {
	f := find(t, run(t, mapped(t)), "sides_agree")
	a, r := find(t, run(t, mapped(t)), "capacity_air"), find(t, run(t, mapped(t)), "capacity_refrigerant")
	if got := a.Value / r.Value / (1 + f.Value); math.Abs(got-0.96) > 1e-6 {
		t.Errorf("sides are held equal at %.4f", got)
	}
}

// A barometer reduced to sea level is asked about, and one read on the site is not.
func TestBarometerReducedToSeaLevel(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		altitude, value, unit string
		ask                   bool
	}{
		{"5249", "29.92", "inHg", true}, {"1600", "1013", "hPa", true}, {"5249", "24.6", "inHg", false}, {"5249", "24.0", "inHg", false},
		{"0", "29.92", "inHg", false}, {"200", "30.3", "inHg", false}, {"", "29.92", "inHg", true}, {"", "1013", "hPa", true}, {"", "24.6", "inHg", false},
		{"3000", "30.1", "inHg", true}, {"0", "25", "inHg", true},
	} {
		unit := "ft"
		if c.altitude == "1600" {
			unit = "m"
		}
		j := mend(t, demo(t), entry{record.Altitude, c.altitude, unit}, entry{record.Barometer, c.value, c.unit})
		asked := ""
		for _, p := range run(t, j).Problems {
			if p.Key == record.Barometer {
				asked = p.Text
			}
		}
		if (asked != "") != c.ask {
			t.Errorf("%q at %q %s: asked %q", c.value, c.altitude, unit, asked)
		}
	}
}

// A liquid pressure that stands in for the discharge pressure is lower than it by
// what the condenser takes: what hangs on it moves and doubts more, and covers what
// a reading of the discharge itself gives.
func TestLiquidPressureStandsIn(t *testing.T) {
	t.Parallel()
	own := mapped(t)
	set(t, own, record.DischargePressure, "", "")
	stand := run(t, own)
	p, _ := own.SI(record.LiquidPressure, stand.Site)
	e, _ := own.Number(record.LiquidPressure)
	for _, over := range []float64{1, 6, 13} { // psi
		j := own.Clone()
		set(t, j, record.DischargePressure, strconv.FormatFloat(e.Unit.FromSI(p+over*6894.757, stand.Site), 'f', 2, 64), "psig")
		r := run(t, j)
		for _, key := range []string{"pressure_ratio", "isentropic_efficiency", "flow_balance", "flow_expected", "power_expected", "capacity_refrigerant"} {
			a, b := find(t, stand, key), find(t, r, key)
			if !a.Measured || !b.Measured {
				t.Fatalf("%s: %s, %s", key, a.Reason, b.Reason)
			}
			if math.Abs(a.Value-b.Value) > a.Expanded() {
				t.Errorf("%g psi over the liquid: %s %.4g ± %.2g by the liquid's, %.4g by the discharge's", over, key, a.Value, a.Expanded(), b.Value)
			}
			if !strings.Contains(doubts(a), "condenser_drop") || strings.Contains(doubts(b), "condenser_drop") {
				t.Errorf("%s: inputs %s; with a reading %s", key, doubts(a), doubts(b))
			}
		}
	}
}

func doubts(f Finding) string {
	var s []string
	for _, i := range f.Inputs {
		s = append(s, i.Key)
	}
	return strings.Join(s, " ")
}
