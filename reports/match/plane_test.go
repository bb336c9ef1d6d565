package match

import (
	"math"
	"testing"
)

// The old high stage condenses higher and evaporates colder than its low stage in the
// same weather; on the design day each path goes through the point of the balance; a
// candidate has a region only where its data state one.
func TestPlane(t *testing.T) {
	u, c := four(t), right()
	j := judge(t, u, c)
	if j.Balance == nil {
		t.Fatalf("%+v", j.Reasons)
	}
	p, err := u.Plane(j)
	if err != nil || p == nil {
		t.Fatal(err)
	}
	if len(p.OldHigh) < 4 || len(p.OldHigh) != len(p.OldLow) {
		t.Fatalf("%d and %d weathers", len(p.OldHigh), len(p.OldLow))
	}
	for i, h := range p.OldHigh {
		l := p.OldLow[i]
		if !(h.Condensing > l.Condensing && h.Evaporating < l.Evaporating) {
			t.Errorf("%.0f K: high %.1f/%.1f, low %.1f/%.1f", h.Outdoor, h.Evaporating, h.Condensing, l.Evaporating, l.Condensing)
		}
		if i > 0 && !(h.Condensing > p.OldHigh[i-1].Condensing) {
			t.Errorf("%.0f K: condensing falls as it grows hotter", h.Outdoor)
		}
	}
	for _, h := range p.OldHigh {
		if math.Abs(h.Outdoor-p.OldHighAt.Outdoor) < 0.1 && math.Abs(h.Condensing-p.OldHighAt.Condensing) > 0.05 {
			t.Errorf("design day: %.2f on the path, %.2f by the balance", h.Condensing, p.OldHighAt.Condensing)
		}
	}
	c.Map, c.EvapLow, c.EvapHigh, c.CondLow, c.CondHigh = nil, 260, 290, 300, 0
	if e := c.Envelope(); e != nil {
		t.Errorf("a region of three ends: %v", e)
	}
	c.CondHigh = 340
	if e := c.Envelope(); len(e) != 4 {
		t.Errorf("%v", e)
	}
	if p, err := u.Plane(Judged{Candidate: c}); p != nil || err != nil {
		t.Errorf("a plane without a balance: %v %v", p, err)
	}
}
