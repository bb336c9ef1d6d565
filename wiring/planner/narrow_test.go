package planner

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// readingsOf takes the tests of ns on a unit that has hypothesis h.
func readingsOf(r *Result, h int, ns []int) map[int]float64 {
	m := map[int]float64{}
	for _, n := range ns {
		m[n] = r.Checkout.val[h][n-1]
	}
	return m
}

// Whatever was read, Next never offers a reading already taken, expects no more
// suspects than there are, offers nothing live while a dead reading tells suspects
// apart, and what it expects is what Narrow leaves on the average.
func TestNextNarrows(t *testing.T) {
	ctx := context.Background()
	rapid.Check(t, func(q *rapid.T) {
		name := rapid.SampledFrom([]string{"two-contactor-conventional", "two-capacity-digital"}).Draw(q, "unit")
		r := converted(t, name, rapid.SampledFrom([]string{"conventional", "digital"}).Draw(q, "indoor"))
		h := rapid.IntRange(0, len(r.Faults)).Draw(q, "fault")
		ns := rapid.SliceOfNDistinct(rapid.IntRange(1, len(r.Checkout.Tests)), 0, 12, rapid.ID).Draw(q, "taken")
		got := readingsOf(r, h, ns)
		for n := range got { // readings of a real meter
			got[n] *= rapid.Float64Range(0.9, 1.1).Draw(q, "off")
		}
		if rapid.IntRange(0, 9).Draw(q, "mistake") == 0 && len(ns) > 0 {
			got[ns[0]] = rapid.Float64Range(0, 300).Draw(q, "misread")
		}
		c, err := Next(ctx, r, got)
		if err != nil {
			q.Fatal(err)
		}
		sus, err := Narrow(ctx, r, got)
		if err != nil {
			q.Fatal(err)
		}
		if c.Suspects != len(sus) || c.Words == "" || c.Expected > float64(len(sus)) {
			q.Fatalf("%+v with %d suspects", c, len(sus))
		}
		if c.Test == 0 {
			return
		}
		if _, taken := got[c.Test]; taken {
			q.Fatalf("reading %d is offered again", c.Test)
		}
		// Take it on each suspect in turn.
		left := func(n int) (sum float64) {
			for _, s := range sus {
				g := 0
				for ; r.Checkout.hyps[g].ID != s.Fault; g++ {
				}
				again := readingsOf(r, g, []int{n})
				for k, v := range got {
					again[k] = v
				}
				after, err := Narrow(ctx, r, again)
				if err != nil {
					q.Fatal(err)
				}
				sum += float64(len(after))
			}
			return sum / float64(len(sus))
		}
		if x := left(c.Test); math.Abs(x-c.Expected) > 1e-9 || c.Expected >= float64(len(sus)) {
			q.Fatalf("expects %v of %d suspects, Narrow leaves %v", c.Expected, len(sus), x)
		}
		if r.Checkout.Tests[c.Test-1].Meter == "ohms" {
			return
		}
		for _, k := range r.Checkout.Tests { // live: then no dead reading would have helped
			if _, taken := got[k.N]; k.Meter == "ohms" && !taken && left(k.N) < float64(len(sus)) {
				q.Fatalf("live reading %d is offered before dead reading %d", c.Test, k.N)
			}
		}
	})
}

