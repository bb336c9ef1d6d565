package plot

import (
	"math"
	"testing"

	"retrostage/app/picture"
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
		if l, ok := it.(picture.Line); ok {
			for _, q := range l.Pts {
				if q.X < 0 || q.X > p.X.Max || q.Y < 0 || q.Y > p.Y.Max {
					t.Errorf("%v lies outside the picture", q)
				}
			}
		}
	}
}
