package fluid

import (
	"math"
	"testing"
)

// Between the critical pressure and the peak of a blend's bubble line there is
// no dew state to interpolate to: TP answers with the root of the equation,
// which rises with pressure through the line, and PH finds the same state.
func TestAboveTheCriticalPressureBelowTheBubbleLine(t *testing.T) {
	for _, name := range Names() {
		f, err := Get(name)
		if err != nil {
			t.Fatal(err)
		}
		l, err := f.lines()
		if err != nil {
			t.Fatal(err)
		}
		b := &l[bubble]
		seen := 0
		for T := b.tmax - 0.5; T < b.tmax; T += 0.005 {
			last := 0.0
			for p := b.pmax; p < 1.003*b.pmax; p += 2e-4 * b.pmax {
				s, err := f.TP(T, p)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				if !(s.Rho > last) || s.Phase != Liquid {
					t.Errorf("%s at %.3f K and %.0f Pa: %v, %.6g kg/m3 after %.6g", name, T, p, s.Phase, s.Rho, last)
				}
				last = s.Rho
				if p >= b.p(T)*(1-1e-6) {
					continue
				}
				if seen++; p == b.pmax {
					if u, err := f.TP(T, p*(1-1e-9)); err != nil || u.Phase != TwoPhase || math.Abs(u.Rho/s.Rho-1) > 5.1e-3 {
						t.Errorf("%s at %.3f K, just below the critical pressure: %v, %.6g kg/m3 beside %.6g, %v", name, T, u.Phase, u.Rho, s.Rho, err)
					}
				}
				var is isotherm
				f.res.at(f.tr/T, &is)
				d, _ := f.res.slope(&is, s.Rho/f.m/f.rhor)
				if back := s.Rho / f.m * (1 + d) * f.r * T; math.Abs(back/p-1) > 1e-9 {
					t.Errorf("%s at %.3f K: the equation gives %.9g Pa at %.6g kg/m3, asked %.9g", name, T, back, s.Rho, p)
				}
				if u, err := f.PH(p, s.H); err != nil || math.Abs(u.T-T) > 1e-4 {
					t.Errorf("%s at %.3f K and %.0f Pa: PH finds %.6f K, %v", name, T, p, u.T, err)
				}
			}
		}
		if seen == 0 && (name == "R-407C" || name == "R-454B") {
			t.Errorf("%s: %d states between the critical pressure and the bubble line", name, seen)
		}
	}
	f, err := Get("R-407C")
	if err != nil {
		t.Fatal(err)
	}
	if s, err := f.TP(359.140, 4.6404e6); err != nil || s.Phase != Liquid {
		t.Errorf("359.140 K, 4.6404 MPa: %v, %v", s.Phase, err)
	}
}
