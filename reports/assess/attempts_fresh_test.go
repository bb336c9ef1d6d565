package assess

import (
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/fluid"
	"retrostage/thermo/plant"
	"retrostage/thermo/target"
)

// fresh is one more job put before the running check, altered or sound.
type fresh struct {
	name    string
	job     func(t *testing.T) *record.Job
	never   []string     // findings that may not be within
	truth   []string     // words of which a cause named alone must have one
	done    bool         // that the step is done would not be false
	fine    bool         // nor that no fault stands out
	passes  bool         // it gets what never says: listed in bold
	refused []record.Key // entries that are not taken; what was read before stands
	sound   bool         // nothing may be accused, neither by a finding nor by the ranking
}

// unit is a machine of another kind than the program's model (package plant), with faults
// of given sizes, and the day on which it is read.
type unit struct {
	fluid  string
	fixed  bool
	seed   uint64
	out    float64 // outdoor air, F
	faults []plant.Fault
	size   []float64
}

// asTyped writes SI as a person types it.
func asTyped(f record.Field, si, site float64) string {
	v := map[string]float64{"psig": (si - site) / 6894.757293168, "F": si*1.8 - 459.67, "A": si, "V": si, "W": si, "cfm": si / 4.719474432e-4}[f.Unit]
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// check enters its readings into the second invented job, which has none of its own, an
// hour after the charge.
func (u unit) check(t *testing.T) *record.Job {
	t.Helper()
	f, err := fluid.Get(u.fluid)
	if err != nil {
		t.Fatal(err)
	}
	const site = 100.56e3 // 210 ft
	rng := rand.New(rand.NewPCG(u.seed, 77))
	q, err := plant.Draw(f, u.fixed, rng)
	if err != nil {
		t.Fatal(err)
	}
	w := plant.Weather{Out: (u.out + 459.67) / 1.8, Return: (77 + 459.67) / 1.8, WetBulb: (65 + 459.67) / 1.8, P: site}
	in, err := air.FromWetBulb(w.Return, w.WetBulb, w.P)
	if err != nil {
		t.Fatal(err)
	}
	w.W = in.W
	mode, want := plant.BySubcooling, 10/1.8
	if u.fixed {
		tab, err := target.Load()
		if err != nil {
			t.Fatal(err)
		}
		tg, err := tab.Superheat(w.WetBulb, w.Out)
		if err != nil {
			t.Fatal(err)
		}
		mode, want = plant.BySuperheat, tg.Value
	}
	o, err := q.Solve(&w, mode, want, 0, nil)
	if err != nil {
		t.Fatal(err)
	}
	q.Charge = o.Charge
	rated := plant.Rated()
	plate, err := q.Solve(&rated, plant.ByCharge, q.Charge, 0, &o)
	if err != nil {
		t.Fatal(err)
	}
	for i, x := range u.faults {
		q.Apply(x, u.size[i], &o, rng)
	}
	s := o
	if len(u.faults) > 0 {
		if s, err = q.Solve(&w, plant.ByCharge, q.Charge, 0, &o); err != nil {
			t.Fatal(err)
		}
	}
	rest, err := q.Rest(&w)
	if err != nil {
		t.Fatal(err)
	}
	j, err := record.SecondDemo()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 7, 16, 14, 0, 0, 0, time.UTC)
	enter := func(key record.Key, value, unit string) {
		at = at.Add(time.Minute)
		if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: at, By: "T-11"}); err != nil {
			t.Fatal(err)
		}
	}
	read := func(key record.Key, si float64) { enter(key, asTyped(key.Field(), si, site), key.Field().Unit) }
	enter(record.Refrigerant, u.fluid, "")
	enter(record.ChargedWith, u.fluid, "")
	enter(record.Metering, map[bool]string{true: record.MeterFixed, false: record.MeterTXV}[u.fixed], "")
	if !u.fixed {
		enter(record.TagSubcooling, "10", "F")
	}
	enter(record.NominalCapacity, fmt.Sprintf("%.2f", plate.Cooling/3516.8528), "ton")
	enter(record.NewCapacity, fmt.Sprintf("%.0f", plate.Cooling/0.29307107), "Btu/h")
	enter(record.WeighedIn, "92", "oz")
	at = at.Add(time.Hour)
	enter(record.SettleTime, "30", "min")
	read(record.OutdoorTemp, w.Out)
	read(record.CondenserAirOut, s.CondOut)
	read(record.SuctionPressure, s.SuctionP)
	read(record.SuctionTemp, s.SuctionT)
	read(record.LiquidPressure, s.LiquidP)
	read(record.LiquidTemp, s.LiquidT)
	read(record.DischargeTemp, s.DischargeT)
	read(record.ValveTemp, s.ValveT)
	read(record.ReturnDB, w.Return)
	read(record.ReturnWB, w.WetBulb)
	read(record.SupplyDB, s.Supply)
	enter(record.SupplyVoltage, "230", "V")
	read(record.RunCurrent, s.Power/230/0.97)
	read(record.Airflow, q.IndoorAir()*in.V())
	at = at.Add(30 * time.Minute)
	read(record.RestTemp, w.Out)
	read(record.RestPressure, rest)
	return j
}

