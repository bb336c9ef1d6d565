package fluid_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"retrostage/thermo/fluid"
)

// answers sends lines through Batch and returns the rows after the header.
func answers(t testing.TB, in string) (rows [][]string, complaints string, err error) {
	t.Helper()
	var out, notes bytes.Buffer
	err = fluid.Batch(strings.NewReader(in), &out, &notes)
	var bad *fluid.BatchError
	if err != nil && !errors.As(err, &bad) {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
	if lines[0] != "T_K,p_Pa,rho_kg_m3,h_J_kg,s_J_kgK,cp_J_kgK" {
		t.Fatalf("header %q", lines[0])
	}
	if !strings.HasSuffix(out.String(), "\n") {
		t.Fatal("last line is not ended")
	}
	for _, l := range lines[1:] {
		rows = append(rows, strings.Split(l, ","))
	}
	return rows, notes.String(), err
}

// Every row of the reference tables (computed with CoolProp, see
// TestReferenceTables) sent through the batch, saturation by T and by p.
func TestBatchReference(t *testing.T) {
	type want struct {
		row     map[string]string
		columns [4]string // of rho, h, s, cp
	}
	var in strings.Builder
	var wants []want
	ask := func(row map[string]string, kind, T, p string, columns [4]string) {
		fmt.Fprintf(&in, "%s,%s,%s,%s\n", model(t, row).Name(), kind, T, p)
		wants = append(wants, want{row, columns})
	}
	in.WriteString("fluid,kind,T_K,p_Pa\n")
	for _, row := range table(t, "reference_single_phase.csv") {
		ask(row, "single", row["T_K"], row["p_Pa"], [4]string{"rho_kg_m3", "h_J_kg", "s_J_kgK", "cp_J_kgK"})
	}
	for _, row := range table(t, "reference_saturation.csv") {
		liq, vap := [4]string{"rho_liq_kg_m3", "h_liq_J_kg", "s_liq_J_kgK"}, [4]string{"rho_vap_kg_m3", "h_vap_J_kg", "s_vap_J_kgK"}
		ask(row, "sat-bubble", row["T_K"], "", liq)
		ask(row, "sat-dew", row["T_K"], "", vap)
		ask(row, "sat-bubble", "", row["p_bubble_Pa"], liq)
		ask(row, "sat-dew", "", row["p_dew_Pa"], vap)
	}
	rows, complaints, err := answers(t, in.String())
	if err != nil || complaints != "" {
		t.Fatalf("%v\n%s", err, complaints)
	}
	if len(rows) != len(wants) {
		t.Fatalf("%d answers to %d lines", len(rows), len(wants))
	}
	tol := [4]float64{1e-6, 1, 0.01, 1e-5} // rho and cp relative, h J/kg, s J/(kg K)
	for i, w := range wants {
		for k, column := range w.columns {
			cell := w.row[column]
			if column == "" || cell == "" {
				continue
			}
			got, want := number(t, rows[i][2+k]), number(t, cell)
			dev := math.Abs(got - want)
			if k == 0 || k == 3 {
				dev /= math.Abs(want)
			}
			if !(dev <= tol[k]) {
				t.Errorf("line %d, %v: %s %g, table %g", i+2, w.row, column, got, want)
			}
		}
	}
}

// A bad line costs itself alone, and is named by its number.
func TestBatchBadLines(t *testing.T) {
	for _, line := range []string{
		"R-22,single,280", "R-22,single,280,", "R-22,sat-dew,,", "R-22,sat-dew,warm,",
		"R-22,sat-dew,1000,", "R-22,sat-dew,NaN,", "R-22,single,280,-Inf", "R-22,single,400,5e-324",
		"R-22,both,280,1e5", "R-99,single,280,1e5", `R-22,"single,280,1e5`, "R-22,single,280,1e5,7",
		"R-22,sat-dew,280,1e5", "fluid,kind,T_K,p_Pa",
		"R-454B,single,300,1.63e6", "R-407C,single,300,1.1e6", // between the lines
		strings.Repeat("x", 99999),
	} {
		const good = "R-22,single,300,1e5\n"
		rows, complaints, err := answers(t, good+line+"\n"+good)
		if len(rows) != 3 || strings.Join(rows[1], "") != "" || rows[0][2] == "" || strings.Join(rows[0], ",") != strings.Join(rows[2], ",") {
			t.Errorf("%.40q: %v", line, rows)
		}
		var bad *fluid.BatchError
		if !errors.As(err, &bad) || bad.Lines != 3 || bad.Failed != 1 || !strings.HasPrefix(complaints, "line 2: ") || strings.Count(complaints, "\n") != 1 {
			t.Errorf("%.40q: %v; complaints %q", line, err, complaints)
		}
	}
}

// One line out for each line in, whatever it is; a header only on the first line.
func TestBatchLineForLine(t *testing.T) {
	const good = "R-410A,sat-bubble,300,"
	empty := ",,,,,"
	for _, c := range []struct{ in, want string }{
		{"", ""},
		{"\n", "-"},
		{"fluid,kind,T_K,p_Pa", ""},
		{"\ufefffluid,kind,T_K,p_Pa\r\n" + good, "+"},
		{good, "+"},
		{good + "\n", "+"},
		{good + "\n\n", "+-"},
		{"# why\n\n" + good + "\n   \n#" + good + "\r\n" + good, "--+--+"},
		{"fluid,kind,T_K,p_Pa\n\nR-22,single,,\n" + good + "\n\n\n", "--+--"},
		{strings.Repeat("y", 1<<17) + "\n" + good, "-+"},
	} {
		rows, _, _ := answers(t, c.in)
		var got strings.Builder
		for _, r := range rows {
			switch line := strings.Join(r, ","); {
			case line == empty:
				got.WriteByte('-')
			case len(r) == 6 && r[0] == "300":
				got.WriteByte('+')
			default:
				t.Errorf("%.40q gave %q", c.in, line)
			}
		}
		if got.String() != c.want {
			t.Errorf("%.40q: lines %q, want %q", c.in, got.String(), c.want)
		}
	}
}

type broken struct{}

func (broken) Read([]byte) (int, error)  { return 0, errors.New("cable out") }
func (broken) Write([]byte) (int, error) { return 0, errors.New("cable out") }

func TestBatchBrokenPipe(t *testing.T) {
	if err := fluid.Batch(broken{}, &bytes.Buffer{}); err == nil {
		t.Error("read error lost")
	}
	if err := fluid.Batch(strings.NewReader("R-22,single,300,1e5\n"), broken{}); err == nil {
		t.Error("write error lost")
	}
}

// Whatever the bytes: no panic, no hang, six cells a line, finite numbers.
func FuzzBatchBytes(f *testing.F) {
	f.Add("fluid,kind,T_K,p_Pa\nR-22,single,280,1e5\n")
	f.Add("R-454B,sat-dew,,1e6\nR-454B,sat-bubble,351,\n\n,,,")
	f.Add("R-410A,single,344.5,4.9e6\r\nR-32,sat-dew,351.2549999,")
	f.Add("R-32,sat-dew,351.255,\nR-454B,sat-dew,,5.2e6\nR-22,sat-bubble,,4.99e6")
	f.Add("R-407C/mixture,sat-dew,,4.6e6\nR-134a,single,1e-300,1e-300")
	f.Fuzz(func(t *testing.T, s string) {
		rows, notes, err := answers(t, s)
		in := strings.Split(strings.TrimSuffix(s, "\n"), "\n")
		if s == "" {
			in = nil
		}
		if len(in) > 0 && strings.HasPrefix(strings.TrimSpace(strings.TrimPrefix(in[0], "\ufeff")), "fluid,") {
			in = in[1:]
		}
		if len(rows) != len(in) {
			t.Fatalf("%q: %d lines in, %d out", s, len(in), len(rows))
		}
		failed := strings.Count(notes, "line ") // at least
		empty := 0
		for _, r := range rows {
			if len(r) != 6 {
				t.Fatalf("%q gave %v", s, r)
			}
			if strings.Join(r, "") == "" {
				empty++
				continue
			}
			for _, c := range r {
				if x := number(t, c); math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%q gave %v", s, r)
				}
			}
		}
		var bad *fluid.BatchError
		if errors.As(err, &bad) && (bad.Failed > empty || bad.Failed > failed) || err == nil && notes != "" {
			t.Fatalf("%q: %d empty rows, complaints %q, error %v", s, empty, notes, err)
		}
	})
}
