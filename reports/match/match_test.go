package match

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

func load(t testing.TB, name string) *fluid.Fluid {
	t.Helper()
	f, err := fluid.Get(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// four is a unit of four tons with everything entered.
func four(t testing.TB) Unit {
	return Unit{Fluid: load(t, "R-410A"), Oil: "POE", High: 48000 * btuh, Volts: 208, Phases: 1, Hertz: 60, Bleeds: Yes,
		DesignHigh: 550 * psi, DesignLow: 250 * psi, SuctionBore: 0.785 * 0.0254, Riser: No, Suction: 0.0222, Discharge: 0.0127, Space: 0.5, Recovered: 3.6,
		Conversion: supply.Conversion{Old: supply.Side{RLA: 21.2, LRA: 118, Volts: 208, Capacitor: 50e-6}, Others: 1.4, SupplyVolts: 208, Breaker: 35, Disconnect: 60,
			Wire: supply.Branch{Gauge: "8", Length: 14}, Contactor: supply.Contactor{FLA: 30, LRA: 150}}}
}

// right is a compressor for it, of one rating point.
func right() Candidate {
	return Candidate{Name: "right", Kind: Scroll, Stages: 1, Refrigerants: []string{"R410a"}, Oil: "POE", VoltsLow: 208, Volts: 230, Phases: 1, Hertz: 60,
		Capacity: 46000 * btuh, Power: 4150, Rating: UsualRating(), RLA: 19.2, LRA: 112, Capacitor: 45e-6, CapacitorVolts: 440, MaxHigh: 45e5, MaxLow: 28e5,
		EvapLow: 260, EvapHigh: 292, CondLow: 295, CondHigh: 338, Suction: 0.0222, Discharge: 0.0127, Height: 0.42, Weight: 29}
}

func judge(t testing.TB, u Unit, c Candidate) Judged {
	t.Helper()
	j, err := Judge(u, c)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func (j Judged) reason(t testing.TB, topic string) Reason {
	t.Helper()
	for _, r := range j.Reasons {
		if r.Topic == topic {
			return r
		}
	}
	t.Fatalf("nothing said on %s", topic)
	return Reason{}
}

func TestRight(t *testing.T) {
	j := judge(t, four(t), right())
	for _, r := range j.Reasons {
		t.Logf("%-40s %-14s %s", r.Topic, r.Verdict, r.Words)
	}
	if j.Misfits() > 0 || j.Opens() > 0 {
		t.Errorf("%d misfits, %d open", j.Misfits(), j.Opens())
	}
	b := j.Balance
	t.Logf("old high %.0f Btu/h, old low %.0f, new %.0f, doubt %.1f %%", b.OldHigh.Cooling/btuh, b.OldLow.Cooling/btuh, b.Design.Cooling/btuh, 100*b.UShare)
	if !(b.OldLow.Cooling < b.Design.Cooling && b.Design.Cooling < b.OldHigh.Cooling*1.02) {
		t.Error("the new one does not lie between the old stages")
	}
}

// TestMisfits: each thing wrong is told under its own topic, and never as fitting.
func TestMisfits(t *testing.T) {
	for _, c := range []struct {
		topic string
		want  Verdict
		turn  func(*Unit, *Candidate)
	}{
		{"refrigerant", Misfit, func(_ *Unit, c *Candidate) { c.Refrigerants = []string{"R-22", "R-407C"} }},
		{"refrigerant", Open, func(_ *Unit, c *Candidate) { c.Refrigerants = nil }},
		{"refrigerant", Misfit, func(_ *Unit, c *Candidate) { c.Refrigerants = []string{"R-454B"} }},
		{"oil", Misfit, func(_ *Unit, c *Candidate) { c.Oil = "mineral" }},
		{"oil", Open, func(u *Unit, _ *Candidate) { u.Oil = "PVE" }},
		{"supply", Misfit, func(_ *Unit, c *Candidate) { c.VoltsLow, c.Volts = 0, 230 }},
		{"supply", Misfit, func(_ *Unit, c *Candidate) { c.Phases = 3 }},
		{"supply", Misfit, func(_ *Unit, c *Candidate) { c.Hertz = 50 }},
		{"supply", Open, func(_ *Unit, c *Candidate) { c.Hertz = 0 }},
		{"stages", Misfit, func(_ *Unit, c *Candidate) { c.Stages = 2 }},
		{"capacity", Misfit, func(_ *Unit, c *Candidate) { c.Capacity, c.Power = 25000*btuh, 2300 }},
		{"capacity", Misfit, func(_ *Unit, c *Candidate) { c.Capacity, c.Power = 70000*btuh, 6500 }},
		{"capacity", Open, func(_ *Unit, c *Candidate) { c.Power = 0 }},
		{"capacity", Open, func(_ *Unit, c *Candidate) { c.Rating = Rating{} }},
		{"capacity", Open, func(_ *Unit, c *Candidate) { c.Capacity = 46000 }}, // typed as watts: 11 W a watt
		{"high side", Misfit, func(_ *Unit, c *Candidate) { c.MaxHigh = 500 * psi }},
		{"high side", Open, func(_ *Unit, c *Candidate) { c.MaxHigh = 45 * psi }},
		{"high side", Open, func(_ *Unit, c *Candidate) { c.MaxHigh = 0 }},
		{"low side", Misfit, func(_ *Unit, c *Candidate) { c.MaxLow = 200 * psi }},
		{"envelope", Misfit, func(_ *Unit, c *Candidate) { c.CondHigh = 310 }},
		{"envelope", Open, func(_ *Unit, c *Candidate) { c.CondHigh = 0 }},
		{"discharge temperature", Misfit, func(_ *Unit, c *Candidate) { c.MaxDischarge = 330 }},
		{"oil return", Misfit, func(u *Unit, _ *Candidate) { u.SuctionBore, u.Riser = 0.035, Yes }},
		{"oil return", Open, func(u *Unit, _ *Candidate) { u.SuctionBore = 0 }},
		{"run capacitor", Open, func(_ *Unit, c *Candidate) { c.Capacitor = 0 }},
		{"wire: minimum circuit ampacity, against the ampacity fitted", Misfit, func(_ *Unit, c *Candidate) { c.RLA, c.LRA = 40, 200 }},
		{"size", Misfit, func(_ *Unit, c *Candidate) { c.Height = 0.6 }},
		{"high side", Open, func(u *Unit, _ *Candidate) { u.DesignHigh = 450 * psi }},
		{"high side", Misfit, func(u *Unit, c *Candidate) { u.DesignHigh, c.Capacity, c.Power = 390*psi, 52000*btuh, 4900 }},
		{"start", Open, func(u *Unit, _ *Candidate) { u.Bleeds = Unknown }},
	} {
		u, k := four(t), right()
		c.turn(&u, &k)
		if r := judge(t, u, k).reason(t, c.topic); r.Verdict != c.want {
			t.Errorf("%s: %s, %s; want %s", c.topic, r.Verdict, r.Words, c.want)
		}
	}
	u, k := four(t), right()
	u.Bleeds, k.Kind = No, Reciprocating
	if r := judge(t, u, k).reason(t, "start"); !strings.Contains(r.Words, "does not bleed") {
		t.Errorf("start: %+v", r)
	}
	k.RLA, k.LRA = 112, 19.2
	if _, err := Judge(u, k); err == nil {
		t.Error("RLA above LRA was taken")
	}
}

// TestPoint: scaled to its rating point the usual compressor gives that point back:
// flow times the enthalpies that the equation of state gives is the capacity stated.
func TestPoint(t *testing.T) {
	u, c := four(t), right()
	m, err := u.machine()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.fit(u, m); err != nil {
		t.Fatal(err)
	}
	r := UsualRating()
	s, _ := u.Fluid.Dew(r.Evaporating)
	d, _ := u.Fluid.Dew(r.Condensing)
	e, err := m.Comp.Rate(u.Fluid, s.P, r.Evaporating+r.Superheat, d.P)
	if err != nil {
		t.Fatal(err)
	}
	g, _ := u.Fluid.TP(r.Evaporating+r.Superheat, s.P)
	b, _ := u.Fluid.BubbleAtP(d.P)
	l, _ := u.Fluid.TP(b.T-r.Subcooling, d.P)
	if q := e.Mass * m.Flow * (g.H - l.H); math.Abs(q/c.Capacity-1) > 1e-6 {
		t.Errorf("%.1f W at its rating point, stated %.1f", q, c.Capacity)
	}
	if w := e.Power * m.Draw; math.Abs(w/c.Power-1) > 1e-9 {
		t.Errorf("%.1f W of power at its rating point, stated %.1f", w, c.Power)
	}
}

// TestLaws: a larger compressor never cools less on the same coils, evaporates no
// warmer, condenses no colder; what is not stated is never said to fit; a ranking puts
// no misfit before a candidate without.
func TestLaws(t *testing.T) {
	u := four(t)
	rapid.Check(t, func(rt *rapid.T) {
		c := right()
		k := rapid.Float64Range(0.75, 1).Draw(rt, "size")
		small := c
		small.Capacity *= k
		small.Power *= k
		a, err := NewBalance(u, small)
		if err != nil {
			rt.Fatal(err)
		}
		b, err := NewBalance(u, c)
		if err != nil {
			rt.Fatal(err)
		}
		if a.Design.Cooling > b.Design.Cooling*(1+1e-6) {
			rt.Fatalf("smaller cools more: %.0f, %.0f W", a.Design.Cooling, b.Design.Cooling)
		}
		if a.Design.Condensing > b.Design.Condensing+1e-3 {
			rt.Fatalf("smaller condenses hotter: %.2f, %.2f K", a.Design.Condensing, b.Design.Condensing)
		}
		bad := c
		switch rapid.IntRange(0, 3).Draw(rt, "how") {
		case 0:
			bad.Refrigerants = []string{"R-22"}
		case 1:
			bad.Phases = 3
		case 2:
			bad.MaxHigh = 300 * psi
		case 3:
			bad.Oil = "mineral"
		}
		open := c
		open.Name, open.MaxLow, open.Stages = "open", 0, 0
		r, err := Rank(u, []Candidate{bad, open, c})
		if err != nil {
			rt.Fatal(err)
		}
		if r[0].Misfits() > 0 || r[2].Misfits() == 0 || r[0].Opens() > 0 {
			rt.Fatalf("ranked %s, %s, %s", r[0].Says(), r[1].Says(), r[2].Says())
		}
	})
}

// TestFixed: a smaller flow asks for a smaller bore, as the root of the flow.
func TestFixed(t *testing.T) {
	u := four(t)
	u.Fluid, u.Fixed, u.High, u.Oil, u.Bore = load(t, "R-22"), true, 30000*btuh, "mineral", 0.065*0.0254
	u.DesignHigh, u.DesignLow = 350*psi, 150*psi
	c := right()
	c.Refrigerants, c.Oil, c.Capacity, c.Power, c.MaxHigh, c.MaxLow = []string{"R-22"}, "mineral", 24000*btuh, 2250, 400*psi, 250*psi
	j := judge(t, u, c)
	for _, r := range j.Reasons {
		t.Logf("%-40s %-14s %s", r.Topic, r.Verdict, r.Words)
	}
	b := j.Balance
	if b == nil || !(b.Bore < 1 && b.Bore > 0.85) {
		t.Fatalf("%+v", b)
	}
	if d := math.Abs(b.Bore/math.Sqrt(b.Valve) - 1); d > 0.03 {
		t.Errorf("bore %.3f for a flow of %.3f", b.Bore, b.Valve)
	}
	lines := Order(u, j, []Extra{{What: "suction filter-drier", Why: "acid", Provisional: true}})
	for _, w := range []string{"compressor", "run capacitor", "contactor", "liquid-line drier", "piston", "time delay", "suction filter-drier"} {
		if !slices.ContainsFunc(lines, func(l Line) bool { return l.What == w }) {
			t.Errorf("no %s on the order list", w)
		}
	}
	if b := Bring(u, c); !slices.ContainsFunc(b, func(l Line) bool { return strings.Contains(l.What, "second person") }) {
		t.Errorf("29 kg, and nobody to help: %+v", b)
	}
}

const list = `Model;Refrigerant;Oil;Voltage;Phase;Hertz;Capacity (Btu/h);Power, W;RLA;LRA;Run capacitor (uF);Capacitor volts;Max high side (bar);Max low side (psi);Weight (lb);Stages;Colour
"right one";R-410A/R-407C;POE;208-230;1;60;46,000;4150;19.2;112;45;440;45;400;64;1;grey
other;R-22;mineral;230;1;60;n/a;4150;19.2;112;45;440;30;300;60;1;black
`

func TestListing(t *testing.T) {
	l, err := ReadListing([]byte(list))
	if err != nil {
		t.Fatal(err)
	}
	m := l.Guess(nil)
	cs, wrong, err := l.Candidates(m)
	if err != nil {
		t.Fatal(err, m)
	}
	c := cs[0]
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6*want {
			t.Errorf("%s: %g, want %g", what, got, want)
		}
	}
	near("capacity", c.Capacity, 46000*btuh)
	near("high side", c.MaxHigh, 45e5)
	near("low side", c.MaxLow, 400*psi)
	near("weight", c.Weight, 64*0.45359237)
	near("capacitor", c.Capacitor, 45e-6)
	if c.VoltsLow != 208 || c.Volts != 230 || c.CapacitorVolts != 440 || !slices.Equal(c.Refrigerants, []string{"R-410A", "R-407C"}) || c.Name != "right one" {
		t.Errorf("%+v", c)
	}
	if m["Colour"].Field != "" {
		t.Errorf("Colour taken as %+v", m["Colour"])
	}
	if len(wrong) != 1 || wrong[0].Row != 2 || cs[1].Capacity != 0 {
		t.Errorf("wrong: %+v", wrong)
	}
	// A unit that is not told is asked for, not supposed.
	bare := strings.Replace(list, "Max high side (bar)", "Max high side", 1)
	l, _ = ReadListing([]byte(bare))
	if _, _, err := l.Candidates(l.Guess(nil)); err == nil {
		t.Error("a pressure without a unit was taken")
	}
	m = l.Guess(Mapping{"Max high side": {"max_high", "barg"}})
	if cs, _, err = l.Candidates(m); err != nil || math.Abs(cs[0].MaxHigh-45e5) > 1 {
		t.Errorf("remembered: %v %v", cs, err)
	}
	// In another unit the figure cannot be: told, not taken.
	m = l.Guess(Mapping{"Max high side": {"max_high", "kPag"}})
	if cs, wrong, err = l.Candidates(m); err != nil || cs[0].MaxHigh != 0 || len(wrong) < 2 {
		t.Errorf("45 kPa: %v %v %v", cs[0].MaxHigh, wrong, err)
	}
	// A comma that can be both is not guessed at: 1,050 of a price; of capacity one
	// reading alone can be.
	l, _ = ReadListing([]byte("Model;Price\na;1,050\n"))
	if _, wrong, err := l.Candidates(l.Guess(nil)); err != nil || len(wrong) != 1 {
		t.Errorf("1,050: %v %v", wrong, err)
	}
	for name, text := range map[string]string{"one line": "Model;RLA\n", "twice": "Model;Model\na;b\n", "empty": ""} {
		if l, err := ReadListing([]byte(text)); err == nil {
			t.Errorf("%s: %+v, want a refusal", name, l)
		}
	}
}

// TestText: a list written as its columns were understood gives the same candidates,
// and no question.
func TestText(t *testing.T) {
	l, _ := ReadListing([]byte(list))
	m := l.Guess(nil)
	a, _, err := l.Candidates(m)
	if err != nil {
		t.Fatal(err)
	}
	again, err := ReadListing([]byte(l.Text(m)))
	if err != nil {
		t.Fatal(err)
	}
	b, _, err := again.Candidates(again.Guess(nil))
	if err != nil || len(a) != len(b) {
		t.Fatal(err, l.Text(m))
	}
	for i := range a {
		if fmt.Sprint(a[i]) != fmt.Sprint(b[i]) {
			t.Errorf("%+v\n%+v", a[i], b[i])
		}
	}
	for _, f := range Fields() { // each label by itself
		unit := ""
		if f.Dim != "" {
			unit = " (" + units.Of(f.Dim)[0].Name + ")"
		}
		l := Listing{Headings: []string{f.Label + unit}}
		if got := l.Guess(nil)[f.Label+unit].Field; got != f.Name {
			t.Errorf("%s taken as %q", f.Label, got)
		}
	}
}

// TestSheet: the same list as a workbook gives the same candidates.
func TestSheet(t *testing.T) {
	l, _ := ReadListing([]byte(list))
	x := excelize.NewFile()
	for r, row := range append([][]string{l.Headings}, l.Rows...) {
		for c, v := range row {
			at, _ := excelize.CoordinatesToCellName(c+1, r+1)
			x.SetCellValue("Sheet1", at, v)
		}
	}
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		t.Fatal(err)
	}
	s, err := ReadListing(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	a, _, _ := l.Candidates(l.Guess(nil))
	z, _, err := s.Candidates(s.Guess(nil))
	if err != nil || len(z) != len(a) || z[0].Capacity != a[0].Capacity || z[0].Name != a[0].Name || z[0].MaxHigh != a[0].MaxHigh {
		t.Errorf("%+v\n%+v\n%v", a, z, err)
	}
}

func BenchmarkJudge(b *testing.B) {
	u, c := four(b), right()
	for b.Loop() {
		if _, err := Judge(u, c); err != nil {
			b.Fatal(err)
		}
	}
}