// with alters a job that a function makes.
func with(make func(*testing.T) *record.Job, es ...entry) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job { return mend(t, make(t), es...) }
}

func first(t *testing.T) *record.Job { return demo(t) }

// saturation writes bubble or dew temperature of a pressure read, and some F, as typed.
func saturation(t *testing.T, j *record.Job, key record.Key, dew bool, plus float64) string {
	t.Helper()
	f, err := fluid.Get(j.Text(record.Refrigerant))
	if err != nil {
		t.Fatal(err)
	}
	c, err := newContext(j)
	if err != nil {
		t.Fatal(err)
	}
	p := c.reading(key).si + c.site.si
	at := f.BubbleT
	if dew {
		at = f.DewT
	}
	x, err := at(p)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%.1f", x*1.8-459.67+plus)
}

// clamped puts a clamp at a saturation line.
func clamped(make func(*testing.T) *record.Job, clamp, gauge record.Key, dew bool, plus float64) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job {
		j := make(t)
		return mend(t, j, entry{clamp, saturation(t, j, gauge, dew, plus), "F"})
	}
}

// exchanged swaps entries.
func exchanged(make func(*testing.T) *record.Job, pairs ...[2]record.Key) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job {
		j := make(t)
		for _, p := range pairs {
			a, _ := j.Entry(p[0])
			b, _ := j.Entry(p[1])
			mend(t, j, entry{p[0], b.Value, b.Unit}, entry{p[1], a.Value, a.Unit})
		}
		return j
	}
}

// shifted adds to readings as typed.
func shifted(make func(*testing.T) *record.Job, by float64, keys ...record.Key) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job {
		j := make(t)
		for _, k := range keys {
			e, ok := j.Entry(k)
			if !ok {
				continue
			}
			v, err := strconv.ParseFloat(e.Value, 64)
			if err != nil {
				t.Fatal(err)
			}
			mend(t, j, entry{k, strconv.FormatFloat(v+by, 'f', 1, 64), e.Unit})
		}
		return j
	}
}

// inCelsius types temperatures in Celsius and leaves the unit at F. What no air or pipe of
// a running unit has is refused, and what was read before stands.
func inCelsius(make func(*testing.T) *record.Job, keys ...record.Key) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job {
		j := make(t)
		for _, k := range keys {
			e, ok := j.Entry(k)
			if !ok {
				continue
			}
			v, err := strconv.ParseFloat(e.Value, 64)
			if err != nil {
				t.Fatal(err)
			}
			j.Set(record.Entry{Key: k, Value: strconv.FormatFloat((v-32)/1.8, 'f', 1, 64), Unit: "F", Time: time.Unix(1.79e9, 0)})
		}
		return j
	}
}

