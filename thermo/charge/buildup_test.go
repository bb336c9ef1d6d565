package charge

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"retrostage/thermo/fluid"
)

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

// The table of tubes that ships: every size has a bore and is found by its outside
// diameter.
func TestTubes(t *testing.T) {
	if len(tubes) != 8 {
		t.Fatalf("%d sizes", len(tubes))
	}
	for _, x := range tubes {
		if _, err := Bore(x.OD, x.Wall); err != nil || x.UWall <= 0 || x.Mark == "" {
			t.Errorf("%+v: %v", x, err)
		}
		if y, err := TubeOf(x.OD); err != nil || y != x {
			t.Errorf("%+v, %v", y, err)
		}
	}
	if _, err := TubeOf(0.02); err == nil {
		t.Error("20 mm is no size of the table")
	}
}

// The trade facts, section 5.1: vapour in the suction line at 45 F saturation and
// 10 F superheat, oz per foot, computed there from the same published equations by
// an independent script. 0.6 of the last digit.
func TestSuctionContents(t *testing.T) {
	for _, c := range []struct {
		fluid string
		want  [3]float64
	}{{"R-410A", [3]float64{.093, .124, .211}}, {"R-22", [3]float64{.065, .086, .147}}} {
		f, err := fluid.Get(c.fluid)
		if err != nil {
			t.Fatal(err)
		}
		p, err := f.DewP(fahr(45))
		if err != nil {
			t.Fatal(err)
		}
		s, err := f.TP(fahr(55), p)
		if err != nil {
			t.Fatal(err)
		}
		for i, od := range [...]float64{0.75, 0.875, 1.125} {
			tube, err := TubeOf(od * inch)
			if err != nil {
				t.Fatal(err)
			}
			m, err := SuctionLine(Line{Exactly(foot), Exactly(0), tube}, Densities{Liquid: 1000, Gas: s.Rho})
			if err != nil || math.Abs(m.M/ounce-c.want[i]) > 0.0006 {
				t.Errorf("%s in %g in: %.4f oz/ft, want %.3f; %v", c.fluid, od, m.M/ounce, c.want[i], err)
			}
		}
	}
}

// The trade facts' example, section 5.2 (104 oz plate, 45 ft of 3/8 in for 15 ft:
// 119.96 oz), built up term by term.
func TestBuiltUp(t *testing.T) {
	f, err := fluid.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	rho, err := LiquidDensity(f)
	if err != nil {
		t.Fatal(err)
	}
	tube, err := TubeOf(0.375 * inch)
	if err != nil {
		t.Fatal(err)
	}
	plate, err1 := Plate(Exactly(104 * ounce))
	line, err2 := LiquidLine(Line{Exactly(45 * foot), Exactly(15 * foot), tube}, Densities{Liquid: rho, ULiquid: 0.01 * rho, Gas: 40})
	m, u, err3 := Sum([]Term{plate, line})
	if err1 != nil || err2 != nil || err3 != nil || math.Abs(m/ounce-119.96) > 0.02 || !(u > 0) {
		t.Errorf("%.2f (%.2f) oz, %v %v %v", m/ounce, u/ounce, err1, err2, err3)
	}
}

