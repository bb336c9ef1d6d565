package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
)

// Whatever field moves what the planner is given is one that the plan says it
// reads: a pane that waits for those misses nothing.
func TestReadsNamesWhatAPlanRestsOn(t *testing.T) {
	given := func(j *record.Job) string {
		u, err := Unit(j)
		if err != nil {
			t.Fatal(err)
		}
		target, assumed := Target(j)
		return strings.Join(append(assumed, string(u.JSON()), fmt.Sprintf("%+v", target)), "\n")
	}
	moved := []record.Key{}
	for _, f := range record.Fields {
		j := demo(t)
		before := given(j)
		for _, v := range append(f.Options, "a", "2026-08-14", "150", "50", "1", "") {
			if f.Key == record.OldControls {
				v = "two-contactor-digital"
			}
			if j.Set(record.Entry{Key: f.Key, Value: v, Time: time.Unix(1.79e9, 0)}) == nil && given(j) != before {
				moved = append(moved, f.Key)
				break
			}
		}
	}
	if len(moved) < 8 {
		t.Errorf("only %v move the plan: this test sees too little", moved)
	}
	for _, k := range moved {
		if !slices.Contains(Reads(), k) {
			t.Errorf("%s moves the plan and is not among what it reads", k)
		}
	}
	for _, k := range Reads() {
		if !slices.Contains(moved, k) {
			t.Errorf("%s is said to be read and moves nothing", k)
		}
	}
}
