package planner

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"retrostage/wiring/netlist"
)

// WriteText prints a plan as a person reads it: what was asked, what is done, the
// proof, the faults that matter and the check-out list.
func WriteText(w io.Writer, r *Result) error {
	b := bufio.NewWriter(w)
	p := func(format string, a ...any) { fmt.Fprintf(b, format+"\n", a...) }
	p("Wiring plan for %s", r.Unit)
	if r.Refused != "" {
		p("\nREFUSED: %s", r.Refused)
		return b.Flush()
	}
	for _, o := range r.Omitted {
		p("\nLEFT OUT: %s (%s)\n  stated reason: %s\n  ! %s", o.Label, o.Device, o.Reason, o.Caution)
	}
	p("\nDecisions")
	for _, d := range r.Decisions {
		how := "answered"
		if !d.Answered {
			how = "NOT ANSWERED, default"
		}
		p("  %-18s %s (%s)\n  %18s %s", d.Key, d.Chosen, how, "", d.Question)
	}
	p("\nControls of the old unit")
	for _, d := range r.Devices {
		p("  %-8s %-6s %s: %s", d.Action, d.ID, d.Label, d.Reason)
	}
	p("\nWork list (%s)", tally(r))
	last := ""
	for _, s := range r.Steps {
		p("  %2d  %s", s.N, s.Words)
		if s.Reason != "" && (s.Action != "remove" || s.Colour == "") {
			p("      because: %s [%s]", s.Reason, s.Source)
		}
		if s.Caution != "" && s.Caution != last {
			p("      ! %s", s.Caution)
		}
		last = s.Caution
	}
	if r.Proof != nil {
		word := "every check holds"
		if !r.Proof.Holds {
			word = "A CHECK FAILS"
		}
		p("\nProof: %s, over %d states", word, r.Proof.States)
		for _, k := range r.Proof.Checks {
			p("  %-5s %s", map[bool]string{true: "holds", false: "FAILS"}[k.Holds], k.Words)
			if !k.Holds {
				p("        in state: %s\n        %s\n        path: %s", k.State, k.Detail, strings.Join(k.Path, " < "))
			}
		}
		p("  %s", r.Proof.Note)
	}
	if len(r.Faults) > 0 {
		harmless, danger := 0, 0
		for _, f := range r.Faults {
			if f.Harmless {
				harmless++
			}
			if f.Dangerous {
				danger++
			}
		}
		p("\nSingle faults: %d tried, %d change nothing, %d dangerous", len(r.Faults), harmless, danger)
		for _, f := range r.Faults {
			if f.Dangerous {
				p("  ! %s\n      %s (%s)", f.Words, f.Effect, f.State)
			}
		}
	}
	if c := r.Checkout; c != nil {
		p("\nCheck-out: %d readings find every fault they can, %d more narrow it down", c.Find, len(c.Tests)-c.Find)
		last = ""
		for _, t := range c.Tests {
			if head := t.Meter + t.State; head != last {
				if t.Meter == "ohms" {
					p("  Dead, locked out, thermostat calling nothing")
				} else {
					p("  Live, %s", t.State)
				}
				p("      ! %s", t.Caution)
				last = head
			}
			tol := fmt.Sprintf(" (+-%.3g)", t.Tolerance)
			if t.Open {
				tol = ""
			}
			p("  %2d  %-6s %s%s", t.N, t.Role, t.Words, tol)
		}
		p("  Of %d harmful single faults %d show in the list; %.3g suspects are left in the middle case.", c.Harmful, c.Detected, c.Median)
		for _, m := range c.Missed {
			p("  NOT SHOWN by any reading: %s", m)
		}
		p("  Tolerances: %s", c.Source)
	}
	if r.After != nil {
		p("\nWhat runs (safeties closed, delays run)")
		writeTable(p, "before", r.Before)
		writeTable(p, "after", r.After)
	}
	return b.Flush()
}

func tally(r *Result) string {
	n := map[string]int{}
	for _, c := range r.Conductors {
		n[c.Action]++
	}
	var s []string
	for _, a := range []string{"keep", "move", "reuse", "cap", "remove", "new"} {
		s = append(s, fmt.Sprintf("%s %d", a, n[a]))
	}
	return "conductors: " + strings.Join(s, ", ")
}

// writeTable prints the rows in which nothing but calls differs from rest.
func writeTable(p func(string, ...any), name string, t *netlist.Table) {
	var mask, rest netlist.State
	for i, in := range t.Inputs {
		if in.Kind == "call" {
			mask |= 1 << i
		}
		if in.Default {
			rest |= 1 << i
		}
	}
	for _, row := range t.Rows {
		if row.State&^mask != rest&^mask {
			continue
		}
		var calls, does []string
		for i, in := range t.Inputs {
			if in.Kind == "call" && row.State>>i&1 == 1 {
				calls = append(calls, in.Name)
			}
		}
		for i, d := range row.Does {
			if d != "" {
				does = append(does, t.Loads[i]+" "+d)
			}
		}
		if calls == nil {
			calls = []string{"no call"}
		}
		if does == nil {
			does = []string{"nothing"}
		}
		p("  %-7s %-22s %s", name, strings.Join(calls, " "), strings.Join(does, "; "))
	}
}
