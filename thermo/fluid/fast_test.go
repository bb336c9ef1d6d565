package fluid

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// all are the fluids of the catalogue, cross-checks included.
func all(t testing.TB) []*Fluid {
	t.Helper()
	fluids, err := cache()
	if err != nil {
		t.Fatal(err)
	}
	var fs []*Fluid
	for _, n := range slices.Sorted(maps.Keys(fluids)) {
		fs = append(fs, fluids[n])
	}
	return fs
}

// TestFastAgainstDirect samples every line densely, off the nodes, and compares
// the Chebyshev expansions with the iterated solution: pure fluids 1e-9
// relative (1e-6 within 0.1 % of the critical temperature), blends and
// pseudo-pure fluids 1e-7. Enthalpy is taken relative to 100 kJ/kg and entropy
// to 1 kJ/(kg K), since both cross zero. In the neighbourhood of the critical
// point, to 1e-8 of its temperature, the sampling follows it logarithmically.
func TestFastAgainstDirect(t *testing.T) {
	names := []string{"p", "rho", "h", "s", "T"}
	var out strings.Builder
	out.WriteString("| fluid | line | " + strings.Join(names, " | ") + " | within 0.1 % of Tc: " + strings.Join(names, " | ") + " |\n|" + strings.Repeat("---|", 12) + "\n")
	n := 4000
	if testing.Short() {
		n = 500
	}
	for _, f := range all(t) {
		l, err := f.lines()
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(3, uint64(len(f.name))))
		for line := bubble; line <= dew; line++ {
			e := l[line].ends
			var worst [2][5]float64
			for i := range n {
				u := r.Float64()
				T := e.tmin + (e.tmax-e.tmin)*u
				if i%4 == 0 {
					T = e.tmax * (1 - math.Pow(10, -8*u)*(1-e.tmin/e.tmax))
				}
				near := 0
				if T > 0.999*e.tmax {
					near = 1
				}
				a, err := f.satDirect(line, T)
				if err != nil {
					t.Fatal(err)
				}
				b, err := f.sat(line, T)
				if err != nil {
					t.Fatal(err)
				}
				dev := [5]float64{b.P/a.P - 1, b.Rho/a.Rho - 1, (b.H - a.H) / 1e5, (b.S - a.S) / 1e3}
				if a.P <= e.pmax && a.P >= e.pmin {
					want, err := f.satTDirect(line, a.P)
					if err != nil {
						t.Fatal(err)
					}
					got, err := f.satT(line, a.P)
					if err != nil {
						t.Fatal(err)
					}
					dev[4] = got/want - 1
				}
				tol := 1e-9
				if f.kind != pure {
					tol = 1e-7
				} else if near == 1 {
					tol = 1e-6
				}
				for k, d := range dev {
					if !(math.Abs(d) <= tol) {
						t.Errorf("%s %v line at %.9g K: %s off by %.2g > %g", f.name, line, T, names[k], d, tol)
					}
					worst[near][k] = max(worst[near][k], math.Abs(d))
				}
			}
			fmt.Fprintf(&out, "| %s | %v |", f.name, line)
			for _, w := range worst {
				for _, d := range w {
					fmt.Fprintf(&out, " %.1e |", d)
				}
			}
			out.WriteString("\n")
		}
	}
	t.Logf("worst relative deviation of the fast lines from the direct solution:\n%s", out.String())
}

// TestBuildIsDeterministic: two builds of the lines give the same bits.
func TestBuildIsDeterministic(t *testing.T) {
	for _, name := range []string{"R-22", "R-407C", "R-454B"} {
		a, err := Get(name)
		if err != nil {
			t.Fatal(err)
		}
		var b *Fluid
		if a.kind == blendKind {
			b, err = loadBlend(name, name)
		} else {
			b, err = loadFluid(name)
		}
		if err != nil {
			t.Fatal(err)
		}
		la, err1 := a.lines()
		lb, err2 := b.lines()
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		for line := range la {
			if x, y := fmt.Sprint(la[line].ofT.coef, la[line].ofP.coef), fmt.Sprint(lb[line].ofT.coef, lb[line].ofP.coef); x != y {
				t.Errorf("%s: two builds of the %v line differ", name, side(line))
			}
		}
	}
}

