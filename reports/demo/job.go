package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"time"

	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/thermo/air"
	"retrostage/thermo/diagnose"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"
)

// Flaw is what is wrong with an invented job on purpose.
type Flaw string

// The flaws.
const (
	None        Flaw = ""
	Undercharge Flaw = "undercharge"
	Overcharge  Flaw = "overcharge"
	LowAir      Flaw = "too little indoor air"
	Fouled      Flaw = "fouled condenser"
	WeakCap     Flaw = "weak run capacitor"
	LowVoltage  Flaw = "low supply voltage"
	Leak        Flaw = "pressure did not hold"
	WetVacuum   Flaw = "vacuum did not hold"
	Incomplete  Flaw = "entries missing"
)

var flaws = []Flaw{Undercharge, Overcharge, LowAir, Fouled, WeakCap, LowVoltage, Leak, WetVacuum}

// maker builds one job.
type maker struct {
	*rand.Rand
	job  *record.Job
	f    *fluid.Fluid
	site float64
	si   bool // readings typed in metric units
	at   time.Time
	by   string
	err  error
}

func (m *maker) between(lo, hi float64) float64 { return lo + (hi-lo)*m.Float64() }

func pick[T any](m *maker, xs ...T) T { return xs[m.IntN(len(xs))] }

// set enters text; the first refusal is kept, for it is a fault of this package.
func (m *maker) set(key record.Key, value, unit, instrument string) {
	m.at = m.at.Add(time.Duration(20+m.IntN(120)) * time.Second)
	err := m.job.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: m.at, Instrument: instrument, By: m.by})
	if err != nil && m.err == nil {
		m.err = fmt.Errorf("demo job %s: %w", m.job.ID, err)
	}
}

// wait lets time pass between two entries.
func (m *maker) wait(minutes int) { m.at = m.at.Add(time.Duration(minutes) * time.Minute) }

func (m *maker) text(key record.Key, value string) { m.set(key, value, "", "") }

// put enters an SI number in the unit this job is typed in, rounded to places,
// and returns what the rounded number is in SI.
func (m *maker) put(key record.Key, si float64, places int, instrument string) float64 {
	f, err := record.ByKey(key)
	if err != nil {
		m.err = err
		return si
	}
	sys := units.IP
	if m.si {
		sys = units.SI
		switch f.Dim {
		case units.Mass:
			places = 3
		case units.Pressure:
			places = 0
		case units.Capacity:
			places = 2
		}
	}
	u := units.Preferred(f.Dim, sys)
	if key == record.NewCapacity && !m.si {
		u, err = units.Lookup(f.Dim, "Btu/h")
		if err != nil {
			m.err = err
		}
	}
	s := strconv.FormatFloat(u.FromSI(si, m.site), 'f', places, 64)
	m.set(key, s, u.Name, instrument)
	x, _ := units.Number(s)
	return u.ToSI(x, m.site)
}

func must(m *maker, x float64, err error) float64 {
	if err != nil && m.err == nil {
		m.err = fmt.Errorf("demo job %s: %w", m.job.ID, err)
	}
	return x
}

func degF(x float64) float64 { return units.Preferred(units.Temperature, units.IP).ToSI(x, 0) }
func span(x float64) float64 { return x * 5 / 9 }

// Job makes the ith job of a seed.
func Job(seed uint64, i int) (*record.Job, Flaw, error) {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, uint64(i)+1))}
	m.job = record.New(fmt.Sprintf("DEMO-%d-%04d", seed, i))
	m.job.Demo = true
	m.si = m.IntN(4) == 0
	flaw := None
	switch d := m.IntN(10); {
	case d < 3:
		flaw = pick(m, flaws...)
	case d == 3:
		flaw = Incomplete
	}
	day := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC).AddDate(0, 0, m.IntN(200))
	m.at = day.Add(time.Duration(m.IntN(240)) * time.Minute)
	m.by = fmt.Sprintf("T-%02d", 1+m.IntN(9))
	name := pick(m, "R-410A", "R-410A", "R-410A", "R-22", "R-22", "R-407C")
	var err error
	if m.f, err = fluid.Get(name); err != nil {
		return nil, flaw, err
	}
	m.instruments(day)
	tons := pick(m, 2, 2.5, 3, 3.5, 4, 5)
	altitude := math.Round(m.between(0, 6500)/50) * 50 * 0.3048
	if m.site, err = air.StandardPressure(altitude); err != nil {
		return nil, flaw, err
	}
	m.intake(day, name, tons, altitude)
	m.cause()
	volts := pick(m, 208.0, 230, 230, 240)
	u := m.unit(tons*3516.8528, flaw)
	m.match(tons, volts)
	m.electrical(u.shows[diagnose.Power], volts, flaw)
	m.closeUp(flaw)
	m.charge(tons)
	m.running(&u)
	m.wiring()
	m.handOver(day, flaw)
	if flaw == Incomplete {
		m.forget()
	}
	m.job.Step = record.HandOver
	return m.job, flaw, m.err
}

