package record

import (
	"strings"
	"testing"
)

func TestMeterReadingsAreKeptByTheirPlace(t *testing.T) {
	j := New("m-1")
	volts := MeterKey("volts", "CC.A1", "CC.A2", "first-stage cooling call")
	ohms := MeterKey("ohms", "COMP.C", "COMP.R", "no call")
	amps := MeterKey("amps", "w04", "", "first-stage cooling call")
	for _, e := range []Entry{{Key: volts, Value: "24.6"}, {Key: ohms, Value: OpenLine}, {Key: amps, Value: "17.9", Unit: "A"}} {
		e.Time = noon
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		key         Key
		value, want string
	}{
		{volts, "open", "open"}, {volts, "twenty", "twenty"}, {volts, "-3", "it takes 0 to 1,000 V"}, {ohms, "OL?", "OL?"}, {amps, "4000", "it takes 0 to 1,000 A"},
	} {
		if err := j.Set(Entry{Key: c.key, Value: c.value, Time: noon}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s = %q: error %v", c.key, c.value, err)
		}
		if d, ok := j.Draft(c.key); !ok || d.Value != c.value {
			t.Errorf("%q was not kept as a draft: %+v", c.value, d)
		}
	}
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	k, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	if v, ok := k.SI(volts, 0); !ok || v != 24.6 {
		t.Errorf("volts came back as %v, %v", v, ok)
	}
	if k.Text(ohms) != OpenLine || k.Text(amps) != "17.9" {
		t.Errorf("came back as %q and %q", k.Text(ohms), k.Text(amps))
	}
	if f, err := ByKey(volts); err != nil || f.Label != "Volts CC.A1 to CC.A2, first-stage cooling call" {
		t.Errorf("%q, %v", f.Label, err)
	}
	for _, bad := range []string{"meter/", "meter/watts/a/b/c", "meter/volts/a//c", "meter/amps/a/b/c", "meter/volts/a/b", "meter/volts//b/c", MeterKey("volts", strings.Repeat("a", 400), "b", "").String()} {
		if _, err := ByName(bad); err == nil {
			t.Errorf("%q is taken for a field", bad)
		}
	}
}
