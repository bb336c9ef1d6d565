package assess

import (
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

// pullRel is how far the fit leaves a reading of a pull-down, share of it: the pump's
// speed is not the same at all pressures (what the fit was tried with).
const pullRel = 0.05

// atAir is where a circuit is when nothing else is known, K.
const atAir = 295.0

// coldest is the coldest part of the circuit: as read, else the air about it, else a
// usual one, and which it is.
func (c *context) coldest() (t float64, words string) {
	for _, k := range []struct {
		key   record.Key
		words string
	}{{record.VacuumColdest, "the coldest part"}, {record.TestT2, "the temperature of the nitrogen hold"}, {record.OutdoorTemp, "the outdoor air"}} {
		if v := c.value(k.key); v > 0 {
			return v, k.words
		}
	}
	return atAir, "72 °F, for no temperature was read"
}

// pullTarget is the vacuum that starts the hold, Pa.
func (c *context) pullTarget() (float64, error) {
	row := c.lim.byFinding["vacuum_final"]
	u, err := units.Lookup(units.Vacuum, row.Unit)
	if err != nil || row.High == nil {
		return 0, fmt.Errorf("no vacuum is stated that starts the hold")
	}
	return u.ToSI(*row.High, 0), nil
}

// pulledDown keeps the last fits.
var pulledDown lately[pulledKey, vacuum.PullDown]

type pulledKey struct {
	text              string
	abs, target, cold float64
}

// pulled is the fitted pull-down, with the last pressure of it.
func (c *context) pulled() (d vacuum.PullDown, last float64, err error) {
	t, p, err := riseReadings(c.job.Text(record.VacuumPull))
	if err != nil {
		return d, 0, fmt.Errorf("pull-down: %w", err)
	}
	if len(p) == 0 {
		return d, 0, fmt.Errorf("pull-down: no readings")
	}
	target, err := c.pullTarget()
	if err != nil {
		return d, 0, err
	}
	s, err := c.vacuumSetting()
	if err != nil {
		return d, 0, err
	}
	cold, _ := c.coldest()
	d, err = pulledDown.of(pulledKey{c.job.Text(record.VacuumPull), s.Abs, target, cold}, func() (vacuum.PullDown, error) {
		return vacuum.FitPullDown(t, p, s.Abs, pullRel, target, cold)
	})
	return d, p[len(p)-1], err
}

var pullLeft = input{name: "vacuum_pull/left", take: func(c *context) *reading {
	if c.job.Text(record.VacuumPull) == "" {
		return nil
	}
	d, _, err := c.pulled()
	r := &reading{key: "vacuum_pull/left", label: "Pull-down readings", unit: units.Preferred(units.Duration, c.system), err: err, given: true}
	if err == nil && d.Reaches < 0.5 {
		r.err = fmt.Errorf("pumping on in this way does not get there within %.0f h, as these readings go. %s", vacuum.Horizon/3600, pullWords(c))
	}
	if r.err == nil {
		r.si, r.u = d.Left, (d.LeftHigh-d.LeftLow)/4
		r.doubt = fmt.Sprintf("a quarter of the 95 %% interval; likelihood that it gets there at all %.0f %%", 100*d.Reaches)
	}
	return r
}, missing: record.VacuumPull.Label()}

var pumpedDown = said("pump of constant speed, a floor, walls that give off as one over the time, water that boils off at its plateau; weighed by how well they explain the readings")

// pullDown is how long the pump still needs. It judges nothing.
var pullDown = definition{key: "pull_down", label: "Pump still needed, to the vacuum that starts the hold", step: record.CloseUp, group: "Vacuum", dim: units.Duration,
	applies: entered(record.VacuumPull),
	advice:  func(c *context, _ Finding) string { return pullWords(c) },
	relation: relation{words: "time until the fitted pull-down reaches the vacuum that starts the hold", from: []source{pumpedDown}, inputs: []input{pullLeft},
		eval: func(x *values) (float64, error) { return x.at(pullLeft), nil }}}

// pullCurve is the pull-down for the picture, nil where there is none that can be
// fitted.
func (c *context) pullCurve() *Pull {
	if c.job.Text(record.VacuumPull) == "" {
		return nil
	}
	d, _, err := c.pulled()
	if err != nil {
		return nil // the finding says what is wrong
	}
	t, p, err := riseReadings(c.job.Text(record.VacuumPull))
	if err != nil {
		return nil
	}
	q := &Pull{Seconds: t, P: p, Reaches: d.Reaches, Left: d.Left, LeftLow: d.LeftLow, LeftHigh: d.LeftHigh}
	if q.Target, err = c.pullTarget(); err != nil {
		return nil
	}
	w, of := c.coldest()
	if q.Plateau, err = vacuum.WaterPressure(w); err == nil { // outside its range there is none to draw
		q.PlateauOf = of
	}
	const points = 120
	last := t[len(t)-1]
	end := last + max(0.1*(last-t[0]), min(1.1*d.LeftHigh, 3*(last-t[0]))) // no more of it than can still be read beside the readings
	for i := range points + 1 {
		x := t[0] + (end-t[0])*float64(i)/points
		mid, lo, hi := d.At(x)
		q.CurveT, q.CurveP, q.Low, q.High = append(q.CurveT, x), append(q.CurveP, mid), append(q.Low, lo), append(q.High, hi)
	}
	return q
}

// pullWords says what the pull-down shows beside the time.
func pullWords(c *context) string {
	d, last, err := c.pulled()
	if err != nil {
		return ""
	}
	v := units.Preferred(units.Vacuum, c.system)
	micron := func(p float64) string { return amount(v.FromSI(p, 0), v) }
	var out []string
	switch {
	case d.Boiling >= 0.5:
		out = append(out, "Water boils in it: the pressure holds near "+micron(d.Plateau)+" until it is gone. Warm the circuit, or break with dry nitrogen and pull again.")
	case d.Plateau > 0:
		out = append(out, fmt.Sprintf("Water was in it, and had boiled off after about %.0f min; what is frozen or bound does not show.", d.Dry/60))
	}
	if w := c.iceWords(last, d.Boiling >= 0.5); w != "" {
		out = append(out, w)
	}
	if d.Reaches < 0.5 && d.Boiling < 0.5 {
		out = append(out, "It levels off near "+micron(d.Floor+d.GivesOff)+": a leak, water, or a pump, oil or hoses that do no better. Blank the pump off and read it alone.")
	}
	if f := c.value(record.FreeVolume); f > 0 {
		if s, u, err := d.Speed(f); err == nil {
			out = append(out, fmt.Sprintf("The pump draws %.2g ± %.1g L/s at the circuit, hoses and cores in it.", 1e3*s, 2e3*u))
		}
	}
	return strings.Join(out, " ")
}

// iceWords warns of ice: of water that boils below its triple point, or of a part that
// is frozen already.
func (c *context) iceWords(p float64, boils bool) string {
	cold, of := c.coldest()
	ice, err := vacuum.AtVacuum(p, cold)
	if err != nil {
		return ""
	}
	u := units.Preferred(units.Temperature, c.system)
	degrees := func(k float64) string { return fmt.Sprintf("%.0f %s", u.FromSI(k, 0), u.Label) }
	switch {
	case ice.Frozen:
		return "At " + degrees(cold) + " (" + of + ") water in it is ice, and hardly comes out: warm the circuit."
	case boils && ice.Freezes:
		return "Boiling at this pressure cools water to " + degrees(ice.Boils) + ": it turns to ice and hides. Break with dry nitrogen, warm it, pull again."
	}
	return ""
}

// hiddenIce is why a rise to p would not show water: so cold that the ice holds hardly
// more than that. Asked only of a temperature that was read.
func (c *context) hiddenIce(p float64) string {
	cold := c.value(record.VacuumColdest)
	micron, err := units.Lookup(units.Vacuum, "micron")
	if cold == 0 || err != nil {
		return ""
	}
	plateau, err := vacuum.WaterPressure(cold)
	if err == nil && plateau > p+2*micron.SpanSI(vapourMatters) {
		return ""
	}
	u, v := units.Preferred(units.Temperature, c.system), units.Preferred(units.Vacuum, c.system)
	return fmt.Sprintf("at %.0f %s ice would hold no more than %s, and would not show: warm the coldest part, and read the rise again", u.FromSI(cold, 0), u.Label, amount(v.FromSI(plateau, 0), v))
}

// amounts is a leak's rate, or water's mass, where the free volume is known.
func (c *context) amounts(j vacuum.Judgement) string {
	v := c.value(record.FreeVolume)
	if v <= 0 {
		return ""
	}
	litres := fmt.Sprintf(" In %.2g L that is ", 1e3*v)
	switch j.Word {
	case vacuum.Leaking, vacuum.LeakingWet:
		lo, err := vacuum.Inflow(v, j.SlopeLow)
		hi, err2 := vacuum.Inflow(v, j.SlopeHigh)
		if err == nil && err2 == nil {
			return litres + fmt.Sprintf("air drawn in at %.2g to %.2g Pa L/s.", 1e3*lo, 1e3*hi)
		}
	case vacuum.Wet:
		t, _ := c.coldest()
		if m, err := vacuum.Water(v, math.Max(j.Tends, 0), t); err == nil && j.Water > j.Oil && m > 0 {
			return litres + fmt.Sprintf("about %.2g mg of water as vapour in the end; what is bound or frozen does not show.", 1e6*m)
		}
	}
	return ""
}
