package diagnose

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"sync"
	"testing"

	"retrostage/thermo/compressor"
	"retrostage/thermo/cycle"
	"retrostage/thermo/cycle/chance"
	"retrostage/thermo/fluid"
	"retrostage/thermo/target"
)

// The proof. Machines are drawn by chance.Machine, whose every proportion lies 20
// to 40 % about those that the diagnosis assumes; the compressor, slip, exponents,
// lines and valve differ too, and their spreads are not told to it. Each is
// charged to its target on some day, with the scatter of a careful hand, and
// checked on another. Its plate capacity, design air flow and compressor map, if
// known at all, are a few percent wrong. Readings carry the noise of field
// instruments.

type severity int

const (
	mild severity = iota
	moderate
	severe
)

// bands are the severities drawn, in cycle.Fault's measure: [mild, moderate,
// severe] x [low, high].
var bands = map[cycle.Fault][3][2]float64{
	cycle.Undercharge:     {{0.08, 0.15}, {0.18, 0.28}, {0.30, 0.40}},
	cycle.Overcharge:      {{0.08, 0.15}, {0.18, 0.30}, {0.32, 0.45}},
	cycle.Restriction:     {{0.15, 0.25}, {0.30, 0.45}, {0.50, 0.65}},
	cycle.LowIndoorAir:    {{0.12, 0.20}, {0.28, 0.42}, {0.45, 0.55}},
	cycle.LowOutdoorAir:   {{0.15, 0.25}, {0.35, 0.48}, {0.50, 0.60}},
	cycle.NonCondensable:  {{0.03, 0.06}, {0.08, 0.15}, {0.18, 0.25}},
	cycle.LeakingValves:   {{0.06, 0.12}, {0.18, 0.28}, {0.32, 0.45}},
	cycle.ValveOverfeeds:  {{0.10, 0.18}, {0.22, 0.35}, {0.40, 0.55}}, // thermostatic: 3.5 times that, so that a moderate one takes superheat below the 4 F that RA3.2 allows
	cycle.ValveUnderfeeds: {{0.08, 0.14}, {0.18, 0.28}, {0.32, 0.42}},
}

// doubted are the readings that go wrong in the drawn runs.
var doubted = []Quantity{SuctionP, SuctionT, LiquidP, LiquidT, DischargeT, WetBulb, SupplyT, IndoorAir, Power, RestP, RestT}

// noise is the standard uncertainty of each reading: instruments at the limits of
// California Title 24 RA3.2 (2008 and 2013 texts as read: 1.3 F + 0.1 %, 3.5 and
// 7 psi, taken as rectangular), a contact error of 0.4 K on pipes, and common
// practice for the rest.
func noise(q Quantity, v float64) float64 {
	switch q {
	case SuctionP:
		return 13.9e3
	case LiquidP, RestP:
		return 27.9e3
	case OutdoorT, ReturnT, SupplyT, RestT:
		return 0.42
	case WetBulb:
		return 0.55
	case DischargeT:
		return 1.0
	case CondAirT:
		return 0.8
	case IndoorAir:
		return 0.07 * v
	case Power:
		return 0.02 * v
	}
	return 0.58
}

type drawn struct {
	know    Machine
	read    Readings
	fault   cycle.Fault
	probe   Quantity
	bad     bool // a probe is wrong
	redrawn int  // machines drawn before this one that do not run, or whose check would be refused
	sev     severity
}

func (d *drawn) truth() int {
	if d.bad {
		return cycle.Faults + int(d.probe)
	}
	return int(d.fault)
}

var errRedraw = errors.New("redraw")

// draw makes run number seed. full takes all readings, else those of a plain
// running check: no liquid temperature at the valve, no standing pressure.
func draw(seed uint64, tab *target.Tables, full bool) *drawn {
	rng := rand.New(rand.NewPCG(seed, 2027))
	kind := rng.IntN(20) // 5 in 20 healthy, 12 faulty, 3 with a wrong reading
	for n := 0; ; n++ {
		if d, err := try(rng, kind, tab, full); err == nil {
			d.redrawn = n
			return d
		}
	}
}

