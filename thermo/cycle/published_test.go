package cycle_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"retrostage/assets/soak"
	. "retrostage/thermo/cycle"
	"retrostage/thermo/cycle/chance"
)

// measured is a published curve of a fault: capacity and power over the faultless
// value at a fault of size f and outdoor air of out, C, with return air of 26.7 C
// (80 F) dry and 19.44 C (67 F) wet bulb.
type measured func(f, out float64) (capacity, power float64)

// nist is one quantity of Domanski, Henderson and Payne, NIST Technical Note 1848,
// 2014: tests of a residential R-410A split heat pump with thermostatic valve, as
// carried by two open building simulation projects:
// Y = 1 + (a1 + a2 T_in + a3 T_out + a4 F) F, F the charge over the right one, less 1.
func nist(a [4]float64, f, out float64) float64 {
	return 1 + (a[0]+a[1]*26.7+a[2]*out+a[3]*f)*f
}

func nistUnder(f, out float64) (float64, float64) {
	return nist([4]float64{-0.946, 0.0493, -0.00118, -1.15}, -f, out), nist([4]float64{-0.313, 0.0115, 0.00266, -0.116}, -f, out)
}

func nistOver(f, out float64) (float64, float64) {
	return nist([4]float64{-0.163, 0.0114, -0.00021, -0.140}, f, out), nist([4]float64{0.219, -0.00501, 0.000989, 0.284}, f, out)
}

// nrel is Cheung and Braun, NREL/TP-5500-65030, 2015, fitted to laboratory tests,
// as carried by an open fault library of the same laboratory: coefficients for
// capacity and for power over capacity.
func nrel(q, eir [6]float64, cop float64) measured {
	one := func(c [6]float64, f, out float64) float64 {
		return 1 + f*(c[0]+c[1]*(19.44+273.15)/273.15+c[2]*(out+273.15)/273.15+c[3]*f+c[4]*f*f+c[5]*cop)
	}
	return func(f, out float64) (float64, float64) {
		x := one(q, f, out)
		return x, x * one(eir, f, out)
	}
}

var (
	nrelUnder = nrel([6]float64{-1.6119, -1.9681, 2.5514, -0.98803, 0.34675, 0.10109}, [6]float64{7.0958, -1.0132, -4.9319, 0.69788, 1.2677, -0.065184}, 5.5)
	nrelAir   = nrel([6]float64{1.3037, -0.76356, -0.61117, -0.013457, -0.26911, 0.020726}, [6]float64{-4.5864, 5.7081, -1.5167, -0.13863, 1.2189, 0.070849}, 5.5)
	// Packaged units, rated COP 4.2.
	// They are printed beside the rest; the model is of split units.
	nrelUnderP = nrel([6]float64{7.7179, -10.765, 3.129, -0.88403, 0.30043, -0.036993}, [6]float64{-5.7419, 8.6709, -4.4104, 1.2489, 1.2095, 0.36051}, 4.2)
	nrelOverP  = nrel([6]float64{-0.667351, 0.417386, 0.091732, 0.812637, -0.30102, -0.1014}, [6]float64{0.191888, -0.256732, -0.05316, -0.716681, 0.381224, 0.1241}, 4.2)
)

// average is Cutler, Winkler, Kruis, Christensen and Brandemuehl,
// NREL/TP-5500-56354, 2013: one-speed units on average, wet bulb of the return air
// and outdoor air in F, relative to 67/95 F.
func average(wb, od float64) (capacity, power float64) {
	at := func(c [6]float64) float64 {
		return c[0] + c[1]*wb + c[2]*wb*wb + c[3]*od + c[4]*od*od + c[5]*wb*od
	}
	q := at([6]float64{3.670270705, -0.098652414, 0.000955906, 0.006552414, -0.0000156, -0.000131877})
	return q, q * at([6]float64{-3.302695861, 0.137871531, -0.001056996, -0.012573945, 0.000214638, -0.000145054})
}

// averageAir is the same report's curve of indoor air over rated.
func averageAir(x float64) (capacity, power float64) {
	q := 0.718605468 + 0.410099989*x - 0.128705457*x*x
	return q, q * (1.32299905 - 0.477711207*x + 0.154712157*x*x)
}

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

// row is one cell of the comparison.
type row struct {
	what   string
	at     string
	f, out float64    // size of the fault; outdoors, C
	q, p   [3]float64 // capacity and power over the faultless value: lowest, middle and highest of the machines drawn
	wq, wp []float64  // published, one value a source
	aq, ap float64    // of another kind of unit
	points float64    // by which the middle may differ from their mean
}

// change is something done to every machine, with what was published of it.
type change struct {
	what   string
	f      float64
	points float64
	curves []measured
	also   measured // a source of another kind of unit: printed, not asked
	do     func(m *Machine, h *State, f float64) *Machine
}

func with(fault Fault) func(m *Machine, h *State, f float64) *Machine {
	return func(m *Machine, h *State, f float64) *Machine { return m.With(fault, f, h) }
}

