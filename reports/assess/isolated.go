package assess

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

const riseOver = 600.0 // s, for which a leak's part is told

// vapourMatters is the vapour that matters, micron: what the judgement was tried on.
const vapourMatters = 100.0

// errTooShort is no fault of the readings: they only go on.
var errTooShort = errors.New("too short to tell")

// riseLeak is the steady rise of the judged vacuum, in ten minutes.
var riseLeak = input{name: "vacuum_rise/leak", take: func(c *context) *reading {
	j, n, err := c.isolated()
	if n == 0 {
		return nil
	}
	r := &reading{key: "vacuum_rise/leak", label: "Rise readings", unit: units.Preferred(units.Vacuum, c.system), err: err}
	if err != nil {
		return r
	}
	r.si, r.u = j.Slope*riseOver, (j.SlopeHigh-j.SlopeLow)*riseOver/4
	r.doubt = fmt.Sprintf("%d of %d readings judged; a quarter of the 95 %% interval; likelihood of a leak that matters %.0f %%, of vapour %.0f %%; %s", j.N, n, 100*j.Leak, 100*j.Vapour, c.repeatWords())
	return r
}, missing: record.VacuumRise.Label()}

// vacuumWord is the one judgement of the isolated vacuum: findings and picture say it.
var vacuumWord = definition{key: "vacuum_word", label: "Isolated vacuum: steady rise in 10 min", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
	limit: "vacuum_word",
	valid: func(c *context) string {
		if f := c.reading(record.VacuumEnd); f != nil {
			if _, p, err := riseReadings(c.job.Text(record.VacuumRise)); err == nil && !c.sameEnd(f, p[len(p)-1]) {
				return "the rise readings end elsewhere than the vacuum entered for the end of the hold: which is right?"
			}
		}
		return ""
	},
	only:   func(c *context) string { return cmp.Or(moved(c), unasked(record.VacuumTime)(c)) },
	decide: decideVacuum,
	relation: relation{words: "the steady part of what explains the rise readings", from: []source{rivalShapes}, inputs: []input{riseLeak},
		eval: func(x *values) (float64, error) { return x.at(riseLeak), nil }}}

// moved is why readings that look tight show nothing: walls give off something in any
// circuit, and a gauge that repeats one number is stuck, off or copied.
func moved(c *context) string {
	t, p, err := riseReadings(c.job.Text(record.VacuumRise))
	if err == nil && slices.Min(p) == slices.Max(p) {
		return "every rise reading is the same: is the gauge on, at the system, and was it read each time?"
	}
	if err == nil && p[len(p)-1] < p[0]*0.9 {
		return "the pressure fell with the pump valved off: is the valve shut, is the gauge at the system?"
	}
	if err == nil && p[len(p)-1] <= p[0] {
		return "the pressure ended no higher than it began, as it does in no circuit: is the pump valved off, does the gauge drift?"
	}
	valved := c.job.Text(record.PumpValved)
	if valved == record.PumpDraws {
		return "the pump still drew while the rise was read: shut its valve at the system, and read the rise again"
	}
	if err == nil && vacuum.Flat(t, p) {
		return "the pressure did not rise at all, as it does in any circuit: is the pump valved off, the gauge at the system and its core open?"
	}
	if err == nil && valved == "" && vacuum.Drifts(t, p, c.lim.Rise.Drift/100) {
		return "the pressure came up by no more than a gauge may drift by itself, which a pump that still draws would look like too: enter " + strconv.Quote(record.PumpValved.Label())
	}
	if err == nil {
		if why := c.hiddenIce(p[len(p)-1]); why != "" {
			return why
		}
	}
	if f, ok := c.judgedNow(pressureHold); ok && f.Verdict == Outside && f.Value < 0 {
		return "the nitrogen hold showed a loss: what leaks under pressure is not tight"
	} else if ok && f.Verdict == Outside {
		return "the nitrogen hold ended higher than the gas explains: it shows nothing of the joints, hold again"
	}
	return ""
}

