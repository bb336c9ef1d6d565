package fluid_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"retrostage/thermo/fluid"
)

// The two reference tables were computed with CoolProp (open source, MIT
// licence; development snapshot of 2026-07, full-equation backend). Tolerances
// as the tables' digits and the note that comes with them allow. In the
// mixture rows h and s count from the components' own reference states, as
// they do here.
var tolerance = map[string]struct{ pure, mixture float64 }{
	"p":   {1e-7, 1e-7}, // relative
	"rho": {1e-7, 1e-7}, // relative
	"h":   {0.1, 1},     // J/kg
	"s":   {1e-3, 1e-3}, // J/(kg K)
	"cp":  {1e-6, 1e-5}, // relative
	"cv":  {1e-6, 1e-5}, // relative
	"w":   {1e-6, 1e-5}, // relative
}

var properties = []string{"p", "rho", "h", "s", "cp", "cv", "w"}

// deviations collects the worst deviation per fluid and property.
type deviations struct {
	order []string
	worst map[string]map[string]float64
	cells int
}

func (d *deviations) add(t *testing.T, row map[string]string, column, prop string, got float64) {
	t.Helper()
	cell := row[column]
	if cell == "" {
		return
	}
	want, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	d.cells++
	dev := math.Abs(got - want)
	if prop != "h" && prop != "s" {
		dev /= math.Abs(want)
	}
	tol := tolerance[prop].pure
	if row["model"] == "mixture" {
		tol = tolerance[prop].mixture
	}
	if !(dev <= tol) {
		t.Errorf("%s %s %s K: %s = %.10g, table %s, deviation %.2g > %.2g", row["fluid"], row["model"], row["T_K"], column, got, cell, dev, tol)
	}
	key := row["fluid"] + " " + row["model"]
	if d.worst == nil {
		d.worst = map[string]map[string]float64{}
	}
	if d.worst[key] == nil {
		d.worst[key] = map[string]float64{}
		d.order = append(d.order, key)
	}
	d.worst[key][prop] = max(d.worst[key][prop], dev)
}

// markdown is the table of README: run this test with -v to print it.
func (d *deviations) markdown() string {
	var b strings.Builder
	b.WriteString("| fluid, model | p (rel) | rho (rel) | h (J/kg) | s (J/(kg K)) | cp (rel) | cv (rel) | w (rel) |\n|---|---|---|---|---|---|---|---|\n")
	for _, key := range d.order {
		b.WriteString("| " + key)
		for _, p := range properties {
			v, ok := d.worst[key][p]
			if !ok {
				b.WriteString(" | not given")
			} else {
				fmt.Fprintf(&b, " | %.1e", v)
			}
		}
		b.WriteString(" |\n")
	}
	return b.String()
}

func table(t testing.TB, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/refrigerants/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// model returns the fluid that a row of a table speaks of.
func model(t testing.TB, row map[string]string) *fluid.Fluid {
	t.Helper()
	name := row["fluid"]
	if row["model"] == "mixture" && name != "R-454B" {
		name += "/mixture"
	}
	f, err := fluid.Get(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestReferenceTables(t *testing.T) {
	var d deviations
	sat, single := table(t, "reference_saturation.csv"), table(t, "reference_single_phase.csv")
	for _, row := range sat {
		f, T := model(t, row), number(t, row["T_K"])
		// The direct solution and the fast expansion both face the table.
		for _, lines := range [][2]func(float64) (fluid.Sat, error){{f.BubbleDirect, f.DewDirect}, {f.BubbleSat, f.DewSat}} {
			b, err := lines[0](T)
			if err != nil {
				t.Fatal(err)
			}
			v, err := lines[1](T)
			if err != nil {
				t.Fatal(err)
			}
			d.add(t, row, "p_bubble_Pa", "p", b.P)
			d.add(t, row, "p_dew_Pa", "p", v.P)
			d.add(t, row, "rho_liq_kg_m3", "rho", b.Rho)
			d.add(t, row, "rho_vap_kg_m3", "rho", v.Rho)
			d.add(t, row, "h_liq_J_kg", "h", b.H)
			d.add(t, row, "h_vap_J_kg", "h", v.H)
			d.add(t, row, "s_liq_J_kgK", "s", b.S)
			d.add(t, row, "s_vap_J_kgK", "s", v.S)
		}
	}
	for _, row := range single {
		f := model(t, row)
		T, p := number(t, row["T_K"]), number(t, row["p_Pa"])
		s, err := f.TP(T, p)
		if err != nil {
			t.Error(err)
			continue
		}
		if s.Phase.String() != row["phase"] {
			t.Errorf("%s at %g K, %g Pa: %v, table %s", f.Name(), T, p, s.Phase, row["phase"])
		}
		d.add(t, row, "rho_kg_m3", "rho", s.Rho)
		d.add(t, row, "h_J_kg", "h", s.H)
		d.add(t, row, "s_J_kgK", "s", s.S)
		d.add(t, row, "cp_J_kgK", "cp", s.Cp)
		d.add(t, row, "cv_J_kgK", "cv", s.Cv)
		d.add(t, row, "w_m_s", "w", s.W)
		h, err := f.EnthalpyTP(T, p)
		if err != nil || math.Abs(h-s.H) > 1e-9*math.Abs(s.H) {
			t.Errorf("%s at %g K, %g Pa: EnthalpyTP %g (%v), TP %g", f.Name(), T, p, h, err, s.H)
		}
	}
	// Every cell given was looked at.
	want := 0
	for _, row := range slices.Concat(sat, sat, single) {
		for k, v := range row {
			if v != "" && !slices.Contains([]string{"fluid", "model", "phase", "T_K", "p_Pa"}, k) {
				want++
			}
		}
	}
	if d.cells != want {
		t.Errorf("compared %d cells of %d", d.cells, want)
	}
	t.Logf("%d rows, worst deviation from the reference tables:\n%s", len(sat)+len(single), d.markdown())
}
