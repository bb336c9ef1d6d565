package record

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/thermo/units"

	"pgregory.net/rapid"
)

var noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

func TestFieldsAreSound(t *testing.T) {
	for _, f := range Fields {
		if _, ok := f.Step.Info(); !ok {
			t.Errorf("%s: step %q", f.Key, f.Step)
		}
		if f.Label == "" || f.Group == "" {
			t.Errorf("%s: no label or group", f.Key)
		}
		if f.Need && f.Seldom {
			t.Errorf("%s is needed and seldom", f.Key)
		}
		switch f.Kind {
		case Number:
			if _, err := units.Lookup(f.Dim, f.Unit); err != nil {
				t.Errorf("%s: %v", f.Key, err)
			}
			if !(f.Min < f.Max) {
				t.Errorf("%s: range %g to %g", f.Key, f.Min, f.Max)
			}
			if f.Origin == Measured && f.Class == "" {
				t.Errorf("%s: measured without an instrument class", f.Key)
			}
		case Pick:
			if len(f.Options) < 2 {
				t.Errorf("%s: %d options", f.Key, len(f.Options))
			}
		}
	}
}

func TestSetKeepsEverything(t *testing.T) {
	j := New("t-1")
	set := func(v, u string) error {
		return j.Set(Entry{Key: SuctionPressure, Value: v, Unit: u, Time: noon})
	}
	if err := set("118.4", ""); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ value, unit, want string }{
		{"abc", "psig", `"abc" is not a number`},
		{"118.4", "uF", `unit "uF" does not measure pressure; use one of psig, kPag`},
		{"9000", "psig", "9,000 psig is outside; it takes -15 to 400 psig"},
		{"9000", "kPag", "it takes -103.4 to 2,758 kPa gauge"},
	} {
		err := set(c.value, c.unit)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %s: error %v, want %q", c.value, c.unit, err, c.want)
		}
		if d, ok := j.Draft(SuctionPressure); !ok || d.Value != c.value || d.Unit != c.unit {
			t.Errorf("%s %s: the draft is %+v", c.value, c.unit, d)
		}
		if e, _ := j.Entry(SuctionPressure); e.Value != "118.4" {
			t.Errorf("the accepted reading became %q", e.Value)
		}
	}
	if err := set("120", "psig"); err != nil {
		t.Fatal(err)
	}
	if _, ok := j.Draft(SuctionPressure); ok {
		t.Error("the draft outlived a good entry")
	}
	if err := set("", ""); err != nil {
		t.Fatal(err)
	}
	if _, ok := j.Entry(SuctionPressure); ok {
		t.Error("cleared, yet there")
	}
	if h := j.History(SuctionPressure); len(h) != 3 || h[0].Value != "118.4" {
		t.Errorf("history %+v", h)
	}
	if err := j.Set(Entry{Key: Key{"no_such"}, Value: "1", Time: noon}); err == nil {
		t.Error("an unknown field was accepted")
	}
}

func TestDecodeNamesTheFault(t *testing.T) {
	j := New("t-1")
	j.Set(Entry{Key: OwnerRef, Value: "R-1", Time: noon})
	good, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ from, to, want string }{
		{`"kind": "retrostage job"`, `"kind": "letter"`, "not a job file: kind is"},
		{`"version": 1`, `"version": 99`, "version: 99"},
		{`"version": 1`, `"version": "x"`, "line 3: version cannot be: string"},
		{`"id": "t-1"`, `"id": "../up"`, "id:"},
		{`"step": "intake"`, `"step": "lunch"`, "step:"},
		{`"drafts": []`, `"extra": []`, `line 15: unknown member "extra"`},
		{`"owner_ref"`, `"owner_reff"`, `entries[0] (owner_reff): unknown field`},
		{`"R-1"`, `"R-1`, "line "},
		{`"time": "2026-08-14T12:00:00Z"`, `"time": "soon"`, "soon"},
		{"]\n}\n", "]\n} {}", "more text after the job"},
		{"]\n}\n", "]\n", "the file ends in the middle"},
	} {
		bad := strings.Replace(string(good), c.from, c.to, 1)
		if bad == string(good) {
			t.Fatalf("%s is not in the file", c.from)
		}
		if _, err := Decode([]byte(bad)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s -> %s: error %v, want %q", c.from, c.to, err, c.want)
		}
	}
	for _, s := range []string{"{}", "null", "[]", "3"} {
		if _, err := Decode([]byte(s)); err == nil || !strings.Contains(err.Error(), "not a job file") {
			t.Errorf("%s: error %v", s, err)
		}
	}
	if _, err := Decode([]byte("\xff\xfe")); err == nil {
		t.Error("broken UTF-8 was accepted")
	}
}

