package planner

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// Of the attackers' units those of must-not-hold.txt are wrong, or ask for what only
// a person knows: no plan with default answers holds. A file that the reader refuses,
// or a unit that the planner does, holds nothing either. "once" marks those that got
// a wrong yes.
func TestMustNotHold(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "attempts", "wiring")
	list, err := os.ReadFile(filepath.Join(dir, "must-not-hold.txt"))
	if err != nil {
		t.Fatal(err)
	}
	tried, verdicts := 0, map[string]int{}
	at := -1
	for line := range strings.Lines(string(list)) {
		name, _, _ := strings.Cut(strings.TrimSpace(line), " ")
		if at++; name == "" || !soak.On() && at%4 != 0 { // the usual run takes every fourth
			continue
		}
		tried++
		b, err := os.ReadFile(filepath.Join(dir, name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		said := defaultVerdict(t, name, b)
		verdicts[said]++
		if said == proof.Holds || said == proof.Reserved {
			t.Errorf("%s: WRONG YES", name)
		}
	}
	if tried < 50 {
		t.Errorf("only %d tried", tried)
	}
	t.Logf("%d tried: %v", tried, verdicts)
}

// defaultVerdict is what comes of a unit file with no question answered.
func defaultVerdict(t *testing.T, name string, b []byte) string {
	u, err := netlist.Parse(b)
	if err != nil {
		return "not read"
	}
	r, err := Plan(u, DefaultTarget(), nil)
	if err == nil && r.Refused == "" {
		err = r.Check(context.Background(), nil)
	}
	switch {
	case err != nil:
		t.Errorf("%s: %v", name, err)
		return "error"
	case r.Refused != "":
		return "refused"
	}
	return string(r.Verdict)
}

// What technicians call their parts is no reason for a no: names of the trade, letters of
// diagrams, a rating in the name of a capacitor that is replaced.
func TestHonestLabelsHold(t *testing.T) {
	dir := filepath.Join("..", "..", "testdata", "attempts", "wiring")
	for _, name := range []string{"capacitor-label", "colour-codes", "hp-label", "lamp", "lockout-label", "model-number-label", "pilot-lamp", "pull-out",
		"pump-switch", "rating-label", "short-labels", "solenoid-valve", "timer-label", "trade-labels", "trade-labels-2", "two-hp", "valve-label", "valve-label-2"} {
		b, err := os.ReadFile(filepath.Join(dir, "x-honest-"+name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		u, err := netlist.Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		r := planned(t, u, nil)
		if r.Verdict != proof.Holds && r.Verdict != proof.Reserved {
			t.Errorf("%s: %s: %s", name, r.Verdict, r.Why)
		}
		for _, say := range r.Proof.Reservations {
			if strings.Contains(say, "label") {
				t.Errorf("%s: reserved for a label: %s", name, say)
			}
		}
		if name != "capacitor-label" {
			continue
		}
		for _, d := range r.New.Devices { // the new one does not bear the old one's rating
			if strings.Contains(d.Label, "35 uF") {
				t.Errorf("the new capacitor is called %s", d.Label)
			}
		}
	}
}

// Letters that are another part's are asked about, and so are those that tell how a part
// was found.
func TestLettersOfAnother(t *testing.T) {
	for _, q := range []struct{ id, label string }{
		{"LP", "HPS"}, {"HP", "LPS"}, {"FM", "IFM"}, {"BL", "OFM 1"}, {"HP", "HPS JMP"}, {"LP", "BP"}, {"CL", "DC"}, {"HP", "lock out"}, {"FR", "relay 120-240"}, {"HP", "HPS 410-610"}, {"SUP", "furnace circuit"},
	} {
		u := load(t, "two-contactor-conventional")
		u.Device(q.id).Label = q.label
		if r := planned(t, u, nil); r.Verdict != proof.NotDecided || !strings.Contains(r.Why, "label of "+q.label) && !strings.Contains(r.Why, q.label+" is called") && !strings.Contains(r.Why, "which is it?") {
			t.Errorf("%s called %s: %s: %s", q.id, q.label, r.Verdict, r.Why)
		}
	}
}
