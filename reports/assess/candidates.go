package assess

import (
	"cmp"
	"math"
	"strings"

	"retrostage/reports/cause"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/season"
)

// Matches is the candidates of the job held against the unit.
type Matches struct {
	Refused string // why none is, "" if some are
	Ranked  []match.Judged
	Wrong   []match.Wrong // cells of the list that could not be taken
	Unit    match.Unit
	Chosen  int // place in Ranked of the one entered as new compressor; -1 none
	Order   []match.Line
	Bring   []match.Line
	Plane   *match.Plane // where the chosen one, else the first, works beside the old; nil where that is not known
	Later   *Later       // what the running unit says of it; nil while it was not read
}

// Later is cooling as measured on the running unit against what Match expects in that
// weather, W; U is the standard doubt of their difference.
type Later struct {
	By                 string // the finding that measured
	Measured, Expected float64
	U                  float64
}

// Off tells whether they contradict each other: the difference exceeds two standard
// doubts.
func (l Later) Off() bool { return math.Abs(l.Measured-l.Expected) > 2*l.U }

// later holds the cooling measured against the balance of the compressor entered.
func (c *context) later(j match.Judged, fs []Finding) *Later {
	b, od := j.Balance, c.reading(record.OutdoorTemp)
	if b == nil || od == nil || len(b.Over) < 2 {
		return nil
	}
	want := math.NaN()
	for i := 1; i < len(b.Over); i++ {
		if p, q := b.Over[i-1], b.Over[i]; od.si >= p.Outdoor && od.si <= q.Outdoor && q.Outdoor > p.Outdoor {
			want = p.Cooling + (od.si-p.Outdoor)/(q.Outdoor-p.Outdoor)*(q.Cooling-p.Cooling)
		}
	}
	// The balance takes 67 °F entering; average curves carry it to the air at hand.
	if wb := c.reading(record.ReturnWB); wb != nil {
		const usual = (67 + 459.67) / 1.8
		x, _, err1 := season.Average(season.OneSpeed, wb.si, od.si)
		y, _, err2 := season.Average(season.OneSpeed, usual, od.si)
		if err1 != nil || err2 != nil {
			return nil
		}
		want *= x / y
	}
	for _, k := range []string{"capacity_refrigerant", "capacity_air"} {
		for _, f := range fs {
			if f.Key == k && f.Value > 0 && f.U > 0 && !math.IsNaN(want) {
				return &Later{By: f.Label, Measured: f.Value, Expected: want, U: math.Hypot(f.U, b.UShare*want)}
			}
		}
	}
	return nil
}

// entered is the name that the new compressor of the record goes by where its type is
// not entered.
const enteredName = "new compressor as entered"

// matches ranks the list and the compressor entered. x says what the cause asks for.
func (c *context) matches(x *cause.Examination, fs []Finding) (*Matches, error) {
	m := &Matches{Chosen: -1}
	var cs []match.Candidate
	if text := c.job.Text(record.Candidates); text != "" {
		var err error
		if cs, m.Wrong, err = listed(text); err != nil {
			m.Refused = strings.TrimPrefix(err.Error(), "match: ")
			return m, nil
		}
	}
	own, ok, err := c.newCompressor()
	if err != nil {
		m.Refused = err.Error()
		return m, nil
	}
	name := own.Name
	if ok {
		var rest []match.Candidate
		own, rest = merge(own, cs)
		cs = append([]match.Candidate{own}, rest...)
	}
	m.Unit = c.unit()
	if len(cs) == 0 {
		m.Refused = "no candidates: enter the new compressor, or a list"
		return m, nil
	}
	if m.Ranked, err = match.Rank(m.Unit, cs); err != nil {
		m.Refused = strings.TrimPrefix(err.Error(), "match: ")
		return m, nil
	}
	for i, j := range m.Ranked {
		if ok && j.Candidate.Name == name {
			m.Chosen = i
		}
	}
	i := max(m.Chosen, 0)
	m.Plane, _ = m.Unit.Plane(m.Ranked[i]) // without one there is no picture; the reasons say why
	if m.Chosen >= 0 {
		m.Later = c.later(m.Ranked[i], fs)
	}
	switch c.job.Text(record.Decision) {
	case "", convert, "same compressor":
	default: // no compressor is bought
		return m, nil
	}
	var extras []match.Extra
	if x != nil {
		for _, f := range x.Follows {
			if f.Days == 0 && (strings.Contains(f.Do, "suction filter-drier") || strings.Contains(f.Do, "suction filter")) {
				extras = append(extras, match.Extra{What: "suction filter-drier", Why: f.Do + ": " + f.Why, Provisional: f.Provisional || x.Grade == cause.NotSeen})
			}
		}
	}
	m.Order, m.Bring = match.Order(m.Unit, m.Ranked[i], extras), match.Bring(m.Unit, m.Ranked[i].Candidate)
	return m, nil
}

// listed are the compressors of a list, and what of it cannot be read.
func listed(text string) ([]match.Candidate, []match.Wrong, error) {
	l, err := match.ReadListing([]byte(text))
	if err != nil {
		return nil, nil, err
	}
	return l.Candidates(l.Guess(nil))
}

// merge gives the compressor entered what the list says more of the same one; rest are
// the others.
func merge(own match.Candidate, cs []match.Candidate) (filled match.Candidate, rest []match.Candidate) {
	name := own.Name
	for _, k := range cs {
		if k.Name == name {
			own = fill(own, k)
			continue
		}
		rest = append(rest, k)
	}
	return own, rest
}