// What is done to a clone does not show in the job it came from.
func TestCloneSharesNothing(t *testing.T) {
	j := New("t-1")
	j.Instruments = []Instrument{{ID: "P1", Accuracy: []Accuracy{{Plus: 1}}}}
	j.Series = []Series{{Seconds: []float64{0}, Columns: []SeriesColumn{{Values: []float64{1}}}}}
	j.Set(Entry{Key: OwnerRef, Value: "R-1", Time: noon})
	before, _ := j.Encode()
	c := j.Clone()
	c.Instruments[0].Accuracy[0].Plus = 2
	c.Series[0].Seconds[0], c.Series[0].Columns[0].Values[0], c.Series[0].Columns[0].Key = 3, 4, Barometer
	c.Entries[0].Value = "R-2"
	if after, _ := j.Encode(); string(after) != string(before) {
		t.Errorf("the job changed with its clone:\n%s", after)
	}
}

// Any job made by Set encodes to bytes that decode to a job encoding to them.
func TestRoundTripByteForByte(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New("r")
		j.Demo = rapid.Bool().Draw(t, "demo")
		j.Instruments = append(j.Instruments, Instrument{ID: "i", Name: rapid.String().Draw(t, "name"),
			Accuracy: []Accuracy{{Dim: units.Temperature, Plus: rapid.Float64Range(0, 9).Draw(t, "plus"), Unit: "F"}}})
		for range rapid.IntRange(0, 20).Draw(t, "n") {
			f := rapid.SampledFrom(Fields).Draw(t, "field")
			v := rapid.OneOf(rapid.String(), rapid.StringMatching(`[0-9]{1,3}(\.[0-9])?`), rapid.SampledFrom(append(f.Options, "2026-01-02"))).Draw(t, "v")
			_ = j.Set(Entry{Key: f.Key, Value: v, Time: noon, Instrument: "i"})
		}
		a, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		k, err := Decode(a)
		if err != nil {
			t.Fatalf("%v\n%s", err, a)
		}
		b, err := k.Encode()
		if err != nil || !bytes.Equal(a, b) {
			t.Fatalf("%v\n%s\nbecame\n%s", err, a, b)
		}
	})
}

func FuzzDecode(f *testing.F) {
	b, _ := New("f").Encode()
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		j, err := Decode(b)
		if err != nil {
			return
		}
		a, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		k, err := Decode(a)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v", err)
		}
		if c, _ := k.Encode(); !bytes.Equal(a, c) {
			t.Fatal("not canonical")
		}
	})
}

// A key in a file, a map and a message is the text it always was.
func TestKeysAreTextInFiles(t *testing.T) {
	j := New("k")
	if err := j.Set(Entry{Key: SuctionPressure, Value: "118", Time: noon}); err != nil {
		t.Fatal(err)
	}
	b, err := j.Encode()
	if err != nil || !bytes.Contains(b, []byte(`"key": "suction_pressure"`)) {
		t.Errorf("%v\n%s", err, b)
	}
	for _, f := range Fields {
		if g, err := ByName(f.Key.String()); err != nil || g.Key != f.Key || g.Label != f.Key.Label() {
			t.Errorf("%s is found as %v, %v", f.Key, g.Key, err)
		}
	}
	if _, err := ByName("suction_presure"); err == nil || !strings.Contains(err.Error(), `"suction_presure"`) {
		t.Errorf("a misspelt name: %v", err)
	}
}

// The number that is kept is the entry's as it stands, through every way in
// which a job comes about.
func TestNumbersAreTheEntriesThatStand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		j := New("n")
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			k := rapid.SampledFrom([]Key{SuctionPressure, RCS, OwnerRef, MeterKey("ohms", "a", "b", "c")}).Draw(t, "key")
			_ = j.Set(Entry{Key: k, Value: rapid.SampledFrom([]string{"", "1", "2,5", OpenLine, "word"}).Draw(t, "v"), Time: noon})
		}
		b, err := j.Encode()
		if err != nil {
			t.Fatal(err)
		}
		k, err := Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range append(slices.Clone(Fields), MeterKey("ohms", "a", "b", "c").Field()) {
			e, there := j.Entry(f.Key)
			x, err := units.Number(e.Value)
			want := there && f.Kind == Number && err == nil
			for name, o := range map[string]*Job{"set": j, "decoded": k, "cloned": j.Clone()} {
				if a, ok := o.Number(f.Key); ok != want || ok && (a.Typed != x || a.Unit.Name != e.Unit) {
					t.Fatalf("%s, %s: %+v %v, entered %+v", f.Key, name, a, ok, e)
				}
			}
		}
	})
}
