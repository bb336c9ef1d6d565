package plan

import (
	"context"
	"slices"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/wiring/planner"
)

// The readings that tell nothing apart are on paper those of the window, which has the list
// at hand; one that no single fault changes is among them.
func TestMuteOnPaperAsInTheWindow(t *testing.T) {
	ctx := context.Background()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	full, err := Proved(ctx, j, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 8, 14, 15, 0, 0, 0, time.UTC)
	set := func(k record.Key, v string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: k, Value: v, Time: at, By: "T-1"}); err != nil {
			t.Fatal(err)
		}
	}
	set(record.CheckoutList, Asks(j, full.Checkout))
	values, want := map[int]float64{}, []record.Key(nil)
	for _, k := range Readings(j, full.Checkout) {
		values[k.N] = k.Value
	}
	ns, err := planner.Mute(ctx, full.Result, values)
	if err != nil || len(values) == 0 {
		t.Fatal(len(values), err)
	}
	for _, c := range full.Checkout.Tests {
		if slices.Contains(ns, c.N) {
			want = append(want, TestKey(c))
		}
	}
	mute := func() []record.Key {
		t.Helper()
		p, err := For(j)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Mute(ctx, j, p)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	if got := mute(); !slices.Equal(got, want) {
		t.Errorf("on paper %v, in the window %v", got, want)
	}
	// From the line to the safeties there is no way, whatever single conductor is open.
	apart := record.MeterKey("ohms", "SUP.L1", "HP.1", "no call")
	set(apart, record.OpenLine)
	if got := mute(); !slices.Equal(got, append(want, apart)) {
		t.Errorf("with one that nothing changes: %v", got)
	}
}
