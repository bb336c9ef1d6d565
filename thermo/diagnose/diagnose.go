package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"retrostage/thermo/compressor"
	"retrostage/thermo/cycle"
)

// Machine is what paper and plate tell about the machine.
type Machine struct {
	Props     *cycle.Props
	Fixed     bool            // metering device: fixed bore or thermostatic valve
	Capacity  float64         // W, cooling at 95 F outdoors, 80/67 F indoors
	Map       *compressor.Map // nil: unknown
	DesignAir float64         // kg/s of dry air indoors; 0: unknown
	Target    float64         // K: superheat for a fixed bore in this weather, subcooling for a valve
	UTarget   float64         // K, its standard uncertainty, what was set included
	Pressure  float64         // Pa, site

	// Commissioned is what was read on this machine when it was known to be sound: what is
	// compared with is then this machine and not the typical one. nil: never.
	Commissioned *Readings

	// Weighed is the charge weighed in over the charge built up by plate and lines, less
	// one; UWeighed its standard uncertainty, 0: unknown.
	Weighed, UWeighed float64
}

// Spread is the standard deviations, relative unless a unit is given, of healthy
// machines about the typical one, and of the model about nature.
type Spread struct {
	EvapUA, CondUA, CondAir, IndoorAir, IndoorAirUnknown float64
	Flow, Draw, FlowMap, DrawMap                         float64 // compressor without and with a map
	Bore, Choke                                          float64
	Static, Range                                        float64 // K, relative
	ZoneGas, ZoneLiquid                                  float64
	Shell                                                float64 // share of power
	LineGain, LineDrop, Fan                              float64
	Setting                                              float64 // K, fixed bore: superheat in other weather than that of its charging
	Alike                                                float64 // patterns are alike to this share of themselves
	Model                                                [Features]float64
}

// Assume is the spread that Run takes. It is a judgement, common practice without
// a source; the figures were set before the held-back runs were looked at.
func Assume() Spread {
	return Spread{
		EvapUA: 0.20, CondUA: 0.18, CondAir: 0.16, IndoorAir: 0.07, IndoorAirUnknown: 0.14,
		Flow: 0.08, Draw: 0.08, FlowMap: 0.04, DrawMap: 0.04,
		Bore: 0.06, Choke: 0.04, Static: 1.2, Range: 0.3, ZoneGas: 0.25, ZoneLiquid: 0.2,
		Shell: 0.03, LineGain: 0.6, LineDrop: 0.5, Fan: 0.25, Setting: 2, Alike: 0.35,
		Model: [Features]float64{Evaporating: 0.7, Superheat: 0.6, OverAmbient: 0.6, Subcooling: 0.4, DischargeRise: 1.5, CondenserRise: 0.6,
			AirDrop: 0.5, LineDrop: 0.3, AirRatio: 0.02, PowerRatio: 0.03, RestExcess: 0.3},
	}
}

// Cause is one explanation.
type Cause struct {
	Fault    cycle.Fault // Healthy for a doubted reading
	Probe    Quantity    // the reading that may be wrong, if IsProbe
	IsProbe  bool
	Label    string
	P        float64 // probability among all explanations, health included
	Severity float64 // most likely severity, in cycle.Fault's own measure; for a probe its error in SI
	Chi2     float64 // what it leaves unexplained
	For      []Evidence
	Against  []Evidence
	Next     Test // cheapest test that tells it from its nearest rival
}

// Evidence is one feature's word on a cause.
type Evidence struct {
	Feature  Feature
	Residual float64 // read less expected, in the feature's own unit
	Sigma    float64 // its standard deviation on a healthy machine
	Pattern  float64 // what the cause would do
}

// Test is something to do next.
type Test struct {
	Do      string
	Minutes float64
}

// Outcome is the answer in one word.
type Outcome int

// The outcomes.
const (
	Fine     Outcome = iota // nothing that a healthy machine would not show, and health is likelier than all else
	Found                   // the first cause fits
	NoSingle                // off, but no single cause fits
	Unsure                  // a healthy machine may show this, and something is likelier wrong than not
)

// String gives the outcome in words.
func (o Outcome) String() string {
	return [...]string{"no fault stands out", "most likely cause", "no single cause fits", "cannot tell whether anything is wrong"}[o]
}

// Accuses tells whether something is said to be wrong.
func (o Outcome) Accuses() bool { return o == Found || o == NoSingle }

