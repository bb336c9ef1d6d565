package workbook

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// templates gives, for each finding that arithmetic can reach, its formula in
// the units that the workbook shows:
//
//	{a}       the reading a; {a|b} the first of them that was entered
//	{?a}      the reading a, 0 if there is none
//	{abs:a}   the pressure reading a made absolute
//	{f:a}     the finding a
//	{target}  the target that the program looked up, a plain number
//	{T0}      absolute zero, as a positive shift of temperature
//	{m3:line} cubic metres in the units of length and bore, {m3:drier} in that of volume
//	{density} of the liquid as the program took it, in the unit of mass per cubic metre
//
// A template that names something absent makes the finding a plain number.
var templates = map[string]string{
	"superheat":               "{suction_temp}-{f:evaporating}",
	"superheat_error":         "{f:superheat}-{target}",
	"subcooling":              "{f:condensing}-{liquid_temp}",
	"condensing_over_ambient": "{f:condensing}-{outdoor_temp}",
	"approach":                "{liquid_temp}-{outdoor_temp}",
	"condenser_air_rise":      "{condenser_air_out}-{outdoor_temp}",
	"temp_split":              "{return_db}-{supply_db}",
	"split_error":             "{f:temp_split}-{target}",
	"pressure_ratio":          "{abs:discharge_pressure|liquid_pressure}/{abs:suction_pressure}",
	"airflow_per_ton":         "{airflow}/{nominal_capacity}",
	"winding_sum":             "{r_cs}+{r_cr}-{r_sr}",
	"cap_match":               "{cap_fitted}",
	"cap_underload":           "{cap_current}/(2*PI()*{rated_frequency}*{cap_volts})*1000000",
	"pressure_hold":           "{abs:test_p2}-{abs:test_p1}*({test_t2}+{T0})/({test_t1}+{T0})",
	"charge_expected":         "{tag_charge}+(({line_length}-{line_included})*PI()/4*({line_od}-2*{line_wall})^2*{m3:line}+{?drier_volume}*{m3:drier})*{density}",
	"charge_weighed":          "{weighed_in}+{?trimmed}",
	"mca_wire":                "1.25*MAX({new_rla},{?new_bcsc})+{?fan_fla}",
	"unbalance":               "100*MAX(ABS({supply_v12}-AVERAGE({supply_v12},{supply_v23},{supply_v13})),ABS({supply_v23}-AVERAGE({supply_v12},{supply_v23},{supply_v13})),ABS({supply_v13}-AVERAGE({supply_v12},{supply_v23},{supply_v13})))/AVERAGE({supply_v12},{supply_v23},{supply_v13})",
	"start_coil":              "100*{supply_voltage_start}/{rated_voltage}",
	"lead_closure":            "({run_current}^2-{run_lead_current}^2-{cap_current}^2)/(2*{run_lead_current}*{cap_current})",
	"control_load":            "{control_voltage}*{control_current}",
	"label_error":             "{label_charge}-({weighed_in}+{?trimmed})",
}

var token = regexp.MustCompile(`\{[^}]+\}`)

