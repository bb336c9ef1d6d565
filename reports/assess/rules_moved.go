package assess

import (
	"fmt"

	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/thermo/season"
	"retrostage/thermo/units"
)

// Ducts, filter, the metering device against the new compressor, and what is felt.

var (
	averageCurves = assumed("average_curves")
	rated         = either("rated", record.NewCapacity, record.NominalCapacity)
)

// neededBore is the fixed bore that the machine model asks for with the new
// compressor, m; it needs the old one.
var neededBore = input{name: "needed_bore", missing: "Fixed bore, diameter (Match), and the new compressor", take: func(c *context) *reading {
	old := c.reading(record.FixedBore)
	k, ok, err := c.newCompressor()
	if old == nil || !ok || err != nil {
		return nil
	}
	ranked, err := match.Rank(c.unit(), []match.Candidate{k})
	if err != nil || len(ranked) == 0 || ranked[0].Balance == nil || !(ranked[0].Balance.Bore > 0) {
		return nil
	}
	share := c.assume("bore_model")
	r := &reading{key: "needed_bore", label: "Bore that the new compressor asks for, by the machine model", si: old.si * ranked[0].Balance.Bore, unit: old.unit, doubt: share.doubt, given: true}
	r.u = share.u * r.si
	return r
}}

var ducts = []definition{
	{key: "piston", label: "Fixed bore fitted over the one needed", step: record.Running, group: qCharge, dim: units.Percent,
		applies: func(c *context) bool { return fixed(c) && c.reading(record.BoreFitted) != nil },
		limit:   "piston", target: zero, relation: relation{
			words: "bore fitted / bore that the new compressor asks for - 1; an orifice passes with its area and the root of the pressure before it", from: []source{said("the machine model of Match, at the design day")},
			inputs: []input{is(record.BoreFitted), neededBore},
			eval: func(x *values) (float64, error) {
				if !(x.at(neededBore) > 0) {
					return 0, fmt.Errorf("no bore is needed")
				}
				return x.of(record.BoreFitted)/x.at(neededBore) - 1, nil
			}}},
	{key: "external_static", label: "External static pressure", step: record.Running, group: qAir, dim: units.DuctPressure,
		applies: func(c *context) bool {
			return c.reading(record.StaticReturn) != nil || c.reading(record.StaticSupply) != nil
		},
		limit: "external_static", bounds: func(c *context) (Band, string) {
			r := c.reading(record.StaticRated)
			if r == nil {
				return Band{}, "no limit to hold it against: enter " + record.StaticRated.Label()
			}
			low, high := 0.05*r.si, r.si
			return Band{Low: &low, High: &high}, ""
		}, relation: relation{
			words: "return side + supply side, both without their sign", from: []source{arithmetic}, inputs: []input{is(record.StaticReturn), is(record.StaticSupply)},
			eval:  func(x *values) (float64, error) { return x.of(record.StaticReturn) + x.of(record.StaticSupply), nil },
			sheet: "{static_return}+{static_supply}"}},
	{key: "filter_drop", label: "Pressure lost in the filter", step: record.Running, group: qAir, dim: units.DuctPressure,
		applies: func(c *context) bool { return c.reading(record.StaticBefore) != nil },
		limit:   "filter_drop", relation: less("return side after the filter - before it, both without their sign", record.StaticReturn, record.StaticBefore)},
}

// deliveredBy is the cooling delivered over what the rating would give in this weather.
func deliveredBy(f flowBy, applies func(*context) bool, inputs []input) definition {
	return definition{key: "delivered", label: "Cooling delivered over the rating in this weather", step: record.Running, group: qDeliver, dim: units.Percent, applies: applies,
		limit: "delivered", target: zero, valid: func(c *context) string { return c.conditions("subcooling") }, relation: relation{
			words:  "Q refrigerant / (rated Q x average curve of capacity at this wet bulb and outdoor air) - 1",
			from:   append(f.from[:len(f.from):len(f.from)], said("average curves: NREL/TP-5500-56354, 2013, as another project carries them"), assumption(averageCurves)),
			inputs: all(inputs, []input{rated, is(record.ReturnWB), is(record.OutdoorTemp), averageCurves}),
			eval: func(x *values) (float64, error) {
				q, err := f.cooling(x)
				if err != nil {
					return 0, err
				}
				at, _, err := season.Average(season.OneSpeed, x.of(record.ReturnWB), x.of(record.OutdoorTemp))
				if err != nil {
					return 0, err
				}
				base, _, err := season.Average(season.OneSpeed, (67+459.67)/1.8, (95+459.67)/1.8)
				if err != nil {
					return 0, err
				}
				if !(x.at(rated) > 0) {
					return 0, fmt.Errorf("the rated capacity must be above zero")
				}
				return q/(x.at(rated)*at/base*x.at(averageCurves)) - 1, nil
			}}}
}

// shaking is what is seen and felt of a unit that shakes.
func (c *context) shaking() (out []Matter) {
	for _, k := range []record.Key{record.VibrationTubing, record.VibrationShell} {
		if c.job.Text(k) != record.Yes {
			continue
		}
		m := c.matter(IsOutside, record.Running, k.String(), k.Label(), "a tube that shakes breaks at its joint and one that touches wears through: loops, clamps, feet and shipping bolts; a knock is liquid or a broken part")
		m.live = true
		out = append(out, m)
	}
	return out
}

// returnVisit asks for a day on which to come back where it was too cold to judge the
// charge.
func (c *context) returnVisit(fs []Finding) []Matter {
	if _, ok := c.job.Entry(record.FollowUpDue); ok {
		return nil
	}
	if c.job.Text(record.SuctionFilter) == record.FilterStays {
		return []Matter{c.matter(IsMissing, record.HandOver, record.FollowUpDue.String(), "Suction filter to be taken out: due by", "it was fitted to be removed, and nobody says when")}
	}
	for _, f := range fs {
		if f.Key == "outdoor_window" && f.Measured && f.Verdict != Within && f.Band.Low != nil && f.Value-f.Expanded() < *f.Band.Low {
			return []Matter{c.matter(IsMissing, record.HandOver, record.FollowUpDue.String(), "Return visit in warmer weather: due by", "too cold outdoors for the running check: another visit is due, and has no day yet")}
		}
	}
	return nil
}