// Report is the answer.
type Report struct {
	Outcome  Outcome
	Healthy  float64    // probability that nothing is wrong
	Causes   []Cause    // most likely first
	First    int        // so many of the first these readings do not separate: 1 or 2; 3 only where Ask names readings that would
	Ask      []Quantity // readings not taken that would separate the first from the one after it, or from health where the outcome is Unsure; best first
	Fitted   bool       // the machine was fitted to its commissioning readings
	Unfit    string     // why it was not, where there are some
	Together bool       // two faults at once explain the readings better than any one does
	Expected vector
	Residual vector
	Sigma    vector
	Present  [Features]bool
	State    cycle.State // of the typical machine, healthy, in this weather
}

// accuse is the probability of health below which a cause is named (set on the
// tuning seeds of the synthetic test), sound the one below which it is not said that
// nothing stands out, and unfit the tail probability below which a fit is refused.
const (
	accuse = 0.01
	sound  = 0.5
	unfit  = 1e-5
)

// Run ranks the causes of what the readings show.
func Run(k Machine, r Readings) (*Report, error) {
	return run(k, r, Assume())
}

func run(k Machine, r Readings, sp Spread) (*Report, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	cat, err := catalogue()
	if err != nil {
		return nil, err
	}
	d, err := newModel(k, &r, sp)
	if err != nil {
		return nil, err
	}
	return d.rank(cat), nil
}

// model is the typical machine in this weather with all that moves a residual.
type model struct {
	k     Machine
	r     *Readings
	sp    Spread
	m     *cycle.Machine
	c     cycle.Conditions
	x     [Quantities]float64
	h     cycle.State // healthy
	exp   vector
	res   vector
	on    [Features]bool
	unfit string             // why commissioning readings were not taken
	fit   *cycle.Fitted      // to the unit at hand, nil: the typical machine
	kin   []relative         // machines whose faults make other patterns
	idx   []int              // features present
	read  [Quantities]vector // change of residual with each reading, per unit
	cov   [Features][Features]float64
}

func newModel(k Machine, r *Readings, sp Spread) (*model, error) {
	if !(k.Pressure > 5e4 && k.Pressure < 1.2e5) || !(k.UTarget > 0) || math.IsNaN(k.Target) {
		return nil, fmt.Errorf("diagnose: site pressure %g Pa, target %g +- %g K; allowed 50 to 120 kPa and a doubt above 0", k.Pressure, k.Target, k.UTarget)
	}
	if !(k.UWeighed >= 0 && k.Weighed >= -1 && k.Weighed <= 10) {
		return nil, fmt.Errorf("diagnose: charge weighed over built up %g +- %g; allowed -1 to 10 and no doubt below 0", k.Weighed, k.UWeighed)
	}
	d := &model{k: k, r: r, sp: sp}
	m, err := cycle.Typical(k.Props, k.Capacity, k.Fixed, k.Map)
	if err != nil {
		return nil, fmt.Errorf("diagnose: %w", err)
	}
	// Fans move volume: in thin air the same fan moves less mass.
	thin := k.Pressure / cycle.Rating().Pressure
	if k.Commissioned != nil {
		if d.fit, d.unfit = commissioned(k, sp); d.fit != nil {
			*m = d.fit.Machine
			thin = 1 // as it was read there
			k.DesignAir = m.Evap.Air
			d.k.DesignAir = k.DesignAir
		}
	}
	m.Cond.Air *= thin
	if d.fit != nil {
		// its air was fitted
	} else if k.DesignAir > 0 {
		m.Evap.UA *= math.Sqrt(k.DesignAir / m.Evap.Air)
		m.Evap.Air, m.Evap.Rated = k.DesignAir, k.DesignAir
	} else {
		m.Evap.Air *= thin
	}
	d.m = m
	for q, v := range r {
		d.x[q] = v.Value
	}
	if d.c, err = d.weather(&d.x); err != nil {
		return nil, fmt.Errorf("diagnose: %w", err)
	}
	if d.h, err = d.healthy(m, d.c, k.Target, nil); err != nil {
		return nil, fmt.Errorf("diagnose: the typical machine in this weather: %w", err)
	}
	m.Charge = d.h.Charge
	d.on = r.present(k.DesignAir > 0)
	for f := range Features {
		if d.on[f] {
			d.idx = append(d.idx, int(f))
		}
	}
	d.exp = d.shown(m, &d.h, d.c)
	got := features(k.Props, &d.x, m.Evap.Rated)
	for f := range got {
		d.res[f] = got[f] - d.exp[f]
	}
	return d, d.spread()
}

