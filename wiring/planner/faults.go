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
}

// TryFaults solves every single fault in every state, on all processors. Progress
// is called after each fault, from one goroutine at a time.
func TryFaults(ctx context.Context, c *netlist.Circuit, progress func(done, total int)) ([]FaultResult, error) {
	bk, err := book()
	if err != nil {
		return nil, err
	}
	sound, err := c.MakeTable(ctx)
	if err != nil {
		return nil, err
	}
	rest := c.Rest() // plain states first: the state named is the plainest that shows the fault
	slices.SortStableFunc(sound.Rows, func(a, b netlist.Row) int {
		return bits.OnesCount32(uint32(a.State^rest)) - bits.OnesCount32(uint32(b.State^rest))
	})
	faults := c.Faults()
	out := make([]FaultResult, len(faults))
	err = parallel(ctx, len(faults), func(i int) (err error) {
		if out[i], err = bk.tryOne(c, faults[i], sound); err != nil {
			err = fmt.Errorf("fault %s: %w", faults[i].ID, err)
		}
		return err
	}, progress)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return out, err
}

// tryOne solves one fault in every state and says the worst it does.
func (bk *rulebook) tryOne(c *netlist.Circuit, f netlist.Fault, sound *netlist.Table) (FaultResult, error) {
	r := FaultResult{Fault: f}
	s, err := c.Solver(f)
	if err != nil {
		return r, err
	}
	fc := s.Circuit()
	rank := 0
	worst := func(level int, st netlist.State, format string, a ...any) {
		if level > rank {
			rank, r.State, r.Effect = level, c.Words(st), fmt.Sprintf(format, a...)
		}
	}
	for _, row := range sound.Rows {
		sol, err := s.Solve(row.State)
		if err != nil {
			return r, err
		}
		now := sol.Statuses()
		for i, kind := range fc.LoadKind {
			was := row.Does[i]
			if kind == "compressor" && runs(now[i]) {
				if w := openSafety(c, row.State); w != "" {
					worst(9, row.State, "the compressor runs with %s", w)
				} else if !shouldRun(c, row.State) {
					worst(6, row.State, "the compressor runs without being called")
				}
			}
			if now[i] != was {
				level := 3
				if kind == "compressor" {
					level = 4
				}
				worst(level, row.State, "%s: %s instead of %s", c.Loads[i], does(now[i]), does(was))
			}
		}
		for i := range fc.Sources {
			src := &fc.Sources[i]
			if src.Rating < 1 { // a data driver cannot do harm
				continue
			}
			v, a, va := sol.Feed(i)
			switch {
			case v < bk.Limits.ShortFraction*abs(src.Open) && a > 2*src.Rating:
				worst(8, row.State, "short circuit of %s (%s), %.0f A prospective", src.Device, src.Name, a)
			case src.VA > 0 && va > 1.25*src.VA:
				worst(5, row.State, "%s overloaded: %.0f VA of %.0f VA", src.Device, va, src.VA)
			}
		}
		if l, k, bonded := sol.Bonded(); bonded {
			worst(8, row.State, "24 V conductor %s is joined to line conductor %s", k, l)
		}
		if sol.Chatter != nil {
			worst(5, row.State, "chatters: %s", strings.Join(sol.Chatter, "; "))
		}
		if sol.Chatter == nil {
			for i := range fc.Coils {
				if in, v := sol.Drawn(i); in && v > 1.3*fc.Coils[i].Rated {
					worst(5, row.State, "coil of %s at %.0f V", fc.Coils[i].Device, v)
				}
			}
		}
		for i := range fc.Branches {
			if br := &fc.Branches[i]; br.Kind == netlist.ContactBranch && br.Rating > 0 {
				if a := cmag(sol.Current(i)); a > 2*br.Rating {
					worst(5, row.State, "%s of %s carries %.1f A, rated %.1f A", br.Name, br.Device, a, br.Rating)
				}
			}
		}
	}
	// The same states once more, reached while the unit runs: what seals itself in
	// or keeps a rotor turning does not show from rest.
	if _, err := s.Solve(c.With(c.Rest(), "cool-1", true)); err != nil {
		return r, err
	}
	running := s.Position()
	for _, row := range sound.Rows {
		if shouldRun(c, row.State) {
			continue
		}
		sol, err := s.From(running, row.State)
		if err != nil {
			return r, err
		}
		for i, kind := range fc.LoadKind {
			if kind != "compressor" || !runs(sol.Status(fc.Loads[i])) {
				continue
			}
			if w := openSafety(c, row.State); w != "" {
				worst(9, row.State, "the compressor, once running, runs on with %s", w)
			} else {
				worst(6, row.State, "the compressor, once running, runs on without being called")
			}
		}
	}
	r.Dangerous = rank >= 8
	r.Harmless = rank == 0
	if r.Harmless {
		r.Effect = "no load does anything else in any state"
	}
	return r, nil
}

func openSafety(c *netlist.Circuit, st netlist.State) string {
	var w []string
	for i, in := range c.Inputs {
		if in.Kind == "safety" && st>>i&1 == 0 {
			w = append(w, strings.TrimSuffix(in.Words, " closed")+" open")
		}
	}
	return strings.Join(w, " and ")
}