// callback is one to a job: all its running readings typed anew, some of them changed.
func callback(make func(*testing.T) *record.Job, now ...entry) func(*testing.T) *record.Job {
	return func(t *testing.T) *record.Job {
		j := make(t)
		at := time.Date(2027, 3, 20, 10, 0, 0, 0, time.UTC)
		if err := j.BeginVisit("callback", at.Format(time.DateOnly), "T-40", at); err != nil {
			t.Fatal(err)
		}
		was := map[record.Key]record.Entry{}
		for _, f := range record.Of(record.Running) {
			if e, ok := j.Entry(f.Key); ok && f.Kind == record.Number && f.Origin == record.Measured {
				was[f.Key] = e
			}
		}
		if _, err := j.Again("running check", "T-40", at); err != nil {
			t.Fatal(err)
		}
		for _, e := range now {
			x := was[e.key]
			x.Value, x.Unit = e.value, e.unit
			was[e.key] = x
		}
		for k, e := range was {
			if err := j.Set(record.Entry{Key: k, Value: e.Value, Unit: e.Unit, Time: at, By: "T-40", Instrument: e.Instrument}); err != nil {
				t.Fatal(err)
			}
		}
		return j
	}
}

// pretends puts another name on plate and cylinder than that of what is in the unit.
func pretends(u unit, name string) func(*testing.T) *record.Job {
	return with(u.check, entry{record.Refrigerant, name, ""}, entry{record.ChargedWith, name, ""})
}

var (
	clamps = []record.Key{record.SuctionTemp, record.LiquidTemp, record.DischargeTemp, record.ValveTemp}
	airs   = []record.Key{record.OutdoorTemp, record.CondenserAirOut, record.ReturnDB, record.ReturnWB, record.SupplyDB, record.SupplyWB, record.RestTemp}
	gauges = []record.Key{record.SuctionPressure, record.LiquidPressure, record.DischargePressure, record.RestPressure}
)

// chances are numbers that the list does not repeat.
var chances = regexp.MustCompile(` \([0-9<> ]+ %\)`)