func (m *maker) instruments(day time.Time) {
	cal := day.AddDate(0, -1-m.IntN(14), 0).Format(time.DateOnly)
	acc := func(dim units.Dimension, plus float64, unit string, percent float64) record.Accuracy {
		return record.Accuracy{Dim: dim, Plus: plus, Unit: unit, Percent: percent}
	}
	m.job.Instruments = []record.Instrument{
		{ID: "g1", Name: "Gauge set A", Calibrated: cal, Accuracy: []record.Accuracy{acc(units.Pressure, 1, "psig", 0.5)}},
		{ID: "t1", Name: "Thermometer A", Calibrated: cal, Accuracy: []record.Accuracy{acc(units.Temperature, 0.5, "F", 0.1)}},
		{ID: "e1", Name: "Meter A", Calibrated: cal, Accuracy: []record.Accuracy{acc(units.Voltage, 0.5, "V", 1), acc(units.Current, 0.05, "A", 1.5),
			acc(units.Capacitance, 0.1, "uF", 1.5), acc(units.Resistance, 0.02, "ohm", 1)}},
		{ID: "v1", Name: "Vacuum gauge A", Calibrated: cal, Accuracy: []record.Accuracy{acc(units.Vacuum, 10, "micron", 5)}},
		{ID: "s1", Name: "Scale A", Calibrated: cal, Accuracy: []record.Accuracy{acc(units.Mass, 0.5, "oz", 0.1)}},
	}
}

func (m *maker) serial(prefix string) string {
	return fmt.Sprintf("%s-%06d", prefix, m.IntN(1_000_000))
}

func (m *maker) intake(day time.Time, name string, tons, altitude float64) {
	m.text(record.OwnerRef, fmt.Sprintf("DEMO-OWNER-%04d", m.IntN(10000)))
	m.text(record.TechnicianRef, m.by)
	m.text(record.VisitDate, day.Format(time.DateOnly))
	m.text(record.Warranty, pick(m, "out of warranty", "parts only"))
	m.put(record.Altitude, altitude, 0, "")
	m.text(record.Refrigerant, name)
	m.text(record.Metering, record.MeterTXV)
	m.put(record.NominalCapacity, tons*3516.8528, 1, "")
	m.text(record.OldUnitModel, "invented two-stage unit")
	m.text(record.OldUnitSerial, m.serial("DEMO-U"))
	m.text(record.UnitInstalled, day.AddDate(-5-m.IntN(10), 0, 0).Format(time.DateOnly))
	m.text(record.OldCompressorModel, "invented two-stage compressor")
	m.text(record.OldCompressorSerial, m.serial("DEMO-C"))
	m.text(record.RatedFrequency, "60")
	m.text(record.Phases, record.PhaseSingle)
}

var causes = map[string][]string{
	"grounded winding":       {"contactor with burnt contacts, low voltage at every start", "water in the circuit from an earlier leak"},
	"open winding":           {"loose terminal, overheated", "internal overload tripped for months"},
	"shorted winding":        {"acid after an earlier burn-out", "lightning"},
	"seized":                 {"liquid flooded back for seasons, oil washed out", "oil lost through a leak"},
	"worn or leaking valves": {"liquid slugging at start", "wear"},
}

// roots are the causes on the list that go with a kind of failure.
var roots = map[string]string{"grounded winding": "low supply voltage", "open winding": "ran hot, reason not found", "shorted winding": "no reason found",
	"seized": "liquid comes back or gathers in the shell", "worn or leaking valves": "wear by age"}

func (m *maker) cause() {
	kind := pick(m, "grounded winding", "open winding", "shorted winding", "seized", "worn or leaking valves")
	m.text(record.FailureKind, kind)
	oil := "dark"
	if kind == "grounded winding" || kind == "shorted winding" {
		oil = "burnt"
	}
	m.text(record.OilState, oil)
	m.text(record.RootKind, roots[kind])
	m.text(record.RootCause, pick(m, causes[kind]...))
	m.text(record.Decision, "convert to single stage")
	m.text(record.DecisionReason, "the owner chose it over the price of a two-stage compressor")
	like := 200 + 10*m.IntN(40)
	m.text(record.CostLike, strconv.Itoa(2000+like))
	m.text(record.CostConvert, strconv.Itoa(900+like))
	m.text(record.CostReplace, strconv.Itoa(6500+5*like))
}