// formula expands the template of finding f; ok is false if it has none or
// something is missing. words says how live the result is.
func (b *book) formula(f assess.Finding) (formula, words string, ok bool) {
	switch f.Key {
	case "evaporating", "condensing":
		if _, there := b.names["sat_"+f.Key]; there {
			return "sat_" + f.Key, "live, by table", true
		}
		return "", fixed, false
	case "site_pressure":
		return convert("site_abs", absolute(b.unit(units.Pressure)), b.unit(f.Dim)), "live", true
	}
	t, known := templates[f.Key]
	if !known {
		// A value taken as it was read is the reading's cell.
		if len(f.Inputs) != 1 || !strings.HasPrefix(f.Formula, "as ") {
			return "", fixed, false
		}
		fl, err := record.ByName(f.Inputs[0].Key)
		if err != nil || fl.Dim != f.Dim {
			return "", fixed, false
		}
		t = "{" + fl.Key.String() + "}"
	}
	words, ok = "live", true
	formula = token.ReplaceAllStringFunc(t, func(tok string) string {
		name := tok[1 : len(tok)-1]
		kind, rest, special := strings.Cut(name, ":")
		if !special {
			kind, rest = "", name
		}
		switch {
		case name == "T0":
			return constant(math.Round(b.unit(units.Temperature).Offset/b.unit(units.Temperature).Scale*1e9) / 1e9)
		case name == "target":
			x, have := b.target(f)
			if !have {
				ok = false
			}
			words = "live, target fixed"
			return constant(x)
		case name == "m3:line":
			bore := b.unit(units.Bore).Scale
			return constant(b.unit(units.Length).Scale * bore * bore)
		case name == "m3:drier":
			return constant(b.unit(units.Volume).Scale)
		case name == "density":
			x, have := b.density(f)
			if !have {
				ok = false
			}
			words = "live, density fixed"
			return constant(x)
		case kind == "f":
			if _, there := b.names["f_"+rest]; !there {
				ok = false
			}
			return "f_" + rest
		case strings.HasPrefix(rest, "?"):
			if _, there := b.names[rest[1:]]; !there {
				return "0"
			}
			return rest[1:]
		}
		for _, key := range strings.Split(rest, "|") {
			if _, there := b.names[key]; there {
				if kind == "abs" {
					return "(" + key + "+site_abs)"
				}
				return key
			}
		}
		ok = false
		return ""
	})
	if !ok {
		words = fixed
	}
	return formula, words, ok
}

const fixed = "fixed"

// target is what an error finding was reckoned from: its base less itself.
func (b *book) target(f assess.Finding) (float64, bool) {
	base, ok := b.rep.Find(map[string]string{"superheat_error": "superheat", "split_error": "temp_split"}[f.Key])
	if !ok || !base.Measured || !f.Measured {
		return 0, false
	}
	return b.show(f.Dim, base.Value-f.Value), true
}

// density is what the expected charge was reckoned with, kg/m3 in the unit of
// mass: what the line and the drier hold by their volume.
func (b *book) density(f assess.Finding) (float64, bool) {
	in := map[string]float64{}
	for _, i := range f.Inputs {
		in[i.Key] = i.Value
	}
	bore := in["line_od"] - 2*in["line_wall"]
	v := (in["line_length"]-in["line_included"])*math.Pi/4*bore*bore + in["drier_volume"]
	if v == 0 {
		return 0, false
	}
	return (f.Value - in["tag_charge"]) / v / b.unit(f.Dim).Scale, true
}

// absolute is the unit of the same scale without the site's pressure.
func absolute(u units.Unit) units.Unit { u.Gauge = false; return u }

// verdictFormula applies the guard-band rule to the cells of one finding: y the
// value, u its expanded uncertainty, lo and hi the limits ("" for none).
func verdictFormula(y, u, lo, hi string, point bool) string {
	if point { // a band of no width: with doubt it can only be found to differ
		return fmt.Sprintf(`IF(NOT(ISNUMBER(%[1]s)),"not measured",IF(ABS(%[1]s-%[3]s)>%[2]s,"outside","within"))`, y, u, lo)
	}
	var in, out []string
	if lo != "" {
		in, out = append(in, y+"-"+u+">="+lo), append(out, y+"+"+u+"<"+lo)
	}
	if hi != "" {
		in, out = append(in, y+"+"+u+"<="+hi), append(out, y+"-"+u+">"+hi)
	}
	return fmt.Sprintf(`IF(NOT(ISNUMBER(%s)),"not measured",IF(AND(%s),"within",IF(OR(%s),"outside","too close to call")))`,
		y, strings.Join(in, ","), strings.Join(out, ","))
}

// shapes stand beside the verdict words.
var shapes = map[assess.Verdict]string{
	assess.Within: "●", assess.Outside: "▲", assess.TooClose: "◆", assess.NotMeasured: "○", assess.NotJudged: "–",
}

func shapeFormula(word string) string {
	return fmt.Sprintf(`IF(%[1]s="within","●",IF(%[1]s="outside","▲",IF(%[1]s="too close to call","◆",IF(%[1]s="not measured","○","–"))))`, word)
}