func fill(a, b match.Candidate) match.Candidate {
	a.Kind = cmp.Or(a.Kind, b.Kind)
	a.Stages = cmp.Or(a.Stages, b.Stages)
	if len(a.Refrigerants) == 0 {
		a.Refrigerants = b.Refrigerants
	}
	a.Oil = cmp.Or(a.Oil, b.Oil)
	if a.Volts == 0 {
		a.Volts, a.VoltsLow = b.Volts, b.VoltsLow
	}
	a.Phases, a.Hertz = cmp.Or(a.Phases, b.Phases), cmp.Or(a.Hertz, b.Hertz)
	a.Capacity, a.Power = cmp.Or(a.Capacity, b.Capacity), cmp.Or(a.Power, b.Power)
	a.RLA, a.LRA, a.BCSC = cmp.Or(a.RLA, b.RLA), cmp.Or(a.LRA, b.LRA), cmp.Or(a.BCSC, b.BCSC)
	a.Capacitor, a.CapacitorVolts = cmp.Or(a.Capacitor, b.Capacitor), cmp.Or(a.CapacitorVolts, b.CapacitorVolts)
	a.MaxHigh, a.MaxLow, a.MaxDischarge = cmp.Or(a.MaxHigh, b.MaxHigh), cmp.Or(a.MaxLow, b.MaxLow), cmp.Or(a.MaxDischarge, b.MaxDischarge)
	if a.Rating == (match.Rating{}) {
		a.Rating = b.Rating
	}
	a.EvapLow, a.EvapHigh, a.CondLow, a.CondHigh = b.EvapLow, b.EvapHigh, b.CondLow, b.CondHigh
	a.Suction, a.Discharge, a.Height, a.Weight = b.Suction, b.Discharge, b.Height, b.Weight
	a.Price, a.Note, a.OilKg = b.Price, b.Note, b.OilKg
	return a
}

// newCompressor is the one entered in Match; ok is false while nothing of it is.
func (c *context) newCompressor() (match.Candidate, bool, error) {
	k := match.Candidate{Name: cmp.Or(c.job.Text(record.NewCompressorModel), enteredName), Capacity: c.value(record.NewCapacity), Power: c.value(record.NewPower),
		RLA: c.value(record.NewRLA), LRA: c.value(record.NewLRA), BCSC: c.value(record.NewBCSC), Oil: c.job.Text(record.NewOil), Kind: match.Kind(c.job.Text(record.NewKind)),
		Capacitor: c.value(record.CapRating), CapacitorVolts: c.value(record.CapVoltageNeeded), MaxHigh: c.value(record.NewMaxHigh), MaxLow: c.value(record.NewMaxLow)}
	k.Rating.Evaporating, k.Rating.Condensing = c.value(record.NewRatedEvap), c.value(record.NewRatedCond)
	for _, r := range strings.FieldsFunc(c.job.Text(record.NewRefrigerants), func(r rune) bool { return strings.ContainsRune(",;/", r) }) {
		k.Refrigerants = append(k.Refrigerants, strings.TrimSpace(r))
	}
	switch c.job.Text(record.NewStages) {
	case "1":
		k.Stages = 1
	case "2":
		k.Stages = 2
	}
	if a, ok := c.job.Number(record.NewVoltage); ok {
		k.Volts = a.Unit.ToSI(a.Typed, 0)
		if a.Low != a.Typed {
			k.VoltsLow = a.Unit.ToSI(a.Low, 0)
		}
		// Bought for this supply: its phases and frequency are asked in Electrical.
		k.Phases, k.Hertz = int(c.phaseCount()), c.value(record.RatedFrequency)
	}
	if mapGiven(c) {
		m, err := c.compMap()
		if err != nil {
			return k, true, err
		}
		if m != nil {
			// Where it holds is not in the record: the rectangle that other findings take
			// stands for any compressor, and says nothing of this one's range.
			own := *m
			own.Envelope = nil
			k.Map = &own
		}
	}
	return k, k.Capacity > 0 || k.RLA > 0 || k.Map != nil || c.job.Text(record.NewCompressorModel) != "", nil
}

func (c *context) phaseCount() float64 {
	switch c.job.Text(record.Phases) {
	case record.PhaseSingle:
		return 1
	case record.PhaseThree:
		return 3
	}
	return 0
}

// unit is what stays.
func (c *context) unit() match.Unit {
	answer := func(k record.Key) match.Answer {
		switch c.job.Text(k) {
		case record.Yes:
			return match.Yes
		case record.No:
			return match.No
		}
		return match.Unknown
	}
	u := match.Unit{Fluid: c.fluid, Oil: c.job.Text(record.SystemOil), High: c.value(record.NominalCapacity), Low: c.value(record.OldLowCapacity), Fixed: fixed(c), Bore: c.value(record.FixedBore),
		Bleeds: answer(record.ValveBleeds), Superheat: c.value(record.TagSuperheat), Subcooling: c.value(record.TagSubcooling), Volts: c.value(record.RatedVoltage), Phases: int(c.phaseCount()), Hertz: c.value(record.RatedFrequency),
		DesignHigh: c.value(record.DesignHigh), DesignLow: c.value(record.DesignLow), Design: c.value(record.DesignDay), Pressure: c.site.si, SuctionBore: c.value(record.SuctionInside), Riser: answer(record.SuctionRiser),
		Suction: c.value(record.StubSuction), Discharge: c.value(record.StubDischarge), Space: c.value(record.CabinetRoom), Recovered: c.first(record.CauseRecovered, record.Recovered, record.TagCharge), Load: 0, Conversion: c.conversion()}
	if h := c.value(record.HouseLoad); h > 0 && u.Design == 0 {
		u.Load = h
	}
	return u
}