// factor is the invented compressors' power factor.
const factor = 0.95

// match enters the new compressor. A third over its current at the rating
// conditions leaves room for a hot day.
func (m *maker) match(tons, volts float64) {
	m.put(record.RatedVoltage, volts, 0, "")
	rla := math.Round(m.rated(tons*3516.8528)/(volts*factor)*m.between(1.28, 1.38)*10) / 10
	m.put(record.OldRLA, rla*1.1, 1, "")
	m.put(record.FanFLA, m.between(0.7, 1.6), 1, "")
	m.text(record.NewCompressorModel, "invented single-stage scroll")
	m.text(record.NewCompressorSerial, m.serial("DEMO-N"))
	m.put(record.NewCapacity, tons*3516.8528*m.between(0.95, 1.03), 0, "")
	m.put(record.NewRLA, rla, 1, "")
	m.put(record.NewLRA, rla*5.6, 0, "")
	m.put(record.NewVoltage, volts, 0, "")
	oil := "POE"
	if m.f.Name() == "R-22" {
		oil = "mineral or alkylbenzene"
	}
	m.text(record.NewOil, oil)
}

func (m *maker) electrical(power, volts float64, flaw Flaw) {
	uf := pick(m, 35.0, 40, 45, 50, 55, 60, 70)
	m.put(record.CapRating, uf*1e-6, 0, "")
	m.put(record.CapFitted, uf*1e-6, 0, "")
	m.text(record.CapTolerance, "6 %")
	m.put(record.CapVoltage, 440, 0, "")
	real := uf * 1e-6 * m.between(0.985, 1.015)
	if flaw == WeakCap {
		real = uf * 1e-6 * m.between(0.78, 0.88)
	}
	rcr := m.between(0.4, 0.9)
	rcs := rcr * m.between(2.2, 3.5)
	m.text(record.AckDead, m.by+", "+m.at.Format("2006-01-02 15:04"))
	m.put(record.RCS, rcs, 2, "e1")
	m.put(record.RCR, rcr, 2, "e1")
	m.put(record.RSR, rcs+rcr, 2, "e1")
	m.put(record.WindingTemp, degF(m.between(70, 90)), 1, "t1")
	m.put(record.Insulation, m.between(200, 2000)*1e6, 0, "")
	m.set(record.ContactResistance, strconv.Itoa(1+m.IntN(20)), "mohm", "")
	m.put(record.CapMeter, real, 1, "e1")
	v := volts * m.between(0.985, 1.02)
	if flaw == LowVoltage {
		v = volts * m.between(0.83, 0.86)
	}
	m.text(record.AckLive, m.by+", "+m.at.Format("2006-01-02 15:04"))
	m.put(record.SupplyVoltage, v, 1, "e1")
	m.put(record.SupplyVoltageStart, v*m.between(0.9, 0.95), 1, "e1")
	m.put(record.RunCurrent, power/(v*factor), 1, "e1")
	across := v * m.between(1.55, 1.7)
	m.put(record.CapVolts, across, 0, "e1")
	m.put(record.CapCurrent, 2*math.Pi*60*real*across, 2, "e1")
	m.put(record.FanCurrent, m.between(0.5, 0.65), 2, "e1")
	m.put(record.ControlVoltage, m.between(24.5, 27), 1, "e1")
	m.put(record.TransformerVA, 40, 0, "")
	m.put(record.ControlCurrent, m.between(0.5, 0.9), 2, "e1")
}

