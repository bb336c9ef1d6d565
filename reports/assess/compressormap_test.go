package assess

import (
	"math"
	"testing"

	"retrostage/assets"
	"retrostage/reports/record"
)

// The curve at the conditions found goes through what the findings expect here.
func TestTheMapIsDrawnThroughWhatTheFindingsExpect(t *testing.T) {
	b, err := assets.FS.ReadFile("demo/demo-four-ton.job.json")
	if err != nil {
		t.Fatal(err)
	}
	j, err := record.Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	r, err := Run(j)
	if err != nil {
		t.Fatal(err)
	}
	m, err := New(j).CompressorMap()
	if err != nil || m == nil {
		t.Fatalf("%v, %v", m, err)
	}
	power, _ := r.Find("power_expected")
	if math.Abs(m.Power.Expected-power.Value) > 1e-6*power.Value {
		t.Errorf("power here %g W, the finding expects %g W", m.Power.Expected, power.Value)
	}
	cool, _ := r.Find("capacity_refrigerant") // with a map, the flow is the map's
	if math.Abs(m.Cooling.Expected-cool.Value) > 1e-6*cool.Value {
		t.Errorf("cooling here %g W, the finding has %g W by the map", m.Cooling.Expected, cool.Value)
	}
	amps, _ := r.Find("current_deviation")
	if got := m.Current.Measured/m.Current.Expected - 1; math.Abs(got-amps.Value) > 1e-9 {
		t.Errorf("current is %g off the map, the finding says %g", got, amps.Value)
	}
	for _, q := range m.Curves {
		mid := len(q.Evaporating) / 2
		if q.Here != (math.Abs(q.Cooling[mid]-m.Cooling.Expected) < 1e-6*m.Cooling.Expected) {
			t.Errorf("condensing at %g K, here %v: %g W in the middle, %g W expected", q.Condensing, q.Here, q.Cooling[mid], m.Cooling.Expected)
		}
		// More cooling the warmer it evaporates, where the map reaches.
		for i := 1; i < len(q.Cooling); i++ {
			if q.Cooling[i] <= q.Cooling[i-1] {
				t.Errorf("condensing at %g K: cooling falls from %g to %g W at %g K", q.Condensing, q.Cooling[i-1], q.Cooling[i], q.Evaporating[i])
			}
		}
	}
	if len(m.Curves) != 3 || m.Cooling.By == "" || !(m.Cooling.UMeasured > 0) || !(m.Power.UExpected > 0) {
		t.Errorf("%d curves, cooling %+v", len(m.Curves), m.Cooling)
	}
	for _, key := range []record.Key{record.MapMassFlow, record.SuctionPressure, record.Refrigerant} {
		k := j.Clone()
		if err := k.Set(record.Entry{Key: key, Time: j.Entries[0].Time}); err != nil {
			t.Fatal(err)
		}
		if m, err := New(k).CompressorMap(); m != nil || err != nil {
			t.Errorf("without %s: %+v, %v", key, m, err)
		}
	}
}

func BenchmarkOverMap(b *testing.B) {
	raw, err := assets.FS.ReadFile("demo/demo-four-ton.job.json")
	if err != nil {
		b.Fatal(err)
	}
	j, err := record.Decode(raw)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := New(j).CompressorMap(); err != nil {
			b.Fatal(err)
		}
	}
}
