package circuit

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"retrostage/thermo/fluid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g +- %.2g", what, got, want, tol)
	}
}

func get(t testing.TB, name string) *fluid.Fluid {
	t.Helper()
	f, err := fluid.Get(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// reference is the rows of a reference library's evaluation of the published
// equations (testdata/refrigerants), which shares no code with package fluid.
func reference(t testing.TB, file, name, model string) (head map[string]int, rows [][]string) {
	t.Helper()
	in, err := os.Open("../../testdata/refrigerants/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	all, err := csv.NewReader(in).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	head = map[string]int{}
	for i, c := range all[0] {
		head[c] = i
	}
	for _, r := range all[1:] {
		if r[0] == name && r[1] == model {
			rows = append(rows, r)
		}
	}
	if len(rows) < 5 {
		t.Fatalf("%d rows of %s in %s", len(rows), name, file)
	}
	return head, rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// At the reference's dew pressure gas 5 K warmer has 5 K of superheat, at its
// bubble pressure liquid 5 K colder has 5 K of subcooling; the wrong line would be
// off by the glide.
func TestSuperheatAndSubcooling(t *testing.T) {
	for name, model := range map[string]string{"R-22": "pure", "R-410A": "pseudo-pure", "R-407C": "pseudo-pure", "R-454B": "mixture"} {
		f := get(t, name)
		at, rows := reference(t, "reference_saturation.csv", name, model)
		for _, r := range rows {
			ts := number(t, r[at["T_K"]])
			if tc, _, _ := f.Critical(); ts > tc-8 {
				continue
			}
			for _, d := range []float64{5, -2} { // read beyond the line: told as it is
				if r[at["p_dew_Pa"]] != "" {
					sh, err := Superheat(f, number(t, r[at["p_dew_Pa"]]), ts+d)
					if err != nil {
						t.Fatal(err)
					}
					near(t, name+" superheat, K", sh, d, 1e-5)
				}
				if r[at["p_bubble_Pa"]] != "" {
					sc, err := Subcooling(f, number(t, r[at["p_bubble_Pa"]]), ts-d)
					if err != nil {
						t.Fatal(err)
					}
					near(t, name+" subcooling, K", sc, d, 1e-5)
				}
			}
		}
	}
}

// Gas and Liquid give the reference's enthalpy and entropy, and each refuses the
// rows of the other phase.
func TestPhases(t *testing.T) {
	for name, model := range map[string]string{"R-22": "pure", "R-32": "pure", "R-410A": "pseudo-pure"} {
		f := get(t, name)
		at, rows := reference(t, "reference_single_phase.csv", name, model)
		for _, row := range rows {
			r := Reading{T: number(t, row[at["T_K"]]), P: number(t, row[at["p_Pa"]])}
			right, wrong := Gas, Liquid
			if row[at["phase"]] == "liquid" {
				right, wrong = Liquid, Gas
			}
			s, err := right(f, r)
			if err != nil {
				t.Fatal(err)
			}
			near(t, name+" h", s.H, number(t, row[at["h_J_kg"]]), 0.01)
			near(t, name+" s", s.S, number(t, row[at["s_J_kgK"]]), 1e-4)
			if _, err := wrong(f, r); !errors.Is(err, ErrPhase) {
				t.Errorf("%s %s row taken as the other phase: %v", name, row[at["phase"]], err)
			}
		}
	}
}

// Near a line the doubt decides, and the error names the reading to improve.
func TestMayBeWet(t *testing.T) {
	f := get(t, "R-410A")
	dew, err1 := f.DewT(1e6)
	bub, err2 := f.BubbleT(2.5e6)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	for _, c := range []struct {
		what    string
		ask     func(*fluid.Fluid, Reading) (fluid.State, error)
		r       Reading
		ok      bool
		sure    bool
		settles Quantity
	}{
		{"well superheated", Gas, Reading{1e6, dew + 5, 7e3, 0.6}, true, false, 0},
		{"superheat within its doubt", Gas, Reading{1e6, dew + 1, 7e3, 0.6}, false, false, Temperature},
		{"on the line", Gas, Reading{1e6, dew, 7e3, 0.6}, false, false, Temperature},
		{"below it within the doubt", Gas, Reading{1e6, dew - 1, 7e3, 0.6}, false, false, Temperature},
		{"below it beyond the doubt", Gas, Reading{1e6, dew - 3, 7e3, 0.6}, false, true, Temperature},
		{"a coarse gauge", Gas, Reading{1e6, dew + 2, 60e3, 0.3}, false, false, Pressure},
		{"well subcooled", Liquid, Reading{2.5e6, bub - 5, 2e4, 0.6}, true, false, 0},
		{"subcooling within its doubt", Liquid, Reading{2.5e6, bub - 1, 2e4, 0.6}, false, false, Temperature},
		{"flashing beyond doubt", Liquid, Reading{2.5e6, bub + 3, 2e4, 0.6}, false, true, Temperature},
		{"no doubt, dry", Gas, Reading{P: 1e6, T: dew + 0.01}, true, false, 0},
		{"no doubt, wet", Gas, Reading{P: 1e6, T: dew - 0.01}, false, true, Temperature},
	} {
		s, err := c.ask(f, c.r)
		var e *PhaseError
		if c.ok {
			if err != nil || s.Phase == fluid.TwoPhase {
				t.Errorf("%s: %v", c.what, err)
			}
			continue
		}
		if !errors.As(err, &e) || !errors.Is(err, ErrPhase) || s != (fluid.State{}) {
			t.Errorf("%s: accepted, %v %v", c.what, s, err)
			continue
		}
		if e.Sure() != c.sure || e.Settles != c.settles {
			t.Errorf("%s: sure %v, settled by %v: %v", c.what, e.Sure(), e.Settles, e)
		}
	}
	for _, bad := range []Reading{{1e6, dew + 5, -1, 0}, {1e6, dew + 5, 0, math.NaN()}, {math.NaN(), dew, 0, 0}, {1e6, math.NaN(), 0, 0}, {0, dew, 0, 0}} {
		if s, err := Gas(f, bad); err == nil {
			t.Errorf("%+v gave %+v", bad, s)
		}
	}
}

// No reading whose truth lies on the other side of the line by chance of its own
// doubt is read as surely gas: 2 in 100 is what two standard deviations leave on
// one side.
func TestPhaseCoverage(t *testing.T) {
	f := get(t, "R-410A")
	rng := rand.New(rand.NewPCG(3, 18))
	wrong, wet := 0, 0
	for range 20000 {
		p := 6e5 + 8e5*rng.Float64()
		dew, err := f.DewT(p)
		if err != nil {
			t.Fatal(err)
		}
		truth := dew - 0.01 // wet gas shows the dew temperature at most
		r := Reading{P: p + 14e3*rng.NormFloat64(), T: truth + 0.6*rng.NormFloat64(), UP: 14e3, UT: 0.6}
		wet++
		if _, err := Gas(f, r); err == nil {
			wrong++
		}
	}
	if share := float64(wrong) / float64(wet); share > 0.03 {
		t.Errorf("%.1f %% of wet suctions read as surely gas", 100*share)
	}
}

// The efficiency worked from the reference's own states: enthalpy after an ideal
// compression is interpolated among its rows at one discharge pressure.
func TestIsentropic(t *testing.T) {
	f := get(t, "R-410A")
	at, rows := reference(t, "reference_single_phase.csv", "R-410A", "pseudo-pure")
	type state struct{ t, p, h, s float64 }
	var gas []state
	for _, r := range rows {
		if r[at["phase"]] == "vapour" {
			gas = append(gas, state{number(t, r[at["T_K"]]), number(t, r[at["p_Pa"]]), number(t, r[at["h_J_kg"]]), number(t, r[at["s_J_kgK"]])})
		}
	}
	tried := 0
	for _, a := range gas {
		for i, b := range gas[:len(gas)-1] {
			c := gas[i+1]
			if !(b.p > 1.3*a.p && c.p == b.p && b.s <= a.s && a.s <= c.s && c.t-b.t < 20) {
				continue
			}
			// h against s at one pressure: dh/ds = T, a trapezium between two rows.
			x := (a.s - b.s) / (c.s - b.s)
			ideal := b.h + (a.s-b.s)*(b.t+(b.t+x*(c.t-b.t)))/2
			got, err := Isentropic(f, Reading{P: a.p, T: a.t}, Reading{P: c.p, T: c.t})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "efficiency", got, (ideal-a.h)/(c.h-a.h), 0.01)
			tried++
		}
	}
	if tried < 3 {
		t.Errorf("%d pairs of reference states", tried)
	}
	dew, _ := f.DewT(1e6)
	hot, _ := f.DewT(2.5e6)
	for name, c := range map[string][2]Reading{
		"wet suction":             {{P: 1e6, T: dew - 1.7}, {P: 2.5e6, T: hot + 25}},
		"suction in doubt":        {{1e6, dew + 1, 14e3, 0.6}, {2.5e6, hot + 25, 28e3, 1}},
		"wet discharge":           {{P: 1e6, T: dew + 6}, {P: 2.5e6, T: hot - 1}},
		"discharge holds no more": {{P: 1e6, T: dew + 60}, {P: 2.5e6, T: hot + 1}},
	} {
		if x, err := Isentropic(f, c[0], c[1]); err == nil {
			t.Errorf("%s: efficiency %v", name, x)
		}
	}
}

// The column of liquid: density of the reference (308.15 K, 3190379.892 Pa) times
// standard gravity.
func TestHead(t *testing.T) {
	f := get(t, "R-410A")
	const p, tl = 3190379.892, 308.15
	a, err := Line{Rise: 2}.Arrive(f, p, tl)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "head of 2 m, Pa", a.Head, 1019.212912*9.80665*2, 0.1)
	up, err1 := Line{Rise: 10}.Arrive(f, p, tl)
	down, err2 := Line{Rise: -10}.Arrive(f, p, tl)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	if !(up.Lost > 0 && down.Lost < 0) {
		t.Errorf("rise costs subcooling, fall gains it: %v, %v", up.Lost, down.Lost)
	}
	if a, err := (Line{Rise: 1}).Arrive(f, p, 325); !errors.Is(err, ErrPhase) {
		t.Errorf("a line of flashing liquid was reckoned: %+v, %v", a, err)
	}
	// The reference's bubble line from 322.0389 K, 2993479 Pa to 327.5944 K, 3397234 Pa.
	near(t, "lost over 10 m, K", up.Lost, up.Head*(327.5944444-322.0388889)/(3397234.42-2993479.073), 0.03)
}

func TestFriction(t *testing.T) {
	// Laminar flow is Hagen-Poiseuille, 128 mu L Q / (pi D^4).
	l := Line{Length: 10, Bore: 0.01, MassFlow: 0.005, Mu: 1e-3}
	got, err := l.Friction(1000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "laminar, Pa", got, 128*1e-3*10*5e-6/(math.Pi*1e-8), 1e-9)
	// Re = 1e5 in a smooth tube: f = 0.0180 on the Moody chart (from memory).
	l = Line{Length: 1, Bore: 0.01, Mu: 1e-4, MassFlow: 1e5 * math.Pi * 0.01 * 1e-4 / 4}
	v := l.MassFlow / (1000 * math.Pi / 4 * 1e-4)
	got, _ = l.Friction(1000)
	near(t, "turbulent f", got/(1/0.01*1000*v*v/2), 0.0180, 2e-4)
	for _, bad := range []Line{{Length: 1, MassFlow: 1}, {Length: -1, Bore: 1, MassFlow: 1, Mu: 1}, {Length: 1, Bore: 1, MassFlow: math.NaN(), Mu: 1}} {
		if _, err := bad.Friction(1000); err == nil {
			t.Errorf("%+v accepted", bad)
		}
	}
}

func TestPowerAndEfficiencyRefuse(t *testing.T) {
	for _, c := range [][3]float64{{0, 1, 1}, {240, -1, 1}, {240, 1, 0}, {240, 1, 1.1}, {240, math.NaN(), 1}, {math.Inf(1), 1, 1}} {
		if p, err := PowerAC(c[0], c[1], c[2]); err == nil {
			t.Errorf("%v accepted: %v", c, p)
		}
	}
	for _, c := range [][2]float64{{1, 0}, {math.NaN(), 1}, {1, math.Inf(1)}} {
		if e, err := Efficiency(c[0], c[1]); err == nil {
			t.Errorf("%v accepted: %v", c, e)
		}
	}
}

func BenchmarkSuperheat(b *testing.B) {
	f := get(b, "R-410A")
	for b.Loop() {
		if _, err := Superheat(f, 1e6, 290); err != nil {
			b.Fatal(err)
		}
	}
}
