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
