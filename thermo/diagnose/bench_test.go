package diagnose_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"sync"
	"testing"

	"retrostage/assets/soak"
	"retrostage/thermo/air"
	"retrostage/thermo/cycle"
	"retrostage/thermo/diagnose"
	"retrostage/thermo/fluid"
	"retrostage/thermo/plant"
	"retrostage/thermo/target"
)

// The bench puts plants of another kind before the ranking. A run is one seed: what
// it draws stays, and what goes wrong is counted. Nothing is drawn again but the
// weather of a fixed bore's check on days for which the target table has no value,
// on which nobody checks.
//
// Counting is strict. A refusal by the ranking counts against it wherever it
// happens. A healthy machine told that something is wrong, be it that no single cause
// fits, counts as accused; one told that it cannot be told counts beside that. A cause counts as first if it is the first, or one of the set that the
// report says the readings do not separate; sets are counted beside it.

type kind int

const (
	healthy kind = iota
	oneFault
	twoFaults
	wrongReading
)

type level int

const (
	mild level = iota
	moderate
	severe
	levels
)

func (l level) String() string { return [...]string{"mild", "moderate", "severe"}[l] }

// strength is the drawn size of each fault.
var strength = map[cycle.Fault][levels][2]float64{
	cycle.Undercharge:     {{0.08, 0.15}, {0.18, 0.28}, {0.30, 0.40}},
	cycle.Overcharge:      {{0.08, 0.15}, {0.18, 0.30}, {0.32, 0.45}},
	cycle.Restriction:     {{0.05, 0.12}, {0.15, 0.30}, {0.35, 0.50}}, // beyond what the subcooling covers: before that nothing shows anywhere
	cycle.LowIndoorAir:    {{0.12, 0.20}, {0.28, 0.42}, {0.45, 0.55}},
	cycle.LowOutdoorAir:   {{0.15, 0.25}, {0.35, 0.48}, {0.50, 0.60}},
	cycle.NonCondensable:  {{0.03, 0.06}, {0.08, 0.15}, {0.18, 0.25}},
	cycle.LeakingValves:   {{0.06, 0.12}, {0.18, 0.28}, {0.32, 0.45}},
	cycle.ValveOverfeeds:  {{0.10, 0.18}, {0.22, 0.35}, {0.40, 0.55}},
	cycle.ValveUnderfeeds: {{0.08, 0.14}, {0.18, 0.28}, {0.32, 0.42}},
}

// gross is the moderate error of a reading that is wrong, as a share (ratio) or in K.
var gross = map[diagnose.Quantity]struct{ share, kelvin float64 }{
	diagnose.SuctionP: {share: 0.07}, diagnose.LiquidP: {share: 0.07}, diagnose.RestP: {share: 0.07},
	diagnose.IndoorAir: {share: 0.30}, diagnose.Power: {share: 0.20},
	diagnose.WetBulb: {kelvin: 2.5}, diagnose.DischargeT: {kelvin: 12},
	diagnose.SuctionT: {kelvin: 4.5}, diagnose.LiquidT: {kelvin: 4.5}, diagnose.SupplyT: {kelvin: 4.5}, diagnose.RestT: {kelvin: 4.5}, diagnose.CondAirT: {kelvin: 4.5}, diagnose.ValveT: {kelvin: 4.5},
}

// instrument is the standard uncertainty of field instruments: the limits of
// California Title 24 RA3.2 (2008 and 2013 texts as read: 1.3 F + 0.1 %, 3.5 and
// 7 psi, taken as rectangular), a contact error of 0.4 K on pipes, and common
// practice for the rest.
func instrument(q diagnose.Quantity, v float64) float64 {
	switch q {
	case diagnose.SuctionP:
		return 13.9e3
	case diagnose.LiquidP, diagnose.RestP:
		return 27.9e3
	case diagnose.OutdoorT, diagnose.ReturnT, diagnose.SupplyT, diagnose.RestT:
		return 0.42
	case diagnose.WetBulb:
		return 0.55
	case diagnose.DischargeT:
		return 1
	case diagnose.CondAirT:
		return 0.8
	case diagnose.IndoorAir:
		return 0.07 * v
	case diagnose.Power:
		return 0.02 * v
	}
	return 0.58
}

