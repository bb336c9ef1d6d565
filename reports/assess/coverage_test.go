package assess

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"retrostage/assets/soak"
	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/fluid"
	"retrostage/thermo/plant"
)

// covered are the findings whose intervals are held against what is true.
var coveredKeys = []string{"superheat", "subcooling", "isentropic_efficiency", "power_drawn", "flow_balance", "capacity_refrigerant", "eer_refrigerant", "capacity_air", "sides_agree"}

// told is what one set of readings was told, and what is true.
type told struct {
	key         string
	value, half float64
	truth       float64
}

// machines draws a plant of another kind than the program's model, healthy or with one
// fault or two, and its readings on several days: gauges, clamps and meters off by
// anything within their accuracy, in half of the sets all of one kind off alike (one
// set of gauges, one thermometer); clamps off by their contact too; in three sets of
// ten the low side is read before the high side, when the day was another.
func machines(t testing.TB, seed uint64, lim *limits, sets int) (out []told, undrawn int) {
	rng := rand.New(rand.NewPCG(seed, 2026))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	either := func(x float64) float64 { return x * (2*rng.Float64() - 1) }
	name := []string{"R-410A", "R-22", "R-32", "R-454B", "R-407C"}[rng.IntN(5)]
	f, err := fluid.Get(name)
	if err != nil {
		t.Fatal(err)
	}
	fixed := rng.IntN(2) == 0
	q, err := plant.Draw(f, fixed, rng)
	if err != nil {
		return nil, sets
	}
	day := func() plant.Weather {
		for {
			ret := between(295, 301)
			w := plant.Weather{Out: between(291.5, 319), Return: ret, WetBulb: ret - between(3.5, 8), P: 101325}
			if s, err := air.FromWetBulb(w.Return, w.WetBulb, w.P); err == nil {
				w.W = s.W
				return w
			}
		}
	}
	w := plant.Rated()
	mode, want := plant.BySubcooling, between(4, 8)
	if fixed {
		mode, want = plant.BySuperheat, between(3, 12)
	}
	o, err := q.Solve(&w, mode, want, 0, nil)
	if err != nil {
		return nil, sets
	}
	q.Charge = o.Charge
	for n := []int{0, 1, 1, 2}[rng.IntN(4)]; n > 0; n-- {
		q.Apply(plant.Fault(1+rng.IntN(plant.Faults-1)), between(0.08, 0.4), &o, rng)
	}
	for range sets {
		w := day()
		lo, err := q.Solve(&w, plant.ByCharge, q.Charge, 0, &o)
		if err != nil {
			undrawn++
			continue
		}
		hi, later := lo, w
		if rng.Float64() < 0.3 {
			later.Out += either(0.8)
			later.Return += either(0.5)
			if hi, err = q.Solve(&later, plant.ByCharge, q.Charge, 0, &lo); err != nil {
				undrawn++
				continue
			}
		}
		j := record.New("drawn")
		enter := func(key record.Key, value, unit string) {
			if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: time.Unix(1.79e9, 0)}); err != nil {
				t.Fatal(err)
			}
		}
		alike := rng.IntN(2) == 0
		common := map[string]float64{}
		site := 101325.0 + either(lim.Site.HalfWidth)
		contact := 0.0
		for _, a := range lim.Assumed {
			if a.Key == "contact" {
				contact = a.Plus
			}
		}
		read := func(key record.Key, si float64) {
			fd := key.Field()
			cl := lim.byClass[fd.Class]
			if fd.Class == "pipe clamp" {
				si += either(contact)
			}
			v := map[string]float64{"psig": (si - site) / 6894.757293168, "F": si*1.8 - 459.67, "A": si, "V": si, "W": si, "cfm": si / 4.719474432e-4}[fd.Unit]
			off, ok := common[fd.Class]
			if !ok || !alike {
				off = either(1)
				common[fd.Class] = off
			}
			v += off * (cl.Plus + cl.Percent/100*math.Abs(v))
			enter(key, strconv.FormatFloat(v, 'f', 4, 64), fd.Unit)
		}
		enter(record.Refrigerant, name, "")
		if fixed {
			enter(record.Metering, record.MeterFixed, "")
		} else {
			enter(record.Metering, record.MeterTXV, "")
		}
		enter(record.Phases, record.PhaseSingle, "")
		enter(record.Altitude, "0", "ft")
		read(record.SuctionPressure, lo.SuctionP)
		read(record.SuctionTemp, lo.SuctionT)
		read(record.LiquidPressure, hi.LiquidP)
		read(record.LiquidTemp, hi.LiquidT)
		read(record.DischargeTemp, hi.DischargeT)
		const volts = 230
		read(record.SupplyVoltage, volts)
		if rng.IntN(3) > 0 {
			read(record.RunCurrent, hi.Power/volts/(0.95+either(0.05)))
		} else {
			fan := between(130, 280)
			read(record.InputPower, hi.Power+fan)
			read(record.FanCurrent, fan/volts/(0.9+either(0.1)))
		}
		in, err := air.FromWetBulb(w.Return, w.WetBulb, w.P)
		if err != nil {
			t.Fatal(err)
		}
		read(record.Airflow, q.IndoorAir()*in.V())
		read(record.ReturnDB, w.Return)
		read(record.ReturnWB, w.WetBulb)
		read(record.SupplyDB, lo.Supply)
		r, err := Run(j)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		mid := func(at func(o *plant.Op) float64) float64 { return (at(&lo) + at(&hi)) / 2 }
		side := func(o *plant.Op) float64 { return o.MassFlow * (o.H1 - o.H3) }
		truth := map[string]float64{
			"superheat": lo.Superheat, "subcooling": hi.Subcooling, "power_drawn": hi.Power,
			"isentropic_efficiency": mid(func(o *plant.Op) float64 { return (o.Ideal - o.H1) / (o.H2 - o.H1) }),
			"flow_balance":          mid(func(o *plant.Op) float64 { return o.MassFlow }),
			"capacity_refrigerant":  mid(side),
			"eer_refrigerant":       mid(func(o *plant.Op) float64 { return side(o) / o.Power }),
			"evaporator":            mid(func(o *plant.Op) float64 { return o.Cooling }),
		}
		for _, key := range coveredKeys {
			x, ok := r.Find(key)
			want, known := truth[key]
			if !ok || !known || !x.Measured {
				continue // a phase in doubt: no number is said
			}
			out = append(out, told{key, x.Value, x.Expanded(), want})
			if key == "capacity_refrigerant" {
				out = append(out, told{"the same, for the coil's own cooling", x.Value, x.Expanded(), truth["evaporator"]})
			}
		}
	}
	return out, undrawn
}

