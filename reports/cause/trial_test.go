package cause_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"retrostage/assets/soak"
	"retrostage/reports/cause"
	"retrostage/wiring/supply"
)

// A broken compressor as a thing: its windings, its shell, what moves in it, what it
// hangs on. What a person finds at it comes from these numbers, through instruments
// and eyes that err. Nothing here knows the table of package cause, and how often
// kinds turn up is other than there.
type unit struct {
	kind cause.Kind

	rated, supply     float64 // V
	call, passes      bool
	capMark, cap      float64 // uF
	start, run        float64 // ohm at 25 °C, as data
	startR, runR      float64 // as it is; +Inf open
	overload          float64 // ohm; +Inf open
	closes            bool    // it closes when cold
	celsius           float64
	leak              float64 // ohm to the shell at 40 °C
	damp              float64 // ohm, at a dirty terminal; +Inf none
	burntLead         bool    // a lead off its pin that reads as open at the leads
	torque            float64 // share of what a start needs that friction takes; above 1 it is stuck
	leakage           float64 // share of its flow that comes back inside
	hot               float64 // share of rated heat that cannot leave; trips when large
	acid, dark, metal float64 // 0 to 1
	liquid, heat      bool
	noisy             bool
	charge            float64 // share of the plate's
	age               float64
	lra               float64
}

// world deals the chances. skips is the share of tests that a person leaves out.
type world struct {
	*rand.Rand
	skips float64
}

func (w world) chance(p float64) bool         { return w.Float64() < p }
func (w world) between(a, b float64) float64  { return a + (b-a)*w.Float64() }
func (w world) log(median, s float64) float64 { return median * math.Exp(s*w.NormFloat64()) }
func (w world) near(x, rel, ab float64) float64 {
	return x*(1+rel*w.NormFloat64()) + ab*w.NormFloat64()
}

// sound is a unit with nothing wrong inside, of some age and site.
func (w world) sound() unit {
	u := unit{rated: 230, call: true, passes: true, celsius: w.between(10, 60), overload: 0.02, closes: true, damp: math.Inf(1), charge: w.between(0.94, 1.06), age: w.between(1, 20)}
	u.supply = w.near(232, 0.02, 0)
	u.capMark = []float64{30, 35, 40, 45, 50, 55}[w.IntN(6)]
	u.cap = u.capMark * w.between(0.94, 1.04)
	u.run = w.between(0.35, 1.4)
	u.start = u.run * w.between(2.2, 4.5)
	u.startR, u.runR = u.start*w.near(1, 0.02, 0), u.run*w.near(1, 0.02, 0)
	u.leak = w.log(500e6, 1)
	if w.chance(0.2) { // refrigerant lies in its oil
		u.leak = math.Min(u.leak, w.log(30e6, 0.6))
	}
	if w.chance(0.03) {
		u.damp = w.log(0.4e6, 1)
	}
	u.burntLead = w.chance(0.006)
	u.torque, u.leakage = w.between(0.2, 0.5), w.between(0.01, 0.06)
	u.acid, u.dark, u.metal = w.between(0, 0.1), w.between(0, 0.25), w.between(0, 0.1)
	u.lra = w.between(80, 140)
	if w.chance(0.12) {
		u.charge *= w.between(0.6, 0.9)
	}
	if w.chance(0.05) {
		u.charge *= w.between(1.12, 1.35)
	}
	if w.chance(0.1) {
		u.cap *= w.between(0.55, 0.88)
	}
	if w.chance(0.05) {
		u.cap *= w.between(0, 0.4)
	}
	if w.chance(0.04) {
		u.supply *= w.between(0.8, 0.89)
	}
	u.heat = w.chance(0.2)
	u.liquid = w.chance(0.06)
	u.noisy = w.chance(0.06)
	return u
}

func (w world) burn(u *unit, how float64) {
	u.acid = math.Max(u.acid, how*w.between(0.5, 1))
	u.dark = math.Max(u.dark, how*w.between(0.6, 1.1))
}

