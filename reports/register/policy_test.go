package register

import (
	"bytes"
	"crypto/ed25519"
	"strings"
	"testing"

	"retrostage/reports/workbook"
)

// Only what the policy asks for is filed; each thing short of it is told.
func TestPolicy(t *testing.T) {
	id := workbook.KeyID(ed25519.NewKeyFromSeed(bytes.Repeat([]byte{3}, 32)).Public().(ed25519.PublicKey))
	good := Row{State: workbook.Signed, KeyID: id, Exported: "2026-05-02", Check: string(workbook.Rebuilt), SignedBy: "S. Pervisor", Technician: "T-02", Decision: "accept"}
	policy := func() *Policy {
		return &Policy{Keys: []PolicyKey{{Key: id, Who: "tablet 1", From: "2026-01-01", Until: "2026-12-31"}}, Supervisors: []string{"s.  pervisor"}}
	}
	if w := policy().against(&good); w != "" {
		t.Errorf("a good row: %s", w)
	}
	for _, c := range []struct {
		want  string
		spoil func(r *Row, p *Policy)
	}{
		{"no tablet's key", func(r *Row, _ *Policy) { r.KeyID = "" }},
		{"not one of the office's", func(_ *Row, p *Policy) { p.Keys = nil }},
		{"revoked", func(_ *Row, p *Policy) { p.Keys[0].Revoked = "2026-06-01" }},
		{"not in force", func(r *Row, _ *Policy) { r.Exported = "2027-01-01" }},
		{"not in force", func(r *Row, _ *Policy) { r.Exported = "" }},
		{"not rebuilt", func(r *Row, p *Policy) { r.Check, p.Versions = string(workbook.Listed), []string{"Retrostage 0.1.0"} }},
		{"the policy does not name", func(r *Row, _ *Policy) { r.Check, r.Other = string(workbook.Listed), "Retrostage 0.1.0" }},
		{"revoked", func(_ *Row, p *Policy) { p.Keys = append(p.Keys, PolicyKey{Key: p.Keys[0].Key, Revoked: "2026-06-01"}) }},
		{"no list of supervisors", func(r *Row, _ *Policy) { r.SignedBy = "x y" }},
		{"his own work", func(r *Row, p *Policy) { r.SignedBy = "t-02"; p.Supervisors = append(p.Supervisors, "T-02") }},
	} {
		r, p := good, policy()
		c.spoil(&r, p)
		r.Unfiled = p.against(&r)
		if r.stand(p, today); !strings.Contains(r.Act, c.want) || r.Standing != ToHold {
			t.Errorf("%s: %v, %q", c.want, r.Standing, r.Act)
		}
	}
	old, named := good, policy()
	old.Check, old.Other, named.Versions = string(workbook.Listed), "Retrostage 0.1.0", []string{"Retrostage 0.1.0"}
	if w := named.against(&old); w != "" {
		t.Errorf("a version that the policy names: %q", w)
	}
	one := policy()
	one.OnePerson = true
	own := good
	own.SignedBy = "T-02"
	own.Own = own.own(one)
	if w := one.against(&own); w != "" || own.signedHow() != "typed, self-reviewed" {
		t.Errorf("one-person shop: %q, %q", w, own.signedHow())
	}
	own.Unfiled = unchecked
	if own.stand(nil, today); own.Act != unchecked {
		t.Errorf("without a policy: %q", own.Act)
	}
	// A countersignature counts by its key: one of the office's, in force on its day.
	chief := policy()
	chief.Countersigned = true
	counter := good
	if w := chief.against(&counter); !strings.Contains(w, "no supervisor's key") {
		t.Errorf("typed where a key is asked for: %q", w)
	}
	counter.CounterKey, counter.SignedOn = "k", "2026-05-03"
	if w := chief.against(&counter); !strings.Contains(w, "not one of the office's") || !strings.Contains(counter.signedHow(), "on no list") {
		t.Errorf("a key of nobody: %q, %q", w, counter.signedHow())
	}
	chief.Countersign = []PolicyKey{{Key: "k", Who: "S. Pervisor", From: "2026-01-01"}}
	counter.CounterWho = who(chief.Countersign, "k")
	if w := chief.against(&counter); w != "" || counter.signedHow() != "countersigned by S. Pervisor" {
		t.Errorf("the chief's key: %q, %q", w, counter.signedHow())
	}
	counter.SignedBy = "C. Okwe"
	if w := chief.against(&counter); !strings.Contains(w, "under the name") {
		t.Errorf("another's name: %q", w)
	}
	counter.SignedBy = good.SignedBy
	counter.SignedOn = "2025-12-31"
	if w := chief.against(&counter); !strings.Contains(w, "not in force") {
		t.Errorf("before its day: %q", w)
	}
	for _, s := range []string{`{"keys":[{"key":"x"}]}`, `{"keyz":[]}`, `{"keys":[{"key":"` + id + `","until":"soon"}]}`, ``} {
		if _, err := ParsePolicy([]byte(s)); err == nil {
			t.Errorf("%q was taken for a policy", s)
		}
	}
}