func try(rng *rand.Rand, kind int, tab *target.Tables, full bool) (*drawn, error) {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	names := []string{"R-22", "R-410A", "R-410A", "R-32", "R-454B", "R-407C"}
	f, err := fluid.Get(names[rng.IntN(len(names))])
	if err != nil {
		panic(err)
	}
	p, err := cycle.PropsOf(f)
	if err != nil {
		panic(err)
	}
	fixed := rng.IntN(2) == 0
	m, err := chance.Machine(p, fixed, rng)
	if err != nil {
		return nil, errRedraw
	}
	const site = 101325
	weather := func(lo, hi float64) cycle.Conditions {
		ret := fahr(between(71, 82))
		c, err := cycle.Weather(fahr(between(lo, hi)), ret, ret-between(6, 14)/1.8, site)
		if err != nil {
			panic(err)
		}
		return c
	}
	// The day it was charged.
	day := weather(70, 100)
	label := between(4, 8)
	if fixed {
		t, err := tab.Superheat(day.WetBulb, day.Outdoor)
		if err != nil {
			return nil, errRedraw
		}
		_, err = m.Charged(day, cycle.BySuperheat, max(2, t.Value+1.2*rng.NormFloat64()), nil)
		if err != nil {
			return nil, errRedraw
		}
	} else if _, err := m.Charged(day, cycle.BySubcooling, label+0.7*rng.NormFloat64(), nil); err != nil {
		return nil, errRedraw
	}
	plate, err := m.Solve(cycle.Rating(), nil)
	if err != nil {
		return nil, errRedraw
	}
	d := &drawn{know: Machine{Props: p, Fixed: fixed, Capacity: plate.Cooling * (1 + 0.04*rng.NormFloat64()), Pressure: site, Target: label, UTarget: 0.9}}
	if rng.Float64() < 0.7 {
		d.know.DesignAir = m.Evap.Rated * (1 + 0.05*rng.NormFloat64())
	}
	if rng.IntN(2) == 0 {
		c := *m.Comp
		mass, power := *c.Mass, *c.Power
		mass.Unit *= compressor.Scale(1 + 0.03*rng.NormFloat64())
		power.Unit *= compressor.Scale(1 + 0.03*rng.NormFloat64())
		c.Mass, c.Power = &mass, &power
		d.know.Map = &c
	}
	m.Evap.Air *= 1 + 0.04*rng.NormFloat64()

	// The day of the check.
	c := weather(65, 115)
	h, err := m.Solve(c, nil)
	if err != nil {
		return nil, errRedraw
	}
	s := h
	bias := 0.0
	switch {
	case kind >= 17:
		d.bad, d.probe = true, doubted[rng.IntN(len(doubted))]
		d.sev = severity(rng.IntN(3))
		bias = []float64{0.55, 1, 1.5}[d.sev] * between(0.85, 1.15)
		if rng.IntN(2) == 0 {
			bias = -bias
		}
	case kind >= 5:
		d.fault = cycle.Fault(1 + rng.IntN(cycle.Faults-1))
		d.sev = severity(rng.IntN(3))
		b := bands[d.fault][d.sev]
		x := between(b[0], b[1])
		if d.fault == cycle.ValveOverfeeds && !fixed {
			x *= 3.5
		}
		m = m.With(d.fault, x, &h)
		if s, err = m.Solve(c, &h); err != nil {
			return nil, errRedraw
		}
	}
	x := Show(m, &s, c)
	for q, v := range x {
		u := noise(Quantity(q), v)
		d.read[q] = Reading{Value: v + u*rng.NormFloat64(), U: u, Have: full || Quantity(q) != ValveT && Quantity(q) != RestP && Quantity(q) != RestT}
	}
	if d.bad {
		d.read[d.probe].Value += bias * gross(d.probe, x[d.probe])
	}
	if fixed {
		// Outside the table the check itself is refused, so there is nothing to rank.
		t, err := tab.Superheat(d.read[WetBulb].Value, d.read[OutdoorT].Value)
		if err != nil {
			return nil, errRedraw
		}
		d.know.Target, d.know.UTarget = t.Value, math.Hypot(t.U, 1.8)
	}
	return d, nil
}

// gross is the moderate error of a reading that is wrong.
func gross(q Quantity, v float64) float64 {
	switch q {
	case SuctionP, LiquidP, RestP:
		return 0.07 * v
	case IndoorAir:
		return 0.3 * v
	case Power:
		return 0.2 * v
	case WetBulb:
		return 2.5
	case DischargeT:
		return 12
	}
	return 4.5
}

func fahr(f float64) float64 { return (f + 459.67) / 1.8 }

const truths = cycle.Faults + int(Quantities)

// tally counts strictly: what the ranking refuses counts against it, and a healthy
// machine told that something is wrong, be it that no single cause fits, counts as accused. A cause is
// first if it is, or belongs to the set that the report says is not separated.
type tally struct {
	runs, first, alone, named [truths][3]int
	confusion                 [truths][truths + 1]int // moderate only; last column: no single cause, or refused
	healthy, accused          int
	errors, redrawn           int
}

