package planner

import (
	"context"
	"encoding/json"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"retrostage/assets"
)

// The proof can be interrupted.
func TestProofStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Make(ctx, load(t, "two-contactor-digital"), DefaultTarget(), nil, nil); err == nil {
		t.Error("a cancelled plan was made")
	}
}

// Every rule, limit and tolerance says where it comes from.
func TestRulesCiteSources(t *testing.T) {
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	if len(bk.Rules) < 30 {
		t.Errorf("%d rules", len(bk.Rules))
	}
	for k, r := range bk.Rules {
		if r.Reason == "" || r.Source == "" {
			t.Errorf("rule %s: reason %q, source %q", k, r.Reason, r.Source)
		}
		if _, ok := bk.Cautions[r.Caution]; r.Caution != "" && !ok {
			t.Errorf("rule %s: no caution %q", k, r.Caution)
		}
	}
	l := reflect.ValueOf(bk.Limits)
	for i := range l.NumField() {
		if l.Field(i).IsZero() {
			t.Errorf("limit %s has no value", l.Type().Field(i).Name)
		}
	}
	if bk.Meter.Source == "" || bk.Costs["source"] == "" {
		t.Error("tolerances or costs without source")
	}
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		for _, d := range r.Decisions {
			if d.Source == "" || d.Question == "" || len(d.Options) == 0 {
				t.Errorf("%s: decision %+v", name, d)
			}
		}
		for _, c := range r.Proof.Checks {
			if c.Source == "" {
				t.Errorf("%s: check %s without source", name, c.ID)
			}
		}
	})
}

// Nothing is ever called safe: not by the rules, not by a plan, printed or as data.
func TestNeverCalledSafe(t *testing.T) {
	word := regexp.MustCompile(`(?i)\bsafe(ly)?\b`)
	rules, err := assets.FS.ReadFile("wiring-rules/rules.json")
	if err != nil {
		t.Fatal(err)
	}
	look := func(what, s string) {
		for _, at := range word.FindAllStringIndex(s, -1) {
			t.Errorf("%s: ...%s...", what, s[max(0, at[0]-40):min(len(s), at[1]+40)])
		}
	}
	look("rules", string(rules))
	each(func(name, indoor string) {
		r := converted(t, name, indoor)
		var text strings.Builder
		if err := WriteText(&text, r); err != nil {
			t.Fatal(err)
		}
		look(name+" printed", text.String())
		data, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		look(name+" as data", string(data))
		if !strings.Contains(r.Proof.Note, "The maker's instructions") {
			t.Errorf("%s: the proof's note defers to nobody", name)
		}
	})
}