type run struct {
	know   diagnose.Machine
	read   diagnose.Readings
	kind   kind
	faults []cycle.Fault
	probe  diagnose.Quantity
	level  level
	drift  bool
}

// shows is what faultless instruments read.
func shows(q *plant.Plant, o *plant.Op, w *plant.Weather) (x [diagnose.Quantities]float64, err error) {
	rest, err := q.Rest(w)
	if err != nil {
		return x, err
	}
	return [diagnose.Quantities]float64{
		diagnose.SuctionP: o.SuctionP, diagnose.SuctionT: o.SuctionT, diagnose.LiquidP: o.LiquidP, diagnose.LiquidT: o.LiquidT,
		diagnose.OutdoorT: w.Out, diagnose.ReturnT: w.Return, diagnose.WetBulb: w.WetBulb,
		diagnose.DischargeT: o.DischargeT, diagnose.SupplyT: o.Supply, diagnose.CondAirT: o.CondOut, diagnose.ValveT: o.ValveT,
		diagnose.IndoorAir: q.IndoorAir(), diagnose.Power: o.Power, diagnose.RestP: rest, diagnose.RestT: w.Out,
	}, nil
}

func degF(f float64) float64 { return (f + 459.67) / 1.8 }

// drawRun makes the run of a seed. want is its kind; full takes all readings, else
// those of a plain check: no liquid temperature at the valve, no standing pressure.
func drawRun(seed uint64, want kind, full, known bool, tab *target.Tables) (*run, error) {
	rng := rand.New(rand.NewPCG(seed, 30+uint64(want)))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	f, err := fluid.Get([]string{"R-22", "R-410A", "R-410A", "R-32", "R-454B", "R-407C"}[rng.IntN(6)])
	if err != nil {
		return nil, err
	}
	fixed := rng.IntN(2) == 0
	day := func(lo, hi float64) (plant.Weather, float64) {
		for {
			ret := degF(between(71, 82))
			wb := ret - between(6, 14)/1.8
			w := plant.Weather{Out: degF(between(lo, hi)), Return: ret, WetBulb: wb, P: 101325}
			s, err := air.FromWetBulb(ret, wb, w.P)
			if err != nil {
				continue
			}
			w.W = s.W
			if !fixed {
				return w, 0
			}
			if t, err := tab.Superheat(wb, w.Out); err == nil && t.Value > 3 {
				return w, t.Value
			}
		}
	}
	charging, _ := day(70, 100)
	check, sh := day(65, 115)
	if fixed {
		// The target of a bore's superheat holds for the weather of the check alone
		// (Title 24 RA3.2: right is within 5 F of it there), so a healthy one meets it
		// there, as well as a careful hand does.
		charging = check
	}
	d := &run{kind: want, level: level(rng.IntN(int(levels))), probe: -1}
	q, err := plant.Draw(f, fixed, rng)
	if err != nil {
		return nil, err
	}
	label := between(4, 8)
	var o plant.Op
	if fixed {
		o, err = q.Solve(&charging, plant.BySuperheat, max(1, sh+1.5*rng.NormFloat64()), 0, nil)
	} else {
		o, err = q.Solve(&charging, plant.BySubcooling, label+0.7*rng.NormFloat64(), 0, nil)
	}
	if err != nil {
		return nil, fmt.Errorf("charging: %w", err)
	}
	q.Charge = o.Charge
	wr := plant.Rated()
	plate, err := q.Solve(&wr, plant.ByCharge, q.Charge, 0, &o)
	if err != nil {
		return nil, fmt.Errorf("plate: %w", err)
	}
	p, err := cycle.PropsOf(f)
	if err != nil {
		return nil, err
	}
	d.know = diagnose.Machine{Props: p, Fixed: fixed, Capacity: plate.Cooling * (1 + 0.04*rng.NormFloat64()), Pressure: check.P, Target: label, UTarget: 0.9}
	if rng.Float64() < 0.7 {
		d.know.DesignAir = q.DesignAir() * (1 + 0.05*rng.NormFloat64())
	}
	if rng.IntN(2) == 0 {
		if d.know.Map, err = q.Rating(rng); err != nil {
			return nil, err
		}
	}
	q.Blow(1 + 0.04*rng.NormFloat64())
	h, err := q.Solve(&check, plant.ByCharge, q.Charge, 0, &plate)
	if err != nil {
		return nil, fmt.Errorf("check: %w", err)
	}
	if known { // read when it was commissioned, on another day, with draws of its own
		if err := d.commission(q, &charging, &plate, fixed, rand.New(rand.NewPCG(seed, 99))); err != nil {
			return nil, fmt.Errorf("commissioning: %w", err)
		}
	}
	n := map[kind]int{oneFault: 1, twoFaults: 2}[want]
	for len(d.faults) < n {
		a := cycle.Fault(1 + rng.IntN(cycle.Faults-1))
		clash := false
		for _, b := range d.faults {
			clash = a == b || a+b == cycle.Undercharge+cycle.Overcharge && (a == cycle.Undercharge || a == cycle.Overcharge) || a >= cycle.ValveOverfeeds && b >= cycle.ValveOverfeeds
		}
		if clash {
			continue
		}
		if want == twoFaults {
			d.level = moderate
		}
		b := strength[a][d.level]
		q.Apply(plant.Fault(a), between(b[0], b[1]), &h, rng)
		d.faults = append(d.faults, a)
	}
	s := h
	if n > 0 {
		if s, err = q.Solve(&check, plant.ByCharge, q.Charge, 0, &h); err != nil {
			return nil, fmt.Errorf("with %v: %w", d.faults, err)
		}
	}
	x, err := shows(q, &s, &check)
	if err != nil {
		return nil, err
	}
	if d.drift = rng.Float64() < 0.3; d.drift {
		// The low side is read first, the high side when the day has moved on.
		later := check
		later.Out += between(-0.8, 0.8)
		later.Return += between(-0.5, 0.5)
		if s2, err := q.Solve(&later, plant.ByCharge, q.Charge, 0, &s); err == nil {
			y, err := shows(q, &s2, &later)
			if err != nil {
				return nil, err
			}
			for _, k := range []diagnose.Quantity{diagnose.LiquidP, diagnose.LiquidT, diagnose.DischargeT, diagnose.CondAirT, diagnose.OutdoorT, diagnose.Power} {
				x[k] = y[k]
			}
		}
	}
	for k, v := range x {
		u := instrument(diagnose.Quantity(k), v)
		extra := diagnose.Quantity(k) == diagnose.ValveT || diagnose.Quantity(k) == diagnose.RestP || diagnose.Quantity(k) == diagnose.RestT
		d.read[k] = diagnose.Reading{Value: v + u*rng.NormFloat64(), U: u, Have: full || !extra}
	}
	if want == wrongReading {
		for {
			k := diagnose.Quantity(rng.IntN(int(diagnose.Quantities)))
			g, ok := gross[k]
			if !ok || !d.read[k].Have {
				continue
			}
			d.probe = k
			size := []float64{0.55, 1, 1.5}[d.level] * between(0.85, 1.15)
			if rng.IntN(2) == 0 {
				size = -size
			}
			r := &d.read[k]
			r.Value += size * (g.kelvin + g.share*x[k])
			break
		}
		if r := &d.read; r[diagnose.WetBulb].Value > r[diagnose.ReturnT].Value {
			r[diagnose.WetBulb].Value = r[diagnose.ReturnT].Value // a person sees that much
		}
	}
	if fixed {
		t, err := tab.Superheat(d.read[diagnose.WetBulb].Value, d.read[diagnose.OutdoorT].Value)
		if err != nil { // the check would be refused; the machine's own target stands in
			t.Value, t.U = sh, 1.5
		}
		d.know.Target, d.know.UTarget = t.Value, math.Hypot(t.U, 1.8)
	}
	return d, nil
}