func (d *model) weather(x *[Quantities]float64) (cycle.Conditions, error) {
	return cycle.Weather(x[OutdoorT], x[ReturnT], x[WetBulb], d.k.Pressure)
}

// healthy charges a copy of the machine to its target in given weather.
func (d *model) healthy(m *cycle.Machine, c cycle.Conditions, target float64, near *cycle.State) (cycle.State, error) {
	if d.fit != nil { // the charge is known
		return m.Solve(c, near)
	}
	t := *m
	return t.Charged(c, d.k.mode(), target, near)
}

// charged charges a relative as the machine itself is.
func (d *model) charged(t *cycle.Machine) (cycle.State, error) {
	switch {
	case d.fit == nil:
		return d.healthy(t, d.c, d.k.Target, &d.h)
	case !d.k.Fixed:
		return t.Charged(d.c, cycle.BySubcooling, d.h.Subcooling, &d.h)
	case d.h.Superheat > 0.5:
		return t.Charged(d.c, cycle.BySuperheat, d.h.Superheat, &d.h)
	}
	return t.Solve(d.c, &d.h)
}

// mode is what the machine is charged by.
func (k *Machine) mode() cycle.Mode {
	if k.Fixed {
		return cycle.BySuperheat
	}
	return cycle.BySubcooling
}

// shown are the features of a state.
func (d *model) shown(m *cycle.Machine, s *cycle.State, c cycle.Conditions) vector {
	x := Show(m, s, c)
	return features(d.k.Props, &x, d.m.Evap.Rated)
}

// relative is a machine of the same size and target that answers faults otherwise.
type relative struct {
	m   *cycle.Machine
	h   cycle.State
	exp vector
}

// relatives are the typical machine and those that differ where paper and plate tell
// nothing and faults show it: valves with more in reserve, or a bore with an
// accumulator before the compressor.
func (d *model) relatives() []relative {
	kin := []relative{{d.m, d.h, d.exp}}
	add := func(t cycle.Machine) {
		h, err := d.charged(&t)
		if err != nil {
			return // such a machine does not run in this weather
		}
		t.Charge = h.Charge
		kin = append(kin, relative{&t, h, d.shown(&t, &h, d.c)})
	}
	t := *d.m
	if t.Valve.Fixed {
		t.Accumulator = cycle.Accumulator{Volume: 2e-7 * d.k.Capacity, Bleed: 0.1}
		add(t)
		return kin
	}
	for _, more := range []float64{1.6, 2.8} {
		t.Valve.Area = d.m.Valve.Area * more
		add(t)
	}
	return kin
}

// spread fills the readings' columns and the covariance of a healthy machine.
func (d *model) spread() error {
	add := func(v *vector) {
		for _, i := range d.idx {
			for _, j := range d.idx {
				d.cov[i][j] += v[i] * v[j]
			}
		}
	}
	base := features(d.k.Props, &d.x, d.m.Evap.Rated)
	for q := range Quantities {
		u := d.r[q].U
		if !d.r[q].Have {
			continue
		}
		y := d.x
		y[q] += u
		exp := d.exp
		if q == OutdoorT || q == ReturnT || q == WetBulb {
			c, err := d.weather(&y)
			if err != nil { // nearly saturated or nearly dry: the step is as good the other way
				u = -u
				y[q] = d.x[q] + u
				if c, err = d.weather(&y); err != nil {
					return fmt.Errorf("diagnose: weather about the readings: %w", err)
				}
			}
			s, err := d.healthy(d.m, c, d.k.Target, &d.h)
			if err != nil {
				return fmt.Errorf("diagnose: weather about the readings: %w", err)
			}
			exp = d.shown(d.m, &s, c)
		}
		v := features(d.k.Props, &y, d.m.Evap.Rated)
		for f := range v {
			v[f] = v[f] - base[f] - (exp[f] - d.exp[f])
			d.read[q][f] = v[f] / u
		}
		add(&v)
	}
	if d.fit != nil { // what the commissioning readings left open
		for _, t := range d.fit.Vary {
			s, err := t.Solve(d.c, &d.h)
			if err != nil {
				continue
			}
			v := d.shown(&t, &s, d.c)
			for f := range v {
				v[f] -= d.exp[f]
			}
			add(&v)
		}
	} else {
		for _, change := range d.free() {
			t := cycle.Setup{Machine: *d.m, Conditions: d.c, Target: d.k.Target}
			change(&t, 1)
			s, err := d.healthy(&t.Machine, d.c, t.Target, &d.h)
			if err != nil {
				continue // the typical machine stands at an end of its range; the step is left out
			}
			v := d.shown(&t.Machine, &s, d.c)
			for f := range v {
				v[f] -= d.exp[f]
			}
			add(&v)
		}
	}
	for _, i := range d.idx {
		d.cov[i][i] += d.sp.Model[i] * d.sp.Model[i]
	}
	return nil
}

