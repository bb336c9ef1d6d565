package assess

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// The demo's unit is in order, and so it is told.
func TestDiagnoseDemo(t *testing.T) {
	d, err := New(demo(t)).Causes()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s; healthy %.2f; first %s %.2f; helpful %v", d.Outcome, d.Healthy, d.Causes[0].Label, d.Causes[0].P, d.Helpful)
	if d.Found || len(d.Missing) > 0 || len(d.Causes) == 0 {
		t.Errorf("%+v", d)
	}
}

// Faults put into the demo's readings by hand, in the way in which the published
// signs have them for a valve (trade facts, section 1.5).
func TestDiagnoseTells(t *testing.T) {
	for _, c := range []struct {
		name string
		set  []entry
		want []string // any of these words in the first cause
	}{
		{"undercharge: no subcooling, hot suction, low suction", []entry{{record.SuctionPressure, "108", "psig"}, {record.SuctionTemp, "66", "F"}, {record.LiquidPressure, "345", "psig"}, {record.LiquidTemp, "103.5", "F"}, {record.ValveTemp, "103", "F"}, {record.DischargeTemp, "184", "F"}, {record.CondenserAirOut, "104.5", "F"}, {record.SupplyDB, "61.5", "F"}, {record.RunCurrent, "15.6", "A"}}, []string{"Too little refrigerant"}},
		{"outdoor air: high head, hot leaving air", []entry{{record.LiquidPressure, "470", "psig"}, {record.DischargePressure, "476", "psig"}, {record.LiquidTemp, "117", "F"}, {record.ValveTemp, "116.4", "F"}, {record.DischargeTemp, "196", "F"}, {record.CondenserAirOut, "121", "F"}, {record.SuctionPressure, "135", "psig"}, {record.RunCurrent, "20.8", "A"}, {record.SupplyDB, "60", "F"}}, []string{"condenser air"}},
		{"a suction clamp in the sun", []entry{{record.SuctionTemp, "75", "F"}}, []string{"suction line temperature"}},
	} {
		j := demo(t)
		for _, s := range c.set {
			set(t, j, s.key, s.value, s.unit)
		}
		d, err := New(j).Causes()
		if err != nil {
			t.Fatal(err)
		}
		first := d.Causes[0]
		ok := false
		for _, w := range c.want {
			ok = ok || strings.Contains(first.Label, w)
		}
		t.Logf("%s: %s, healthy %.3f; %s %.2f", c.name, d.Outcome, d.Healthy, first.Label, first.P)
		if !ok || first.Next == "" || len(first.For) == 0 {
			t.Errorf("%s: %+v", c.name, d.Causes)
		}
	}
}

func TestDiagnoseAsksForWhatIsMissing(t *testing.T) {
	j := demo(t)
	set(t, j, record.ReturnWB, "", "")
	set(t, j, record.TagSubcooling, "", "")
	d, err := New(j).Causes()
	if err != nil || len(d.Missing) != 2 || d.Outcome != tooFew {
		t.Errorf("%+v %v", d, err)
	}
	j = demo(t)
	set(t, j, record.OutdoorTemp, "48", "F")
	if d, err = New(j).Causes(); err != nil || !strings.HasPrefix(d.Outcome, notInHere) {
		t.Errorf("%+v %v", d, err)
	}
	if d, err = New(record.New("empty")).Causes(); err != nil || len(d.Missing) < neededReadings {
		t.Errorf("%+v %v", d, err)
	}
}

func TestDiagnoseIsPure(t *testing.T) {
	j := demo(t)
	before, _ := j.Encode()
	a, err := New(j).Causes()
	if err != nil {
		t.Fatal(err)
	}
	b, err := New(j).Causes()
	if err != nil {
		t.Fatal(err)
	}
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	after, _ := j.Encode()
	if !bytes.Equal(x, y) || !bytes.Equal(before, after) {
		t.Error("another answer, or the job has changed")
	}
}

func BenchmarkDiagnose(b *testing.B) {
	j := demo(b)
	for b.Loop() {
		if _, err := New(j).Causes(); err != nil {
			b.Fatal(err)
		}
	}
}