// sameEnd tells whether two readings of one gauge are the same, within its accuracy.
func (c *context) sameEnd(end *reading, last float64) bool {
	micron, err := units.Lookup(units.Vacuum, "micron")
	return err != nil || math.Abs(end.si-last) <= math.Max(4*end.u, micron.SpanSI(5))
}

func decideVacuum(c *context, f *Finding, row limit) {
	j, _, _ := c.isolated()
	f.Band = Band{} // a sheet that recalculates would judge by it alone, and say more than was shown
	switch j.Word {
	case vacuum.Tight:
		f.Verdict, f.Next = Within, c.told(record.VacuumEnd)+row.NextOK
	case vacuum.Leaking:
		f.Verdict, f.Next = Outside, row.NextHigh+c.amounts(j)
	case vacuum.LeakingWet:
		f.Verdict, f.Next = Outside, row.NextHigh+" Something boils off as well: water, or refrigerant out of the oil."+c.amounts(j)
	case vacuum.Wet:
		f.Verdict, f.Next = Outside, "Something boils off: water, or refrigerant out of the oil; a leak beside it is left open. Break with dry nitrogen, warm it, pull again."+c.amounts(j)
		if _, p, err := riseReadings(c.job.Text(record.VacuumRise)); err == nil {
			if w := c.iceWords(p[0], false); w != "" {
				f.Next += " " + w
			}
		}
	default:
		f.Verdict, f.Settle = TooClose, sentenceStart(c.waitWords(j))
		f.Next = f.Settle
	}
}

func (c *context) waitWords(j vacuum.Judgement) string {
	if j.More > 0 {
		return fmt.Sprintf("too short to tell: %.0f more minutes, pump valved off, a reading each minute.", math.Ceil(j.More/60))
	}
	if x := c.closerGauge(); x > 0 {
		return fmt.Sprintf("not told with a gauge of which nothing is stated: these readings would tell if it repeats itself within %g %%. Enter %s, from its data; that it reads alike twice, not its accuracy.", x, strconv.Quote(record.GaugeRepeats.Label()))
	}
	if j.Leak <= 0.05 && j.Tends > 0.6*c.vapour() && j.Tends < 1.6*c.vapour() {
		u := units.Preferred(units.Vacuum, c.system)
		return fmt.Sprintf("no leak that matters, but what boils off comes to about %s, and %s is what matters: neither dry nor wet, and going on would not tell. Break with dry nitrogen, pull again, read the rise anew.", amount(u.Span(j.Tends), u), amount(u.Span(c.vapour()), u))
	}
	return "these readings do not tell, and going on would not either: break with dry nitrogen, pull again, and read a new rise, with a gauge that repeats better."
}

// repeats are the shares within which a gauge would have to repeat itself that are
// tried, widest first, %.
var repeats = [...]float64{0.5, 0.3, 0.2}

// closerGauge is the widest of repeats with which readings that tell nothing would tell,
// 0 where none would or the gauge's own is entered. The scatter that the readings
// themselves show is never taken for less.
func (c *context) closerGauge() float64 {
	if c.reading(record.GaugeRepeats) != nil {
		return 0
	}
	text := c.job.Text(record.VacuumRise)
	t, p, err := riseReadings(text)
	s, err2 := c.vacuumSetting()
	if err != nil || err2 != nil {
		return 0
	}
	for _, x := range repeats {
		if s.Rel = stated(x/100, t, p, s.Abs); s.Rel >= c.lim.Rise.Percent/100 {
			return 0
		}
		if j, err := judgeOnce(text, t, p, s); err == nil && j.Word != vacuum.Wait {
			return x
		}
	}
	return 0
}

// stated is a gauge's repeatability as its data state it, standard, but never less than
// what the readings themselves show.
func stated(within float64, t, p []float64, abs float64) float64 {
	return max(uncertainty.Rectangular(within), vacuum.Scatter(t, p, abs))
}

