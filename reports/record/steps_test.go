package record

import (
	"strings"
	"testing"
)

// The cautions that a person needs stand at the step where the work is done, and none
// speaks of how its wording came about.
func TestCautionsStandAtTheirSteps(t *testing.T) {
	for _, c := range []struct {
		step  Step
		words string
	}{{Wiring, "Two people lift"}, {Electrical, "second person near who can switch off and call for help"}, {CloseUp, "Watch for fire after the last flame"},
		{Intake, "Stop in rain"}, {Intake, "drink and rest in the shade"}, {Intake, "Tag the breaker"}, {Cause, "terminal cover on"}, {Electrical, "come after the charge"}} {
		info, _ := c.step.Info()
		found := false
		for _, k := range info.Cautions {
			found = found || strings.Contains(k.Text, c.words)
		}
		if !found {
			t.Errorf("%s has no caution with %q", info.Title, c.words)
		}
	}
	for _, info := range Steps {
		for _, k := range info.Cautions {
			if strings.Contains(k.Text, "memory") || strings.Contains(k.Text, "no source") {
				t.Errorf("%s: %s", info.Title, k.Text)
			}
		}
	}
	if len(Steps) != 10 {
		t.Errorf("the route has %d steps", len(Steps))
	}
}
