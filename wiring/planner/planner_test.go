package planner

import (
	"context"
	"slices"
	"testing"


	"retrostage/wiring/netlist"
)

func load(t testing.TB, name string) *netlist.Unit {
	t.Helper()
	u, err := netlist.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

// converted makes the whole plan of a catalogue unit.
func converted(t testing.TB, name, indoor string) *Result {
	t.Helper()
	target := DefaultTarget()
	target.Indoor = indoor
	r, err := Make(context.Background(), load(t, name), target, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Refused != "" {
		t.Fatalf("%s to %s refused: %s", name, indoor, r.Refused)
	}
	return r
}

// failing is a shorthand for both *testing.T and *rapid.T.
type failing interface {
	Helper()
	Errorf(format string, args ...any)
}

// accounted: each old conductor and device has exactly one action, each new
// conductor and device comes from exactly one, and what the actions say is what
// the new unit has.
func accounted(t failing, old *netlist.Unit, r *Result) {
	t.Helper()
	seen, stays := map[string]int{}, map[string]ConductorAction{}
	for _, a := range r.Conductors {
		seen[a.ID]++
		o := old.Conductor(a.ID)
		if (o == nil) != (a.Action == "new") {
			t.Errorf("conductor %s: %s, in the old unit: %v", a.ID, a.Action, o != nil)
		}
		if o != nil && (a.WasFrom != o.From || a.WasTo != o.To) {
			t.Errorf("conductor %s was %s to %s, the plan says %s to %s", a.ID, o.From, o.To, a.WasFrom, a.WasTo)
		}
		if a.Reason == "" || a.Source == "" {
			t.Errorf("conductor %s: %s without reason or source", a.ID, a.Action)
		}
		switch a.Action {
		case "keep", "move", "reuse", "cap", "new":
			stays[a.ID] = a
		case "remove":
		default:
			t.Errorf("conductor %s: action %q", a.ID, a.Action)
		}
		if a.Action == "cap" && (a.From != netlist.Capped || a.To != netlist.Capped) {
			t.Errorf("conductor %s is capped and ends on %s and %s", a.ID, a.From, a.To)
		}
		if a.Action == "keep" && a.Rule == "keep" && (a.From != a.WasFrom || a.To != a.WasTo) {
			t.Errorf("conductor %s is kept as it lies and moves", a.ID)
		}
	}
	for _, c := range old.Conductors {
		if seen[c.ID] != 1 {
			t.Errorf("old conductor %s is accounted for %d times", c.ID, seen[c.ID])
		}
	}
	for _, c := range r.New.Conductors {
		a, ok := stays[c.ID]
		if !ok || a.From != c.From || a.To != c.To || a.Gauge != c.Gauge || a.Class != c.Class || a.Colour != c.Colour {
			t.Errorf("new unit has conductor %+v, the plan says %+v", c, a)
		}
		delete(stays, c.ID)
	}
	for id := range stays {
		t.Errorf("conductor %s stays by the plan and is not in the new unit", id)
	}
	devs, out := map[string]int{}, map[string]bool{}
	for _, a := range r.Devices {
		devs[a.ID]++
		out[a.ID] = a.Action == "remove"
		if (r.New.Device(a.ID) == nil) != out[a.ID] {
			t.Errorf("device %s: %s, in the new unit: %v", a.ID, a.Action, r.New.Device(a.ID) != nil)
		}
		if a.Reason == "" || a.Source == "" {
			t.Errorf("device %s: %s without reason or source", a.ID, a.Action)
		}
	}
	for _, d := range slices.Concat(old.Devices, r.New.Devices) {
		if devs[d.ID] != 1 {
			t.Errorf("device %s is accounted for %d times", d.ID, devs[d.ID])
		}
	}
	steps := map[string]int{}
	for _, s := range r.Steps {
		steps[s.Item]++
	}
	for _, a := range r.Conductors {
		if want := map[bool]int{true: 0, false: 1}[a.Action == "keep" && a.Rule == "keep"]; steps[a.ID] != want {
			t.Errorf("conductor %s (%s) is in the work list %d times, want %d", a.ID, a.Action, steps[a.ID], want)
		}
	}
}

// Every unit of the catalogue, to either kind of indoor control: the proof holds
// and all harmful single faults show in the check-out.
func TestEveryCatalogueUnit(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		for _, indoor := range []string{"conventional", "digital"} {
			t.Run(name+" to "+indoor, func(t *testing.T) {
				r := converted(t, name, indoor)
				if !r.Proof.Holds || r.Proof.States != 1<<len(r.After.Inputs) || len(r.Proof.Checks) != len(checks) {
					t.Errorf("proof: %+v", r.Proof)
				}
				accounted(t, load(t, name), r)
				for _, f := range r.Faults {
					if f.Effect == "" {
						t.Errorf("fault %s has no effect in words", f.ID)
					}
				}
				co := r.Checkout
				if co.Detected != co.Harmful || len(co.Missed) > 0 {
					t.Errorf("check-out shows %d of %d harmful faults, not %v", co.Detected, co.Harmful, co.Missed)
				}
				if co.Median > 2 {
					t.Errorf("median of %g suspects left", co.Median)
				}
				byAction := map[string]int{}
				for _, a := range r.Conductors {
					byAction[a.Action]++
				}
				t.Logf("%d states; %d faults, %d harmful, %d dangerous; %d readings (%d find) show %d; median %g suspects; cost %g; conductors %v",
					r.Proof.States, len(r.Faults), co.Harmful, count(r.Faults, func(f FaultResult) bool { return f.Dangerous }), len(co.Tests), co.Find, co.Detected, co.Median, r.Cost, byAction)
			})
		}
	}
}

func count[T any](s []T, f func(T) bool) (n int) {
	for _, x := range s {
		if f(x) {
			n++
		}
	}
	return n
}