// repeatWords say what the gauge was taken to repeat itself within.
func (c *context) repeatWords() string {
	if g := c.reading(record.GaugeRepeats); g != nil {
		return fmt.Sprintf("the gauge repeats itself within %g %% as stated, or as the readings scatter where that is more", 100*g.si)
	}
	return fmt.Sprintf("the gauge taken to repeat itself to %g %%: %s", c.lim.Rise.Percent, c.lim.Rise.Source)
}

// vapour is the vapour that matters, Pa.
func (c *context) vapour() float64 {
	micron, err := units.Lookup(units.Vacuum, "micron")
	if err != nil {
		return 0
	}
	return micron.SpanSI(vapourMatters)
}

// longEnough is why a pressure at the end of a hold is not judged.
func longEnough(c *context) string {
	const least = riseOver
	if t := c.reading(record.VacuumTime); t != nil && t.si < least {
		return fmt.Sprintf("held for %.0f min only; the limit is for %.0f", t.si/60, least/60)
	}
	if a, b := c.reading(record.VacuumFinal), c.reading(record.VacuumEnd); a != nil && b != nil && b.si < a.si-2*math.Hypot(a.u, b.u) {
		return "the pressure fell with the pump valved off: is the valve shut, is the gauge at the system?"
	}
	return ""
}

// RiseEnds is what rise readings say of the end of a hold, as it is entered: minutes and
// microns of their last line; ok is false where there is none to be read.
func RiseEnds(text string) (minutes, micron string, ok bool) {
	t, p, err := riseReadings(text)
	u, e := units.Lookup(units.Vacuum, "micron")
	if err != nil || e != nil || len(t) < 2 || slices.Max(t) != t[len(t)-1] {
		return "", "", false
	}
	plain := func(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }
	return plain(t[len(t)-1] / 60), plain(u.FromSI(p[len(p)-1], 0)), true
}

// isolated judges the rise readings; n is how many there are.
func (c *context) isolated() (j vacuum.Judgement, n int, err error) {
	text := c.job.Text(record.VacuumRise)
	if text == "" {
		return j, 0, nil
	}
	t, p, err := riseReadings(text)
	if err == nil && len(t) < 3 {
		err = fmt.Errorf("rise readings: %d; a rise takes at least three", len(t))
	}
	if err != nil {
		return j, max(1, len(t)), err
	}
	s, err := c.vacuumSetting()
	if err != nil {
		return j, len(t), err
	}
	j, err = judgeOnce(text, t, p, s)
	if err == nil && j.Word == vacuum.Wait && j.N == 0 {
		err = fmt.Errorf("%w: %s", errTooShort, c.moreReadings(t))
	}
	return j, len(t), err
}

// moreReadings is what rise readings still lack before anything is judged.
func (c *context) moreReadings(t []float64) string {
	counted := 0
	for _, x := range t {
		if x >= vacuum.Settle {
			counted++
		}
	}
	last := t[len(t)-1]
	minutes := math.Ceil(max(0, riseOver-last) / 60)
	lack := vacuum.Fewest - counted
	w := fmt.Sprintf("%d more readings at least", lack)
	switch {
	case lack <= 0 && minutes < 1: // they lie too close together for as many of them
		return fmt.Sprintf("at least %d readings spread over the hold; a reading each minute, pump valved off", vacuum.Fewest)
	case lack <= 0:
		return fmt.Sprintf("%.0f more minutes, pump valved off, a reading each minute", minutes)
	case lack == 1:
		w = "1 more reading at least"
	}
	w = fmt.Sprintf("%s, a minute apart: %d are judged from, those of the first %.0f min are left out", w, vacuum.Fewest, vacuum.Settle/60.0)
	if minutes >= 1 {
		w = fmt.Sprintf("%.0f more minutes, pump valved off; %s", minutes, w)
	}
	return w
}