func freshJobs() []fresh {
	f := func(k record.Key, v string) entry { return entry{k, v, "F"} }
	psi := func(k record.Key, v string) entry { return entry{k, v, "psig"} }
	bore := unit{"R-22", true, 4, 90, nil, nil}
	glide := unit{"R-407C", false, 5, 92, nil, nil}
	short := at(psi(record.SuctionPressure, "112"), f(record.SuctionTemp, "63"), psi(record.LiquidPressure, "350"), psi(record.DischargePressure, "355"), f(record.LiquidTemp, "105"), f(record.ValveTemp, "104.5"), f(record.DischargeTemp, "184"), f(record.CondenserAirOut, "106"), f(record.SupplyDB, "60.5"), f(record.SupplyWB, "58.2"), entry{record.RunCurrent, "16", "A"})
	asLeft := at(psi(record.SuctionPressure, "130.8"), f(record.SuctionTemp, "55.5"), psi(record.LiquidPressure, "377.2"), psi(record.DischargePressure, "383.2"), f(record.LiquidTemp, "101.2"), f(record.ValveTemp, "100.7"), f(record.DischargeTemp, "169.4"), f(record.CondenserAirOut, "108.5"), f(record.SupplyDB, "58.8"), f(record.SupplyWB, "57"), entry{record.RunCurrent, "17.3", "A"})
	faulty := func(name string, fixed bool, seed uint64, fs []plant.Fault, size ...float64) func(*testing.T) *record.Job {
		return unit{name, fixed, seed, 92, fs, size}.check
	}
	list := []fresh{
		// The wrong phase.
		{name: "R-22, bore: suction 2 F below saturation", job: clamped(bore.check, record.SuctionTemp, record.SuctionPressure, true, -2), never: []string{"superheat_error", "isentropic_efficiency", "sides_agree", "delivered"}, truth: []string{"suction line temperature", "metering", "much refrigerant"}},
		{name: "R-22, bore: suction on the line", job: clamped(bore.check, record.SuctionTemp, record.SuctionPressure, true, 0.1), never: []string{"superheat_error", "isentropic_efficiency", "sides_agree", "delivered"}, truth: []string{"suction line temperature", "metering", "much refrigerant"}},
		{name: "R-407C: suction in the glide, 8 F over the bubble line", job: clamped(glide.check, record.SuctionTemp, record.SuctionPressure, false, 8), never: []string{"superheat", "sides_agree", "delivered"}, truth: []string{"suction line temperature", "metering", "much refrigerant"}},
		{name: "R-407C: liquid in the glide, 3 F over the bubble line", job: clamped(glide.check, record.LiquidTemp, record.LiquidPressure, false, 3), never: []string{"subcooling", "sides_agree", "delivered"}, truth: []string{"liquid line temperature", "too little refrigerant"}},
		{name: "demo: discharge on the line", job: clamped(first, record.DischargeTemp, record.LiquidPressure, true, 0.5), never: []string{"isentropic_efficiency"}, truth: []string{"discharge temperature"}},
		// A fluid with glide read at the wrong line.
		{name: "R-407C: 10 F of subcooling set by the dew line", job: clamped(glide.check, record.LiquidTemp, record.LiquidPressure, true, -10), never: []string{"subcooling"}, truth: []string{"liquid line temperature", "too little refrigerant"}},
		{name: "R-407C: 10 F of superheat set by the bubble line", job: clamped(glide.check, record.SuctionTemp, record.SuctionPressure, false, 10), never: []string{"superheat"}, truth: []string{"suction line temperature", "metering"}},
		// What is in it is another refrigerant.
		{name: "R-407C in a unit of R-22 by plate and cylinder", job: pretends(unit{"R-407C", true, 4, 90, nil, nil}, "R-22"), never: []string{"superheat_error", "rest_saturation"}},
		{name: "R-22 in a unit of R-407C by plate and cylinder", job: pretends(unit{"R-22", false, 5, 92, nil, nil}, "R-407C"), never: []string{"subcooling", "rest_saturation"}},
		{name: "R-454B in a unit of R-410A by plate and cylinder", job: pretends(unit{"R-454B", false, 6, 92, nil, nil}, "R-410A"), never: []string{"subcooling", "rest_saturation"}},
		{name: "R-410A in a unit of R-454B by plate and cylinder", job: pretends(unit{"R-410A", false, 6, 92, nil, nil}, "R-454B"), never: []string{"subcooling", "rest_saturation"}},
		// Exchanged probes.
		{name: "demo: suction and liquid clamps exchanged", job: exchanged(first, [2]record.Key{record.SuctionTemp, record.LiquidTemp}), never: []string{"superheat", "subcooling"}},
		{name: "demo: gauges exchanged", job: exchanged(first, [2]record.Key{record.SuctionPressure, record.LiquidPressure}), never: []string{"superheat", "subcooling"}},
		{name: "demo: discharge and liquid clamps exchanged", job: exchanged(first, [2]record.Key{record.DischargeTemp, record.LiquidTemp}), never: []string{"subcooling", "isentropic_efficiency"}},
		{name: "demo: outdoor and return air exchanged", job: exchanged(first, [2]record.Key{record.OutdoorTemp, record.ReturnDB}), never: []string{"split_error"}},
		{name: "demo: wet and dry bulb of the return exchanged", job: exchanged(first, [2]record.Key{record.ReturnDB, record.ReturnWB}), never: []string{"split_error", "sides_agree"}},
		{name: "demo: wet bulbs of return and supply exchanged", job: exchanged(first, [2]record.Key{record.ReturnWB, record.SupplyWB}), never: []string{"sides_agree"}, truth: []string{"wet bulb"}},
		{name: "R-22, bore: air entering and leaving the condenser exchanged", job: exchanged(bore.check, [2]record.Key{record.OutdoorTemp, record.CondenserAirOut}), never: []string{"superheat_error"}},
		{name: "demo: return and supply dry bulb exchanged", job: exchanged(first, [2]record.Key{record.ReturnDB, record.SupplyDB}), never: []string{"split_error", "sides_agree"}},
		// One instrument off wherever it was put.
		{name: "demo: all gauges 15 psi high", job: shifted(first, 15, gauges...), never: []string{"rest_saturation", "subcooling"}, truth: []string{"pressure"}},
		{name: "demo: all gauges 15 psi low", job: shifted(first, -15, gauges...), never: []string{"rest_saturation", "subcooling"}, truth: []string{"pressure"}},
		{name: "demo: gauges set to zero at the coast", job: shifted(first, -2.6, gauges...), done: true, fine: true},
		{name: "R-22, bore: every clamp 6 F low", job: shifted(bore.check, -6, clamps...), never: []string{"superheat_error"}, truth: []string{"temperature"}, fine: true},
		{name: "R-22, bore: every clamp 6 F high", job: shifted(bore.check, 6, clamps...), never: []string{"superheat_error"}, truth: []string{"temperature"}, fine: true},
		// Barometer and height.
		{name: "demo: 1600 m typed as 1600 ft", job: with(first, entry{record.Altitude, "1600", "ft"}), done: true, fine: true},
		{name: "demo: the barometer of a telephone, 1013 hPa", job: with(first, entry{record.Barometer, "1013", "hPa"}), never: []string{"superheat", "subcooling"}, fine: true},
		{name: "demo: absolute pressures typed as gauge", job: shifted(first, 12.1, gauges...), never: []string{"subcooling", "rest_saturation"}, truth: []string{"pressure"}, fine: true},
		// Units mistaken.
		{name: "R-22, bore: both clamps in C, typed as F", job: inCelsius(bore.check, clamps...), never: []string{"superheat_error"}},
		{name: "demo: every temperature in C, typed as F", job: inCelsius(first, append(slices.Clone(clamps), airs...)...), never: []string{"superheat", "subcooling", "outdoor_window"}},
		{name: "demo: indoor air in C, typed as F", job: inCelsius(first, record.ReturnDB, record.ReturnWB, record.SupplyDB, record.SupplyWB), refused: []record.Key{record.ReturnDB, record.ReturnWB, record.SupplyDB, record.SupplyWB}, done: true, fine: true},
		{name: "R-22, bore: condenser air in C, typed as F", job: inCelsius(bore.check, record.OutdoorTemp, record.CondenserAirOut), never: []string{"superheat_error", "outdoor_window", "condensing_over_ambient"}},
		{name: "R-22, bore: low side in bar, typed as psig", job: with(bore.check, psi(record.SuctionPressure, "4.8")), never: []string{"superheat_error", "evaporating"}},
		{name: "demo: air in m3/h, typed as cfm", job: with(first, entry{record.Airflow, "3228", "cfm"}), never: []string{"airflow_per_ton", "sides_agree"}, truth: []string{"airflow"}},
		{name: "demo: power in kW, typed as W", job: with(first, entry{record.InputPower, "3.6", "W"}), never: []string{"sides_agree", "power_deviation"}, truth: []string{"power"}, fine: true},
		// Pressures and temperatures that cannot be.
		{name: "demo: liquid colder than the outdoor air, its gauge low to match", job: with(first, psi(record.LiquidPressure, "262"), psi(record.DischargePressure, "268"), f(record.LiquidTemp, "74")), never: []string{"subcooling", "condensing_over_ambient"}},
		{name: "demo: evaporating above the return air, its clamp to match", job: with(first, psi(record.SuctionPressure, "222"), f(record.SuctionTemp, "88")), never: []string{"superheat", "evaporating"}},
		{name: "R-22, bore: low side above the high side", job: with(bore.check, psi(record.SuctionPressure, "260")), never: []string{"superheat_error"}},
		{name: "demo: liquid above the critical pressure", job: with(first, psi(record.LiquidPressure, "760")), never: []string{"subcooling"}},
		{name: "demo: discharge pressure 40 psi below the liquid's", job: with(first, psi(record.DischargePressure, "337")), never: []string{"isentropic_efficiency", "sides_agree", "flow_deviation"}, fine: true},
		{name: "demo: standing pressure of 0 psig", job: with(first, psi(record.RestPressure, "0")), never: []string{"rest_saturation", "superheat", "subcooling"}},
		{name: "demo: suction hotter than the discharge", job: with(first, f(record.SuctionTemp, "175")), never: []string{"superheat", "isentropic_efficiency"}, truth: []string{"suction line temperature"}},
		// Transients.
		{name: "R-22, bore: five minutes after the start", job: with(bore.check, entry{record.SettleTime, "5", "min"}), never: []string{"settled", "superheat_error"}, fine: true},
		{name: "R-22, bore: how long it ran is not entered", job: with(bore.check, entry{record.SettleTime, "", ""}), never: []string{"settled", "superheat_error"}, fine: true},
		{name: "demo: just started, the low side still falling", job: with(first, psi(record.SuctionPressure, "88"), f(record.SuctionTemp, "66"), f(record.DischargeTemp, "128"), f(record.SupplyDB, "66"), entry{record.SettleTime, "3", "min"}), never: []string{"settled", "superheat", "subcooling"}},
		{name: "demo: high side read three hours after the low side", job: func(t *testing.T) *record.Job {
			j := demo(t)
			from, _ := j.Entry(record.SuctionPressure)
			for _, k := range []record.Key{record.LiquidPressure, record.LiquidTemp, record.DischargePressure, record.DischargeTemp, record.OutdoorTemp} {
				e, _ := j.Entry(k)
				e.Time, e.Again = from.Time.Add(3*time.Hour), true
				if err := j.Set(e); err != nil {
					t.Fatal(err)
				}
			}
			return j
		}, never: []string{"current_deviation", "flow_deviation", "delivered"}, done: true, fine: true}, // subcooling is of one moment; the step names the hours
		{name: "demo: trimmed after the readings were taken", job: func(t *testing.T) *record.Job {
			j := demo(t)
			e, _ := j.Entry(record.Trimmed)
			last, _ := j.Entry(record.RestPressure)
			e.Value, e.Time = "11", last.Time.Add(20*time.Minute)
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
			return j
		}, never: []string{"superheat", "subcooling", "settled"}, fine: true},
		{name: "demo: trimmed after the readings, entered later from notes", job: func(t *testing.T) *record.Job {
			j := demo(t)
			e, _ := j.Entry(record.Trimmed)
			last, _ := j.Entry(record.RestPressure)
			e.Value, e.Time = "11", last.Time.Add(20*time.Minute)
			if err := j.Set(e); err != nil {
				t.Fatal(err)
			}
			return mend(t, j, entry{record.RunningNoted, record.NotedLater, ""})
		}, never: []string{"superheat", "subcooling", "settled"}, fine: true},
		// Two faults that hide each other.
		{name: "R-410A: too little refrigerant and a restriction", job: faulty("R-410A", false, 7, []plant.Fault{plant.Undercharge, plant.Restriction}, 0.2, 0.25), truth: []string{"refrigerant", "restriction"}},
		{name: "R-22, bore: too little refrigerant and little indoor air", job: faulty("R-22", true, 8, []plant.Fault{plant.Undercharge, plant.LowIndoorAir}, 0.12, 0.35), truth: []string{"refrigerant", "indoor air"}},
		{name: "R-410A: air in it and too little refrigerant", job: faulty("R-410A", false, 9, []plant.Fault{plant.NonCondensable, plant.Undercharge}, 0.1, 0.15), never: []string{"rest_saturation"}, truth: []string{"condense", "refrigerant"}},
		{name: "R-22, bore: valves leak and too much refrigerant", job: faulty("R-22", true, 10, []plant.Fault{plant.LeakingValves, plant.Overcharge}, 0.25, 0.2), truth: []string{"pump", "refrigerant"}},
		{name: "R-407C: dirty condenser and too little refrigerant", job: faulty("R-407C", false, 11, []plant.Fault{plant.LowOutdoorAir, plant.Undercharge}, 0.4, 0.18), truth: []string{"condenser", "refrigerant"}},
		// A callback held against readings that were bad themselves.
		{name: "callback: refrigerant short then and now", job: callback(with(first, short...)), never: []string{"superheat", "subcooling"}, truth: []string{"refrigerant", "restriction", "passes too little"}},
		{name: "callback: 5 F of subcooling missing then and now, which the causes alone do not show", job: callback(with(first, f(record.LiquidTemp, "106.4"), f(record.ValveTemp, "106"))), never: []string{"subcooling"}, truth: []string{"refrigerant", "liquid line temperature"}, fine: true},
		{name: "callback: right when it was left, refrigerant short now", job: callback(first, short...), never: []string{"superheat", "subcooling"}, truth: []string{"refrigerant", "restriction", "passes too little"}},
		{name: "callback: refrigerant short when it was left, its readings copied from the day it was right", job: callback(with(first, short...), asLeft...), fine: true},
		// Heat balances that contradict.
		{name: "demo: half of the air, the same temperatures", job: with(first, entry{record.Airflow, "900", "cfm"}), never: []string{"sides_agree", "airflow_per_ton"}, truth: []string{"airflow"}},
		{name: "demo: supply wet bulb 4 F high", job: with(first, f(record.SupplyWB, "58.7"), f(record.SupplyDB, "62.8")), never: []string{"sides_agree", "split_error"}, truth: []string{"supply air"}, fine: true, done: true},
		{name: "R-22, bore: a third of the current", job: with(bore.check, entry{record.RunCurrent, "3.4", "A"}), never: []string{"sides_agree"}, truth: []string{"power", "pump"}},
	}
	for i, u := range []unit{
		{"R-410A", false, 21, 75, nil, nil}, {"R-410A", false, 22, 95, nil, nil}, {"R-410A", true, 23, 88, nil, nil}, {"R-22", true, 24, 85, nil, nil}, {"R-22", false, 25, 100, nil, nil},
		{"R-32", false, 26, 92, nil, nil}, {"R-407C", false, 27, 80, nil, nil}, {"R-407C", true, 28, 92, nil, nil}, {"R-454B", false, 29, 105, nil, nil}, {"R-454B", true, 30, 86, nil, nil},
	} {
		list = append(list, fresh{name: fmt.Sprintf("sound %d: %s, %s, %g F", i+1, u.fluid, map[bool]string{true: "bore", false: "valve"}[u.fixed], u.out), job: u.check, sound: true, done: true, fine: true})
	}
	return list
}