func (a *tally) add(b *tally) {
	for i := range a.runs {
		for j := range a.runs[i] {
			a.runs[i][j] += b.runs[i][j]
			a.first[i][j] += b.first[i][j]
			a.alone[i][j] += b.alone[i][j]
			a.named[i][j] += b.named[i][j]
		}
		for j := range a.confusion[i] {
			a.confusion[i][j] += b.confusion[i][j]
		}
	}
	a.healthy += b.healthy
	a.accused += b.accused
	a.errors += b.errors
	a.redrawn += b.redrawn
}

// trial runs seeds from to below to that keep accepts, on all processors.
func trial(t testing.TB, from, to uint64, keep func(uint64) bool, full bool, sp Spread) *tally {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	sum := new(tally)
	var mu sync.Mutex
	var wg sync.WaitGroup
	n := uint64(runtime.GOMAXPROCS(0))
	for w := range n {
		wg.Add(1)
		go func() {
			defer wg.Done()
			part := new(tally)
			for seed := from + w; seed < to; seed += n {
				if keep(seed) {
					part.one(draw(seed, tab, full), sp)
				}
			}
			mu.Lock()
			sum.add(part)
			mu.Unlock()
		}()
	}
	wg.Wait()
	return sum
}

func (a *tally) one(d *drawn, sp Spread) {
	rep, err := run(d.know, d.read, sp)
	truth := d.truth()
	a.redrawn += d.redrawn
	if truth == 0 {
		a.healthy++
		if err != nil || rep.Outcome.Accuses() {
			a.accused++
		}
	}
	a.runs[truth][d.sev]++
	shown := truths
	if err != nil {
		a.errors++
	} else {
		of := func(c *Cause) int {
			if c.IsProbe {
				return cycle.Faults + int(c.Probe)
			}
			return int(c.Fault)
		}
		for i := range rep.Causes[:rep.First] {
			if of(&rep.Causes[i]) == truth {
				a.first[truth][d.sev]++
				if i == 0 {
					a.alone[truth][d.sev]++
				}
				if rep.Outcome == Found {
					a.named[truth][d.sev]++
				}
			}
		}
		switch rep.Outcome {
		case Found:
			shown = of(&rep.Causes[0])
		case Fine, Unsure:
			shown = 0
		}
	}
	if d.sev == moderate || truth == 0 {
		a.confusion[truth][shown]++
	}
}

func name(truth int) string {
	switch {
	case truth == truths:
		return "none fits"
	case truth >= cycle.Faults:
		return "probe: " + Quantity(truth-cycle.Faults).String()
	}
	return cycle.Fault(truth).String()
}

// rate is the share of faulty runs of a severity in which the right cause ranks
// first; probes tells wrong readings from faults of the machine.
func (a *tally) rate(s severity, probes bool) (first, runs int) {
	lo, hi := 1, cycle.Faults
	if probes {
		lo, hi = cycle.Faults, truths
	}
	for i := lo; i < hi; i++ {
		first += a.first[i][s]
		runs += a.runs[i][s]
	}
	return first, runs
}

func (a *tally) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "healthy %d: accused %d (%.1f %%); refused %d; drawn again %d\n", a.healthy, a.accused, 100*float64(a.accused)/max(1, float64(a.healthy)), a.errors, a.redrawn)
	for _, probes := range []bool{false, true} {
		fmt.Fprintf(&b, "%-34s", map[bool]string{false: "right cause first: faults", true: "right cause first: wrong readings"}[probes])
		for s := mild; s <= severe; s++ {
			f, n := a.rate(s, probes)
			fmt.Fprintf(&b, "  %s %d/%d = %.1f %%", []string{"mild", "moderate", "severe"}[s], f, n, 100*float64(f)/max(1, float64(n)))
		}
		b.WriteByte('\n')
	}
	for i := range truths {
		if i > 0 && a.runs[i] != [3]int{} {
			fmt.Fprintf(&b, "  %-38s", name(i))
			for s := range 3 {
				fmt.Fprintf(&b, " %3d/%-3d (alone %3d, named %3d)", a.first[i][s], a.runs[i][s], a.alone[i][s], a.named[i][s])
			}
			b.WriteByte('\n')
		}
	}
	b.WriteString("confusion at moderate severity (what was told):\n")
	for i := range truths {
		if a.confusion[i] == [truths + 1]int{} {
			continue
		}
		fmt.Fprintf(&b, "  %-38s:", name(i))
		for j, n := range a.confusion[i] {
			if n > 0 {
				fmt.Fprintf(&b, " %s %d;", name(j), n)
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}
