package plan

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"retrostage/reports/memo"
	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// Mute names, of the check-out readings of j, those that tell nothing apart: as read each
// fits the circuit as planned and every single fault too. Which readings find, and which
// only narrow down, is known by the list that the record keeps.
func Mute(ctx context.Context, j *record.Job, p *Plan) ([]record.Key, error) {
	if p == nil || p.Result == nil || p.New == nil {
		return nil, nil
	}
	ms, _, err := Meter(ctx, j, p)
	if err != nil {
		return nil, err
	}
	asked := map[string]bool{}
	for _, l := range strings.Split(j.Text(record.CheckoutList), "\n")[1:] {
		_, key, _ := strings.Cut(l, " ")
		asked[key] = true
	}
	list, keys, values, by := &planner.Checkout{}, map[int]record.Key{}, map[int]float64{}, mark(j)
	for _, m := range ms {
		if m.Elsewhere {
			continue
		}
		t := m.Test
		t.N, t.Role = len(list.Tests)+1, "narrow"
		if asked[m.Key.String()] {
			t.Role = "find"
		}
		list.Tests = append(list.Tests, t)
		keys[t.N], values[t.N] = m.Key, m.Value
		by += fmt.Sprintf("\n%s %s %g", m.Key, t.Role, m.Value)
	}
	if len(list.Tests) == 0 {
		return nil, nil
	}
	if mark(j) == "" {
		by = "" // nothing to know it by
	}
	return mutes.Of(by, func() ([]record.Key, error) {
		ns, err := planner.Mute(ctx, &planner.Result{New: p.New, Checkout: list}, values)
		if err != nil {
			return nil, err
		}
		slices.Sort(ns)
		var out []record.Key
		for _, n := range ns {
			out = append(out, keys[n])
		}
		return out, nil
	})
}

var mutes memo.Last[[]record.Key]
