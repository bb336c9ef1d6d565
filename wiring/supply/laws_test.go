package supply

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func close9(x, y float64) bool { return math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y)) }

// C-S + C-R = S-R for any two windings in series, at any pin order, whatever
// the temperature.
func TestWindingLaws(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		run := rapid.Float64Range(0.2, 5).Draw(t, "run")
		start := run * rapid.Float64Range(1.2, 6).Draw(t, "ratio")
		at := rapid.Float64Range(250, 400).Draw(t, "T")
		warm := func(r float64) Ohms {
			x, err := CopperAt(r, WindingReference, at)
			if err != nil {
				t.Fatal(err)
			}
			return Read(x, 0.001*x)
		}
		w := Windings{CS: warm(start), CR: warm(run), SR: warm(start + run), Temperature: at}
		if x := SumResidual(w.CS.Value, w.CR.Value, w.SR.Value); math.Abs(x) > 1e-9 {
			t.Fatalf("residual %g", x)
		}
		rep, err := tb.CheckWindings(w, WindingData{Start: start, Run: run})
		if err != nil || rep.State != WindingsComplete {
			t.Fatalf("%q %v", rep.State, err)
		}
		back, err := CopperAt(w.CS.Value, at, WindingReference)
		if err != nil || !close9(back, start) {
			t.Fatalf("%g there and back is %g", start, back)
		}
		// Pins c, s, r in any order.
		perm := rapid.Permutation([]int{1, 2, 3}).Draw(t, "pins")
		between := map[[2]int]Ohms{}
		for _, p := range []struct {
			a, b int
			o    Ohms
		}{{perm[0], perm[1], w.CS}, {perm[0], perm[2], w.CR}, {perm[1], perm[2], w.SR}} {
			between[[2]int{min(p.a, p.b), max(p.a, p.b)}] = p.o
		}
		p, err := IdentifyPins(between[[2]int{1, 2}], between[[2]int{2, 3}], between[[2]int{1, 3}])
		if err != nil || [3]int{p.Common, p.Start, p.Run} != [3]int(perm) || !p.Sure {
			t.Fatalf("%v read as %+v (%v)", perm, p, err)
		}
	})
}

// Ampacity rises with the gauge and never with the ambient, the bundle or lower
// terminals; the conductor selected carries the current and the next thinner
// does not.
func TestAmpacityLaws(t *testing.T) {
	tb := tables(t)
	ratings := []Rating{60, 75, 90}
	rapid.Check(t, func(t *rapid.T) {
		c := Conditions{Ambient: rapid.Float64Range(273, celsius(54)).Draw(t, "ambient"), Bundle: rapid.IntRange(0, 39).Draw(t, "bundle"),
			Insulation: rapid.SampledFrom(ratings).Draw(t, "insulation"), Terminals: rapid.SampledFrom(ratings).Draw(t, "terminals"),
			Cable: rapid.Bool().Draw(t, "cable")}
		last := 0.0
		for _, g := range tb.Gauges() {
			a, err := tb.AmpacityOf(g, c)
			if err != nil || a.Amps <= last {
				t.Fatalf("%s AWG: %+v after %g (%v)", g, a, last, err)
			}
			last = a.Amps
		}
		g := rapid.SampledFrom(tb.Gauges()).Draw(t, "gauge")
		a, _ := tb.AmpacityOf(g, c)
		hot, more, low := c, c, c
		hot.Ambient += rapid.Float64Range(0, 0.9).Draw(t, "warmer")
		more.Bundle++
		low.Terminals = 60
		for _, worse := range []Conditions{hot, more, low} {
			if b, err := tb.AmpacityOf(g, worse); err != nil || b.Amps > a.Amps {
				t.Fatalf("%+v allows %g, %+v %g (%v)", c, a.Amps, worse, b.Amps, err)
			}
		}
		need := rapid.Float64Range(1, last).Draw(t, "mca")
		s, err := tb.SelectConductor(need, c)
		if err != nil || s.Amps < need {
			t.Fatalf("%g A: %+v (%v)", need, s, err)
		}
		if i := tb.gaugeIndex(s.Gauge); i > 0 {
			if thin, _ := tb.AmpacityOf(tb.Gauges()[i-1], c); thin.Amps >= need {
				t.Fatalf("%g A: %s AWG would do, %s given", need, thin.Gauge, s.Gauge)
			}
		}
	})
}

