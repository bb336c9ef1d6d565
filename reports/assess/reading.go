package assess

import (
	"fmt"
	"math"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
	"retrostage/thermo/air"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// reading is a number of the record made ready for computing.
type reading struct {
	key   string     // as findings name it
	field record.Key // zero for a number that nobody reads
	label string
	si    float64 // gauge readings without the site's pressure
	gauge bool
	given bool    // nobody reads it: it is assumed
	u     float64 // standard uncertainty, SI
	step  float64 // of it, what the steps of the display add: each reading's own
	doubt string  // where u comes from
	from  string  // instrument id, "" if none is named
	unit  units.Unit
	err   error // why it cannot be used
}

// unnamed tells whether it was read with an instrument that nobody named: its doubt is
// then that of any of its kind.
func (r *reading) unnamed() bool {
	return r.from == "" && r.u > 0 && r.field != (record.Key{}) && r.field.Field().Origin == record.Measured
}

// context is the job with what every rule needs from it.
type context struct {
	job    *record.Job
	lim    *limits
	system units.System // in which limits and what is said of them are written
	fluid  *fluid.Fluid // nil while no refrigerant is picked
	site   reading      // air pressure of the site, Pa
	cache  map[string]*reading
	memo   map[memoKey]any
	spans  []span      // the sets of readings, at least one
	set    int         // the one that stands for the unit
	read1  *record.Job // the record as it stood when that was closed
	plain  bool        // ranked against a typical unit, whatever an earlier visit read
	steadily
}

// System is that of the job's limits: inch-pound unless it says metric.
func System(j *record.Job) units.System {
	if j.Text(record.LimitUnits) == record.Metric {
		return units.SI
	}
	return units.IP
}

// span is a difference as people read it, in the unit of the reading where that
// belongs to the job's system.
func (c *context) span(si float64, of units.Unit) string {
	u := of.In(c.system)
	return amount(u.Span(si), u)
}

// siteKey is the input that gauge readings share: the site's air pressure.
const siteKey = "site"

func newContext(j *record.Job) (*context, error) {
	lim, err := loadLimits()
	if err != nil {
		return nil, err
	}
	system := System(j)
	c := &context{job: j, lim: lim.in(system), system: system, cache: map[string]*reading{}, memo: map[memoKey]any{}}
	c.spans = spans(j)
	c.use(len(c.spans) - 1)
	if i, ok := c.handed(); ok {
		c.use(i)
	}
	if name := j.Text(record.Refrigerant); name != "" {
		if c.fluid, err = fluid.Get(name); err != nil {
			return nil, err
		}
	}
	c.site, err = c.sitePressure()
	return c, err
}

// sitePressure takes the barometer if it was read, else the standard
// atmosphere at the altitude, else at sea level; the last two with the
// weather's doubt, the last also with that of a height nobody told.
func (c *context) sitePressure() (reading, error) {
	r := reading{key: siteKey, label: "Air pressure of the site", unit: units.Preferred(units.Barometric, c.system)}
	if b := c.reading(record.Barometer); b != nil {
		r.si, r.u, r.doubt, r.from, r.unit = b.si, b.u, b.doubt, b.from, b.unit
		return r, nil
	}
	z := 0.0
	r.doubt = "no barometer or altitude entered, sea level assumed; " + c.lim.Site.Source
	if a := c.reading(record.Altitude); a != nil {
		z = a.si
		r.doubt = "standard atmosphere at the altitude; " + c.lim.Site.Source
	}
	p, err := air.StandardPressure(z)
	r.si, r.u = p, uncertainty.Rectangular(c.lim.Site.HalfWidth)
	if c.reading(record.Altitude) == nil {
		r.u = uncertainty.Combine(r.u, uncertainty.Rectangular(c.lim.Site.Unknown))
	}
	return r, err
}

// reading returns the number entered for key, nil if there is none.
func (c *context) reading(key record.Key) *reading {
	return c.once(key.String(), func() *reading { return c.read(key) })
}

func (c *context) once(key string, read func() *reading) *reading {
	if r, ok := c.cache[key]; ok {
		return r
	}
	r := read()
	c.cache[key] = r
	return r
}

func (c *context) read(key record.Key) *reading {
	f := key.Field()
	if f.Kind != record.Number {
		return nil
	}
	logged, isLogged := c.logged(key)
	job := c.job
	if inSet[key] {
		job = c.read1
	}
	e, ok := job.Entry(key)
	ok = ok && c.stale(key) == ""
	if !ok && isLogged {
		r := logged.reading
		half, doubt := c.halfWidth(f, &r)
		r.u, r.doubt = uncertainty.Combine(uncertainty.Rectangular(half), r.step, logged.uMean), doubt+"; mean of the steady stretch of the log, with its scatter"
		c.touch(f, &r)
		return &r
	}
	if !ok {
		return nil
	}
	a, ok := job.Number(key)
	if !ok {
		return nil
	}
	r := &reading{key: key.String(), field: key, label: f.Label, si: a.SI(0), gauge: a.Unit.Gauge, unit: a.Unit, from: e.Instrument}
	if f.Origin == record.Stated {
		r.doubt = "stated, taken as exact"
		return r
	}
	half, doubt := c.halfWidth(f, r)
	r.u, r.doubt = uncertainty.Combine(uncertainty.Rectangular(half), r.step), doubt
	c.touch(f, r)
	if c.job.Later(key) {
		r.doubt += "; entered later than measured"
	}
	if isLogged {
		// One reading out of many that scatter.
		r.u, r.doubt = uncertainty.Combine(r.u, logged.sd), doubt+"; and the scatter in the steady stretch of the log"
	}
	return r
}

// touch adds to a clamp's doubt that of its contact with the pipe: what is wanted is
// the temperature of what flows inside.
func (c *context) touch(f record.Field, r *reading) {
	if f.Class != "pipe clamp" {
		return
	}
	if a := c.assume("contact"); a != nil {
		r.u, r.doubt = uncertainty.Combine(r.u, a.u), r.doubt+"; with its contact on the pipe (common practice, no source)"
	}
}

// halfWidth is the accuracy of a reading, SI: its instrument's, or that of
// the generic class of such instruments. What the steps of the display add is set in r: a
// reading lies anywhere within half a step of what is shown.
func (c *context) halfWidth(f record.Field, r *reading) (float64, string) {
	if in, ok := c.job.Instrument(r.from); ok {
		for _, a := range in.Accuracy {
			if u, err := units.Lookup(a.Dim, a.Unit); err == nil && a.Dim == f.Dim {
				r.step = uncertainty.Rectangular(u.SpanSI(a.Step / 2))
			}
			if a.Dim == f.Dim && (a.Plus > 0 || a.Percent > 0) { // nothing reads without doubt
				return spread(a.Dim, a.Unit, a.Plus, a.Percent, r.si), fmt.Sprintf("%s: %v, rectangular", in.Name, a)
			}
		}
	}
	cl := c.lim.byClass[f.Class]
	return spread(cl.Dim, cl.Unit, cl.Plus, cl.Percent, r.si), fmt.Sprintf("no instrument named; %s: %v, rectangular (%s)", cl.Class,
		record.Accuracy{Dim: cl.Dim, Plus: cl.Plus, Unit: cl.Unit, Percent: cl.Percent}, cl.Source)
}

// spread is the half-width plus + percent of the reading si, where the reading
// counts in the unit of plus: 0.1 % of 105 F is 0.1 F, whatever that is in K.
func spread(dim units.Dimension, unit string, plus, percent, si float64) float64 {
	u, err := units.Lookup(dim, unit)
	if err != nil {
		return 0
	}
	return u.SpanSI(plus + percent/100*math.Abs(u.FromSI(si, 0)))
}
