package planner

import (
	"context"
	"slices"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// TestTable prints what becomes of every unit of the catalogue under either
// indoor control.
func TestTable(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		for _, indoor := range []string{"conventional", "digital"} {
			target := DefaultTarget()
			target.Indoor = indoor
			r, err := Plan(load(t, name), target, personAnswers(load(t, name)))
			if err == nil {
				err = r.Check(context.Background(), nil)
			}
			if err != nil {
				t.Errorf("%s to %s: %v", name, indoor, err)
				continue
			}
			t.Logf("%s to %s: %s; %s; cost %g, %d lines", name, indoor, r.Verdict, tally(r), r.Cost, len(r.Steps))
			if r.Verdict != provedAs(r) {
				t.Errorf("%s to %s: %s", name, indoor, strings.Join(r.Banner(), "\n"))
				for _, k := range r.Proof.Failed() {
					t.Errorf("    %s %s in state %s: %s", k.ID, k.Verdict, k.State, k.Detail)
				}
			}
		}
	}
}

// provedAs is the verdict of a plan whose checks all hold: where start parts stay, or of
// two compressors one goes, a person's answer is in it.
func provedAs(r *Result) string {
	if r.tandem != "" || slices.ContainsFunc(r.Devices, func(a DeviceAction) bool { return strings.HasPrefix(a.Rule, "start-") && a.Action != "remove" }) {
		return proof.Reserved
	}
	return proof.Holds
}

// Two refrigerant circuits cannot be seen in the wiring. That they are one is a person's
// word: named in the verdict, on every page, with what to look at before anything is cut.
func TestOneCircuitIsReserved(t *testing.T) {
	for _, name := range netlist.Catalogue() {
		if !strings.Contains(name, "tandem") {
			continue
		}
		r, err := Plan(load(t, name), DefaultTarget(), map[string]string{"circuits": "one"})
		if err == nil {
			err = r.Check(context.Background(), nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		head := r.Banner()[0]
		if r.Verdict == proof.Holds || len(r.Proof.Reservations) == 0 || r.Mark == "" || !strings.Contains(head, "RESERVATIONS") || !strings.Contains(head, "suction lines of both join") {
			t.Errorf("%s: %s, mark %q", name, head, r.Mark)
		}
	}
}
