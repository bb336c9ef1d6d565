package judge

import (
	"context"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
	"retrostage/wiring/proof"
)

const holds, fails, undecided = proof.Holds, proof.Fails, proof.NotDecided

// prove asks what is judged here: its verdict, and why.
func prove(old, new *netlist.Unit, data proof.Data) (verdict, why string) {
	p, err := proof.Prove(context.Background(), old, new, data, nil)
	if err != nil {
		return "error", err.Error()
	}
	return said(p)
}

// said is the verdict of a proof and the checks that do not hold.
func said(p *proof.Proof) (verdict, why string) {
	var s []string
	for _, c := range p.Failed() {
		s = append(s, c.ID+" ("+c.State+": "+c.Detail+")")
	}
	if p.Proved() { // a reservation takes nothing from a yes that is wrong
		return holds, p.Why
	}
	return p.Verdict, p.Why + ": " + strings.Join(s, "; ")
}

// pairs are old and new circuits with their data that lie beside the proof.
func pairs(t testing.TB) (out []*subject) {
	files, err := filepath.Glob("../proof/testdata/*.data.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		s := bring(t, strings.TrimSuffix(f, ".data.json"))
		s.name = "beside the proof, " + s.name
		out = append(out, s)
	}
	return out
}

// dataOf is what the proof is told of a plan beside the circuits: what was
// replaced, and what was taken out for a stated reason.
func dataOf(r *planner.Result) proof.Data {
	c := r.Target.Compressor
	d := proof.Data{Compressor: proof.Compressor{Volts: c.Volts, RLA: c.RLA, LRA: c.LRA, Farads: c.Farads, CapVolts: c.CapVolts, Hertz: c.Hertz}, Omitted: map[string]string{}, Dropped: map[string]string{}, Replaced: map[string]string{}, Extended: map[string]string{}}
	for _, x := range r.Devices {
		if x.Extended != "" {
			d.Extended[x.ID] = x.Extended
		}
		switch {
		case x.Action == "replace" || x.Action == "set" || x.Action == "add":
			d.Replaced[x.ID] = x.Reason
		case x.Action == "remove" && x.Marked:
			d.Omitted[x.ID] = x.Reason
		case slices.Contains([]string{"heater-out", "start-out", "its-compressor-gone", "idle-out"}, x.Rule):
			d.Dropped[x.ID] = x.Reason
		}
	}
	return d
}

// ids are the checks that do not hold.
func ids(why string) string {
	seen := map[string]bool{}
	for _, m := range checkID.FindAllStringSubmatch(why, -1) {
		seen[m[1]] = true
	}
	return strings.Join(sortedKeys(seen), " ")
}

var checkID = regexp.MustCompile(`(?:^|[:;] )([a-z0-9-]+) \(`)

// planned plans a unit with every question answered: each switch stays.
func planned(u *netlist.Unit, target planner.Target) (*planner.Result, error) {
	answers := personAnswers(u)
	r, err := planner.Plan(u, target, answers)
	if err != nil || r.New == nil {
		return r, err
	}
	for _, k := range r.Open {
		if strings.HasPrefix(k, "omit:") {
			answers[k] = "keep"
		}
	}
	return planner.Plan(u, target, answers)
}

// personAnswers gives what nobody but a person can: the instructions allow the start parts
// that are there, and a crankcase heater.
func personAnswers(u *netlist.Unit) map[string]string {
	answers, heaters, tandem := map[string]string{}, 0, 0
	for _, d := range u.Devices {
		switch d.Kind {
		case "start-relay", "start-ptc":
			answers["hard-start"] = "keep"
		case "compressor-single":
			tandem++
		case "heater-crankcase":
			heaters++
		}
	}
	if tandem > 1 {
		answers["circuits"] = "one"
	}
	if heaters > 1 {
		answers["crankcase-heater"] = "keep"
	}
	return answers
}
