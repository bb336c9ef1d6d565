package planner

import (
	"context"
	"fmt"
	"math/bits"
	"slices"
	"strings"

	"retrostage/wiring/netlist"
)

// A FaultResult is one single fault and what it does over all states.
type FaultResult struct {
	netlist.Fault
	Effect    string `json:"effect"`              // in words
	Harmless  bool   `json:"harmless,omitempty"`  // no load does anything else in any state, and no limit is passed
	Dangerous bool   `json:"dangerous,omitempty"` // the compressor runs, or runs on, with a safety open, a source is shorted, or 24 V meets line
	State     string `json:"state,omitempty"`     // the first state that shows it
	unfused   bool   // it takes something out from behind a fuse
}

// allStates is how many inputs are tried in every combination; of more, every
// combination of calls with at most two other inputs away from rest is.
const allStates = 7

// trialStates lists the states in which faults are tried, plain ones first, and
// what is left out, in words.
func trialStates(c *netlist.Circuit) (out []netlist.State, untried string) {
	rest := c.Rest()
	var calls netlist.State
	for i, in := range c.Inputs {
		if in.Kind == "call" {
			calls |= 1 << i
		}
	}
	few := len(c.Inputs) > allStates
	for st := range netlist.State(c.States()) {
		if !few || bits.OnesCount32(uint32((st^rest)&^calls)) <= 2 {
			out = append(out, st)
		}
	}
	slices.SortStableFunc(out, func(a, b netlist.State) int {
		return bits.OnesCount32(uint32(a^rest)) - bits.OnesCount32(uint32(b^rest))
	})
	if few {
		untried = fmt.Sprintf("single faults with more than two of the switches and delays away from rest at once: tried in %d of %d states", len(out), c.States())
	}
	return out, untried
}

// A trial is the sound circuit, against which faults are held.
type trial struct {
	c     *netlist.Circuit
	rows  []netlist.Row
	runs  []bool          // the compressor, in each row
	stops map[string]bool // inputs that alone stop the compressor on a call
	pulls []pull          // each fuse out
}

func newTrial(ctx context.Context, c *netlist.Circuit) (*trial, string, error) {
	t := &trial{c: c, stops: map[string]bool{}}
	s := c.NewSolver()
	states, untried := trialStates(c)
	does := func(st netlist.State) (netlist.Row, bool, error) {
		sol, err := s.Solve(st)
		if err != nil {
			return netlist.Row{}, false, err
		}
		row := netlist.Row{State: st, Does: sol.Statuses(), Chatter: sol.Chatter}
		for i, kind := range c.LoadKind {
			if kind == "compressor" && runs(row.Does[i]) {
				return row, true, nil
			}
		}
		return row, false, nil
	}
	call := c.With(c.Rest(), "cool-1", true)
	for i, in := range c.Inputs {
		if in.Kind == "call" || in.Kind == "delay" {
			continue
		}
		_, on, err := does(call ^ 1<<i)
		if err != nil {
			return nil, "", err
		}
		t.stops[in.Name] = !on
	}
	var err error
	if t.pulls, err = pulls(c); err != nil {
		return nil, "", err
	}
	for _, st := range states {
		if err := ctx.Err(); err != nil {
			return nil, "", err
		}
		row, on, err := does(st)
		if err != nil {
			return nil, "", err
		}
		t.rows, t.runs = append(t.rows, row), append(t.runs, on)
	}
	return t, untried, nil
}

// open says which of what stops the compressor is open in a state; "" if nothing.
func (t *trial) open(st netlist.State) string {
	var w []string
	for i, in := range t.c.Inputs {
		if t.stops[in.Name] && (st>>i&1 == 1) != in.Default {
			w = append(w, strings.TrimSuffix(in.Words, " closed")+" open")
		}
	}
	return strings.Join(w, " and ")
}

// TryFaults solves every single fault, on all processors, in every state or, of a
// circuit of many inputs, in those that it says. Progress is called after each
// fault, from one goroutine at a time.
func TryFaults(ctx context.Context, c *netlist.Circuit, progress func(done, total int)) (out []FaultResult, untried string, err error) {
	bk, err := book()
	if err != nil {
		return nil, "", err
	}
	sound, untried, err := newTrial(ctx, c)
	if err != nil {
		return nil, "", err
	}
	faults := c.Faults()
	out = make([]FaultResult, len(faults))
	err = parallel(ctx, len(faults), func(i int) (err error) {
		if out[i], err = bk.tryOne(sound, faults[i]); err != nil {
			err = fmt.Errorf("fault %s: %w", faults[i].ID, err)
		}
		return err
	}, progress)
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	return out, untried, err
}

// worst keeps the worst that a fault does, as it is found.
type worst struct {
	r    *FaultResult
	rank int
	t    *trial
}

func (w *worst) see(level int, st netlist.State, format string, a ...any) {
	if level > w.rank {
		w.rank, w.r.State, w.r.Effect = level, w.t.c.Words(st), fmt.Sprintf(format, a...)
	}
}

