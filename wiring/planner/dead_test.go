package planner

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/wiring/netlist"
)

// Whatever shorts a source among the single faults is shown by a dead reading, or named
// before power as what none tells; what takes something out from behind a fuse is so
// shown, shown with the fuse out, or named. A landing on another part likewise, by its
// conductor. Readings are asked of the solver anew, not taken from the list's making.
func TestDeadBeforePower(t *testing.T) {
	bk, err := book()
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	each(func(name, indoor string) {
		if tried++; !soak.On() && tried%3 != 1 { // the usual run takes every third unit
			return
		}
		r := converted(t, name, indoor)
		c, err := netlist.Compile(r.New)
		if err != nil {
			t.Fatal(err)
		}
		gate := strings.Join(r.Checkout.Gate, "\n")
		ps, err := pulls(c)
		if err != nil {
			t.Fatal(err)
		}
		can, err := candidates(c)
		if err != nil {
			t.Fatal(err)
		}
		looks, err := can.looks(ps)
		if err != nil {
			t.Fatal(err)
		}
		if len(ps) == 0 || len(looks) == 0 {
			t.Errorf("%s: %d fuses with something behind, %d readings with one out", name, len(ps), len(looks))
		}
		dead := func(f netlist.Fault) bool {
			s, err := c.Solver(f)
			if err != nil {
				t.Fatal(err)
			}
			return slices.ContainsFunc(r.Checkout.Tests, func(q Test) bool {
				if q.List != Dead {
					return false
				}
				ohms, err := s.Ohms(q.state, q.A, q.B)
				if err != nil {
					t.Fatal(err)
				}
				if q.Open {
					ohms = min(ohms, q.Expect)
				}
				return math.Abs(ohms-q.Expect) > q.Tolerance
			})
		}
		out := func(f netlist.Fault) bool {
			return slices.ContainsFunc(looks, func(l fuseLook) bool {
				s, err := l.c.Solver(f)
				if err != nil {
					t.Fatal(err)
				}
				ohms, err := s.Ohms(l.c.Rest(), l.a, l.b)
				return err == nil && ohms < l.least/2 && strings.Contains(gate, Spot(r.New, l.b))
			})
		}
		shorts, told, past, pulled := 0, 0, 0, 0
		for _, f := range r.Faults {
			short := strings.Contains(f.Effect, "short circuit of")
			fuse, err := pastFuse(ps, f.Fault)
			if err != nil {
				t.Fatal(err)
			}
			if !short && fuse == "" {
				continue
			}
			if short {
				shorts++
			} else {
				past++
			}
			switch {
			case dead(f.Fault):
			case out(f.Fault):
				pulled++
			case strings.Contains(gate, f.Words):
				told++
			default:
				t.Errorf("%s: %s (%s): no dead reading shows it, and nothing before power names it", name, f.Words, f.Effect)
			}
		}
		if shorts == 0 || past == 0 {
			t.Errorf("%s: %d shorts, %d past a fuse", name, shorts, past)
		}
		t.Logf("%s to %s: %d shorts and %d past a fuse: %d with the fuse out, %d named", name, indoor, shorts, past, pulled, told)
		strays, err := bk.astray(context.Background(), c, ps)
		if err != nil {
			t.Fatal(err)
		}
		far := 0
		for _, f := range strays {
			if fuse, err := pastFuse(ps, f); err != nil {
				t.Fatal(err)
			} else if fuse != "" {
				far++
			}
			if !dead(f) && !out(f) && !strings.Contains(gate, f.Part+" (") {
				t.Errorf("%s: %s: no dead reading shows it, and nothing before power names it", name, f.Words)
			}
		}
		if far == 0 {
			t.Errorf("%s: no landing on another part lies past a fuse", name)
		}
		t.Logf("%s: of %d landings on another part %d past a fuse", name, len(strays), far)
	})
}