// free is what healthy machines differ in, one standard deviation each.
func (d *model) free() []cycle.Free {
	sp := d.sp
	indoor, flow, draw := sp.IndoorAir, sp.FlowMap, sp.DrawMap
	if d.k.DesignAir == 0 {
		indoor = sp.IndoorAirUnknown
	}
	if d.k.Map == nil {
		flow, draw = sp.Flow, sp.Draw
	}
	by := func(x *float64, share, z float64) { *x *= math.Max(0.2, 1+share*z) }
	one := func(x float64) float64 {
		if x == 0 {
			return 1
		}
		return x
	}
	return []cycle.Free{
		func(s *cycle.Setup, z float64) { by(&s.Machine.Evap.UA, sp.EvapUA, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Cond.UA, sp.CondUA, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Cond.Air, sp.CondAir, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Evap.Air, indoor, z) },
		func(s *cycle.Setup, z float64) { // a larger compressor does both
			s.Machine.Flow, s.Machine.Draw = one(s.Machine.Flow)*(1+flow*z), one(s.Machine.Draw)*(1+flow*z)
		},
		func(s *cycle.Setup, z float64) { s.Machine.Draw = one(s.Machine.Draw) * (1 + draw*z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Valve.Area, sp.Bore, z) },
		func(s *cycle.Setup, z float64) {
			if s.Machine.Valve.Fixed {
				s.Machine.Valve.Choke += sp.Choke * z
			} else {
				s.Machine.Valve.Static += sp.Static * z
			}
		},
		func(s *cycle.Setup, z float64) { by(&s.Machine.Valve.Range, sp.Range, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Evap.Gas, sp.ZoneGas, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Cond.Gas, sp.ZoneGas, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.Cond.Liquid, sp.ZoneLiquid, z) },
		func(s *cycle.Setup, z float64) { s.Machine.ShellLoss = math.Max(0, s.Machine.ShellLoss+sp.Shell*z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.SuctionUA, sp.LineGain, z) },
		func(s *cycle.Setup, z float64) { by(&s.Machine.SuctionR, sp.LineDrop, z) },
		func(s *cycle.Setup, z float64) {
			by(&s.Machine.FanPower, sp.Fan, z)
			by(&s.Machine.OutdoorFan, sp.Fan, z)
		},
		func(s *cycle.Setup, z float64) {
			u := d.k.UTarget
			if d.k.Fixed {
				u = math.Hypot(u, sp.Setting)
			}
			s.Target += u * z
		},
	}
}

// levels are the severities at which patterns are solved, up to the worst that
// is worth telling.
func (d *model) levels(f cycle.Fault, way int) []float64 {
	worst := map[cycle.Fault]float64{cycle.Undercharge: 0.45, cycle.Overcharge: 0.5, cycle.Restriction: 0.7, cycle.LowIndoorAir: 0.6, cycle.LowOutdoorAir: 0.65,
		cycle.NonCondensable: 0.3, cycle.LeakingValves: 0.5, cycle.ValveOverfeeds: 0.6, cycle.ValveUnderfeeds: 0.5}[f]
	if f == cycle.ValveOverfeeds && !d.k.Fixed && way == 0 {
		worst = 1.2
	}
	return []float64{worst * 0.15, worst * 0.3, worst * 0.5, worst * 0.75, worst}
}

const nodes = 4 // between two levels

// hypothesis is one explanation with its weight.
type hypothesis struct {
	c       Cause
	log     float64 // ln of prior times likelihood
	pattern vector  // at the most likely severity
	way     []vector
	off     []float64 // of each of them, the charge over the right one
	share   float64   // of it that comes from two faults together
	pair    float64   // probability of the likeliest two of which it is one
	partner cycle.Fault
}

