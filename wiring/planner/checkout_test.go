package planner

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"retrostage/assets/soak"
	"retrostage/wiring/netlist"
)

// misland moves one end of a conductor, at random, to another terminal of the
// device on which it lies, or exchanges it with an end of another conductor
// there: neighbouring or not. It returns nil if the chosen conductor has nowhere
// to go, and what it did in words.
func misland(u *netlist.Unit, pick func(n int) int) (*netlist.Unit, string) {
	v := u.Clone()
	c := &v.Conductors[pick(len(v.Conductors))]
	end := &c.From
	if pick(2) == 1 {
		end = &c.To
	}
	if *end == netlist.Capped {
		return nil, ""
	}
	d := v.Device(device(*end))
	was := *end
	ts := netlist.Kinds[d.Kind].Terminals
	to := d.ID + "." + ts[pick(len(ts))].Name
	if to == was {
		return nil, ""
	}
	words := fmt.Sprintf("%s moved from %s to %s", c.ID, was, to)
	if others := v.At(to); len(others) > 0 && pick(2) == 1 {
		o := others[pick(len(others))]
		if o.From == to {
			o.From = was
		} else {
			o.To = was
		}
		words += " and " + o.ID + " to its place"
	}
	*end = to
	if v.Validate() != nil { // line on 24 V and the like: told apart by size and barrier
		return nil, ""
	}
	return v, words
}

// shows tells whether a reading of the list is out of tolerance on a circuit.
func shows(t testing.TB, r *Result, c *netlist.Circuit, f netlist.Fault) (row []float64, out bool) {
	t.Helper()
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	var states []netlist.State
	for _, k := range r.Checkout.Tests {
		if k.Meter != "ohms" && !slices.Contains(states, k.state) {
			states = append(states, k.state)
		}
	}
	row, err = bk.predictOne(c, f, r.Checkout.Tests, states)
	if err != nil {
		t.Fatal(err)
	}
	for i, k := range r.Checkout.Tests {
		out = out || math.Abs(row[i]-k.Expect) > k.Tolerance
	}
	return row, out
}

func each(f func(name, indoor string)) {
	for i, name := range netlist.Catalogue() {
		for _, indoor := range controls(i) {
			f(name, indoor)
		}
	}
}

// controls are the indoor controls that the unit i of the catalogue is made for in a
// test that tries every fault: both in a soak, else one or the other by turns. That
// every plan holds for both is TestTable's.
func controls(i int) []string {
	both := []string{"conventional", "digital"}
	if soak.On() {
		return both
	}
	return both[i%2 : i%2+1]
}

// Any conductor broken, or mis-landed anywhere on its device, neighbouring
// terminal or not: harmless by the truth table, or out in the check-out.
func TestBrokenConductorShows(t *testing.T) {
	const tries = 14
	total, caught := 0, 0
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		sound, err := netlist.Compile(r.New)
		if err != nil {
			t.Fatal(err)
		}
		tried, _, err := newTrial(context.Background(), sound)
		if err != nil {
			t.Fatal(err)
		}
		all := &netlist.Table{Rows: tried.rows}
		rng := rand.New(rand.NewPCG(7, uint64(total)))
		harmful, detected := 0, 0
		var missed []string
		for n := 0; n < tries; {
			c, f, words := sound, netlist.Fault{}, ""
			if rng.IntN(3) == 0 {
				w := r.New.Conductors[rng.IntN(len(r.New.Conductors))]
				i := slices.IndexFunc(r.Faults, func(f FaultResult) bool { return f.ID == "open:"+w.ID })
				if i < 0 {
					if w.From != netlist.Capped {
						t.Fatalf("conductor %s open is not among the faults", w.ID)
					}
					continue
				}
				f, words = r.Faults[i].Fault, r.Faults[i].Words
			} else {
				u, did := misland(r.New, rng.IntN)
				if u == nil {
					continue
				}
				if c, err = netlist.Compile(u); err != nil {
					t.Fatal(err)
				}
				words = did
			}
			n++
			harmless, err := behaves(c, f, all)
			if err != nil {
				t.Fatal(err)
			}
			if harmless {
				continue
			}
			harmful++
			if _, out := shows(t, r, c, f); out {
				detected++
			} else {
				missed = append(missed, words)
			}
		}
		t.Logf("%s to %s: %d tried, %d harmful, %d shown %q", name, indoor, tries, harmful, detected, missed)
		total, caught = total+harmful, caught+detected
	})
	t.Logf("%d of %d harmful ones shown", caught, total)
	// What is left lies at motors' own leads, where nothing is read: a lead of the fan,
	// run and common exchanged at the compressor. The lists name them as not shown, and
	// none that is listed is a danger (TestEveryCatalogueUnit).
	if float64(caught) < 0.95*float64(total) || total < soak.Count(150, 300) {
		t.Errorf("%d of %d harmful ones shown, want 95 %%", caught, total)
	}
}

