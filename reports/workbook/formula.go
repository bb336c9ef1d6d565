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

var token = regexp.MustCompile(`\{([a-z]+:)?([^}]*)\}`)

// formula expands the template of finding f in the units that the workbook shows;
// ok is false if it has none or a cell it takes is not there. words says how live
// the result is.
func (b *book) formula(f assess.Finding) (formula, words string, ok bool) {
	template, inSI := strings.CutPrefix(f.Sheet, assess.InSI)
	if template == "" {
		return "", fixed, false
	}
	words, ok = "live", true
	cell := func(name string) string {
		_, there := b.names[name]
		ok = ok && there
		return name
	}
	formula = token.ReplaceAllStringFunc(template, func(t string) string {
		p := token.FindStringSubmatch(t)
		name := p[2]
		switch p[1] {
		case "f:":
			return cell("f_" + name)
		case "sat:":
			words = "live, by table"
			return cell("sat_" + name)
		case "c:":
			words = "live, " + name + " fixed"
			return b.constant(f, name)
		case "abs:":
			return "(" + cell(name) + "+site_abs)"
		case "si:":
			return b.toSI(cell(name), name)
		}
		if name == "site" {
			return convert("site_abs", absolute(b.unit(units.Pressure)), b.unit(f.Dim))
		}
		return cell(name)
	})
	if !ok {
		return "", fixed, false
	}
	if inSI {
		formula = b.fromSI(formula, f.Dim)
	}
	return formula, words, true
}

const fixed = "fixed"

// constant is a number of a table that the finding took.
func (b *book) constant(f assess.Finding, name string) string {
	for _, c := range f.Constants {
		if c.Name == name {
			if c.Dim == "" {
				return constant(c.Value)
			}
			return constant(b.unit(c.Dim).Span(c.Value))
		}
	}
	return "NA()"
}

// toSI is the cell of a reading in SI, absolute.
func (b *book) toSI(cell, key string) string {
	f, err := record.ByName(key)
	if err != nil {
		return "NA()"
	}
	u := b.unit(f.Dim)
	if u.Gauge {
		return "((" + cell + "+site_abs)*" + constant(u.Scale) + ")"
	}
	out := cell
	if u.Scale != 1 {
		out += "*" + constant(u.Scale)
	}
	if u.Offset != 0 {
		out += signed(math.Round(u.Offset*1e9) / 1e9)
	}
	return "(" + out + ")"
}

// fromSI is a formula's result in the unit shown.
func (b *book) fromSI(formula string, dim units.Dimension) string {
	u := b.unit(dim)
	if u.Scale == 1 && u.Offset == 0 {
		return formula
	}
	out := "(" + formula
	if u.Offset != 0 {
		out += signed(-math.Round(u.Offset*1e9) / 1e9)
	}
	return out + ")/" + constant(u.Scale)
}

// absolute is the unit of the same scale without the site's pressure.
func absolute(u units.Unit) units.Unit { u.Gauge = false; return u }

// verdictFormula applies the guard-band rule to the cells of one finding: y the
// value, u its expanded uncertainty, lo and hi the limits ("" for none).
//
// Where the band is a point, matters is the difference from it that matters; agreement
// is said only where that would have shown.
func verdictFormula(y, u, lo, hi string, point bool, matters float64) string {
	if point {
		at := lo
		if matters > 0 { // the limits shown lie about the point; a hair for the rounding of their middle
			at, u = "("+lo+"+"+hi+")/2", fmt.Sprintf("(%s+%.3g)", u, 1e-9*matters)
			matters *= 1 + 3e-9
		}
		return fmt.Sprintf(`IF(NOT(ISNUMBER(%[1]s)),"not measured",IF(ABS(%[1]s-%[3]s)>%[2]s,"outside",IF(OR(%[2]s<1E-12,ABS(%[1]s-%[3]s)+%[2]s<=%.15[4]g),"within","too close to call")))`, y, u, at, matters)
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