func (m *maker) closeUp(flaw Flaw) {
	m.text(record.NitrogenFlow, "yes")
	m.text(record.DrierFitted, "yes")
	m.text(record.SuctionFilter, pick(m, "fitted, to be removed", "not needed"))
	low := 236.0
	if m.f.Name() != "R-410A" {
		low = 150
	}
	psi := 6894.757293168
	m.put(record.DesignLow, m.site+low*psi, 0, "")
	t1 := m.put(record.TestT1, degF(m.between(70, 85)), 1, "t1")
	p1 := m.put(record.TestP1, m.site+(low-m.between(5, 15))*psi, 1, "g1")
	m.wait(60)
	t2 := m.put(record.TestT2, t1+span(m.between(-6, 6)), 1, "t1")
	p2 := p1 * t2 / t1
	if flaw == Leak {
		p2 -= m.between(12, 30) * psi
	}
	m.put(record.TestP2, p2, 1, "g1")
	m.put(record.TestTime, 3600, 0, "")
	micron := 101325.0 / 760000
	start := m.between(220, 400)
	rise := m.between(20, 60)
	if flaw == WetVacuum {
		rise = m.between(1400, 3000)
	}
	tau := m.between(3, 9)
	at := func(min float64) float64 { return start + rise*(1-math.Exp(-min/tau)) }
	m.put(record.VacuumFinal, start*micron, 0, "v1")
	m.wait(15)
	m.put(record.VacuumEnd, at(15)*micron, 0, "v1")
	m.put(record.VacuumTime, 900, 0, "")
	var lines []string
	for t := 0.0; t <= 15; t++ {
		lines = append(lines, fmt.Sprintf("%.0f %.0f", t, at(t)))
	}
	m.text(record.VacuumRise, strings.Join(lines, "\n"))
}

func (m *maker) charge(tons float64) {
	oz := 0.45359237 / 16
	tag := math.Round(tons * m.between(36, 48))
	length := math.Round(m.between(20, 60))
	m.put(record.TagCharge, tag*oz, 0, "")
	m.put(record.LineLength, length*0.3048, 0, "")
	m.put(record.LineIncluded, 15*0.3048, 0, "")
	m.put(record.LineOD, 0.375*0.0254, 3, "")
	m.put(record.LineWall, 0.032*0.0254, 3, "")
	cond := degF(105)
	p, err := m.f.BubbleP(cond)
	must(m, 0, err)
	s, err := m.f.TP(cond-span(10), p)
	must(m, 0, err)
	bore := (0.375 - 0.064) * 0.0254
	need := tag*oz + (length-15)*0.3048*math.Pi/4*bore*bore*s.Rho
	// Without a draw, so that a seed goes on making the job that it made.
	must(m, 0, m.job.Set(record.Entry{Key: record.ChargedWith, Value: m.job.Text(record.Refrigerant), Time: m.at}))
	in := m.put(record.WeighedIn, need*m.between(0.97, 1), 1, "s1")
	trim := m.put(record.Trimmed, need-in, 1, "s1")
	m.put(record.Recovered, tag*oz*m.between(0.5, 0.95), 1, "s1")
	must(m, 0, m.job.Set(record.Entry{Key: record.PartsBack, Value: record.Yes, Time: m.at}))
	must(m, 0, m.job.Set(record.Entry{Key: record.GroundBack, Value: record.Yes, Time: m.at}))
	must(m, 0, m.job.Set(record.Entry{Key: record.RecoveryLevel, Value: "-6", Unit: "psig", Time: m.at}))
	m.put(record.LabelCharge, in+trim, 1, "")
	m.wait(40)
}

// log adds a start-up to some jobs: pressures drawing apart until they stand.
func (m *maker) log(lo, hi, ts float64) {
	if m.IntN(3) != 0 {
		return
	}
	rest := math.Sqrt(lo * hi)
	psi := units.Preferred(units.Pressure, units.IP)
	f := units.Preferred(units.Temperature, units.IP)
	s := record.Series{Name: "Start-up", Start: m.at}
	a := record.SeriesColumn{Key: record.SuctionPressure, Unit: psi.Name, Instrument: "g1"}
	b := record.SeriesColumn{Key: record.LiquidPressure, Unit: psi.Name, Instrument: "g1"}
	c := record.SeriesColumn{Key: record.SuctionTemp, Unit: f.Name, Instrument: "t1"}
	round := func(x float64) float64 { return math.Round(x*10) / 10 }
	for t := 0.0; t <= 900; t += 15 {
		w := math.Exp(-t / 120)
		s.Seconds = append(s.Seconds, t)
		a.Values = append(a.Values, round(psi.FromSI(lo+(rest-lo)*w+m.between(-3e3, 3e3), m.site)))
		b.Values = append(b.Values, round(psi.FromSI(hi+(rest-hi)*w+m.between(-5e3, 5e3), m.site)))
		c.Values = append(c.Values, round(f.FromSI(ts+18*w+m.between(-0.2, 0.2), 0)))
	}
	s.Columns = []record.SeriesColumn{a, b, c}
	m.job.Series = append(m.job.Series, s)
}