// broken makes a unit of a kind.
func (w world) broken(k cause.Kind) unit {
	u := w.sound()
	u.kind = k
	switch k {
	case cause.Grounded:
		u.leak = w.log(20e3, 2.2)
		w.burn(&u, w.between(0.3, 1))
		if w.chance(0.2) {
			u.startR *= w.between(0.5, 0.9)
		}
		if w.chance(0.08) {
			u.runR = math.Inf(1)
		}
		u.heat = u.heat || w.chance(0.3)
	case cause.OpenStart:
		u.startR = math.Inf(1)
		w.burn(&u, w.between(0, 0.8)*float64(w.IntN(2)))
	case cause.OpenRun:
		u.runR = math.Inf(1)
		w.burn(&u, w.between(0, 0.8)*float64(w.IntN(2)))
	case cause.OverloadOpen:
		u.overload, u.closes = math.Inf(1), false
		u.heat = u.heat || w.chance(0.3)
	case cause.ShortedTurns:
		f := w.between(0.6, 0.9)
		if w.chance(0.5) {
			u.startR *= f
		} else {
			u.runR *= f
		}
		w.burn(&u, w.between(0.2, 0.9))
		u.leak = math.Min(u.leak, w.log(80e6, 1))
	case cause.Seized:
		u.torque = w.between(2, 9)
		u.metal = w.between(0, 1)
		u.noisy = w.chance(0.45)
		u.heat = u.heat || w.chance(0.25)
	case cause.Worn:
		u.leakage = w.between(0.55, 0.95)
		u.metal = w.between(0, 0.9)
		u.noisy = w.chance(0.6)
		u.age = w.between(9, 24)
	case cause.Flooded:
		u.liquid = true
		u.noisy = w.chance(0.65)
		u.metal = w.between(0.1, 1)
		if w.chance(0.7) {
			u.leakage = w.between(0.55, 0.98)
		} else {
			u.torque = w.between(1.5, 6)
		}
		if w.chance(0.3) {
			u.charge = w.between(1.1, 1.4)
		}
	case cause.Overheated:
		u.heat = true
		u.hot = w.between(0.7, 1.5)
		u.leak = w.log(6e6, 1.1)
		w.burn(&u, w.between(0.4, 1))
		if w.chance(0.45) {
			u.charge *= w.between(0.55, 0.85)
		}
		if w.chance(0.15) {
			u.overload, u.closes = math.Inf(1), true
		}
	case cause.NoFault:
		w.outside(&u)
	}
	return u
}

// outside gives a sound compressor a reason not to run.
func (w world) outside(u *unit) {
	switch x := w.Float64(); {
	case x < 0.40:
		u.cap = u.capMark * w.between(0, 0.45)
	case x < 0.50:
		u.cap = u.capMark * w.between(0.5, 0.85)
		u.torque = w.between(0.7, 0.9)
	case x < 0.62:
		u.call = false
	case x < 0.76:
		u.passes = false
	case x < 0.82:
		u.supply *= w.between(0.78, 0.88)
	case x < 0.95: // tripped: coil matted, fan stopped
		u.overload, u.closes, u.heat = math.Inf(1), true, true
		u.hot = w.between(0.4, 0.9)
	}
}

// runs is what it does with these volts and this capacitor.
func (w world) runs(u unit, volts, capShare float64) cause.Trial {
	if !u.call || !u.passes || math.IsInf(u.overload, 1) && !u.closes || math.IsInf(u.runR, 1) && math.IsInf(u.startR, 1) {
		return cause.Nothing
	}
	if u.leak < 2e3 || u.runR < 0.72*u.run && w.chance(0.6) {
		return cause.TripsAtOnce
	}
	if math.IsInf(u.runR, 1) {
		return cause.Nothing
	}
	drive := (volts / u.rated) * (volts / u.rated) * math.Min(1, capShare*1.15)
	if math.IsInf(u.startR, 1) {
		drive = 0
	}
	shorted := math.Min(u.startR/u.start, u.runR/u.run)
	if shorted < 0.92 {
		drive *= 0.4
	}
	switch {
	case drive < u.torque:
		return cause.Hums
	case u.leakage > 0.45:
		return cause.RunsNoLift
	case u.hot > 0.6 || shorted < 0.92:
		return cause.RunsTrips
	case u.charge < 0.45:
		return cause.RunsNoLift
	}
	return cause.RunsPumps
}

