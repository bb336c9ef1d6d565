package chart

import (
	"math"
	"testing"
)

// The ellipse touches its box, and leans the way the correlation says.
func TestEllipseFitsItsBoxAndLeans(t *testing.T) {
	for _, r := range []float64{-0.9, 0, 0.6, 1} {
		var mh, mp, sum float64
		for _, q := range ellipse(Point{H: 100, P: 50, HalfH: 2, HalfP: 3, R: r}) {
			mh, mp = math.Max(mh, q.X-100), math.Max(mp, q.Y-50)
			sum += (q.X - 100) * (q.Y - 50)
		}
		if math.Abs(mh-2) > 0.02 || math.Abs(mp-3) > 0.03 {
			t.Errorf("r %g: reaches %g and %g", r, mh, mp)
		}
		// Over equal angles the mean product is half the covariance of the box.
		if got := sum / 36 / (2 * 3 / 2); math.Abs(got-r) > 1e-9 {
			t.Errorf("r %g: leans by %g", r, got)
		}
	}
}

func TestPhasorsOfNothingSaySo(t *testing.T) {
	if p := Phasors(nil); !p.Empty() || p.Note == "" {
		t.Error("arrows out of nothing")
	}
	p := Phasors([]Phasor{{Value: 3}, {Value: 4i}, {Value: 3 + 4i}})
	for _, it := range p.Items {
		if l, ok := it.(Line); ok {
			for _, q := range l.Pts {
				if q.X < 0 || q.X > p.X.Max || q.Y < 0 || q.Y > p.Y.Max {
					t.Errorf("%v lies outside the picture", q)
				}
			}
		}
	}
}

// The stretch that was looked at is marked from its beginning to its end, over
// the whole height.
func TestXYMarksItsWindow(t *testing.T) {
	c := XY{Series: []Series{{Name: "a", X: []float64{0, 5, 10}, Y: []float64{1, 2, 3}}}, Window: &Window{From: 4, To: 9, Name: "steady", Firm: true}}
	found := false
	p := c.Picture()
	for _, it := range p.Items {
		if a, ok := it.(Area); ok {
			found = a.Pts[0].X == 4 && a.Pts[2].X == 9 && a.Pts[0].Y == p.Y.Min && a.Pts[2].Y == p.Y.Max
		}
	}
	if !found {
		t.Errorf("no window in %+v", p.Items)
	}
	c.Window.To = math.NaN()
	for _, it := range c.Picture().Items {
		if _, ok := it.(Area); ok {
			t.Error("a window without an end is drawn")
		}
	}
}