// named is a device whose name is made up where it is said: most of what is seen is not
// the worst, and to tell a label apart from all others takes its time.
type named struct {
	u  *netlist.Unit
	id string
}

func (n named) String() string { return nameIn(n.u, n.u.Device(n.id)) }

// tryOne solves one fault in every state of the trial and says the worst it does.
func (bk *rulebook) tryOne(t *trial, f netlist.Fault) (FaultResult, error) {
	r := FaultResult{Fault: f}
	r.Words = inWords(t.c.Unit, f.Words)
	s, err := t.c.Solver(f)
	if err != nil {
		return r, err
	}
	w := &worst{r: &r, t: t}
	for n, row := range t.rows {
		sol, err := s.Solve(row.State)
		if err != nil {
			return r, err
		}
		w.loads(sol, s.Circuit(), n)
		bk.harm(w, sol, s.Circuit())
	}
	if err := w.runsOn(s); err != nil {
		return r, err
	}
	fuse, err := pastFuse(t.pulls, f)
	if err != nil {
		return r, err
	}
	if r.unfused = fuse != ""; r.unfused {
		w.see(7, t.c.With(t.c.Rest(), "cool-1", true), "with the %s out something works all the same: it is not behind the fuse any more", named{t.c.Unit, fuse})
	}
	r.Dangerous, r.Harmless = w.rank >= 8, w.rank == 0
	if r.Harmless {
		r.Effect = "no load does anything else in any state tried"
	}
	return r, nil
}

// loads holds what the loads do against the sound circuit.
func (w *worst) loads(sol *netlist.Solution, fc *netlist.Circuit, n int) {
	row, now := w.t.rows[n], sol.Statuses()
	for i, kind := range fc.LoadKind {
		was := row.Does[i]
		if kind == "compressor" && runs(now[i]) && !w.t.runs[n] {
			if open := w.t.open(row.State); open != "" {
				w.see(9, row.State, "the compressor runs with %s", open)
			} else {
				w.see(6, row.State, "the compressor runs without being called")
			}
		}
		if now[i] != was {
			level := 3
			if kind == "compressor" {
				level = 4
			}
			w.see(level, row.State, "%s: %s instead of %s", named{fc.Unit, fc.Loads[i]}, does(now[i]), does(was))
		}
	}
}

// harm looks at sources, coils and contacts.
func (bk *rulebook) harm(w *worst, sol *netlist.Solution, fc *netlist.Circuit) {
	st := sol.State
	name := func(id string) named { return named{fc.Unit, id} }
	for i := range fc.Sources {
		src := &fc.Sources[i]
		if src.Rating < 1 { // a data driver cannot do harm
			continue
		}
		v, a, va := sol.Feed(i)
		switch {
		case v < bk.Limits.ShortFraction*abs(src.Open) && a > 2*src.Rating:
			w.see(8, st, "short circuit of %s (%s), %.0f A prospective", name(src.Device), src.Name, a)
		case src.VA > 0 && va > 1.25*src.VA:
			w.see(5, st, "%s overloaded: %.0f VA of %.0f VA", name(src.Device), va, src.VA)
		}
	}
	if w.rank < 8 {
		if l, k, bonded := sol.Bonded(); bonded {
			w.see(8, st, "24 V conductor %s is joined to line conductor %s", k, l)
		}
	}
	if w.rank >= 5 { // what follows would not be the worst
		return
	}
	if sol.Chatter != nil {
		w.see(5, st, "chatters: %s", strings.Join(sol.Chatter, "; "))
	} else {
		for i := range fc.Coils {
			if in, v := sol.Drawn(i); in && v > 1.3*fc.Coils[i].Rated {
				w.see(5, st, "coil of %s at %.0f V", name(fc.Coils[i].Device), v)
			}
		}
	}
	for i := range fc.Branches {
		if br := &fc.Branches[i]; br.Kind == netlist.ContactBranch && br.Rating > 0 {
			if a := cmag(sol.Current(i)); a > 2*br.Rating {
				w.see(5, st, "%s of %s carries %.1f A, rated %.1f A", br.Name, name(br.Device), a, br.Rating)
			}
		}
	}
}

// runsOn tries the states once more, reached while the unit runs: what seals
// itself in or keeps a rotor turning does not show from rest.
func (w *worst) runsOn(s *netlist.Solver) error {
	c, fc := w.t.c, s.Circuit()
	if _, err := s.Solve(c.With(c.Rest(), "cool-1", true)); err != nil {
		return err
	}
	running := s.Position()
	for n, row := range w.t.rows {
		if w.t.runs[n] {
			continue
		}
		sol, err := s.From(running, row.State)
		if err != nil {
			return err
		}
		for i, kind := range fc.LoadKind {
			if kind != "compressor" || !runs(sol.Status(fc.Loads[i])) {
				continue
			}
			if open := w.t.open(row.State); open != "" {
				w.see(9, row.State, "the compressor, once running, runs on with %s", open)
			} else {
				w.see(6, row.State, "the compressor, once running, runs on without being called")
			}
		}
	}
	return nil
}
