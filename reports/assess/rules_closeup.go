package assess

import (
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/thermo/vacuum"
)

var closeUp = []definition{
	{key: "pressure_hold", label: "Nitrogen hold, corrected for temperature", step: record.CloseUp, group: "Pressure test", dim: units.PressDiff,
		limit: "pressure_hold", target: zero, relation: relation{
			words: "p2 - p1 T2 / T1, absolute", from: []source{idealGas},
			inputs: []input{is(record.TestP1), is(record.TestT1), is(record.TestP2), is(record.TestT2)},
			eval: func(x *values) (float64, error) {
				return vacuum.Change(x.of(record.TestP1), x.of(record.TestT1), x.of(record.TestP2), x.of(record.TestT2))
			},
			sheet: "{abs:test_p2}-{abs:test_p1}*{si:test_t2}/{si:test_t1}"}},
	{key: "vacuum_final", label: "Vacuum, pump valved off", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_final", relation: asRead(record.VacuumFinal, "as read")},
	{key: "vacuum_hold", label: "Vacuum at the end of the hold", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_hold", relation: asRead(record.VacuumEnd, "as read")},
	{key: "vacuum_leak", label: "Rise by a steady leak, in 10 min", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_leak", relation: fitted("b x 10 min of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", riseLeak)},
	{key: "vacuum_moisture", label: "Rise that flattens: moisture, or refrigerant from oil", step: record.CloseUp, group: "Vacuum", dim: units.Vacuum,
		limit: "vacuum_moisture", relation: fitted("c of p = a + b t + c (1 - exp(-t/τ)), fitted to the rise readings", riseMoisture)},
}

// fitted takes a constant of the curve fitted to the rise readings.
func fitted(words string, constant input) relation {
	return relation{words: words, from: []source{leastSquares}, inputs: []input{constant},
		eval: func(x *values) (float64, error) { return x.at(constant), nil }}
}