// wiring picks a unit. In some jobs a conductor of it is of another colour than
// the catalogue says; in all of them a few readings of the check-out were
// taken, one in six of those with a conductor that reads open.
func (m *maker) wiring() {
	units := netlist.Catalogue()
	old := units[m.IntN(len(units))]
	control := record.ControlConventional
	if strings.HasSuffix(old, "-digital") {
		control = record.ControlDigital
	}
	m.text(record.IndoorControl, control)
	m.text(record.OldControls, old)
	if m.IntN(5) == 0 {
		u, err := plan.Drawn(m.job)
		if must(m, 0, err); m.err != nil {
			return
		}
		c := &u.Conductors[m.IntN(len(u.Conductors))]
		c.Colour = pick(m, "white", "grey", "unmarked")
		m.job.Unit = u.JSON()
	}
	p, err := plan.For(m.job)
	if must(m, 0, err); m.err != nil {
		return
	}
	for _, d := range p.Decisions {
		if slices.Contains(planner.Asked, d.Key) {
			m.text(record.PlanKey(d.Key), d.Default)
		}
	}
	m.checkOut()
}

func (m *maker) checkOut() {
	p, err := plan.For(m.job)
	if must(m, 0, err); m.err != nil || p.New == nil {
		return
	}
	c, err := netlist.Compile(p.New)
	if must(m, 0, err); m.err != nil {
		return
	}
	s, rest := c.NewSolver(), c.Rest()
	broken := m.IntN(6) == 0
	if broken {
		m.text(record.DeadCheckout, record.DeadExplained)
	} else {
		m.text(record.DeadCheckout, record.DeadAsPlanned)
	}
	for n, i := range m.Perm(len(p.New.Conductors)) {
		w := p.New.Conductors[i]
		if n >= 8 {
			break
		}
		if w.From == netlist.Capped || w.To == netlist.Capped {
			continue
		}
		r, err := s.Ohms(rest, w.From, w.To)
		r = must(m, r, err) + m.between(0, 0.3)
		value := strconv.FormatFloat(r, 'f', 1, 64)
		if broken {
			value, broken = record.OpenLine, false
		}
		m.set(record.MeterKey("ohms", w.From, w.To, c.Words(rest)), value, "", "e1")
	}
	x, err := s.Solve(rest)
	if must(m, 0, err); m.err != nil {
		return
	}
	v, err := x.Reader().Volts("SUP.L1", "SUP.L2")
	m.set(record.MeterKey("volts", "SUP.L1", "SUP.L2", c.Words(rest)), strconv.FormatFloat(must(m, v, err)*m.between(0.98, 1.02), 'f', 1, 64), "", "e1")
}

func (m *maker) handOver(day time.Time, flaw Flaw) {
	if flaw != Leak {
		m.text(record.LeakSearch, record.LeakNone)
	}
	m.text(record.WorkDone, "Failed compressor out, circuit cleaned and dried, single-stage compressor, drier and capacitor in; two-stage controls taken down; charged and run.")
	open := ""
	if flaw != None && flaw != Incomplete {
		open = "To be seen to: " + string(flaw)
	}
	m.text(record.OpenConditions, open)
	m.text(record.LabelDone, pick(m, "yes", "yes", "no"))
	m.text(record.OwnerAdvice, "Wash the outdoor coil each spring; change the filter every three months.")
	m.text(record.PartWarranty, "maker's, registered")
	m.text(record.PartSupplier, "SUP-1")
	m.text(record.PartInvoice, "INV-"+day.Format("0102"))
	m.text(record.PartInvoiced, day.AddDate(0, 0, -1).Format(time.DateOnly))
	m.text(record.FailedPart, "kept for the warranty")
	m.text(record.LabourWarranty, "one year")
	if open != "" {
		m.text(record.FollowUp, open)
		m.text(record.FollowUpDue, day.AddDate(0, 0, 14).Format(time.DateOnly))
	}
	m.text(record.SignedBy, m.by)
	m.text(record.SignedDate, day.Format(time.DateOnly))
}

// forget clears a few entries that a complete job has.
func (m *maker) forget() {
	for _, k := range []record.Key{record.OldCompressorSerial, record.NewCompressorSerial, record.CapMeter, record.VacuumEnd, record.LabelDone, record.RootCause} {
		if m.IntN(2) == 0 {
			m.text(k, "")
			if k == record.RootCause {
				m.text(record.RootKind, "")
			}
		}
	}
	m.text(record.Insulation, "")
}