// behaves tells whether a circuit with a fault does what the table says.
func behaves(c *netlist.Circuit, f netlist.Fault, want *netlist.Table) (bool, error) {
	s := c.NewSolver()
	if f.ID != "" {
		var err error
		if s, err = c.Solver(f); err != nil {
			return false, err
		}
	}
	for _, row := range want.Rows {
		x, err := s.Solve(row.State)
		if err != nil {
			return false, err
		}
		if !slices.Equal(x.Statuses(), row.Does) || len(x.Chatter) != len(row.Chatter) {
			return false, nil
		}
	}
	return true, nil
}

// Readings taken on a faulty circuit, each off by up to four tenths of its
// tolerance, leave the fault among the suspects; readings on the circuit as
// planned leave that. How many suspects are left is told from set draws.
func TestNarrowKeepsTheCulprit(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		i := rapid.IntRange(0, len(netlist.Catalogue())-1).Draw(r, "unit")
		res := converted(t, netlist.Catalogue()[i], rapid.SampledFrom(controls(i)).Draw(r, "indoor"))
		k := rapid.IntRange(-1, len(res.Faults)-1).Draw(r, "fault")
		if _, err := narrowed(t, res, k, func() float64 { return rapid.Float64Range(-0.4, 0.4).Draw(r, "off") }); err != nil {
			r.Fatal(err)
		}
	})
	var left []int
	for rng := rand.New(rand.NewPCG(11, 0)); len(left) < 60; {
		units := netlist.Catalogue()
		i := rng.IntN(len(units))
		of := controls(i)
		res := converted(t, units[i], of[rng.IntN(len(of))])
		k := rng.IntN(len(res.Faults))
		n, err := narrowed(t, res, k, func() float64 { return 0.8*rng.Float64() - 0.4 })
		if err != nil {
			t.Fatal(err)
		}
		if !res.Faults[k].Harmless {
			left = append(left, n)
		}
	}
	slices.Sort(left)
	t.Logf("harmful faults with noisy readings: %d, suspects left: median %d, nine in ten %d, most %d", len(left), left[len(left)/2], left[len(left)*9/10], left[len(left)-1])
	if left[len(left)/2] > 2 {
		t.Errorf("median of %d suspects", left[len(left)/2])
	}
}

// narrowed reads every test of a plan with its fault k made (none for -1), each
// off by that part of its tolerance, and tells how many suspects are left.
func narrowed(t *testing.T, res *Result, k int, off func() float64) (int, error) {
	t.Helper()
	c, err := netlist.Compile(res.New)
	if err != nil {
		return 0, err
	}
	f := netlist.Fault{}
	if k >= 0 {
		f = res.Faults[k].Fault
	}
	row, _ := shows(t, res, c, f)
	bk, err := book()
	if err != nil {
		return 0, err
	}
	readings := map[int]float64{}
	for i, q := range res.Checkout.Tests {
		readings[q.N] = max(0, row[i]+off()*bk.Meter.tolerance(q.Meter, row[i]))
	}
	sus, err := Narrow(context.Background(), res, readings)
	if err != nil {
		return 0, err
	}
	if !slices.ContainsFunc(sus, func(s Suspect) bool { return s.Fault == f.ID }) {
		return 0, fmt.Errorf("%q is not among %v", f.ID, sus)
	}
	return len(sus), nil
}