// visit is what a person finds, who leaves things out and is wrong at times.
func (w world) visit(u unit) cause.Evidence {
	e := cause.Evidence{Rated: u.rated, LRA: u.lra, AgeKnown: w.chance(0.9), Age: u.age, Plate: 3}
	do := func() bool { return !w.chance(w.skips) }
	answer := func(is bool) cause.Answer {
		if w.chance(0.06) {
			is = !is
		}
		if is {
			return cause.Yes
		}
		return cause.No
	}
	if do() {
		e.Supply = math.Abs(w.near(u.supply, 0.01, 0))
		e.Call, e.Passes = cause.No, cause.NotDone
		if u.call {
			e.Call, e.Passes = cause.Yes, cause.No
			if u.passes {
				e.Passes = cause.Yes
			}
		}
	}
	if do() {
		e.CapMarked, e.Cap = u.capMark*1e-6, math.Abs(w.near(u.cap, 0.02, 0.1))*1e-6
		if e.Cap < 3e-6 {
			e.CapBroken = cause.Yes
		}
	}
	if do() {
		w.windings(u, &e)
	}
	if do() {
		r := 1 / (1/u.leak + 1/u.damp)
		e.InsulationTaken, e.InsulationT = true, 273.15+w.near(u.celsius, 0, 4)
		e.Insulation = math.Min(w.log(r, 0.12)*math.Pow(2, (40-u.celsius)/10), 2e9)
		if e.Insulation < 2e6 && w.chance(0.8) { // taken off, cleaned, dried, again
			e.Insulation = math.Min(w.log(u.leak, 0.12)*math.Pow(2, (40-u.celsius)/10), 2e9)
			e.InsulationAgain = cause.Yes
		}
	}
	w.switchOn(u, &e)
	if do() {
		e.Flood = answer(u.liquid)
	}
	if do() {
		e.Heat = answer(u.heat)
	}
	if do() {
		e.Noise = answer(u.noisy)
	}
	if w.chance(0.7) {
		w.open(u, &e)
	}
	return e
}

func (w world) windings(u unit, e *cause.Evidence) {
	k := (234.5 + u.celsius) / (234.5 + 25)
	over := u.overload
	e.AtTerminals = cause.No
	if w.chance(0.7) {
		e.AtTerminals = cause.Yes
	}
	read := func(r float64) supply.Ohms {
		if math.IsInf(r, 1) || w.chance(0.004) {
			return supply.OverRange()
		}
		return supply.Read(math.Abs(w.near(r, 0.005, 0.01)), 0.02+0.005*r)
	}
	if math.IsInf(over, 1) && w.chance(0.85) {
		e.ColdAfterWait, e.ClosedAfterWait = cause.Yes, cause.No
		if u.closes {
			e.ClosedAfterWait = cause.Yes
		}
	}
	start := u.startR
	if u.burntLead && e.AtTerminals == cause.No {
		start = math.Inf(1)
	}
	e.CS, e.CR, e.SR = read(start*k+over), read(u.runR*k+over), read((start+u.runR)*k)
	if w.chance(0.7) {
		e.DataStart, e.DataRun = u.start, u.run
		if w.chance(0.8) {
			e.WindingT = 273.15 + w.near(u.celsius, 0, 3)
		}
	}
}

// switchOn is done only where nothing found forbids it, or was told by the owner.
func (w world) switchOn(u unit, e *cause.Evidence) {
	whole := e.CS.Taken && !e.SR.Open && (!e.CS.Open || e.ClosedAfterWait == cause.Yes)
	safe := e.InsulationTaken && e.Insulation > 2e6 && whole
	first := w.runs(u, u.supply, u.cap/u.capMark)
	if !safe {
		if first == cause.TripsAtOnce && w.chance(0.7) {
			e.Trial = first
		}
		return
	}
	if w.chance(w.skips) {
		return
	}
	e.Trial = first
	if (first == cause.Hums || first == cause.Nothing && (!u.call || !u.passes)) && w.chance(0.75) {
		v := u
		v.call, v.passes = true, true
		e.Trial, e.TrialGood = w.runs(v, 230, 1.02), cause.Yes
	}
	if w.chance(0.6) && e.Trial != cause.Nothing {
		x := w.near(1, 0.04, 0)
		if s := math.Min(u.startR/u.start, u.runR/u.run); s < 0.92 {
			x *= w.between(1.1, 1.7)
		}
		e.Inrush = u.lra * x * u.supply / u.rated
	}
}

