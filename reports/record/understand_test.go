package record

import (
	"errors"
	"testing"
)

// What a person types is what is meant: the record holds the reading as understood
// and the text as written, through a file and back.
func TestWhatIsTypedIsWhatIsMeant(t *testing.T) {
	j := New("t-1")
	for _, c := range []struct {
		key                      Key
		typed, value, unit, kept string
	}{
		{NominalCapacity, "33,500 Btu/h", "33500", "Btu/h", "33,500 Btu/h"},
		{LineLength, "300ft", "300", "ft", "300ft"},
		{LineOD, "3/8", "0.375", "in", "3/8"},
		{LineOD, "1 1/8", "1.125", "in", "1 1/8"},
		{OutdoorTemp, "80F", "80", "F", "80F"},
		{RatedFrequency, "60hz", "60", "Hz", "60hz"},
		{WeighedIn, "6 lb 8 oz", "104", "oz", "6 lb 8 oz"},
		{UnitInstalled, "2008", "2008", "", ""},
		{VisitDate, "14 Aug 2026", "2026-08-14", "", "14 Aug 2026"},
		{SuctionPressure, "118.40", "118.40", "psig", ""},
	} {
		if err := j.Set(Entry{Key: c.key, Value: c.typed, Time: noon}); err != nil {
			t.Errorf("%s %q: %v", c.key, c.typed, err)
			continue
		}
		if e, _ := j.Entry(c.key); e.Value != c.value || e.Unit != c.unit || e.Typed != c.kept {
			t.Errorf("%s %q is kept as %+v", c.key, c.typed, e)
		}
	}
	b, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	o, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	if e, _ := o.Entry(WeighedIn); e.Typed != "6 lb 8 oz" {
		t.Errorf("read back: %+v", e)
	}
}

// 2,100 is never a reading of its own accord where it can be meant in two ways; the
// text stays, and each way can be chosen.
func TestTwoMeaningsAreAsked(t *testing.T) {
	for _, c := range []struct {
		key   Key
		typed string
		two   [2]string
	}{
		{InputPower, "2,100", [2]string{"2.1 W", "2,100 W"}},
		{VisitDate, "7/4/2026", [2]string{"4 July 2026", "7 April 2026"}},
	} {
		j := New("t-1")
		err := j.Set(Entry{Key: c.key, Value: c.typed, Time: noon})
		var fe *FieldError
		if !errors.As(err, &fe) || len(fe.Meanings) != 2 || fe.Meanings[0].Words != c.two[0] || fe.Meanings[1].Words != c.two[1] {
			t.Fatalf("%s %q: %v, %+v", c.key, c.typed, err, fe)
		}
		if _, ok := j.Entry(c.key); ok {
			t.Errorf("%s %q was taken", c.key, c.typed)
		}
		if d, ok := j.Draft(c.key); !ok || d.Value != c.typed {
			t.Errorf("%s %q: draft %+v", c.key, c.typed, d)
		}
		for _, m := range fe.Meanings {
			if err := j.Set(Entry{Key: c.key, Value: m.Value, Unit: m.Unit, Time: noon}); err != nil {
				t.Errorf("choosing %s: %v", m.Words, err)
			}
		}
	}
}
