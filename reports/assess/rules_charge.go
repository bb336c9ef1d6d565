package assess

import (
	"cmp"
	"fmt"

	"retrostage/reports/record"
	"retrostage/thermo/charge"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

var chargeBuildUp = []definition{
	{key: "charge_expected", label: "Charge by plate and line set", step: record.Charge, group: "Build-up", dim: units.Mass,
		relation: relation{
			words:  "m = plate + (L - L included) A ρ + V drier ρ, liquid at 105 °F condensing, 10 °F subcooled",
			from:   []source{properties, said("the condition at which the liquid is counted is common practice, no source")},
			inputs: []input{is(record.TagCharge), is(record.LineLength), is(record.LineIncluded), is(record.LineOD), is(record.LineWall), maybe(record.DrierVolume)},
			eval:   withFluid(builtUp),
			sheet:  InSI + "{si:tag_charge}+(({si:line_length}-{si:line_included})*PI()/4*({si:line_od}-2*{si:line_wall})^2+{?si:drier_volume})*{c:density}",
			constants: func(x *values) ([]Constant, error) {
				rho, err := charge.LiquidDensity(x.c.fluid)
				return []Constant{{Name: "density", Value: rho}}, err
			}}},
	{key: "charge_weighed", label: "Charge weighed in, trim included", step: record.Charge, group: "Weighed", dim: units.Mass,
		relation: relation{
			words: "weighed in + trimmed", from: []source{arithmetic}, inputs: []input{is(record.WeighedIn), maybe(record.Trimmed)},
			eval:  func(x *values) (float64, error) { return x.of(record.WeighedIn) + x.or(record.Trimmed, 0), nil },
			sheet: "{weighed_in}+{?trimmed}"}},
	{key: "charge_balance", label: "Charge weighed, against plate and line set", step: record.Charge, group: "Weighed", dim: units.Percent,
		limit: "charge_balance", applies: entered(record.WeighedIn), relation: relation{
			words:  "(weighed in + trimmed) / (built-up charge × what it leaves out) - 1",
			from:   []source{properties, said("the condition at which the liquid is counted is common practice, no source")},
			inputs: []input{is(record.WeighedIn), maybe(record.Trimmed), is(record.TagCharge), is(record.LineLength), is(record.LineIncluded), is(record.LineOD), is(record.LineWall), maybe(record.DrierVolume), assumed("build_up")},
			eval: withFluid(func(f *fluid.Fluid, x *values) (float64, error) {
				m, err := builtUp(f, x)
				if err != nil || m <= 0 {
					return 0, cmp.Or(err, fmt.Errorf("the built-up charge must be above zero"))
				}
				return (x.of(record.WeighedIn)+x.or(record.Trimmed, 0))/(m*x.at(assumed("build_up"))) - 1, nil
			})}},
	{key: "recovered_part", label: "Charge recovered, against the plate", step: record.Charge, group: "Weighed", dim: units.Percent,
		limit: "recovered_part", applies: entered(record.Recovered),
		valid: func(c *context) string {
			low := c.lim.byFinding["recovered_part"].Low
			little := low != nil && c.value(record.Recovered) < (1+*low/100)*c.value(record.TagCharge)
			if s := c.job.Text(record.LeakSearch); little && (s == record.LeakNone || s == record.LeakMended) {
				return "a leak search was made: " + s
			}
			return ""
		},
		relation: relation{
			words: "recovered / plate - 1", from: []source{arithmetic}, inputs: []input{is(record.Recovered), is(record.TagCharge)},
			eval: func(x *values) (float64, error) {
				if x.of(record.TagCharge) <= 0 {
					return 0, fmt.Errorf("the plate's charge must be above zero")
				}
				return x.of(record.Recovered)/x.of(record.TagCharge) - 1, nil
			},
			sheet: InSI + "{recovered}/{tag_charge}-1"}},
	{key: "label_error", label: "Label less charge weighed", step: record.Charge, group: "Label", dim: units.Mass,
		limit: "label_error", target: zero, relation: relation{
			words: "label - (weighed in + trimmed)", from: []source{arithmetic}, inputs: []input{is(record.LabelCharge), is(record.WeighedIn), maybe(record.Trimmed)},
			eval: func(x *values) (float64, error) {
				return x.of(record.LabelCharge) - x.of(record.WeighedIn) - x.or(record.Trimmed, 0), nil
			},
			sheet: "{label_charge}-({weighed_in}+{?trimmed})"}},
}

// builtUp is the charge by plate and line set, kg.
func builtUp(f *fluid.Fluid, x *values) (float64, error) {
	rho, err := charge.LiquidDensity(f)
	if err != nil {
		return 0, err
	}
	bore, err := charge.Bore(x.of(record.LineOD), x.of(record.LineWall))
	if err != nil {
		return 0, err
	}
	b := charge.Build{Plate: x.of(record.TagCharge), Length: x.of(record.LineLength), Included: x.of(record.LineIncluded), Bore: bore, Added: x.or(record.DrierVolume, 0)}
	return b.Total(rho)
}
