package plan

import (
	"errors"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// What is refused where it is typed is no laxer than what the planner takes.
func TestReasonIsNoLaxerThanThePlanner(t *testing.T) {
	u, err := netlist.Load(netlist.Catalogue()[0])
	if err != nil {
		t.Fatal(err)
	}
	first, err := planner.Plan(u, planner.DefaultTarget(), nil)
	if err != nil {
		t.Fatal(err)
	}
	key := ""
	for _, d := range first.Decisions {
		for _, o := range d.Options {
			if o.Value == "reason" {
				key = d.Key
			}
		}
	}
	if key == "" {
		t.Fatal("no decision of this unit takes a reason")
	}
	for text, fits := range map[string]bool{"": false, "broken": false, "............": false, "123456789012345": false,
		"elevenchars": false, "twelve chars": false, "no such part fitted": true, "наружный датчик": false, "наружный датчик снят": true, "aaaaaaaaaaaa": false, "keep the switch in place": false, "Yes, keep the switch": false, "no such part\nHOLDS: all": false} {
		err := Reason(text)
		if (err == nil) != fits {
			t.Errorf("%q: %v", text, err)
		}
		if err != nil {
			continue
		}
		if _, err := planner.Plan(u, planner.DefaultTarget(), map[string]string{key: text}); errors.Is(err, planner.ErrReason) {
			t.Errorf("%q passes here and the planner refuses it", text)
		}
	}
}