// commission reads the sound plant on another day than that of the check, with other
// errors of the instruments, and tells the ranking.
func (d *run) commission(q *plant.Plant, w *plant.Weather, near *plant.Op, fixed bool, rng *rand.Rand) error {
	day := *w
	if fixed { // its charge was set in the check's weather; it was read on another day
		day.Out += 6 * (2*rng.Float64() - 1)
	}
	o, err := q.Solve(&day, plant.ByCharge, q.Charge, 0, near)
	if err != nil {
		return err
	}
	x, err := shows(q, &o, &day)
	if err != nil {
		return err
	}
	c := new(diagnose.Readings)
	for k, v := range x {
		u := instrument(diagnose.Quantity(k), v)
		extra := diagnose.Quantity(k) == diagnose.ValveT || diagnose.Quantity(k) == diagnose.RestP || diagnose.Quantity(k) == diagnose.RestT
		c[k] = diagnose.Reading{Value: v + u*rng.NormFloat64(), U: u, Have: !extra}
	}
	d.know.Commissioned = c
	return nil
}

// score is the strict count.
type score struct {
	undrawn, refused          int                     // no steady plant; the ranking would not answer
	healthy, accused, unsure  int                     // of the healthy; unsure: told that it cannot be told
	runs, first, alone, named map[string]*[levels]int // by cause
	told                      [4][levels]int          // one fault, by outcome
	pairs, bothThree, bothTwo int
	sets                      [levels]int // named with another, of the runs with one fault
	confusion                 map[string]map[string]int
	wrongRuns, wrongFirst     [levels]int
	wrongAs                   map[string]int
}