func changes() (cs []change) {
	points := func(f, upTo float64) float64 {
		if f > upTo+1e-9 {
			return 0.04
		}
		return 0.02
	}
	for _, f := range []float64{0.1, 0.2, 0.3} {
		cs = append(cs, change{"charge missing", f, points(f, 0.2), []measured{nistUnder, nrelUnder}, nrelUnderP, with(Undercharge)})
	}
	for _, f := range []float64{0.1, 0.2, 0.3} {
		cs = append(cs, change{"charge too much", f, points(f, 0.2), []measured{nistOver}, nrelOverP, with(Overcharge)})
	}
	for _, f := range []float64{0.1, 0.2, 0.3, 0.4, 0.5} {
		cs = append(cs, change{"condenser air missing", f, points(f, 0.3), []measured{nrelAir}, nil, with(LowOutdoorAir)})
	}
	return cs
}

// drawn are the machines compared: R-410A, thermostatic valve, charged at the rating
// to 4 to 7 K of subcooling; or fixed bores, charged to 5 to 9 K of superheat.
func drawn(t testing.TB, n int, fixed bool) []*Machine {
	p := props(t, "R-410A")
	var ms []*Machine
	for seed := range uint64(n) {
		rng := rand.New(rand.NewPCG(seed, 1848))
		m, err := chance.Machine(p, fixed, rng)
		if err != nil {
			t.Fatal(err)
		}
		if fixed {
			_, err = m.Charged(Rating(), BySuperheat, 5+4*rng.Float64(), nil)
		} else {
			_, err = m.Charged(Rating(), BySubcooling, 4+3*rng.Float64(), nil)
		}
		if err != nil {
			t.Fatal(err)
		}
		ms = append(ms, m)
	}
	return ms
}

// unit is the power of the outdoor unit, its fan included, as the laboratories
// counted it (from memory; the sources as carried give power without saying).
func unit(m *Machine, s *State) float64 { return s.Power + m.OutdoorFan }

// compare solves every machine faultless and changed.
func compare(t testing.TB, ms []*Machine, outs []float64) (rows []row, unsolved int) {
	for _, out := range outs {
		c := Rating()
		c.Outdoor = out + 273.15
		cs := changes()
		q, p := make([][]float64, len(cs)), make([][]float64, len(cs))
		for _, m := range ms {
			h, err := m.Solve(c, nil)
			if err != nil {
				t.Fatal(err)
			}
			near := h
			for i, k := range cs {
				if k.f < 0.15 {
					near = h
				}
				s, err := k.do(m, &h, k.f).Solve(c, &near)
				if err != nil {
					unsolved++
					continue
				}
				near = s
				q[i], p[i] = append(q[i], s.Cooling/h.Cooling), append(p[i], unit(m, &s)/unit(m, &h))
			}
		}
		for i, k := range cs {
			r := row{what: k.what, at: fmt.Sprintf("%.1f C", out), f: k.f, out: out, q: span(q[i]), p: span(p[i]), points: k.points}
			for _, m := range k.curves {
				a, b := m(k.f, out)
				r.wq, r.wp = append(r.wq, a), append(r.wp, b)
			}
			if k.also != nil {
				r.aq, r.ap = k.also(k.f, out)
			}
			rows = append(rows, r)
		}
	}
	return rows, unsolved
}

// weatherRows compares weather and indoor air with the average curves.
func weatherRows(t testing.TB, ms []*Machine) (rows []row, unsolved int) {
	var base []State
	for _, m := range ms {
		h, err := m.Solve(Rating(), nil)
		if err != nil {
			t.Fatal(err)
		}
		base = append(base, h)
	}
	add := func(what, at string, wq, wp float64, solve func(m *Machine, h *State) (State, error)) {
		var q, p []float64
		for i, m := range ms {
			s, err := solve(m, &base[i])
			if err != nil {
				unsolved++
				continue
			}
			q, p = append(q, s.Cooling/base[i].Cooling), append(p, unit(m, &s)/unit(m, &base[i]))
		}
		rows = append(rows, row{what: what, at: at, q: span(q), p: span(p), wq: []float64{wq}, wp: []float64{wp}})
	}
	q0, p0 := average(67, 95)
	for _, od := range []float64{67, 82, 95, 105, 115} {
		for _, wb := range []float64{63, 67, 71} {
			if od == 95 && wb == 67 {
				continue
			}
			c, err := Weather(fahr(od), fahr(80), fahr(wb), 101325)
			if err != nil {
				t.Fatal(err)
			}
			q, p := average(wb, od)
			add("weather", fmt.Sprintf("%g F, wet bulb %g F", od, wb), q/q0, p/p0, func(m *Machine, h *State) (State, error) { return m.Solve(c, h) })
		}
	}
	for _, x := range []float64{0.7, 0.8, 0.9, 1.1} {
		q0, p0 := averageAir(1)
		q, p := averageAir(x)
		add("indoor air", fmt.Sprintf("%g of rated", x), q/q0, p/p0, func(m *Machine, h *State) (State, error) {
			t := *m
			t.Evap.Air *= x
			return t.Solve(Rating(), h)
		})
	}
	return rows, unsolved
}