// Following Next on a unit with one fault ends with that fault among those left,
// and takes fewer readings than going down the list.
func TestNextArrives(t *testing.T) {
	ctx := context.Background()
	r := converted(t, "two-contactor-digital", "digital")
	var byNext, byList, left []int
	for h := range r.Checkout.hyps {
		if h%3 != 0 || h > 0 && r.Faults[h-1].Harmless {
			continue
		}
		got := map[int]float64{}
		for {
			c, err := Next(ctx, r, got)
			if err != nil {
				t.Fatal(err)
			}
			if c.Test == 0 {
				byNext, left = append(byNext, len(got)), append(left, c.Suspects)
				break
			}
			got[c.Test] = r.Checkout.val[h][c.Test-1]
		}
		sus, err := Narrow(ctx, r, got)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(sus, func(s Suspect) bool { return s.Fault == r.Checkout.hyps[h].ID }) {
			t.Fatalf("%q is not among %v", r.Checkout.hyps[h].ID, sus)
		}
		// Down the list until no more suspects are left than that.
		got = map[int]float64{}
		for n := 1; n <= len(r.Checkout.Tests); n++ {
			got[n] = r.Checkout.val[h][n-1]
			if s, err := Narrow(ctx, r, got); err != nil {
				t.Fatal(err)
			} else if len(s) <= left[len(left)-1] {
				break
			}
		}
		byList = append(byList, len(got))
	}
	mean := func(xs []int) float64 {
		n := 0
		for _, x := range xs {
			n += x
		}
		return float64(n) / float64(len(xs))
	}
	t.Logf("every third harmful fault (%d) and the sound circuit: %.1f readings by Next, %.1f down the list of %d, %.2f left", len(left)-1, mean(byNext), mean(byList), len(r.Checkout.Tests), mean(left))
	if mean(byNext) >= 0.8*mean(byList) {
		t.Error("Next saves no readings")
	}
}

// A plan that was written to a file and read back narrows the same way.
func TestNextFromFile(t *testing.T) {
	ctx := context.Background()
	r := converted(t, "two-capacity-conventional", "conventional")
	data, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var file Result
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	got := map[int]float64{}
	for range 4 {
		a, err := Next(ctx, r, got)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Next(ctx, &file, got)
		if err != nil {
			t.Fatal(err)
		}
		if a != b {
			t.Fatalf("%+v, from the file %+v", a, b)
		}
		if a.Test == 0 {
			break
		}
		got[a.Test] = r.Checkout.val[len(r.Faults)/2][a.Test-1]
	}
	for _, q := range []*Result{nil, {}, {New: r.New}} {
		if _, err := Next(ctx, q, nil); err == nil {
			t.Error("a next reading without a list")
		}
	}
}

// A reading that fits every single fault tells nothing; those of the list read as predicted
// tell something, each of them.
func TestAReadingThatTellsNothingIsCounted(t *testing.T) {
	ctx := context.Background()
	r := converted(t, "two-contactor-conventional", "conventional")
	all := map[int]float64{}
	for _, k := range r.Checkout.Tests {
		all[k.N] = k.Expect
	}
	mute, err := Mute(ctx, r, all)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range r.Checkout.Tests {
		if k.Role == "find" && slices.Contains(mute, k.N) {
			t.Errorf("reading %d is on the list to find, and tells nothing: %s", k.N, k.Words)
		}
	}
	// One whose every fault reads as a slightly off reading of the sound circuit does.
	at := slices.IndexFunc(r.Checkout.Tests, func(k Test) bool { return k.Role == "find" && k.Meter == "volts" && k.Expect > 5 })
	if at < 0 {
		t.Fatal("no reading of volts finds")
	}
	k := r.Checkout.Tests[at]
	own := *r.Checkout
	own.val = nil
	for h, val := range r.Checkout.val {
		v := slices.Clone(val)
		if v[at] = k.Expect; h > 0 {
			v[at] = k.Expect + 1.5*k.Tolerance // told by a reading as predicted, not by one in between
		}
		own.val = append(own.val, v)
	}
	alike := *r
	alike.Checkout = &own
	if got, err := Mute(ctx, &alike, all); err != nil || slices.Contains(got, k.N) {
		t.Errorf("as predicted it tells them: %v, %v", got, err)
	}
	all[k.N] = k.Expect + 0.9*k.Tolerance
	got, err := Mute(ctx, &alike, all)
	if err != nil || !slices.Contains(got, k.N) {
		t.Errorf("in between it fits all: %v, %v", got, err)
	}
	if len(got) > len(mute)+1 {
		t.Errorf("and %v beside it", got)
	}
}