// TestNoFailureAlongTheLines solves every line directly from the lowest
// temperature to 0.5 K below the critical one, and on to it.
func TestNoFailureAlongTheLines(t *testing.T) {
	for _, f := range all(t) {
		for line := bubble; line <= dew; line++ {
			e, err := f.ends(line)
			if err != nil {
				t.Fatal(err)
			}
			last := Sat{}
			for i := range 1001 {
				T := e.tmin + (e.topT-0.5-e.tmin)*float64(i)/1000
				s, err := f.satDirect(line, T)
				if err != nil {
					t.Fatal(err)
				}
				if !(s.P > last.P) {
					t.Errorf("%s %v line: pressure does not rise at %.6g K", f.name, line, T)
				}
				if line == bubble && i > 0 && !(s.Rho < last.Rho) || line == dew && !(s.Rho > last.Rho) {
					t.Errorf("%s %v line: density turns at %.6g K", f.name, line, T)
				}
				last = s
				if back, err := f.satTDirect(line, s.P); err != nil || math.Abs(back/T-1) > 1e-10 {
					t.Errorf("%s %v line: %.9g K back as %.9g, %v", f.name, line, T, back, err)
				}
			}
			for _, d := range []float64{0.4, 0.1, 0.01, 1e-3, 1e-5, 1e-8, 0} {
				if _, err := f.satDirect(line, e.topT-d); err != nil {
					t.Errorf("%s: %g K below critical: %v", f.name, d, err)
				}
			}
		}
	}
}

// TestEquilibriumResidual checks the direct solution by what it claims: equal
// pressure and equal fugacity of every component in both phases, evaluated
// anew from the solved concentrations.
func TestEquilibriumResidual(t *testing.T) {
	for _, f := range all(t) {
		if f.kind == pseudoPure {
			continue // the published lines do not equate Gibbs energies
		}
		for line := bubble; line <= dew; line++ {
			tr, err := f.traced(line)
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range []float64{0.45, 0.6, 0.75, 0.9, 0.99} {
				T := max(f.tmin, x*math.Exp(tr.end().lnT))
				k := tr.atT(math.Log(T))
				if _, err := f.model.equilibrium(&f.z, &k.y, atT, T); err != nil {
					t.Fatal(err)
				}
				var c1, c2 vec
				for i := range f.model.comp {
					c1[i], c2[i] = f.z[i]*math.Exp(k.y[0]), math.Exp(k.y[1+i])
				}
				a, b := f.model.energy(T, &c1), f.model.energy(T, &c2)
				for i := range f.model.comp {
					if d := math.Log(c1[i]) + a.g[i] - math.Log(c2[i]) - b.g[i]; math.Abs(d) > 1e-12*(math.Abs(a.g[i])+30) {
						t.Errorf("%s %v line at %.5g K: ln f of %s differs by %.2g", f.name, line, T, f.model.comp[i].name, d)
					}
				}
				// Liquid pressure is a difference of terms as large as rho R T.
				if d := a.pi - b.pi; math.Abs(d) > 1e-11*max(a.rho, b.rho) {
					t.Errorf("%s %v line at %.5g K: pressures differ by %.2g Pa", f.name, line, T, d*f.r*T)
				}
			}
		}
	}
}

// TestEnergyDerivatives checks the analytic derivatives of Psi, by which phase
// equilibrium is found, against central differences, and the pressure against
// the equation compiled at fixed composition.
func TestEnergyDerivatives(t *testing.T) {
	for _, f := range all(t) {
		n := len(f.model.comp)
		for _, rr := range []float64{1e-3, 0.3, 1.1, 2.4} {
			T := 0.83 * f.tr
			var c vec
			for i := range n {
				c[i] = f.z[i] * rr * f.rhor * (1 + 0.2*float64(i))
			}
			e := f.model.energy(T, &c)
			near := func(what string, got, want, scale float64) {
				t.Helper()
				if !(math.Abs(got-want) <= 2e-7*(math.Abs(want)+scale)) {
					t.Errorf("%s at %g: %s analytic %.10g, by differences %.10g", f.name, rr, what, want, got)
				}
			}
			for j := range n {
				h := 1e-5 * c[j]
				up, dn := c, c
				up[j] += h
				dn[j] -= h
				a, b := f.model.energy(T, &up), f.model.energy(T, &dn)
				near("dPsi/dc", (a.psi-b.psi)/(2*h), e.g[j], 0.1)
				near("dpi/dc", (a.pi-b.pi)/(2*h), e.pic[j], 1)
				for i := range n {
					near("d2Psi/dc2", (a.g[i]-b.g[i])/(2*h), e.h[i][j], 1/f.rhor)
				}
			}
			a, b := f.model.energy(T*(1+1e-5), &c), f.model.energy(T*(1-1e-5), &c)
			near("T dPsi/dT", (a.psi-b.psi)/2e-5, e.t, e.rho)
			near("T dpi/dT", (a.pi-b.pi)/2e-5, e.piT, e.rho)
			for i := range n {
				near("T d2Psi/dcdT", (a.g[i]-b.g[i])/2e-5, e.gt[i], 1)
			}
			for i := range n { // the compiled form knows only composition z
				c[i] = f.z[i] * rr * f.rhor
			}
			e = f.model.energy(T, &c)
			var is isotherm
			f.res.at(f.tr/T, &is)
			if d, _ := f.res.slope(&is, rr); math.Abs(rr*f.rhor*(1+d)-e.pi) > 1e-12*f.rhor*(1+rr) {
				t.Errorf("%s: compiled and component pressures differ", f.name)
			}
		}
	}
}