// The stated intervals cover what is true of machines that share nothing with the
// program but the refrigerant's equation, and are no wider than need be.
func TestStatedIntervalsCoverTheTruth(t *testing.T) {
	t.Parallel()
	lim, err := loadLimits()
	if err != nil {
		t.Fatal(err)
	}
	const per = 8
	n := soak.Count(30, 2700) // plants; some have no steady state, some sets no number
	seeds := make(chan uint64)
	var mu sync.Mutex
	var wg sync.WaitGroup
	all := map[string][]told{}
	undrawn := 0
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for s := range seeds {
				out, lost := machines(t, s, lim, per)
				mu.Lock()
				undrawn += lost
				for _, x := range out {
					all[x.key] = append(all[x.key], x)
				}
				mu.Unlock()
			}
		}()
	}
	for s := range uint64(n) {
		seeds <- s
	}
	close(seeds)
	wg.Wait()
	sets := n*per - undrawn
	t.Logf("%d sets of readings of %d machines; %d more gave no steady state", sets, n, undrawn)
	keys := make([]string, 0, len(all))
	for k := range all {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, key := range keys {
		var off []float64 // error over the stated half-width
		in := 0
		for _, x := range all[key] {
			o := math.Abs(x.value-x.truth) / x.half
			off = append(off, o)
			if o <= 1 {
				in++
			}
		}
		slices.Sort(off)
		// The best attainable here: the same intervals, all scaled so that they cover 95 %.
		share, wide := float64(in)/float64(len(off)), 1/off[int(0.95*float64(len(off)-1))]
		t.Logf("%-38s told in %d, covered in %d (%.1f %%), width over the best attainable %.2f; worst %.1f half-widths off", key, len(off), in, 100*share, wide, off[len(off)-1])
		if least, most := soakOr(0.90, 0.93), soakOr(1.35, 1.25); share < least || wide > most || len(off) < sets/3 || off[len(off)-1] > 3 { // none that is tight and wrong
			t.Errorf("%s: told in %d of %d sets, covered in %.1f %%, %.2f times as wide as need be", key, len(off), sets, 100*share, wide)
		}
	}
}

// soakOr is a bound of the usual run, a sample, or of the full count.
func soakOr(usual, full float64) float64 {
	if soak.On() {
		return full
	}
	return usual
}