func (w world) open(u unit, e *cause.Evidence) {
	e.Oil = cause.OilClear
	switch d := u.dark + 0.1*w.NormFloat64(); {
	case d > 0.75:
		e.Oil = cause.OilBurnt
	case d > 0.4:
		e.Oil = cause.OilDark
	}
	if w.chance(0.85) {
		e.Acid = cause.AcidNone
		switch a := u.acid + 0.08*w.NormFloat64(); {
		case a > 0.5:
			e.Acid = cause.AcidShown
		case a > 0.3:
			e.Acid = cause.AcidDoubtful
		}
	}
	e.Metal = cause.No
	if u.metal+0.1*w.NormFloat64() > 0.5 {
		e.Metal = cause.Yes
	}
	e.Recovered = e.Plate * w.near(u.charge, 0.03, 0)
}

// shares is how often kinds turn up here.
var shares = []float64{0.18, 0.05, 0.04, 0.04, 0.06, 0.12, 0.10, 0.08, 0.09, 0.24}

// outcome of a number of visits.
type tally struct {
	n, right, sound, condemned, dead, freed int
	confusion                               [][]int
	calls                                   [][3]int
}

func trial(t *testing.T, n int, seed uint64, skips float64) tally {
	w := world{rand.New(rand.NewPCG(seed, 0)), skips}
	kinds := cause.Kinds()
	y := tally{n: n, confusion: make([][]int, len(kinds)), calls: make([][3]int, len(kinds))}
	for i := range y.confusion {
		y.confusion[i] = make([]int, len(kinds))
	}
	for range n {
		x, k := w.Float64(), 0
		for ; k < len(shares)-1 && x > shares[k]; k++ {
			x -= shares[k]
		}
		out, err := cause.Examine(w.visit(w.broken(kinds[k])))
		if err != nil {
			t.Fatal(err)
		}
		first := out.First().Kind
		y.confusion[k][first]++
		y.calls[k][out.Call]++
		if first == kinds[k] {
			y.right++
		}
		if kinds[k] == cause.NoFault {
			y.sound++
			if out.Call == cause.Dead {
				y.condemned++
			}
		} else {
			y.dead++
			if out.Call == cause.NotDead {
				y.freed++
			}
		}
	}
	return y
}

// TestTrial holds the ranking against invented failures: the right kind first in 85 %,
// a sound compressor called dead in under 1 %, a dead one called not dead in under 1 %.
// Of the tests that can be done at a closed unit one in twelve is left out, of those at
// an opened one three in ten; other shares are printed beside.
func TestTrial(t *testing.T) {
	y := trial(t, soak.Count(1000, 20000), 20260814, 1.0/12)
	t.Log(table(cause.Kinds(), y.confusion, y.calls))
	t.Logf("right first %.1f %% of %d; sound called dead %d of %d; dead called not dead %d of %d", y.share(), y.n, y.condemned, y.sound, y.freed, y.dead)
	if y.share() < 85 {
		t.Errorf("right first in %.1f %%, wanted 85", y.share())
	}
	if float64(y.condemned) >= 0.01*float64(y.sound) {
		t.Errorf("%d of %d sound compressors called dead", y.condemned, y.sound)
	}
	if float64(y.freed) >= 0.01*float64(y.dead) {
		t.Errorf("%d of %d dead compressors called not dead", y.freed, y.dead)
	}
	for _, skips := range []float64{0, 0.2, 0.4} {
		y := trial(t, soak.Count(1000, 20000), 7, skips)
		t.Logf("left out %.0f %%: right first %.1f %%, sound called dead %d of %d, dead called not dead %d of %d", 100*skips, y.share(), y.condemned, y.sound, y.freed, y.dead)
		if float64(y.condemned) >= 0.01*float64(y.sound) {
			t.Errorf("left out %.0f %%: %d of %d sound compressors called dead", 100*skips, y.condemned, y.sound)
		}
	}
}

func (y tally) share() float64 { return 100 * float64(y.right) / float64(y.n) }

func table(kinds []cause.Kind, confusion [][]int, calls [][3]int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "\n%-36s", "is, below; ranked first, across")
	for _, k := range kinds {
		fmt.Fprintf(&b, "%6.5s", k)
	}
	fmt.Fprintf(&b, "%9s%6s%9s\n", "cannot", "dead", "not dead")
	for i, k := range kinds {
		fmt.Fprintf(&b, "%-36s", k)
		for _, c := range confusion[i] {
			fmt.Fprintf(&b, "%6d", c)
		}
		fmt.Fprintf(&b, "%9d%6d%9d\n", calls[i][0], calls[i][1], calls[i][2])
	}
	return b.String()
}