// Where the ranking does not tell causes apart, no outcome names one alone, and the
// reading that would tell is asked for by its field; told apart, the set is empty.
func TestNoSingleCauseWhereReadingsDoNotTell(t *testing.T) {
	t.Parallel()
	sets, alone, pairs := 0, 0, 0
	for _, c := range running30() {
		j := mend(t, demo(t), c.set...)
		d, err := New(j).Causes()
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		said := d.Said()
		switch {
		case !d.Found:
			if d.Single || len(d.Set) > 0 {
				t.Errorf("%s: nothing found, and %q is named of %v", c.name, said, d.Set)
			}
		case d.Single:
			alone++
			if len(d.Set) != 0 {
				t.Errorf("%s: one cause, and the set %v", c.name, d.Set)
			}
		default:
			sets++
			if len(d.Set) < 2 || len(d.Set) > 3 || len(d.Set) == 3 && len(d.Ask) == 0 {
				t.Errorf("%s: set %v, ask %v", c.name, d.Set, d.Ask)
			}
			for _, x := range d.Set {
				if !strings.Contains(strings.ToLower(said), strings.ToLower(x)) {
					t.Errorf("%s: %q does not name %s", c.name, said, x)
				}
			}
			if strings.Contains(said, "Most likely") || strings.Contains(said, "likelier") {
				t.Errorf("%s: %q names one", c.name, said)
			}
			pairs += len(d.Ask)
		}
		for _, a := range d.Ask {
			if a == "" {
				t.Errorf("%s: asks for a reading without a field", c.name)
			}
		}
		t.Logf("%-48s %s", c.name, said)
	}
	if sets == 0 || alone == 0 || pairs == 0 {
		t.Errorf("%d sets, %d alone, %d readings asked for: the cases do not try it", sets, alone, pairs)
	}
}

// The causes know what was weighed: a charge far under the one built up speaks for an
// undercharge, one far over it against; one as built up does not rule a leak out where
// everything else says so.
func TestCausesKnowTheWeighedCharge(t *testing.T) {
	short := []entry{{record.SuctionPressure, "108", "psig"}, {record.SuctionTemp, "66", "F"}, {record.LiquidPressure, "345", "psig"}, {record.LiquidTemp, "103.5", "F"}, {record.ValveTemp, "103", "F"}, {record.DischargeTemp, "184", "F"}, {record.CondenserAirOut, "104.5", "F"}, {record.SupplyDB, "61.5", "F"}, {record.RunCurrent, "15.6", "A"}}
	built, err := New(demo(t)).Report()
	if err != nil {
		t.Fatal(err)
	}
	expected := find(t, built, "charge_expected").Value
	under := func(share float64, es []entry) (p float64, c Cause) {
		j := demo(t)
		for _, e := range es {
			set(t, j, e.key, e.value, e.unit)
		}
		set(t, j, record.Trimmed, "", "")
		set(t, j, record.WeighedIn, strconv.FormatFloat(share*expected/0.028349523125, 'f', 1, 64), "oz")
		d, err := New(j).Causes()
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range d.Causes {
			if c.Label == "Too little refrigerant" {
				return c.P, c
			}
		}
		return 0, Cause{}
	}
	doubtful := []entry{{record.LiquidTemp, "108.5", "F"}} // little subcooling, or a clamp that is off
	low, c := under(0.7, doubtful)
	right, _ := under(1, doubtful)
	high, _ := under(1.4, doubtful)
	sure, _ := under(1, short)
	t.Logf("too little refrigerant: little subcooling and 70 %% of built up weighed %.2f, as built up %.2f, 140 %% %.2f; every reading says so, as built up %.2f", low, right, high, sure)
	if low < 4*right || low < 3*high {
		t.Error("the weighed charge moves nothing")
	}
	if sure < 0.5 {
		t.Error("a charge weighed as built up rules a leak out")
	}
	if !slices.ContainsFunc(c.For, func(e Evidence) bool { return strings.HasPrefix(e.Feature, "Charge weighed") }) {
		t.Errorf("it is not among the evidence: %+v", c.For)
	}
}