func newScore() *score {
	return &score{runs: map[string]*[levels]int{}, first: map[string]*[levels]int{}, alone: map[string]*[levels]int{}, named: map[string]*[levels]int{}, confusion: map[string]map[string]int{}, wrongAs: map[string]int{}}
}

func bump(m map[string]*[levels]int, k string, l level) {
	if m[k] == nil {
		m[k] = new([levels]int)
	}
	m[k][l]++
}

func (a *score) add(d *run, rep *diagnose.Report, err error) {
	if err != nil {
		a.refused++
	}
	set := func() []diagnose.Cause {
		if err != nil {
			return nil
		}
		return rep.Causes[:rep.First]
	}()
	switch d.kind {
	case healthy:
		a.healthy++
		switch {
		case err != nil || rep.Outcome.Accuses():
			a.accused++
		case rep.Outcome == diagnose.Unsure:
			a.unsure++
		}
	case oneFault:
		k := d.faults[0].String()
		bump(a.runs, k, d.level)
		told := "refused"
		if err == nil {
			told = rep.Causes[0].Label
			if len(set) > 1 && rep.Outcome == diagnose.Found {
				a.sets[d.level]++
			}
			a.told[rep.Outcome][d.level]++
			switch rep.Outcome {
			case diagnose.Fine:
				told = "(fine) " + told
			case diagnose.Unsure:
				told = "(unsure) " + told
			}
			for i, c := range set {
				if !c.IsProbe && c.Fault == d.faults[0] {
					bump(a.first, k, d.level)
					if i == 0 {
						bump(a.alone, k, d.level)
					}
					if rep.Outcome == diagnose.Found {
						bump(a.named, k, d.level)
					}
				}
			}
		}
		if d.level == moderate {
			if a.confusion[k] == nil {
				a.confusion[k] = map[string]int{}
			}
			a.confusion[k][told]++
		}
	case twoFaults:
		a.pairs++
		if err != nil {
			return
		}
		in := func(n int) bool {
			hit := 0
			for _, c := range rep.Causes[:min(n, len(rep.Causes))] {
				if !c.IsProbe && (c.Fault == d.faults[0] || c.Fault == d.faults[1]) {
					hit++
				}
			}
			return hit == 2
		}
		if in(3) {
			a.bothThree++
		}
		if in(2) {
			a.bothTwo++
		}
	case wrongReading:
		a.wrongRuns[d.level]++
		if err != nil {
			return
		}
		for _, c := range set {
			if c.IsProbe && c.Probe == d.probe {
				a.wrongFirst[d.level]++
				return
			}
		}
		if d.level >= moderate {
			told := rep.Causes[0].Label
			if !rep.Outcome.Accuses() {
				told = rep.Outcome.String()
			}
			a.wrongAs[d.probe.String()+" -> "+told]++
		}
	}
}