// The overcurrent device is never above its rule, nor two steps below it; more
// load never asks for less.
func TestCircuitLaws(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		rla := rapid.Float64Range(1, 60).Draw(t, "rla")
		fan := rapid.Float64Range(0, rla).Draw(t, "fan")
		o, err := tb.MOCP(rla, fan)
		if err != nil {
			t.Fatal(err)
		}
		if !o.Floor && o.Size > o.Limit*(1+1e-9) || o.StartSize > math.Max(15, o.StartLimit*(1+1e-9)) || o.StartSize < o.Size {
			t.Fatalf("%+v", o)
		}
		if i := slices.Index(tb.Overcurrent.Sizes, o.Size); i+1 < len(tb.Overcurrent.Sizes) && tb.Overcurrent.Sizes[i+1] <= o.Limit {
			t.Fatalf("%+v: %g A is allowed", o, tb.Overcurrent.Sizes[i+1])
		}
		mca, err := tb.MCA(rla, fan)
		if err != nil || mca < rla+fan || !close9(mca, 1.25*rla+fan) || mca >= o.Limit {
			t.Fatalf("MCA %g, %+v (%v)", mca, o, err)
		}
		bigger, err := tb.MOCP(rla*1.1, fan)
		if err == nil && bigger.Size < o.Size {
			t.Fatalf("%g A: %g, more: %g", rla, o.Size, bigger.Size)
		}
		d, err := tb.Disconnect(rla, fan)
		if err != nil || d < rla+fan {
			t.Fatalf("disconnect %g (%v)", d, err)
		}
	})
}

// A longer or thinner branch loses more; a locked rotor out of phase with the
// branch keeps more voltage than one in phase, and voltage lost and left never
// make more than the source in phase.
func TestDropLaws(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(1, len(tb.Gauges())-1).Draw(t, "gauge")
		b := Branch{Gauge: tb.Gauges()[i], Length: rapid.Float64Range(1, 100).Draw(t, "length")}
		thin, long := b, b
		thin.Gauge = tb.Gauges()[i-1]
		long.Length *= 1.5
		d, err := tb.Drop(b, 20)
		for _, worse := range []Branch{thin, long} {
			if w, err2 := tb.Drop(worse, 20); err != nil || err2 != nil || w <= d {
				t.Fatalf("%+v loses %g, %+v %g", b, d, worse, w)
			}
		}
		s := Start{Branch: b, Source: 240, Rated: 230, LRA: rapid.Float64Range(20, 200).Draw(t, "lra"), PowerFactor: rapid.Float64Range(0.01, 1).Draw(t, "pf")}
		some, err := tb.SagAtStart(s)
		if err != nil {
			t.Fatal(err)
		}
		s.PowerFactor = 0
		worst, _ := tb.SagAtStart(s)
		if worst.Volts > some.Volts*(1+1e-12) || some.Volts > 240 {
			t.Fatalf("worst %+v, at the power factor %+v", worst, some)
		}
		if lost, _ := tb.Drop(b, worst.Amps); !close9(lost+worst.Volts, 240) {
			t.Fatalf("%g lost and %g left of 240 V", lost, worst.Volts)
		}
	})
}

// Any two phasors close with their sum; the angle, the phasors and the power
// factor come back from magnitudes alone. The motor is a run winding beside a
// start winding with its capacitor, solved by Ohm's law.
func TestLeadLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		line := draw(100, 300, "line")
		zRun := cmplx.Rect(draw(5, 40, "Zrun"), draw(0.2, 1.3, "lag"))
		zStart := cmplx.Rect(draw(20, 60, "Zstart"), draw(0.1, 1.2, "start lag"))
		farads := draw(20e-6, 80e-6, "C")
		zCap := complex(0, -1/(2*math.Pi*60*farads))
		iRun, iStart := complex(line, 0)/zRun, complex(line, 0)/(zStart+zCap)
		iCommon := iRun + iStart
		// Nearly in line, the angle is lost in the rounding of the cosine.
		angle := cmplx.Phase(iStart / iRun)
		if angle < 0.01 || angle > 3.1 || cmplx.Abs(iCommon) < 0.01 {
			t.Skip("no triangle to speak of")
		}
		l := Leads{Run: cmplx.Abs(iRun), Start: cmplx.Abs(iStart), Common: cmplx.Abs(iCommon)}
		c, err := LeadClosure(l.Run, l.Start, l.Common)
		if err != nil || c.Gap > 1e-9 || math.Abs(c.Angle-angle) > 1e-6 {
			t.Fatalf("%+v (%v), the angle is %g", c, err, angle)
		}
		f, err := Capacitance(l.Start, cmplx.Abs(iStart*zCap), 60)
		if err != nil || !close9(f, farads) {
			t.Fatalf("%g F for %g (%v)", f, farads, err)
		}
		want := real(iCommon) / l.Common
		if c.Gap > 0 {
			t.Skip("rounding")
		}
		pf, err := PowerFactorByVolts(l, line, cmplx.Abs(iStart*zCap), cmplx.Abs(iStart*zStart))
		if err != nil || math.Abs(pf-want) > 1e-5 {
			t.Fatalf("power factor %g (%v), is %g", pf, err, want)
		}
		p, err := LeadPhasors(l.Run, l.Start, l.Common, 0)
		if err != nil || math.Abs(imag(p.Common)) > 1e-6 || !close9(cmplx.Abs(p.Run), l.Run) || cmplx.Abs(p.Run+p.Start-p.Common) > 1e-9 {
			t.Fatalf("%+v (%v)", p, err)
		}
	})
}