func TestNarrowRefuses(t *testing.T) {
	r := converted(t, "two-contactor-conventional", "conventional")
	for _, q := range []struct {
		readings map[int]float64
		want     string
	}{{map[int]float64{1: math.NaN()}, "NaN"}, {map[int]float64{1: -3}, "-3"}, {map[int]float64{1: 1, 99: 2}, "belong to no test"}} {
		if _, err := Narrow(context.Background(), r, q.readings); err == nil || !strings.Contains(err.Error(), q.want) {
			t.Errorf("readings %v: error %v, want one with %q", q.readings, err, q.want)
		}
	}
	if _, err := Narrow(context.Background(), &Result{}, nil); err == nil {
		t.Error("narrowing without a list")
	}
	sus, err := Narrow(context.Background(), r, nil)
	if err != nil || len(sus) != len(r.Faults)+1 {
		t.Errorf("without readings %d suspects, want all %d; error %v", len(sus), len(r.Faults)+1, err)
	}
}

// Every reading has its caution at the point of work, dead ones come first, and a
// switch to be opened is taken off its conductors and not they off it.
func TestReadingsHaveCautions(t *testing.T) {
	each(func(name, indoor string) {
		live := false
		for i, k := range converted(t, name, indoor).Checkout.Tests {
			if k.N != i+1 || k.Words == "" || k.Tolerance <= 0 {
				t.Errorf("%s: reading %+v", name, k)
			}
			if k.Meter == "ohms" {
				if live || !strings.Contains(k.Caution, "Prove dead") {
					t.Errorf("%s: dead reading %d after a live one, or without lockout", name, k.N)
				}
				continue
			}
			live = true
			if !strings.Contains(k.Caution, "meter") && !strings.Contains(k.Caution, "leads") {
				t.Errorf("%s: reading %d: caution %q", name, k.N, k.Caution)
			}
			if strings.Contains(k.State, "open") && !strings.Contains(k.Caution, "take the switch itself off") {
				t.Errorf("%s: reading %d in state %s does not say how", name, k.N, k.State)
			}
		}
	})
}

// A run lead landed before the contactor only hums from rest; started once, the
// compressor runs on whatever the safeties do, and the fault says so.
func TestFaultsSayRunsOn(t *testing.T) {
	r := converted(t, "two-capacity-conventional", "conventional")
	n := 0
	for _, f := range r.Faults {
		if strings.Contains(f.Effect, "once running, runs on with") {
			n++
			if !f.Dangerous || f.Harmless || !strings.Contains(f.State, "open") {
				t.Errorf("%s: %s in state %q, dangerous %v", f.Words, f.Effect, f.State, f.Dangerous)
			}
		}
	}
	if n == 0 {
		t.Error("no fault keeps the compressor running with a safety open")
	}
}

// A bypassed safety is called dangerous, and progress runs to the end.
func TestFaultsSayDanger(t *testing.T) {
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		n := 0
		for _, f := range r.Faults {
			w := r.New.Conductor(f.Part)
			if f.Kind != "shift" || w == nil {
				continue
			}
			from, to, _ := strings.Cut(strings.TrimPrefix(f.ID, "shift:"+w.ID+":"), ">")
			if d := r.New.Device(device(from)); strings.HasPrefix(d.Kind, "pressure-") && !strings.HasSuffix(d.Kind, "-line") && to != "" {
				n++
				if !f.Dangerous || !strings.Contains(f.Effect, "compressor runs with "+d.Label+" open") {
					t.Errorf("%s: both leads of %s on one terminal: dangerous %v, %s", name, d.ID, f.Dangerous, f.Effect)
				}
			}
		}
		switches := count(r.New.Devices, func(d netlist.Device) bool {
			return strings.HasPrefix(d.Kind, "pressure-") && !strings.HasSuffix(d.Kind, "-line")
		})
		if n < 2*switches || switches == 0 {
			t.Errorf("%s: only %d ways to bypass a pressure switch among the faults", name, n)
		}
	})
	r := converted(t, "two-contactor-conventional", "conventional")
	c, err := netlist.Compile(r.New)
	if err != nil {
		t.Fatal(err)
	}
	last := 0
	ctx, cancel := context.WithCancel(context.Background())
	_, _, err = TryFaults(ctx, c, func(done, total int) {
		if done != last+1 || total != len(r.Faults) {
			t.Errorf("progress %d after %d of %d", done, last, total)
		}
		last = done
		if done == 20 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || last >= len(r.Faults) {
		t.Errorf("cancelled at 20: error %v after %d", err, last)
	}
}