func (a *score) merge(b *score) {
	a.undrawn += b.undrawn
	a.refused += b.refused
	a.healthy += b.healthy
	a.accused += b.accused
	a.unsure += b.unsure
	for o := range b.told {
		for l := range b.told[o] {
			a.told[o][l] += b.told[o][l]
		}
	}
	a.pairs += b.pairs
	a.bothThree += b.bothThree
	a.bothTwo += b.bothTwo
	for l := range b.sets {
		a.sets[l] += b.sets[l]
	}
	for _, p := range [][2]map[string]*[levels]int{{a.runs, b.runs}, {a.first, b.first}, {a.alone, b.alone}, {a.named, b.named}} {
		for k, v := range p[1] {
			if p[0][k] == nil {
				p[0][k] = new([levels]int)
			}
			for l := range v {
				p[0][k][l] += v[l]
			}
		}
	}
	for k, v := range b.confusion {
		if a.confusion[k] == nil {
			a.confusion[k] = map[string]int{}
		}
		for t, n := range v {
			a.confusion[k][t] += n
		}
	}
	for l := range b.wrongRuns {
		a.wrongRuns[l] += b.wrongRuns[l]
		a.wrongFirst[l] += b.wrongFirst[l]
	}
	for k, n := range b.wrongAs {
		a.wrongAs[k] += n
	}
}

func sum(m map[string]*[levels]int, l level) (n int) {
	for _, v := range m {
		n += v[l]
	}
	return n
}

func pct(a, b int) string {
	return fmt.Sprintf("%d/%d = %.1f %%", a, b, 100*float64(a)/max(1, float64(b)))
}

func (a *score) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "undrawn %d, refused %d; healthy accused %s, told that it cannot be told %s\n", a.undrawn, a.refused, pct(a.accused, a.healthy), pct(a.unsure, a.healthy))
	for o, n := range a.told {
		fmt.Fprintf(&b, "one fault, told %q: mild, moderate, severe %v\n", diagnose.Outcome(o), n)
	}
	for l := mild; l < levels; l++ {
		fmt.Fprintf(&b, "%-9s first or in the set %s, first alone %s, named %s\n", l, pct(sum(a.first, l), sum(a.runs, l)), pct(sum(a.alone, l), sum(a.runs, l)), pct(sum(a.named, l), sum(a.runs, l)))
	}
	fmt.Fprintf(&b, "named as a set %v; two faults: both in first three %s, in first two %s\n", a.sets, pct(a.bothThree, a.pairs), pct(a.bothTwo, a.pairs))
	fmt.Fprintf(&b, "wrong readings first: %v of %v\n", a.wrongFirst, a.wrongRuns)
	for f := cycle.Fault(1); int(f) < cycle.Faults; f++ {
		k := f.String()
		if a.runs[k] == nil {
			continue
		}
		get := func(m map[string]*[levels]int) [levels]int {
			if m[k] == nil {
				return [levels]int{}
			}
			return *m[k]
		}
		fmt.Fprintf(&b, "  %-26s runs %v first %v alone %v named %v told %v\n", k, get(a.runs), get(a.first), get(a.alone), get(a.named), a.confusion[k])
	}
	fmt.Fprintf(&b, "  wrong readings told: %v\n", a.wrongAs)
	return b.String()
}

// bench runs n seeds of each kind from a first one.
func bench(t testing.TB, from, n uint64, full, known bool) *score {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	type job struct {
		seed uint64
		k    kind
	}
	jobs := make(chan job)
	total := newScore()
	var mu sync.Mutex
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			part := newScore()
			for j := range jobs {
				d, err := drawRun(j.seed, j.k, full, known, tab)
				if err != nil {
					part.undrawn++
					continue
				}
				rep, err := diagnose.Run(d.know, d.read)
				part.add(d, rep, err)
			}
			mu.Lock()
			total.merge(part)
			mu.Unlock()
		}()
	}
	for s := from; s < from+n; s++ {
		jobs <- job{s, healthy}
		jobs <- job{2 * s, oneFault}
		jobs <- job{2*s + 1, oneFault}
		jobs <- job{s, twoFaults}
		jobs <- job{s, wrongReading}
	}
	close(jobs)
	wg.Wait()
	return total
}