// span is the lowest, middle and highest value.
func span(x []float64) [3]float64 {
	if len(x) == 0 {
		return [3]float64{}
	}
	slices.Sort(x)
	return [3]float64{x[0], (x[len(x)/2] + x[(len(x)-1)/2]) / 2, x[len(x)-1]}
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

// table writes rows as Markdown.
func table(rows []row) string {
	var b strings.Builder
	b.WriteString("| change | at | capacity: published | model: middle (lowest to highest) | power: published | model |\n|---|---|---|---|---|---|\n")
	list := func(x []float64, also float64) string {
		var s []string
		for _, v := range x {
			s = append(s, fmt.Sprintf("%.3f", v))
		}
		if also > 0 {
			s = append(s, fmt.Sprintf("(%.3f)", also))
		}
		return strings.Join(s, ", ")
	}
	for _, r := range rows {
		what := r.what
		if r.f > 0 {
			what = fmt.Sprintf("%.0f %% %s", 100*r.f, r.what)
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %.3f (%.3f to %.3f) | %s | %.3f (%.3f to %.3f) |\n", what, r.at, list(r.wq, r.aq), r.q[1], r.q[0], r.q[2], list(r.wp, r.ap), r.p[1], r.p[0], r.p[2])
	}
	return b.String()
}

// TestPublished holds the machines that chance draws against laboratory tests: the
// middle of them near the mean of the sources, their spread over each source. 35 C
// was kept out of the fit (doc.go). PUBLISHED_TABLE=1 prints every cell.
func TestPublished(t *testing.T) {
	ms := drawn(t, soak.Count(120, 600), false)
	rows, unsolved := compare(t, ms, []float64{27.8, 35, 40.6})
	if unsolved > 0 {
		t.Errorf("%d of %d states not solved", unsolved, len(rows)*len(ms))
	}
	uncovered, worst := 0, 0.0
	for _, r := range rows {
		if d := max(abs(r.q[1]-mean(r.wq)), abs(r.p[1]-mean(r.wp))); !(d <= r.points) {
			t.Errorf("%s %.1f at %s: middle %.3f, %.3f; published mean %.3f, %.3f", r.what, r.f, r.at, r.q[1], r.p[1], mean(r.wq), mean(r.wp))
		}
		for i := range r.wq {
			over := max(r.q[0]-r.wq[i], r.wq[i]-r.q[2], r.p[0]-r.wp[i], r.wp[i]-r.p[2])
			if over > 0 {
				uncovered++
				worst = max(worst, over)
				t.Logf("not covered, by %.4f: %s %.1f at %s, source %d: %.3f in %.3f to %.3f, %.3f in %.3f to %.3f", over, r.what, r.f, r.at, i+1, r.wq[i], r.q[0], r.q[2], r.wp[i], r.p[0], r.p[2])
			}
		}
	}
	// One laboratory's power falls faster with missing charge than that of nearly all
	// machines drawn; of 600 some do as it says.
	many, far := 5, 0.015
	if soak.On() {
		many, far = 0, 0
	}
	t.Logf("%d curve points outside the spread, by %.4f at most", uncovered, worst)
	if uncovered > many || worst > far {
		t.Errorf("%d published points lie outside the machines drawn, by %.4f at most; allowed %d, %g", uncovered, worst, many, far)
	}
	wr, unsolvedW := weatherRows(t, ms)
	for _, r := range wr {
		if d := max(abs(r.q[1]/r.wq[0]-1), abs(r.p[1]/r.wp[0]-1)); !(d <= 0.05) {
			t.Errorf("%s %s: middle %.3f, %.3f; published %.3f, %.3f", r.what, r.at, r.q[1], r.p[1], r.wq[0], r.wp[0])
		}
	}
	t.Logf("weather: %d of %d states not solved", unsolvedW, len(wr)*len(ms))
	if os.Getenv("PUBLISHED_TABLE") != "" {
		fmt.Print(table(append(rows, wr...)))
	}
}

// A fixed bore is judged by direction: no laboratory curve of one was found.
func TestFixedBoreByDirection(t *testing.T) {
	ms := drawn(t, 60, true)
	rows, unsolved := compare(t, ms, []float64{27.8, 35, 40.6})
	t.Logf("%d of %d states not solved", unsolved, len(rows)*len(ms))
	for _, r := range rows {
		switch r.what {
		case "charge missing":
			// A bore has no reserve: it loses more than a valve unit does, at any weather
			// (both sources are of valve units).
			if !(r.q[1] < mean(r.wq) && r.p[1] < 1) {
				t.Errorf("%s %.1f at %s: middle %.3f, %.3f", r.what, r.f, r.at, r.q[1], r.p[1])
			}
		case "condenser air missing":
			if !(r.q[1] < 1 && r.p[1] > 1) {
				t.Errorf("%s %.1f at %s: middle %.3f, %.3f", r.what, r.f, r.at, r.q[1], r.p[1])
			}
		}
	}
	if os.Getenv("PUBLISHED_TABLE") != "" {
		fmt.Print(table(rows))
	}
}

func abs(x float64) float64 { return max(x, -x) }