// rank weighs every explanation: health, one fault, one wrong reading, two faults.
func (d *model) rank(cat *Catalogue) *Report {
	rep := &Report{Expected: d.exp, Residual: d.res, Present: d.on, State: d.h, Fitted: d.fit != nil, Unfit: d.unfit}
	for _, i := range d.idx {
		rep.Sigma[i] = math.Sqrt(d.cov[i][i])
	}
	d.kin = d.relatives()
	logHealthy, chiHealthy := d.logN(&vector{}, nil)
	logHealthy += math.Log(0.5) + d.weighed(0)
	var all []hypothesis
	for _, e := range cat.Causes {
		if w, ok := d.fault(&e); ok {
			all = append(all, w)
		}
	}
	faults := len(all)
	for q := range Quantities {
		if w, ok := d.probe(q); ok {
			w.log += math.Log(0.5*cat.Probes.Prior) + d.weighed(0)
			all = append(all, w)
		}
	}
	logs := []float64{logHealthy}
	for _, w := range all {
		logs = append(logs, w.log)
	}
	two := d.pairs(all[:faults])
	for _, t := range two {
		logs = append(logs, t.log)
	}
	total := logSum(logs)
	rep.Healthy = math.Exp(logHealthy - total)
	for i := range all {
		all[i].c.P = math.Exp(all[i].log - total)
	}
	best := slices.MaxFunc(all, func(a, b hypothesis) int { return cmp.Compare(a.log, b.log) })
	chi := best.c.Chi2
	for _, t := range two { // half of what two faults explain is each one's
		p := math.Exp(t.log - total)
		for _, k := range []int{t.a, t.b} {
			all[k].c.P += p / 2
			all[k].share += p / 2
			if p > all[k].pair {
				all[k].pair, all[k].partner = p, all[t.a+t.b-k].c.Fault
			}
		}
		if t.log > best.log {
			best.log, chi = t.log, t.chi
			rep.Together = true
		}
	}
	slices.SortStableFunc(all, func(a, b hypothesis) int { return cmp.Compare(b.c.P, a.c.P) })
	for i, w := range all {
		if i < 4 || w.c.P > 0.01 {
			d.weigh(&w.c, &w.pattern)
		}
		rep.Causes = append(rep.Causes, w.c)
	}
	tail := distuv.ChiSquared{K: float64(len(d.idx))}
	switch {
	case rep.Healthy >= sound && tail.Survival(chiHealthy) >= unfit:
		rep.Outcome = Fine
	case rep.Healthy >= accuse && tail.Survival(min(chi, chiHealthy)) >= unfit:
		rep.Outcome = Unsure
	case tail.Survival(chi) < unfit:
		rep.Outcome = NoSingle
	default:
		rep.Outcome = Found
	}
	d.separate(rep, all)
	cat.choose(rep, d.k.Fixed)
	return rep
}

// fault weighs one fault over its ways and severities.
func (d *model) fault(e *Entry) (w hypothesis, ok bool) {
	w = hypothesis{c: Cause{Fault: e.Fault, Label: e.label(d.k.Fixed)}}
	best := math.Inf(-1)
	var logs []float64
	for _, kin := range d.kin {
		for way := range d.m.Ways(e.Fault) {
			prev, near := vector{}, kin.h
			last := 0.0
			var seen []vector
			var part []float64
			for _, s := range d.levels(e.Fault, way) {
				t := kin.m.Way(e.Fault, way, s, &kin.h)
				st, err := t.Solve(d.c, &near)
				if err != nil {
					break
				}
				near = st
				v := d.shown(t, &st, d.c)
				for f := range v {
					v[f] -= kin.exp[f]
				}
				for n := 1; n <= nodes; n++ {
					a := float64(n) / nodes
					var p vector
					for f := range p {
						p[f] = prev[f] + a*(v[f]-prev[f])
					}
					l, chi := d.logN(&p, &p)
					l += d.weighed(chargeOff(e.Fault, last+a*(s-last)))
					part = append(part, l+math.Log((s-last)/nodes))
					if l > best {
						best, w.c.Severity, w.c.Chi2, w.pattern = l, last+a*(s-last), chi, p
					}
				}
				seen = append(seen, v)
				w.off = append(w.off, chargeOff(e.Fault, s))
				prev, last = v, s
			}
			if len(part) > 0 {
				logs = append(logs, logSum(part)-math.Log(last*float64(len(d.kin)*d.m.Ways(e.Fault))))
				w.way = append(w.way, seen...)
			}
		}
	}
	if len(logs) == 0 {
		return w, false
	}
	w.log = logSum(logs) + math.Log(0.5*e.Prior)
	return w, true
}

