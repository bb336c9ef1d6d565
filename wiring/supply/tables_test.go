package supply

import (
	"io/fs"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"retrostage/assets"
)

// shipped is a copy of the embedded tables that a test may damage.
func shipped(t testing.TB) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	entries, err := fs.ReadDir(assets.FS, "electrical")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		b, err := fs.ReadFile(assets.FS, "electrical/"+e.Name())
		if err != nil {
			t.Fatal(err)
		}
		m["electrical/"+e.Name()] = &fstest.MapFile{Data: b}
	}
	return m
}

// Every table and rule says where it comes from and how far that can be
// trusted, in one of the grades; what is from memory is not called read.
func TestTablesCarryTheirSource(t *testing.T) {
	tb := tables(t)
	grades := []Confidence{ReadSource, SecondHand, FromMemory, Practice, FromPlate, LawOfNature}
	if len(tb.rules) != len(ruleKeys) {
		t.Errorf("%d rules, the code uses %d", len(tb.rules), len(ruleKeys))
	}
	for _, k := range ruleKeys {
		r, ok := tb.Rule(k)
		if !ok || !slices.Contains(grades, r.Confidence) || r.Cite() == "" || r.Text == "" {
			t.Errorf("%s: %+v", k, r)
		}
		if (r.Confidence == ReadSource || r.Confidence == SecondHand) && r.Read == "" {
			t.Errorf("%s is called read, but not what was read", k)
		}
	}
	if _, ok := tb.Rule("nothing"); ok {
		t.Error("a rule that is not there")
	}
	if c := tb.Ampacity.Origin.Cite(); !strings.Contains(c, "310.16") {
		t.Error(c)
	}
}

// NEC 240.6(A) from 15 A up (three public pages): the steps.
func TestStandardSizes(t *testing.T) {
	tb := tables(t)
	want := []float64{15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400}
	if !slices.Equal(tb.Overcurrent.Sizes, want) {
		t.Error(tb.Overcurrent.Sizes)
	}
	for amps, want := range map[float64]float64{15: 15, 54: 50, 59.9: 50, 60: 60, 1000: 400} {
		if s, ok := tb.StandardSize(amps); !ok || s != want {
			t.Errorf("%g A: %g", amps, s)
		}
	}
	if _, ok := tb.StandardSize(14.9); ok {
		t.Error("a size below 15 A")
	}
}

func TestDamagedTables(t *testing.T) {
	for _, c := range []struct{ file, from, to, say string }{
		{"ampacity.json", "[30, 35, 40]", "[10, 35, 40]", "does not ascend"},
		{"ampacity.json", "[30, 35, 40]", "[30, 35]", "2 ampacities for 3 columns"},
		{"ampacity.json", `"gauge": "10"`, `"gauge": "9"`, `gauge "9"`},
		{"ambient.json", "[60, 75, 90]", "[60, 75, 105]", "columns differ"},
		{"ambient.json", "[0.71, 0.82, 0.87]", "[0.91, 0.82, 0.87]", "ambient line to 45"},
		{"bundling.json", "0.7}", "0.9}", "bundling line"},
		{"resistance.json", `"stranded": 1.24`, `"stranded": 5`, "10 AWG: resistance"},
		{"overcurrent.json", "25, 30", "30, 25", "does not ascend"},
		{"grounding.json", `"to_A": 20`, `"to_A": 10`, "grounding line"},
		{"smallwire.json", `"amps": 15`, `"amps": -15`, "small conductor"},
		{"voltage.json", "[228, 252]", "[260, 252]", "ranges A"},
		{"unbalance.json", "[0.01, 1]", "[0.01, 1.5]", "unbalance point"},
		{"capacitor.json", `"low": 0.06`, `"low": 1.5`, "tolerance class"},
		{"insulation.json", `"from": 0,`, `"from": 1,`, "no band down to 0"},
		{"rules.json", `"key": "mca"`, `"key": "mka"`, `no rule "mca"`},
		{"rules.json", `"value": 1.25`, `"value": -1`, "value -1"},
		{"rules.json", `"value": 1.25`, `"worth": 1.25`, "unknown field"},
		{"overcurrent.json", "{", "[", "overcurrent.json"},
		{"overcurrent.json", "]\n}", "]\n} {}", "something follows"},
		{"ampacity.json", `"source": "NFPA 70 (NEC), Table 310.16"`, `"source": ""`, "lacks its title, source"},
	} {
		m := shipped(t)
		f := m["electrical/"+c.file]
		if !strings.Contains(string(f.Data), c.from) {
			t.Fatalf("%s has no %q", c.file, c.from)
		}
		f.Data = []byte(strings.Replace(string(f.Data), c.from, c.to, 1))
		if _, err := ReadTables(m, "electrical"); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s with %q for %q: %v, want %q", c.file, c.to, c.from, err, c.say)
		}
	}
	m := shipped(t)
	delete(m, "electrical/grounding.json")
	if _, err := ReadTables(m, "electrical"); err == nil || !strings.Contains(err.Error(), "grounding.json") {
		t.Error(err)
	}
}

// FuzzReadTables puts any bytes in the place of one table: it is refused, or
// what is loaded computes without a panic and without NaN.
func FuzzReadTables(f *testing.F) {
	base := shipped(f)
	names := slices.Sorted(maps.Keys(base))
	for i, n := range names {
		f.Add(i, base[n].Data)
	}
	f.Add(0, []byte("{}"))
	f.Add(1, []byte(`{"title":"t","source":"s","confidence":"c","columns_C":[60,75,90],"rows":[]}`))
	f.Fuzz(func(t *testing.T, i int, data []byte) {
		m := maps.Clone(base)
		m[names[((i%len(names))+len(names))%len(names)]] = &fstest.MapFile{Data: data}
		tb, err := ReadTables(m, "electrical")
		if err != nil {
			return
		}
		for _, r := range must[[]Row](t)(tolerant(tb.OldNew(conversion()))) {
			if math.IsNaN(r.Old + r.New + r.Fitted) {
				t.Fatalf("%+v", r)
			}
		}
		for _, u := range []float64{0, 0.013, 0.05, 0.5} {
			if d, err := tb.Derating(u); err == nil && math.IsNaN(d) {
				t.Fatal("derating is not a number")
			}
		}
		for _, s := range tb.Voltage.Systems {
			if _, err := tb.SystemNamed(s.Name); err != nil {
				t.Fatal(err)
			}
		}
		_, _ = tb.EquipmentGround(20)
	})
}

// tolerant drops the error: damaged limits may well make an input impossible.
func tolerant(rows []Row, _ error) ([]Row, error) { return rows, nil }

func BenchmarkOldNew(b *testing.B) {
	tb := tables(b)
	c := conversion()
	for b.Loop() {
		if _, err := tb.OldNew(c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadTables(b *testing.B) {
	for b.Loop() {
		if _, err := ReadTables(assets.FS, "electrical"); err != nil {
			b.Fatal(err)
		}
	}
}
