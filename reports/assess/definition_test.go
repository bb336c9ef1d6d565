package assess

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"retrostage/reports/record"
)

// everything is the demo with every field entered at random, most of it nonsense
// together: whatever a relation can be asked, it is asked here.
func everything(t testing.TB, seed uint64) *record.Job {
	t.Helper()
	j := demo(t)
	r := rand.New(rand.NewPCG(seed, 1))
	for _, f := range record.Fields {
		if _, ok := j.Entry(f.Key); ok && seed%2 == 0 && r.IntN(5) > 0 {
			continue
		}
		v := ""
		switch f.Kind {
		case record.Number:
			v = fmt.Sprintf("%.4g", f.Min+(f.Max-f.Min)*r.Float64()*r.Float64())
			if len(f.Options) > 0 && r.IntN(5) == 0 {
				v = record.OpenLine
			}
		case record.Pick:
			v = f.Options[r.IntN(len(f.Options))]
		}
		if r.IntN(15) > 0 {
			_ = j.Set(record.Entry{Key: f.Key, Value: v, Time: time.Unix(1.79e9, 0)})
		}
	}
	for _, e := range []entry{{record.CapStock, "35 440 6 2\n10 370", ""}, {record.InsulationBefore, "300 95\n300 35 C", ""}, {record.MapUnits, "F, lb/h, W", ""},
		{record.VacuumRise, "0 290\n2 305\n4 313\n6 319\n8 324\n10 328\n12 332\n14 335\n16 338\n18 341\n20 343", ""}, {record.MapMassFlow, "420" + strings.Repeat(" 0", 9), ""}, {record.MapPower, "3500" + strings.Repeat(" 0", 9), ""}} {
		if seed%3 > 0 || e.key != record.MapMassFlow {
			set(t, j, e.key, e.value, e.unit)
		}
	}
	return j
}

// A definition says where its relation comes from, reads what it declares and
// nothing else, and its sheet names what is there.
func TestDefinitionsAreWhole(t *testing.T) {
	t.Parallel()
	known := map[string]bool{}
	for _, d := range definitions {
		known[d.key] = true
	}
	for _, d := range definitions {
		if d.key == "" || d.label == "" || d.words == "" || len(d.from) == 0 || d.eval == nil || d.group == "" {
			t.Errorf("%s: something is missing", d.key)
		}
		for _, p := range token.FindAllStringSubmatch(d.sheet, -1) {
			named := func(i input) bool { return i.name == p[3] }
			switch i := slices.IndexFunc(d.inputs, named); {
			case p[2] == "f:":
				if !known[p[3]] {
					t.Errorf("%s: its sheet takes %s, no finding", d.key, p[3])
				}
			case p[2] == "c:":
				if d.constants == nil {
					t.Errorf("%s: its sheet takes %s, and there are no constants", d.key, p[3])
				}
			case p[2] == "sat:":
			case i < 0:
				t.Errorf("%s: its sheet takes %s, which is not among its inputs", d.key, p[3])
			case d.inputs[i].optional && p[1] == "" && !strings.HasSuffix(d.key, "_ohms"):
				t.Errorf("%s: its sheet takes %s, which need not be there", d.key, p[3])
			}
		}
	}
	for seed := range uint64(12) {
		if _, err := Run(everything(t, seed)); err != nil {
			t.Error(err) // a relation that reads what it does not declare
		}
	}
}

// "It takes no table and no constant" is said only where a spreadsheet's
// arithmetic on the readings alone gives the same, which LibreOffice checks; two
// relations are geometry too long for a cell.
func TestArithmeticIsArithmetic(t *testing.T) {
	c, err := newContext(demo(t))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, d := range definitions {
		if !strings.Contains(d.method(c), "takes no table and no constant") {
			continue
		}
		n++
		if d.sheet == "" && d.key != "power_factor" && d.key != "power_factor_volts" {
			t.Errorf("%s is called arithmetic, and no sheet computes it", d.key)
		}
		if d.constants != nil || strings.Contains(d.sheet, "{sat:") {
			t.Errorf("%s is called arithmetic, and takes %s", d.key, d.sheet)
		}
		for _, i := range d.inputs {
			if i.take != nil {
				t.Errorf("%s is called arithmetic, and takes %s, which nobody reads", d.key, i.name)
			}
		}
	}
	if n < 30 {
		t.Errorf("only %d relations are arithmetic", n)
	}
	for _, key := range []string{"split_error", "charge_expected", "mca_wire", "branch_drop"} {
		i := slices.IndexFunc(definitions, func(d definition) bool { return d.key == key })
		if m := definitions[i].method(c); m == "" || strings.Contains(m, "takes no table") {
			t.Errorf("%s takes a table and says %q", key, m)
		}
	}
}

// The same record gives the same bytes, whoever asks first and at the same time,
// and each part is computed once.
func TestOneAssessment(t *testing.T) {
	for seed := range uint64(4) {
		j := everything(t, seed)
		if seed == 3 {
			j = mapped(t)
		}
		all := func(a *Assessment) (string, *Report) {
			var parts [4]string
			var rep *Report
			var wg sync.WaitGroup
			for i, f := range []func() (any, error){
				func() (any, error) { r, err := a.Report(); rep = r; return r, err },
				func() (any, error) { return a.Causes() },
				func() (any, error) { m, err := a.CompressorMap(); return m != nil && m.Cooling != nil, err },
				func() (any, error) { return a.OldAgainstNew() },
			} {
				wg.Go(func() {
					v, err := f()
					b, jerr := json.Marshal(v)
					parts[i] = fmt.Sprintf("%s %v %v", b, err, jerr)
				})
			}
			wg.Wait()
			return strings.Join(parts[:], "\n"), rep
		}
		before, _ := j.Encode()
		a := New(j)
		first, r1 := all(a)
		again, r2 := all(a)
		other, _ := all(New(j.Clone()))
		if first != again || first != other || strings.Contains(first, "NaN") {
			t.Errorf("seed %d: the same record gave other findings", seed)
		}
		if r1 != r2 {
			t.Errorf("seed %d: the report was made twice", seed)
		}
		if after, _ := j.Encode(); string(before) != string(after) {
			t.Errorf("seed %d: the job changed", seed)
		}
	}
}