func (c *context) vacuumSetting() (s vacuum.Setting, err error) {
	q := c.lim.Rise
	u, err := units.Lookup(units.Vacuum, q.Unit)
	if err != nil {
		return s, err
	}
	row := c.lim.byFinding["vacuum_word"]
	limit, err := units.Lookup(units.Vacuum, row.Unit)
	if err != nil {
		return s, err
	}
	s = vacuum.Setting{Abs: u.SpanSI(q.Plus), Rel: q.Percent / 100, Gain: c.lim.byClass["vacuum gauge"].Percent / 100 / math.Sqrt(3),
		Leak: limit.SpanSI(*row.High) / riseOver, Vapour: c.vapour(), Pumped: c.value(record.PumpedFor), Coldest: c.value(record.VacuumColdest)}
	if g := c.reading(record.GaugeRepeats); g != nil {
		if t, p, err := riseReadings(c.job.Text(record.VacuumRise)); err == nil {
			s.Rel = stated(g.si, t, p, s.Abs)
		}
	}
	return s, nil
}

// judged keeps the last judgements, bands the curves of them.
var (
	judged lately[judgedKey, vacuum.Judgement]
	bands  lately[judgedKey, Rise]
)

type judgedKey struct {
	text string
	s    vacuum.Setting
}

func judgeOnce(text string, t, p []float64, s vacuum.Setting) (vacuum.Judgement, error) {
	return judged.of(judgedKey{text, s}, func() (vacuum.Judgement, error) { return vacuum.Judge(t, p, s) })
}

// riseCurve is the rise for the picture, nil where there is none.
func (c *context) riseCurve() *Rise {
	j, n, err := c.isolated()
	if n == 0 || err != nil && !errors.Is(err, errTooShort) {
		return nil
	}
	t, p, err := riseReadings(c.job.Text(record.VacuumRise))
	if err != nil {
		return nil
	}
	r := &Rise{Word: j.Word.String(), More: j.More, Seconds: t, P: p}
	w, of := c.coldest()
	if r.Plateau, err = vacuum.WaterPressure(w); err == nil { // outside its range there is none to draw
		r.PlateauOf = of
	}
	if j.N > 0 {
		s, err := c.vacuumSetting()
		if err != nil {
			return nil // it was judged by one
		}
		curve, err := bands.of(judgedKey{c.job.Text(record.VacuumRise), s}, func() (k Rise, err error) {
			const points = 80
			end := j.End + max((j.End-j.Start)/4, min(j.More, 3600)) // how it would go on
			for i := range points + 1 {
				x := j.Start + (end-j.Start)*float64(i)/points
				lo, hi := j.Band(x)
				k.CurveT, k.CurveP = append(k.CurveT, x), append(k.CurveP, j.At(x))
				k.Low, k.High = append(k.Low, lo), append(k.High, hi)
			}
			return k, nil
		})
		if err != nil {
			return nil
		}
		r.CurveT, r.CurveP, r.Low, r.High = curve.CurveT, curve.CurveP, curve.Low, curve.High
	}
	return r
}

// Hot is where a recovery cylinder's fill is counted.
const hot = (130 + 459.67) / 1.8 // K

// waterDensity is that of the water a cylinder's capacity is stated in, kg/m3 at 60 F
// (from memory).
const waterDensity = 999.0

var recoveryFill = definition{key: "recovery_fill", label: "Recovery cylinder: liquid when hot (130 °F, 54 °C)", step: record.CloseUp, group: "Recovery", dim: units.Percent,
	limit: "recovery_fill", applies: entered(record.RecoveryWater), relation: relation{
		words: "(in it before + recovered) / (water capacity's volume × liquid's density at 130 °F)", from: []source{properties},
		inputs: []input{is(record.RecoveryWater), is(record.RecoveryBefore), is(record.Recovered)},
		eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
			s, err := f.Bubble(hot)
			if err != nil {
				return 0, err
			}
			return (x.of(record.RecoveryBefore) + x.of(record.Recovered)) / (x.of(record.RecoveryWater) / waterDensity * s.Rho), nil
		})}}
