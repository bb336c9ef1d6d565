package planner

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/proof"
)

// page writes the parts of a plan, each under a heading that bears the mark.
type page struct {
	b *bufio.Writer
	r *Result
}

func (p *page) line(format string, a ...any) { fmt.Fprintf(p.b, format+"\n", a...) }

func (p *page) head(format string, a ...any) {
	h := fmt.Sprintf(format, a...)
	if p.r.Mark != "" {
		h += "   [" + p.r.Mark + "]"
	}
	p.line("\n%s", h)
}

// WriteText prints a plan as a person reads it: first the verdict; then what was
// asked, what is done, what the old board did, the proof, the faults that matter
// and the check-out lists.
func WriteText(w io.Writer, r *Result) error {
	p := &page{bufio.NewWriter(w), r}
	p.line("Wiring plan for %s", r.Unit)
	for _, l := range r.Banner() {
		p.line("%s", l)
	}
	if r.Refused != "" {
		return p.b.Flush()
	}
	if r.Proof != nil && !r.Proved() {
		p.checks(r.Proof.Failed())
	}
	for _, o := range r.Omitted {
		p.head("LEFT OUT: %s", o.Label)
		p.line("  stated reason: %s\n  ! %s", o.Reason, o.Caution)
	}
	p.decisions()
	p.head("What becomes of each part of the old unit")
	for _, d := range r.Devices {
		p.line("  %-8s %s: %s", d.Action, d.Label, d.Reason)
	}
	p.workList()
	p.lost()
	p.proof()
	p.faults()
	p.checkout()
	if r.After != nil {
		p.head("What runs (every switch closed, delays run)")
		writeTable(p.line, "before", r.old, r.Before)
		writeTable(p.line, "after", r.New, r.After)
	}
	return p.b.Flush()
}

func (p *page) decisions() {
	p.head("Decisions")
	for _, d := range p.r.Decisions {
		how := "answered"
		if !d.Answered {
			how = "NOT ANSWERED, default"
		}
		p.line("  %-18s %s (%s)\n  %18s %s", d.Key, d.Chosen, how, "", d.Question)
	}
}

func (p *page) workList() {
	if len(p.r.Steps) == 0 {
		return
	}
	p.head("Work list (%s)", tally(p.r))
	last := ""
	for _, s := range p.r.Steps {
		p.line("  %2d  %s", s.N, s.Words)
		if s.Reason != "" && (s.Action != "remove" || s.Colour == "") {
			p.line("      because: %s [%s]", s.Reason, s.Source)
		}
		if s.Caution != "" && s.Caution != last {
			p.line("      ! %s", s.Caution)
		}
		last = s.Caution
	}
}

func (p *page) lost() {
	if len(p.r.Lost) == 0 {
		return
	}
	p.head("What the old board did that nothing does now, unless it is said")
	for _, l := range p.r.Lost {
		now := "NOTHING NOW"
		if l.Now != "" {
			now = "now: " + l.Now
		}
		p.line("  %s: %s\n      usual for it: %s [%s]", l.What, now, l.Part, l.Source)
	}
}

func (p *page) checks(ks []proof.Check) {
	for _, k := range ks {
		p.line("  %-11s %s", k.Verdict, k.Words)
		if k.Verdict == proof.Holds {
			continue
		}
		if k.State != "" {
			p.line("        in state: %s", k.State)
		}
		if k.Detail != "" {
			p.line("        %s", inWords(p.r.New, k.Detail))
		}
		if len(k.Path) > 0 {
			p.line("        path: %s", strings.Join(k.Path, " < "))
		}
	}
}

func (p *page) proof() {
	pr := p.r.Proof
	if pr == nil {
		return
	}
	p.head("Proof: %s, over %d states", pr.Verdict, pr.States)
	p.checks(pr.Checks)
	p.line("  %s", pr.Suffices)
	for _, l := range pr.Live {
		var at []string
		for _, e := range l.Terminals {
			at = append(at, Spot(p.r.New, e))
		}
		p.line("  STAYS LIVE with %s open, from %s, %.0f V: %s", l.Open, l.From, l.Volts, strings.Join(at, "; "))
	}
	for _, n := range pr.Notes {
		p.line("  %s", n)
	}
	p.line("  %s", pr.Note)
}

func (p *page) faults() {
	if len(p.r.Faults) == 0 {
		return
	}
	harmless, danger := 0, 0
	for _, f := range p.r.Faults {
		if f.Harmless {
			harmless++
		}
		if f.Dangerous {
			danger++
		}
	}
	p.head("Single faults: %d tried, %d change nothing, %d dangerous", len(p.r.Faults), harmless, danger)
	for _, f := range p.r.Faults {
		if f.Dangerous {
			p.line("  ! %s\n      %s (%s)", f.Words, f.Effect, f.State)
		}
	}
}

func (p *page) checkout() {
	c := p.r.Checkout
	if c == nil {
		return
	}
	p.head("Check-out: %d readings find every fault they can, %d more narrow it down", c.Find, len(c.Tests)-c.Find)
	last, list := "", ""
	for _, t := range c.Tests {
		if t.List != list {
			list = t.List
			if list == Dead {
				p.line("  DEAD LIST, ends the Wiring step")
			} else {
				p.gate()
			}
		}
		if head := t.List + t.State; head != last {
			last = head
			if t.List == Dead {
				p.line("  Locked out, %s", dead(t.State))
			} else {
				p.line("  Live, %s", t.State)
			}
			p.line("      ! %s", t.Caution)
		}
		tol := ""
		if !t.Open && t.Shows != "continuity" {
			tol = " (+-" + amount(t.Meter, t.Tolerance) + ")"
		}
		p.line("  %2d  %-6s %s%s", t.N, t.Role, t.Words, tol)
	}
	p.line("  Of %d harmful single faults %d show in the list; %.3g suspects are left in the middle case.", c.Harmful, c.Detected, c.Median)
	p.line("  Of %d conductor ends that would by-pass a switch or a fuse, run the compressor without a call, short a source or carry current to ground on a terminal of another part %d show on the dead circuit; the rest are read with the fuse out, or looked at, before power. Other landings on another part were not tried.", c.Astray, c.Shown)
	for _, m := range c.Missed {
		p.line("  NOT SHOWN by any reading: %s", m)
	}
	p.line("  Tolerances: %s", c.Source)
}

func (p *page) gate() {
	p.line("  LIVE LIST, part of the Running check after Charge. Before power:")
	for _, g := range p.r.Checkout.Gate {
		p.line("    [ ] %s", g)
	}
	p.line("      ! %s", p.r.Checkout.GateNote)
}

// dead words a state on a locked-out unit.
func dead(state string) string {
	if state == "no call" {
		return "every switch in place"
	}
	return state + " (taken off its conductors)"
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
func writeTable(p func(string, ...any), name string, u *netlist.Unit, t *netlist.Table) {
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
				name := t.Loads[i]
				if u != nil && u.Device(name) != nil {
					name = nameIn(u, u.Device(name))
				}
				does = append(does, name+" "+d)
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