// TestOtherKind ranks plants of another kind. RETROSTAGE_SOAK=1 runs the full count,
// on seeds first run when everything was set; the short run is a sample, with bounds
// as wide as its size makes them.
func TestOtherKind(t *testing.T) {
	n, first, accused, both := uint64(24), 0.68, 0.15, 0.35
	if soak.On() {
		n, first, accused, both = 400, 0.85, 0.03, 0.60
	}
	a := bench(t, 2000, n, true, false)
	t.Logf("full readings:\n%s", a)
	share := func(x, of int) float64 { return float64(x) / max(1, float64(of)) }
	if got := share(sum(a.first, moderate), sum(a.runs, moderate)); got < first {
		t.Errorf("right cause or set first in %.1f %% at moderate severity, want %.0f", 100*got, 100*first)
	}
	if got := share(a.accused, a.healthy); got > accused {
		t.Errorf("%.1f %% of healthy machines accused, want at most %.0f", 100*got, 100*accused)
	}
	if got := share(a.bothThree, a.pairs); got < both {
		t.Errorf("two faults: both in the first three in %.1f %%, want %.0f", 100*got, 100*both)
	}
	if got := share(a.undrawn, int(5*n)); got > 0.05 {
		t.Errorf("%.1f %% of the seeds gave no steady plant", 100*got)
	}
	if soak.On() {
		t.Logf("plain readings:\n%s", bench(t, 2000, n, false, false))
	}
}

// TestCommissioned ranks the same plants where the ranking knows what plain readings of
// them showed when they were sound: it has to do better, and accuse no more.
func TestCommissioned(t *testing.T) {
	n := uint64(16)
	if soak.On() {
		n = 400
	}
	a := bench(t, 2000, n, true, true)
	t.Logf("fitted to its commissioning:\n%s", a)
	share := func(x, of int) float64 { return float64(x) / max(1, float64(of)) }
	first, accused, both := 0.75, 0.15, 0.55
	if soak.On() {
		first, accused, both = 0.92, 0.03, 0.75
	}
	if got := share(sum(a.first, moderate), sum(a.runs, moderate)); got < first {
		t.Errorf("right cause or set first in %.1f %% at moderate severity, want %.0f", 100*got, 100*first)
	}
	if got := share(a.accused, a.healthy); got > accused {
		t.Errorf("%.1f %% of healthy machines accused, want at most %.0f", 100*got, 100*accused)
	}
	if got := share(a.bothThree, a.pairs); got < both {
		t.Errorf("two faults: both in the first three in %.1f %%, want %.0f", 100*got, 100*both)
	}
}

// Readings of a machine that was not sound are not taken for its commissioning, and it is
// ranked as if there were none.
func TestStrangeCommissioning(t *testing.T) {
	tab, err := target.Load()
	if err != nil {
		t.Fatal(err)
	}
	d, err := drawRun(2001, oneFault, false, true, tab)
	if err != nil {
		t.Fatal(err)
	}
	plain := d.know
	plain.Commissioned = nil
	want, err := diagnose.Run(plain, d.read)
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(r *diagnose.Readings){
		"a reading missing":        func(r *diagnose.Readings) { r[diagnose.SuctionP].Have = false },
		"no doubt":                 func(r *diagnose.Readings) { r[diagnose.SuctionP].U = 0 },
		"discharge gas 60 K off":   func(r *diagnose.Readings) { r[diagnose.DischargeT].Value += 60 },
		"power twice as large":     func(r *diagnose.Readings) { r[diagnose.Power].Value *= 2 },
		"supply air 12 K too warm": func(r *diagnose.Readings) { r[diagnose.SupplyT].Value += 12 },
	} {
		k, r := d.know, *d.know.Commissioned
		change(&r)
		k.Commissioned = &r
		got, err := diagnose.Run(k, d.read)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got.Fitted || got.Unfit == "" || got.Healthy != want.Healthy || got.Causes[0].P != want.Causes[0].P {
			t.Errorf("%s: fitted %v (%s), healthy %g, without %g", name, got.Fitted, got.Unfit, got.Healthy, want.Healthy)
		}
	}
	if got, err := diagnose.Run(d.know, d.read); err != nil || !got.Fitted {
		t.Errorf("sound readings are not taken: %v %s", err, got.Unfit)
	}
}