// Fresh jobs earn no word that is not true, and sound ones are not accused.
func TestFreshRunningChecks(t *testing.T) {
	t.Parallel()
	said := ""
	list, err := os.ReadFile("../../testdata/attempts/running.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range freshJobs() {
		j := a.job(t)
		r := run(t, j)
		st := state(t, r, record.Running)
		var within, outside []string
		for _, f := range r.Of(record.Running) {
			switch f.Verdict {
			case Within:
				within = append(within, f.Key)
			case Outside:
				outside = append(outside, f.Key)
			}
		}
		for _, k := range a.never {
			if slices.Contains(within, k) != a.passes {
				t.Errorf("%s: %s is within: %v", a.name, k, !a.passes)
			}
		}
		var asked []string
		for _, p := range r.Problems {
			if !slices.Contains(asked, p.Key.String()) {
				asked = append(asked, p.Key.String())
			}
		}
		for _, k := range a.refused {
			if _, ok := j.Draft(k); !ok {
				t.Errorf("%s: %s is taken", a.name, k)
			}
			asked = append(asked, k.String()+" refused")
		}
		words := "not ranked"
		d, err := New(j).Causes()
		switch {
		case err != nil:
			words += ": " + err.Error()
		default:
			words = chances.ReplaceAllString(d.Said(), "")
			if d.Single && !a.sound && !slices.ContainsFunc(a.truth, func(w string) bool { return strings.Contains(strings.ToLower(d.Causes[0].Label), w) }) {
				t.Errorf("%s: %s", a.name, words)
			}
			if d.Clear && !a.fine {
				t.Errorf("%s: %s (%.2f)", a.name, words, d.Healthy)
			}
			if a.sound && (d.Found || len(d.Causes) == 0 || strings.HasPrefix(words, "No single")) {
				t.Errorf("%s is accused: %s", a.name, words)
			}
		}
		if a.sound && (len(outside) > 0 || len(asked) > 0) {
			t.Errorf("%s is accused: outside %v, asked about %v", a.name, outside, asked)
		}
		if !a.done && !a.passes && (st.Word == Done || st.Word == DoneReserved) {
			t.Errorf("%s: the step is %s", a.name, st.Word)
		}
		if d != nil && d.Beside != "" {
			words += ". " + strings.TrimSuffix(d.Beside, ".")
		}
		if a.passes {
			words = "**passes**; " + words
		}
		line := fmt.Sprintf("| %s | %s | %s | %s | %s | %s |\n", a.name, st.Word, strings.Join(outside, ", "), strings.Join(within, ", "), strings.Join(asked, ", "), words)
		said += line
		if !strings.Contains(string(list), line) {
			t.Errorf("running.md lacks it, or has it otherwise: %s", a.name)
		}
	}
	if path := os.Getenv("RETROSTAGE_LOOK"); path != "" {
		if err := os.WriteFile(path+"/fresh.md", []byte(said), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
