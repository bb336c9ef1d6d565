package assess

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"retrostage/reports/record"
)

// The demo's unit is in order, and so it is told.
func TestDiagnoseDemo(t *testing.T) {
	d, err := Diagnose(demo(t))
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
		set  [][3]string
		want []string // any of these words in the first cause
	}{
		{"undercharge: no subcooling, hot suction, low suction", [][3]string{{"suction_pressure", "108", "psig"}, {"suction_temp", "66", "F"}, {"liquid_pressure", "345", "psig"}, {"liquid_temp", "103.5", "F"}, {"valve_temp", "103", "F"}, {"discharge_temp", "184", "F"}, {"condenser_air_out", "104.5", "F"}, {"supply_db", "61.5", "F"}, {"run_current", "15.6", "A"}}, []string{"Too little refrigerant"}},
		{"outdoor air: high head, hot leaving air", [][3]string{{"liquid_pressure", "470", "psig"}, {"discharge_pressure", "476", "psig"}, {"liquid_temp", "117", "F"}, {"valve_temp", "116.4", "F"}, {"discharge_temp", "196", "F"}, {"condenser_air_out", "121", "F"}, {"suction_pressure", "135", "psig"}, {"run_current", "20.8", "A"}, {"supply_db", "60", "F"}}, []string{"condenser air"}},
		{"a suction clamp in the sun", [][3]string{{"suction_temp", "75", "F"}}, []string{"suction line temperature"}},
	} {
		j := demo(t)
		for _, s := range c.set {
			set(t, j, s[0], s[1], s[2])
		}
		d, err := Diagnose(j)
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
	set(t, j, "return_wb", "", "")
	set(t, j, "tag_subcooling", "", "")
	d, err := Diagnose(j)
	if err != nil || len(d.Missing) != 2 || d.Outcome != tooFew {
		t.Errorf("%+v %v", d, err)
	}
	j = demo(t)
	set(t, j, "outdoor_temp", "48", "F")
	if d, err = Diagnose(j); err != nil || !strings.HasPrefix(d.Outcome, notInHere) {
		t.Errorf("%+v %v", d, err)
	}
	if d, err = Diagnose(record.New("empty")); err != nil || len(d.Missing) < neededReadings {
		t.Errorf("%+v %v", d, err)
	}
}

func TestDiagnoseIsPure(t *testing.T) {
	j := demo(t)
	before, _ := j.Encode()
	a, err := Diagnose(j)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Diagnose(j)
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
		if _, err := Diagnose(j); err != nil {
			b.Fatal(err)
		}
	}
}
