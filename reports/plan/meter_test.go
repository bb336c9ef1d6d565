package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"retrostage/reports/record"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// read enters what a circuit with a fault reads at every test of the list; the
// values come from the solver, not from the planner's predictions.
func read(t *testing.T, j *record.Job, p *Plan, fault string) {
	t.Helper()
	c, err := netlist.Compile(p.New)
	if err != nil {
		t.Fatal(err)
	}
	s := c.NewSolver()
	if fault != "" {
		for _, f := range c.Faults() {
			if f.ID == fault {
				if s, err = c.Solver(f); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	for _, q := range p.Checkout.Tests {
		var st netlist.State
		for st = range netlist.State(c.States()) {
			if c.Words(st) == q.State {
				break
			}
		}
		var v float64
		var sol *netlist.Solution
		if q.Meter == "ohms" {
			v, err = s.Ohms(st, q.A, q.B)
		} else if sol, err = s.Solve(st); err == nil {
			if q.Meter == "amps" {
				v, err = sol.Amps(q.A)
			} else {
				read := sol.Reader()
				v, err = read.Volts(q.A, q.B)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
		e := record.Entry{Key: TestKey(q), Value: fmt.Sprintf("%.5f", v), Time: j.Entries[len(j.Entries)-1].Time}
		if q.Meter == "ohms" && v > 2e6 {
			e.Value = record.OpenLine
		}
		if err := j.Set(e); err != nil {
			t.Fatal(err)
		}
	}
}

// unread is the demo job before its check-out.
func unread(t *testing.T) *record.Job {
	t.Helper()
	j := demo(t)
	j.Entries = slices.DeleteFunc(j.Entries, func(e record.Entry) bool { return strings.HasPrefix(e.Key.String(), "meter/") })
	data, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if j, err = record.Decode(data); err != nil {
		t.Fatal(err)
	}
	return j
}

func TestEnteredReadingsNarrowToTheFault(t *testing.T) {
	j := unread(t)
	p, err := Proved(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := Readings(j, p.Checkout); len(got) != 0 {
		t.Fatalf("%d readings before any was entered", len(got))
	}
	fits := func(id string) (out, all int, found bool, ss []planner.Suspect) {
		taken := Readings(j, p.Checkout)
		for _, k := range taken {
			if !k.Fits {
				out++
			}
		}
		ss, err := Suspects(t.Context(), p.Result, taken)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range ss {
			found = found || s.Fault == id
		}
		return out, len(taken), found, ss
	}
	read(t, j, p, "")
	if out, all, found, _ := fits(""); out != 0 || all != len(p.Checkout.Tests) || !found {
		t.Errorf("the circuit as planned: %d of %d readings out, among the suspects %v", out, all, found)
	}
	for i, f := range p.Faults {
		if f.Harmless || i%25 != 0 {
			continue
		}
		read(t, j, p, f.ID)
		out, _, found, ss := fits(f.ID)
		if out == 0 || !found {
			t.Errorf("%s: %d readings out, among %d suspects %v", f.ID, out, len(ss), found)
		}
		for _, s := range ss {
			if s.Fault == "" {
				t.Errorf("%s: the circuit as planned is still a suspect", f.ID)
			}
		}
	}
	// A reading of another plan's test waits, and is no error.
	if err := j.Set(record.Entry{Key: record.MeterKey("volts", "NO.1", "NO.2", "no call"), Value: "3", Time: j.Entries[0].Time}); err != nil {
		t.Fatal(err)
	}
	if got := Readings(j, p.Checkout); len(got) != len(p.Checkout.Tests) {
		t.Errorf("%d readings for %d tests", len(got), len(p.Checkout.Tests))
	}
}

// Without the check-out list, a reading is held against the same expectation
// as with it, and the same faults are left.
func TestMeterAgreesWithTheList(t *testing.T) {
	j := unread(t)
	p, err := Proved(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if ms, ss, err := Meter(t.Context(), j, p); ms != nil || ss != nil || err != nil {
		t.Fatalf("before any reading: %v %v %v", ms, ss, err)
	}
	fast, err := Checked(t.Context(), j)
	if err != nil {
		t.Fatal(err)
	}
	faults := []string{""}
	for i, f := range p.Faults {
		if !f.Harmless && i%60 == 5 {
			faults = append(faults, f.ID)
		}
	}
	for _, f := range faults {
		read(t, j, p, f)
		ms, got, err := Meter(t.Context(), j, fast)
		if err != nil {
			t.Fatal(err)
		}
		taken := Readings(j, p.Checkout)
		if len(ms) != len(taken) {
			t.Fatalf("%s: %d readings, the list has %d", f, len(ms), len(taken))
		}
		out := 0
		for i, m := range ms {
			q := p.Checkout.Tests[i]
			if m.Key != TestKey(q) || m.Test.Expect != q.Expect || m.Test.Tolerance != q.Tolerance || m.Test.Open != q.Open || m.Fits != taken[i].Fits || m.Value != taken[i].Value || m.Elsewhere {
				t.Errorf("%s: %+v, the list has %+v and %+v", f, m, q, taken[i])
			}
			if !m.Fits {
				out++
			}
		}
		want, err := Suspects(t.Context(), p.Result, taken)
		if err != nil {
			t.Fatal(err)
		}
		if out == 0 {
			want = nil
		}
		if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%s: %s", f, d)
		}
	}
	// A place that this circuit lacks is said to be elsewhere.
	for _, k := range []record.Key{record.MeterKey("volts", "NO.1", "NO.2", "no call"), record.MeterKey("ohms", "CC.L1", "CC.L2", "on the moon"), record.MeterKey("amps", "w999", "", "no call")} {
		if err := j.Set(record.Entry{Key: k, Value: "3", Time: j.Entries[0].Time}); err != nil {
			t.Fatal(err)
		}
	}
	ms, _, err := Meter(t.Context(), j, fast)
	if err != nil || len(ms) != len(p.Checkout.Tests)+3 {
		t.Fatal(len(ms), err)
	}
	for _, m := range ms[len(p.Checkout.Tests):] {
		if !m.Elsewhere {
			t.Errorf("%+v", m)
		}
	}
}

// The demo job's record has the list of its plan, its dead check-out is complete, and
// fits; without the readings they are missing, and a plan that changed has no list.
func TestCheckoutStands(t *testing.T) {
	j := demo(t)
	p, err := Proved(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	dead := 0
	for _, q := range p.Checkout.Tests {
		if q.List == planner.Dead && q.Role == "find" {
			dead++
		}
	}
	s, err := Checkout(j)
	if err != nil || !s.Listed || dead < 10 || s.Asked[planner.Dead] != dead || len(s.Missing[planner.Dead]) > 0 || len(s.Misfits) > 0 || len(s.Elsewhere) > 0 {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err = Checkout(unread(t)); err != nil || len(s.Missing[planner.Dead]) != dead {
		t.Errorf("without its readings: %+v, %v", s, err)
	}
	if err := j.Set(record.Entry{Key: record.NewRLA, Value: "18.1", Time: j.Entries[len(j.Entries)-1].Time}); err != nil {
		t.Fatal(err)
	}
	if s, err = Checkout(j); err != nil || s.Listed {
		t.Errorf("another compressor: the list still stands: %+v, %v", s, err)
	}
}