func TestScalarLaws(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		draw := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		f, v, hz := draw(1e-6, 200e-6, "C"), draw(50, 600, "V"), draw(45, 65, "f")
		// The current of a capacitor at a sine voltage, by its definition.
		if back, err := Capacitance(2*math.Pi*hz*f*v, v, hz); err != nil || !close9(back, f) {
			t.Fatalf("%g F there and back is %g", f, back)
		}
		r, a, b := draw(1e3, 1e10, "R"), draw(260, 390, "T1"), draw(260, 390, "T2")
		there, err := tb.InsulationAt(r, a, b)
		back, err2 := tb.InsulationAt(there, b, a)
		if err != nil || err2 != nil || !close9(back, r) || (b > a) != (there < r) && a != b {
			t.Fatalf("%g at %g K is %g at %g K, and back %g", r, a, there, b, back)
		}
		x, y, z, k := draw(100, 500, "v1"), draw(100, 500, "v2"), draw(100, 500, "v3"), draw(0.1, 10, "k")
		u, _ := Unbalance(x, y, z)
		scaled, _ := Unbalance(z*k, x*k, y*k)
		same, _ := Unbalance(x, x, x)
		if !close9(u+1, scaled+1) || same > 1e-12 || u < 0 || u > 2 {
			t.Fatalf("unbalance %g, scaled and turned %g, of three alike %g", u, scaled, same)
		}
		last := 1.0
		for _, u := range []float64{0, 0.01, 0.015, 0.02, 0.04, 0.05} {
			d, err := tb.Derating(u)
			if err != nil || d > last {
				t.Fatalf("derating %g at %g after %g (%v)", d, u, last, err)
			}
			last = d
		}
		s, _ := SeriesCapacitance(f, f*k)
		if s >= math.Min(f, f*k) {
			t.Fatalf("series %g of %g and %g", s, f, f*k)
		}
	})
}

// Whatever Combine gives adds up, is in stock and stands the voltage; a value
// made of two parts of the stock is found.
func TestCombineLaws(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		stock := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Part {
			return Part{Farads: float64(rapid.IntRange(2, 160).Draw(t, "half uF")) * 0.5e-6, Volts: rapid.SampledFrom([]float64{370, 440}).Draw(t, "V"),
				Count: rapid.IntRange(0, 3).Draw(t, "count")}
		}), 2, 8).Draw(t, "stock")
		i := rapid.IntRange(0, len(stock)-2).Draw(t, "first")
		j := rapid.IntRange(i+1, len(stock)-1).Draw(t, "second")
		volts := math.Min(stock[i].Volts, stock[j].Volts)
		needed := stock[i].Farads + stock[j].Farads
		got, err := tb.Combine(stock, needed, volts, 0)
		if err != nil {
			t.Fatal(err)
		}
		seen := false
		for _, c := range got {
			sum, used := 0.0, map[int]int{}
			for _, p := range c.Parts {
				sum += stock[p].Farads
				used[p]++
				if stock[p].Volts < volts || used[p] > max(1, stock[p].Count) {
					t.Fatalf("%+v from %+v", c, stock)
				}
			}
			if !close9(sum, c.Farads) || c.Low > sum || c.High < sum || math.Abs(sum-needed) > 0.01001*needed || len(c.Parts) > MaxParallel || c.Volts < volts {
				t.Fatalf("%+v for %g", c, needed)
			}
			seen = seen || slices.Equal(c.Parts, []int{i, j})
		}
		if !seen {
			t.Fatalf("%d + %d not among %+v", i, j, got)
		}
	})
}