// Laws: the doubt of a sum lies between what independent and what fully correlated
// terms would have; one density moves all terms at once; a part swapped for its
// like adds nothing but doubt; unknown compressors take the trade's bounds.
func TestBuildLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Densities{Liquid: rapid.Float64Range(700, 1300).Draw(t, "liquid"), ULiquid: rapid.Float64Range(0, 50).Draw(t, "u"), Gas: rapid.Float64Range(10, 90).Draw(t, "gas"), UGas: rapid.Float64Range(0, 5).Draw(t, "ugas"), Discharge: 120}
		span := func(name string, hi float64) Span {
			a, b := rapid.Float64Range(0, hi).Draw(t, name), rapid.Float64Range(0, hi).Draw(t, name+"'")
			return Span{min(a, b), max(a, b)}
		}
		tube := rapid.SampledFrom(tubes).Draw(t, "tube")
		line := Line{span("length", 30), Exactly(0), tube}
		terms := make([]Term, 0, 6)
		add := func(x Term, err error) {
			if err != nil {
				t.Fatal(err)
			}
			if math.IsNaN(x.M+x.U) || x.U < 0 {
				t.Fatalf("%+v", x)
			}
			terms = append(terms, x)
		}
		add(Plate(Span{2, 2.02}))
		add(LiquidLine(line, d))
		add(SuctionLine(line, d))
		add(Volume("drier", span("drier", 5e-4), Exactly(0), d))
		add(Mixed("coil", span("coil", 2e-3), Exactly(0), CoilFull, d))
		add(Change(Compressor{Free: span("free", 5e-3), Oil: span("oil", 1.5)}, Compressor{Free: span("free2", 5e-3), Oil: span("oil2", 1.5), HighSide: true}, DissolvedRunning, d))
		m, u, err := Sum(terms)
		if err != nil {
			return
		}
		var sum, straight, own float64
		for _, x := range terms {
			sum += x.M
			straight += x.U
			own += x.ownU * x.ownU
		}
		if math.Abs(m-sum) > 1e-12 || u > straight*(1+1e-12) || u < math.Sqrt(own)*(1-1e-12) {
			t.Fatalf("%g (%g) of %g, %g to %g", m, u, sum, math.Sqrt(own), straight)
		}
		// Moving the density by one standard uncertainty moves the total by what the
		// terms say.
		e := d
		e.Liquid += d.ULiquid
		a, err1 := LiquidLine(line, d)
		b, err2 := LiquidLine(line, e)
		if err1 != nil || err2 != nil || math.Abs(b.M-a.M-a.byLiquid) > 1e-9 {
			t.Fatalf("%g, want %g", b.M-a.M, a.byLiquid)
		}
		like := Compressor{Free: span("like", 5e-3), Oil: span("like oil", 1.5)}
		x, err := Change(like, like, DissolvedRunning, d)
		if err != nil || math.Abs(x.M) > 1e-12 {
			t.Fatalf("%+v %v", x, err)
		}
		if x, err = Change(like, Compressor{Unknown: true}, DissolvedRunning, d); err != nil || x.Basis != Practice || x.M-2*x.U > -0.4 || x.NotCounted == "" {
			t.Fatalf("%+v %v", x, err)
		}
	})
}

func TestCompare(t *testing.T) {
	for _, c := range []struct {
		a, ua, b, ub, matters float64
		want                  Verdict
	}{
		{3, 0.01, 3.02, 0.01, 0.1, Agrees},
		{3, 0.2, 3.02, 0.2, 0.1, TooCoarse},
		{3, 0.01, 3.5, 0.01, 0.1, Differs},
		{3, 0.3, 3.5, 0.3, 0.1, TooCoarse},
		{3, 0, 3, 0, 0.1, TooCoarse}, // no doubt stated is not knowledge
		{3, 0.001, 3.01, 0.001, 0.1, Agrees},
	} {
		if d, u, v, err := Compare(c.a, c.ua, c.b, c.ub, c.matters); err != nil || v != c.want {
			t.Errorf("%+v: %g (%g) %d, %v", c, d, u, v, err)
		}
	}
	if _, _, _, err := Compare(1, 0, 1, 0, 0); err == nil {
		t.Error("nothing matters, yet compared")
	}
}

func TestWeighing(t *testing.T) {
	w := Weighing{Start: 11.34, Stop: 8.12, ZeroStart: 0.02, ZeroStop: -0.01, Resolution: 0.01, Repeat: 0.005, Span: 0.001}
	m, u, err := w.Flowed()
	// By hand: 11.32 - 8.13 = 3.19 kg; four readings of (0.005^2 + 0.01^2/12)^0.5
	// each, and 0.1 % of 3.19 kg.
	if err != nil || math.Abs(m-3.19) > 1e-12 || math.Abs(u-0.0119) > 0.0002 {
		t.Errorf("%g (%g) kg, %v", m, u, err)
	}
	w.Stop = math.NaN()
	if _, _, err := w.Flowed(); err == nil {
		t.Error("took NaN")
	}
	missing, u, err := Missing(3, 0.05, 2.2, 0.012, Span{0.05, 0.25})
	if err != nil || math.Abs(missing-0.65) > 1e-12 || u < 0.05 {
		t.Errorf("%g (%g), %v", missing, u, err)
	}
}

func TestBuildRefuses(t *testing.T) {
	d := Densities{Liquid: 1000, Gas: 40}
	tube := tubes[0]
	for name, err := range map[string]error{
		"plate of nothing": second(Plate(Span{})),
		"line backwards":   second(LiquidLine(Line{Span{2, 1}, Exactly(0), tube}, d)),
		"negative line":    second(SuctionLine(Line{Exactly(-1), Exactly(0), tube}, d)),
		"gas above liquid": second(LiquidLine(Line{Exactly(1), Exactly(0), tube}, Densities{Liquid: 10, Gas: 40})),
		"NaN volume":       second(Volume("drier", Exactly(math.NaN()), Exactly(0), d)),
		"more than full":   second(Mixed("coil", Exactly(1), Exactly(0), Span{0, 2}, d)),
		"no discharge gas": second(Change(Compressor{HighSide: true}, Compressor{}, DissolvedRunning, d)),
	} {
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	if _, _, err := Sum(nil); err == nil {
		t.Error("a sum of nothing")
	}
}

func second(_ Term, err error) error { return err }