// chargeOff is how far a fault of that severity has the charge from the right one.
func chargeOff(f cycle.Fault, severity float64) float64 {
	switch f {
	case cycle.Undercharge:
		return -severity
	case cycle.Overcharge:
		return severity
	}
	return 0
}

// What the charge that was weighed says of the charge that is there. Common practice,
// no source.
const (
	healthyCharge = 0.12 // standard, share: right charges about those built up, over units
	leftSince     = 0.4  // of what is missing, the share that left after it was weighed
	grossWeighing = 0.25 // weighings and build-ups that are off by anything
)

// weighed is ln of the likelihood of the charge weighed, given that the charge is off by
// that share; 0 where it is not known.
func (d *model) weighed(off float64) float64 {
	if d.k.UWeighed == 0 {
		return 0
	}
	s := math.Hypot(d.k.UWeighed, healthyCharge)
	at := func(mean, s float64) float64 {
		z := (d.k.Weighed - mean) / s
		return math.Exp(-0.5*z*z) / s
	}
	p := at(off, s)
	if off < 0 { // it may have leaked away
		p = (1-leftSince)*p + leftSince*at(0, s)
	}
	return math.Log((1-grossWeighing)*p + grossWeighing*at(0, 0.5))
}

// probe weighs a wrong reading, of a size about the usual, either way.
func (d *model) probe(q Quantity) (w hypothesis, ok bool) {
	if !d.r[q].Have || !slices.ContainsFunc(d.idx, func(f int) bool { return d.read[q][f] != 0 }) {
		return w, false
	}
	size := probeSize(q, d.x[q])
	w = hypothesis{c: Cause{Probe: q, IsProbe: true, Label: "Reading error: " + q.String()}}
	var logs []float64
	best := math.Inf(-1)
	for n := -10; n <= 10; n++ {
		if n > -3 && n < 3 {
			continue
		}
		b := size * float64(n) / 5 // up to twice the usual size, either way
		try := func(p vector) {
			l, chi := d.logN(&p, nil)
			logs = append(logs, l-0.5*b*b/size/size)
			if l > best {
				best, w.c.Severity, w.c.Chi2, w.pattern = l, b, chi, p
			}
		}
		try(d.moved(q, b))
		// An instrument that is off is off wherever it was put.
		if p, shared := d.with(q, b); shared {
			try(p)
		}
	}
	w.log = logSum(logs) - math.Log(6)
	return w, true
}

// with adds to an error of a reading what the same error does to the other readings of
// its instrument that are of its kind.
func (d *model) with(q Quantity, b float64) (p vector, any bool) {
	p = d.moved(q, b)
	for o := range Quantities {
		if o == q || d.r[q].Tool == "" || d.r[o].Tool != d.r[q].Tool || !d.r[o].Have || isPressure(o) != isPressure(q) {
			continue
		}
		any = true
		for f, x := range d.moved(o, b) {
			p[f] += x
		}
	}
	return p, any
}

func isPressure(q Quantity) bool { return q == SuctionP || q == LiquidP || q == RestP }

// moved is the change of the residuals by an error b of a reading. A ratio's
// logarithm is taken as it is, the rest in proportion.
func (d *model) moved(q Quantity, b float64) (p vector) {
	for f := range p {
		p[f] = d.read[q][f] * b
	}
	switch x := d.x[q]; q {
	case IndoorAir:
		p[AirRatio] = -math.Log(max(0.2, 1-b/x)) // read less what would be read without the error
	case Power:
		p[PowerRatio] = -math.Log(max(0.2, 1-b/x))
	}
	return p
}

// together is two faults at once.
type together struct {
	a, b     int
	log, chi float64
}

// twoPrior is the share of faulty machines that have two faults (common practice,
// no source), spread over the pairs that can be.
const (
	twoPrior  = 0.15
	pairCount = (cycle.Faults-1)*(cycle.Faults-2)/2 - 2
)