// Any float64 into any function: a finite number or an error, never NaN.
func TestNoNaN(t *testing.T) {
	tb := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, math.SmallestNonzeroFloat64, 300, 20}))
		x := make([]float64, 6)
		for i := range x {
			x[i] = any.Draw(t, fmt.Sprint("x", i))
		}
		num := func(what string, y float64, err error) {
			if err == nil && (math.IsNaN(y) || math.IsInf(y, 0)) {
				t.Fatalf("%s of %v is %g", what, x, y)
			}
		}
		check := func(what string, c Check, err error) { num(what, c.Value, err) }
		checks := func(what string, cs []Check, err error) {
			for _, c := range cs {
				num(what, c.Value, err)
			}
		}
		f := func(what string) func(float64, error) { return func(y float64, err error) { num(what, y, err) } }
		k := func(what string) func(Check, error) { return func(c Check, err error) { check(what, c, err) } }
		ks := func(what string) func([]Check, error) { return func(c []Check, err error) { checks(what, c, err) } }
		f("copper")(CopperAt(x[0], x[1], x[2]))
		f("capacitance")(Capacitance(x[0], x[1], x[2]))
		f("series")(SeriesCapacitance(x[0], x[1]))
		f("insulation")(tb.InsulationAt(x[0], x[1], x[2]))
		f("rated ohms")(RatedOhms(x[0], x[1]))
		f("unbalance")(Unbalance(x[0], x[1], x[2]))
		f("derating")(tb.Derating(x[0]))
		f("mca")(tb.MCA(x[0], x[1]))
		f("disconnect")(tb.Disconnect(x[0], x[1]))
		f("power factor")(PowerFactor(x[0], x[1], x[2]))
		f("by volts")(PowerFactorByVolts(Leads{Run: x[0], Start: x[1], Common: x[2]}, x[3], x[4], x[5]))
		f("conductor")(tb.ConductorOhms("10", x[0], x[1], false))
		f("drop")(tb.Drop(Branch{Gauge: "8", Length: x[0], Temperature: x[1]}, x[2]))
		f("lra")(tb.AssumedLRA(x[0]))
		f("trend")(tb.InsulationTrend([]Insulation{{Ohms: x[0], Temperature: x[1]}, {Ohms: x[2], Temperature: x[3]}}))
		k("match")(tb.CheckSupplyMatch(x[0], 1, x[1], 1, x[2], x[3]))
		k("wire")(tb.CheckWire("10", x[0], Conditions{Ambient: x[1]}))
		k("ground")(tb.CheckGround("10", x[0], "8", "10"))
		k("disconnect")(tb.CheckDisconnect(x[0], x[1], x[2]))
		ks("start")(tb.CheckStartVolts(x[0], x[1]))
		o, err := tb.MOCP(x[0], x[1])
		num("mocp", o.Size+o.Limit+o.StartLimit, err)
		if err == nil {
			k("breaker")(tb.CheckBreaker(x[2], x[3], o))
		}
		s, err := tb.SagAtStart(Start{Branch: Branch{Gauge: "10", Length: x[0]}, Source: x[1], Rated: x[2], LRA: x[3], PowerFactor: x[4]})
		num("sag", s.Volts+s.Amps, err)
		c, err := LeadClosure(x[0], x[1], x[2])
		num("closure", c.Angle+c.Gap+c.Low, err)
		p, err := LeadPhasors(x[0], x[1], x[2], x[3])
		num("phasors", cmplx.Abs(p.Run)+cmplx.Abs(p.Start)+cmplx.Abs(p.Common), err)
		rep, err := tb.CheckWindings(Windings{CS: Read(x[0], x[3]), CR: Read(x[1], x[3]), SR: Read(x[2], x[3]), Temperature: x[4]}, WindingData{Start: x[5]})
		checks("windings", rep.Checks, err)
		rows, err := tb.OldNew(Conversion{Old: Side{RLA: x[0], LRA: x[1], Volts: x[2]}, New: Side{RLA: x[3], LRA: x[4], Volts: x[5]},
			Others: x[1], SupplyVolts: x[2], Wire: Branch{Gauge: "10", Length: x[0]}, Breaker: x[3]})
		for _, r := range rows {
			num("row "+r.Key, r.Old+r.New+r.Fitted, err)
		}
	})
}