// pairs weighs two faults at once, their patterns added.
func (d *model) pairs(faults []hypothesis) (out []together) {
	for i := range faults {
		for k := i + 1; k < len(faults); k++ {
			a, b := &faults[i], &faults[k]
			if !compatible(a.c.Fault, b.c.Fault) {
				continue
			}
			t := together{a: i, b: k, chi: math.Inf(1)}
			logs := make([]float64, 0, len(a.way)*len(b.way))
			best := math.Inf(-1)
			for n, u := range a.way {
				for m, v := range b.way {
					var p, loose vector
					for f := range p {
						p[f], loose[f] = u[f]+v[f], math.Hypot(u[f], v[f])
					}
					l, chi := d.logN(&p, &loose)
					l += d.weighed(a.off[n] + b.off[m])
					logs = append(logs, l)
					if l > best {
						best, t.chi = l, chi
					}
				}
			}
			if len(logs) == 0 {
				continue
			}
			t.log = logSum(logs) - math.Log(float64(len(logs))) + math.Log(0.5*twoPrior/float64(pairCount))
			out = append(out, t)
		}
	}
	return out
}

// compatible tells whether two faults can be in a machine at once.
func compatible(a, b cycle.Fault) bool {
	opposed := func(x, y cycle.Fault) bool { return a == x && b == y || a == y && b == x }
	return a != b && !opposed(cycle.Undercharge, cycle.Overcharge) && !opposed(cycle.ValveOverfeeds, cycle.ValveUnderfeeds)
}

// probeSize is a usual gross error: a clamp that lies loose or in the sun, a gauge
// off its zero; common practice, no source.
func probeSize(q Quantity, value float64) float64 {
	switch q {
	case SuctionP, LiquidP, RestP:
		return 0.07 * value
	case IndoorAir:
		return 0.3 * value
	case Power:
		return 0.2 * value
	case WetBulb:
		return 2.5
	case DischargeT:
		return 12
	}
	return 4
}

// weigh lists the evidence: a feature speaks for a cause if it is off the way the
// cause would have it, against if it is off the other way or stays where it
// should have moved.
func (d *model) weigh(c *Cause, pattern *vector) {
	for _, i := range d.idx {
		s := math.Sqrt(d.cov[i][i])
		e := Evidence{Feature(i), d.res[i], s, pattern[i]}
		off, due := d.res[i]/s, pattern[i]/s
		switch {
		case math.Abs(off) > 1 && math.Abs(due) > 0.7 && off*due > 0:
			c.For = append(c.For, e)
		case math.Abs(off-due) > 1.8:
			c.Against = append(c.Against, e)
		}
	}
	slices.SortStableFunc(c.For, func(a, b Evidence) int {
		return cmp.Compare(math.Abs(b.Residual)/b.Sigma, math.Abs(a.Residual)/a.Sigma)
	})
	slices.SortStableFunc(c.Against, func(a, b Evidence) int {
		return cmp.Compare(math.Abs(b.Residual-b.Pattern)/b.Sigma, math.Abs(a.Residual-a.Pattern)/a.Sigma)
	})
}

// logN is ln N(res; mean, cov + (Alike loose)^2) and its chi-squared.
func (d *model) logN(mean, loose *vector) (float64, float64) {
	n := len(d.idx)
	var l [Features][Features]float64
	var y [Features]float64
	det, chi := 1.0, 0.0 // det: of the root; a dozen deviations between 0.01 and 100 stay far from overflow
	for a := range n {
		i := d.idx[a]
		for b := 0; b <= a; b++ {
			s := d.cov[i][d.idx[b]]
			if a == b && loose != nil {
				s += d.sp.Alike * d.sp.Alike * loose[i] * loose[i]
			}
			for k := range b {
				s -= l[a][k] * l[b][k]
			}
			if a == b {
				l[a][a] = math.Sqrt(max(s, 1e-12))
				det *= l[a][a]
			} else {
				l[a][b] = s / l[b][b]
			}
		}
		s := d.res[i] - mean[i]
		for k := range a {
			s -= l[a][k] * y[k]
		}
		y[a] = s / l[a][a]
		chi += y[a] * y[a]
	}
	return -math.Log(det) - 0.5*chi, chi
}

func logSum(x []float64) float64 {
	m := slices.Max(x)
	if math.IsInf(m, -1) {
		return m
	}
	s := 0.0
	for _, v := range x {
		s += math.Exp(v - m)
	}
	return m + math.Log(s)
}
