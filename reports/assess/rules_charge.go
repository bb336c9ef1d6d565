package assess

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/charge"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

var lineInputs = []input{is(record.TagCharge), is(record.LineLength), is(record.LineIncluded), is(record.LineOD), maybe(record.LineWall), usualWall, maybe(record.DrierVolume)}

// usualWall is the wall of the liquid line where none is entered: that of its diameter.
var usualWall = input{name: "charge/usual_wall", optional: true, take: func(c *context) *reading {
	od := c.reading(record.LineOD)
	if od == nil || c.reading(record.LineWall) != nil {
		return nil
	}
	r := &reading{key: "charge/usual_wall", label: "Liquid line, wall", given: true, unit: units.Preferred(units.Bore, c.system)}
	t, err := charge.TubeOf(od.si)
	if err != nil {
		r.err = fmt.Errorf("the table has no usual wall for a line of this diameter: enter its wall")
		return r
	}
	r.si, r.doubt = t.Wall, "not entered, the usual one of "+t.Name+" in tube: "+t.Mark
	return r
}}

var atRunning = said("the condition at which liquid and gas are counted is common practice, no source")

var chargeBuildUp = []definition{
	{key: "charge_expected", label: "Charge built up", step: record.Charge, group: "Build-up", dim: units.Mass,
		relation: relation{
			words:  "m = plate + lines beyond what it covers + drier + change of compressor; liquid at 105 °F condensing, 10 °F subcooled",
			from:   []source{properties, atRunning},
			inputs: all(lineInputs, []input{builtUp}),
			eval:   func(x *values) (float64, error) { return x.at(builtUp), nil },
			sheet:  InSI + "{si:tag_charge}+(({si:line_length}-{si:line_included})*PI()/4*({si:line_od}-2*({?si:line_wall}+{c:usual_wall}))^2+{?si:drier_volume})*{c:density}+{c:other}",
			constants: func(x *values) ([]Constant, error) {
				rho, err := charge.LiquidDensity(x.c.fluid)
				if err != nil {
					return nil, err
				}
				base, err := plain(rho, x)
				wall := 0.0
				if math.IsNaN(x.of(record.LineWall)) {
					wall = x.at(usualWall)
				}
				return []Constant{{Name: "density", Value: rho}, {Name: "usual_wall", Value: wall}, {Name: "other", Value: x.at(builtUp) - base}}, err
			}}},
	{key: "charge_weighed", label: "Charge weighed in, trim included", step: record.Charge, group: "Weighed", dim: units.Mass,
		relation: relation{
			words: "weighed in + trimmed", from: []source{arithmetic}, inputs: []input{is(record.WeighedIn), maybe(record.Trimmed)},
			eval:  func(x *values) (float64, error) { return x.of(record.WeighedIn) + x.or(record.Trimmed, 0), nil },
			sheet: "{weighed_in}+{?trimmed}"}},
	weighedScale,
	{key: "charge_balance", label: "Charge weighed, less the charge built up", step: record.Charge, group: "Weighed", dim: units.Mass,
		limit: "charge_balance", applies: entered(record.WeighedIn), decide: decideBalance,
		bounds: func(c *context) (Band, string) { return c.shareOfBuilt(-0.1, 0.1) },
		relation: relation{
			words:  "weighed in + trimmed - built up",
			from:   []source{properties, atRunning},
			inputs: []input{is(record.WeighedIn), maybe(record.Trimmed), builtUp},
			eval: func(x *values) (float64, error) {
				return x.of(record.WeighedIn) + x.or(record.Trimmed, 0) - x.at(builtUp), nil
			}}},
	{key: "charge_plate", label: "Charge weighed, of the plate's", step: record.Charge, group: "Weighed", dim: units.Percent,
		limit: "charge_plate", decide: decidePlate, applies: func(c *context) bool {
			return entered(record.WeighedIn)(c) && entered(record.TagCharge)(c) && !c.builtUpTold()
		},
		relation: relation{
			words: "(weighed in + trimmed) / plate", from: []source{arithmetic}, inputs: []input{is(record.WeighedIn), maybe(record.Trimmed), is(record.TagCharge)},
			eval: func(x *values) (float64, error) {
				return (x.of(record.WeighedIn) + x.or(record.Trimmed, 0)) / x.of(record.TagCharge), nil
			},
			sheet: InSI + "({weighed_in}+{?trimmed})/{tag_charge}"}},
	{key: "recovered_part", label: "Charge missing before the unit was opened", step: record.Charge, group: "Weighed", dim: units.Mass,
		limit: "recovered_part", applies: entered(record.Recovered),
		bounds: func(c *context) (Band, string) {
			high := 0.2 * c.value(record.TagCharge)
			if high == 0 {
				return Band{}, "the plate's charge is not entered"
			}
			return Band{High: &high}, ""
		},
		only: func(c *context) string {
			if c.lineSet() == nil {
				return "what the line set held is not known: enter its length, what of it the plate covers, and its diameter"
			}
			return ""
		},
		valid: func(c *context) string {
			little := c.value(record.Recovered) < 0.8*c.value(record.TagCharge)
			if little && c.searched() && c.job.Text(record.LeakSearch) == record.LeakMended {
				return "a leak search was made: " + c.job.Text(record.LeakSearch)
			}
			return ""
		},
		relation: relation{
			words: "held by plate and line set - recovered - what recovery leaves behind", from: []source{properties, said("what recovery leaves behind: bounds, common practice, no source")},
			inputs: []input{heldBefore, is(record.Recovered), leftBehind},
			eval: func(x *values) (float64, error) {
				m, _, err := charge.Missing(x.at(heldBefore), 0, x.of(record.Recovered), 0, charge.Exactly(math.Max(0, x.at(leftBehind))))
				return m, err
			}}},
	{key: "label_error", label: "Label less charge weighed", step: record.Charge, group: "Label", dim: units.Mass,
		limit: "label_error", target: zero, relation: relation{
			words: "label - (weighed in + trimmed)", from: []source{arithmetic}, inputs: []input{is(record.LabelCharge), is(record.WeighedIn), maybe(record.Trimmed)},
			eval: func(x *values) (float64, error) {
				return x.of(record.LabelCharge) - x.of(record.WeighedIn) - x.or(record.Trimmed, 0), nil
			},
			sheet: "{label_charge}-({weighed_in}+{?trimmed})"}},
	trimNext,
	flammableCharge,
}

// plain is plate, liquid line and drier alone, kg, as a sheet computes them.
func plain(rho float64, x *values) (float64, error) {
	bore, err := charge.Bore(x.of(record.LineOD), x.or(record.LineWall, x.at(usualWall)))
	if err != nil {
		return 0, err
	}
	return x.of(record.TagCharge) + ((x.of(record.LineLength)-x.of(record.LineIncluded))*math.Pi/4*bore*bore+x.or(record.DrierVolume, 0))*rho, nil
}

// builtUp is the sum of the terms, with its doubt.
var builtUp = input{name: "charge/built_up", take: func(c *context) *reading { return c.sum("charge/built_up", "Build-up", true) }, missing: "plate charge and line set"}

// heldBefore is what the unit ought to have held as it was.
var heldBefore = input{name: "charge/held", take: func(c *context) *reading { return c.sum("charge/held", "Held before", false) }, missing: "plate charge"}

// leftBehind is what recovery leaves in the circuit and its oil, kg.
var leftBehind = input{name: "charge/left", take: func(c *context) *reading {
	s := charge.Span{Low: 0, High: 0.15}
	return &reading{key: "charge/left", label: "Left behind by recovery", si: s.Mid(), u: s.U(), given: true, doubt: "0 to 150 g; common practice, no source", unit: units.Preferred(units.Mass, c.system)}
}}

// sum is the charge by terms, as a reading; nil while what it takes is missing.
func (c *context) sum(key, label string, converted bool) *reading {
	r := &reading{key: key, label: label, given: true, unit: units.Preferred(units.Mass, c.system)}
	if c.fluid == nil {
		r.err = errNoFluid
		return r
	}
	terms, err := c.terms(converted)
	if err == nil && len(terms) == 0 {
		return nil
	}
	if err == nil {
		r.si, r.u, err = charge.Sum(terms)
	}
	r.err = err
	var parts []string
	for _, t := range terms {
		parts = append(parts, fmt.Sprintf("%s %s ± %s", t.Name, amount(r.unit.FromSI(t.M, 0), r.unit), amount(r.unit.Span(2*t.U), r.unit)))
		if t.NotCounted != "" {
			parts[len(parts)-1] += " (" + t.NotCounted + "; " + string(t.Basis) + ")"
		}
	}
	r.doubt = strings.Join(parts, "; ")
	return r
}

// Part is one term of the charge built up, for the picture: kg and its standard
// uncertainty.
type Part struct {
	Name  string  `json:"name"`
	M     float64 `json:"kg"`
	U     float64 `json:"u_kg"`
	Basis string  `json:"basis"`
	Not   string  `json:"not_counted,omitempty"`
}

// buildUp is the terms that the finding adds up; none where it has no value.
func (c *context) buildUp() (out []Part) {
	if r := c.input(builtUp); r == nil || r.err != nil {
		return nil
	}
	terms, err := c.terms(true)
	if err != nil {
		return nil
	}
	for _, t := range terms {
		out = append(out, Part{t.Name, t.M, t.U, string(t.Basis), t.NotCounted})
	}
	return out
}

// Doubt of the stated parts of a build-up, half-widths: the plate is printed to half
// an ounce, a line is paced to a foot, densities follow the day (common practice, no
// source).
const (
	plateHalf  = 0.5 * 0.45359237 / 16
	lengthHalf = 0.3048
	volumeHalf = 0.2  // share of a drier's or shell's stated volume
	rhoLiquid  = 0.03 // standard, share
	rhoGas     = 0.15
)

// terms are the parts of the charge, as the unit was or as it is converted; none
// while plate or, for the converted one, line set is missing.
func (c *context) terms(converted bool) ([]charge.Term, error) {
	tag := c.reading(record.TagCharge)
	if tag == nil {
		return nil, nil
	}
	plate, err := charge.Plate(charge.Span{Low: tag.si - plateHalf, High: tag.si + plateHalf})
	if err != nil {
		return nil, err
	}
	out := []charge.Term{plate}
	d, err := runningDensities(c.fluid)
	if err != nil {
		return nil, err
	}
	add := func(t charge.Term, e error) {
		if err == nil {
			out, err = append(out, t), e
		}
	}
	lines := c.lineSet()
	if lines == nil && converted {
		return nil, nil
	}
	for i, l := range lines {
		add([]func(charge.Line, charge.Densities) (charge.Term, error){charge.LiquidLine, charge.SuctionLine}[i](l, d))
	}
	if converted {
		if r := c.reading(record.DrierVolume); r != nil {
			add(charge.Volume("drier", around(r.si), around(c.value(record.OldDrierVolume)), d))
		} else if s, known, ok := c.drier(); ok {
			t, e := charge.Volume("drier", s, charge.Exactly(0), d)
			t.Basis, t.NotCounted = charge.Bounds, "its free volume is not entered: four tenths to all of its size, from memory"
			if !known {
				t.NotCounted = "neither its free volume nor its size is entered: nothing to 16 in³, from memory"
			}
			add(t, e)
		}
		for _, m := range mixed {
			now, before := c.reading(m.now), c.reading(m.before)
			if now != nil && before != nil {
				add(charge.Mixed(m.name, around(now.si), around(before.si), m.full, d))
			}
		}
		add(charge.Change(c.shell(record.NewFree, record.NewOilCharge), c.shell(record.OldFree, record.OldOilCharge), charge.DissolvedRunning, d))
	}
	return out, err
}

// drierSize finds the cubic inches in the words on a drier.
var drierSize = regexp.MustCompile(`(?i)([0-9]+(?:\.[0-9]+)?)\s*(?:cu\.?\s*in|cubic\s*in|in3|in³|in\^3)`)

// drier is what a new drier may hold where its free volume is not entered, m3: by its
// size, known where that is; ok is false where none was fitted.
func (c *context) drier() (s charge.Span, known, ok bool) {
	const in3, largest = 0.0254 * 0.0254 * 0.0254, 16
	if c.job.Text(record.DrierFitted) != record.Yes {
		return s, false, false
	}
	if m := drierSize.FindStringSubmatch(c.job.Text(record.DrierSize)); m != nil {
		if x, err := units.Number(m[1]); err == nil && x > 0 && x <= 200 {
			return charge.Span{Low: 0.4 * x * in3, High: x * in3}, true, true
		}
	}
	return charge.Span{High: largest * in3}, false, true
}

// mixed are the parts that hold liquid and gas, and may have been changed.
var mixed = []struct {
	name        string
	now, before record.Key
	full        charge.Span
}{{"accumulator", record.NewAccumulator, record.OldAccumulator, charge.AccumulatorFull}, {"changed coil", record.NewCoil, record.OldCoil, charge.CoilFull}}

func around(v float64) charge.Span {
	return charge.Span{Low: v * (1 - volumeHalf), High: v * (1 + volumeHalf)}
}

// shell is what is known of a compressor's inside.
func (c *context) shell(free, oil record.Key) charge.Compressor {
	const oilDensity = 980.0 // kg/m3, ester oil, from memory
	f, o := c.reading(free), c.reading(oil)
	if f == nil || o == nil {
		return charge.Compressor{Unknown: true}
	}
	m := o.si * oilDensity
	return charge.Compressor{Free: around(f.si), Oil: charge.Span{Low: 0.95 * m, High: 1.05 * m}}
}

// lineSet is the liquid line and, where its diameter was entered, the suction line;
// nil while the liquid line is not there.
func (c *context) lineSet() []charge.Line {
	l, in, od := c.reading(record.LineLength), c.reading(record.LineIncluded), c.reading(record.LineOD)
	if l == nil || in == nil || od == nil {
		return nil
	}
	wall := c.reading(record.LineWall)
	if wall == nil {
		if wall = c.input(usualWall); wall.err != nil {
			return nil
		}
	}
	long := func(x float64) charge.Span {
		return charge.Span{Low: math.Max(0, x-lengthHalf), High: x + lengthHalf}
	}
	out := []charge.Line{{Length: long(l.si), Included: charge.Exactly(in.si), Tube: charge.Tube{OD: od.si, Wall: wall.si, UWall: tubeWall(od.si)}}}
	if s := c.reading(record.SuctionOD); s != nil {
		t, err := charge.TubeOf(s.si)
		if err != nil {
			return out
		}
		length := l.si
		if r := c.reading(record.SuctionLength); r != nil {
			length = r.si
		}
		out = append(out, charge.Line{Length: long(length), Included: charge.Exactly(in.si), Tube: t})
	}
	return out
}

func tubeWall(od float64) float64 {
	t, err := charge.TubeOf(od)
	if err != nil {
		return 0
	}
	return t.UWall
}

// runningDensities are those of liquid and suction gas in a usual cooling run: 105 F
// condensing, 10 F subcooled; 45 F evaporating, 20 F superheated (common practice, no
// source).
func runningDensities(f *fluid.Fluid) (d charge.Densities, err error) {
	if d.Liquid, err = charge.LiquidDensity(f); err != nil {
		return d, err
	}
	const evaporating, superheat = (45 + 459.67) / 1.8, 20 / 1.8
	p, err := f.DewP(evaporating)
	if err != nil {
		return d, err
	}
	s, err := f.TP(evaporating+superheat, p)
	if err != nil {
		return d, err
	}
	d.Gas, d.ULiquid, d.UGas = s.Rho, rhoLiquid*d.Liquid, rhoGas*s.Rho
	return d, nil
}

func (c *context) shareOfBuilt(low, high float64) (Band, string) {
	r := c.input(builtUp)
	if r == nil || r.err != nil {
		return Band{}, "there is no build-up to hold it against"
	}
	lo, hi := low*r.si, high*r.si
	return Band{Low: &lo, High: &hi}, ""
}

// decidePlate holds the weighed charge against the plate's alone. Beyond a tenth of it
// the line set may explain the difference or may not.
func decidePlate(_ *context, f *Finding, row limit) {
	const least, most = 0.7, 2.0
	lo, hi := *row.Low/100, *row.High/100
	f.Band = Band{} // a sheet that recalculated by it would call outside what cannot be told
	switch u := f.Expanded(); {
	case f.Value-u >= lo && f.Value+u <= hi:
		f.Verdict, f.Next = Within, row.NextOK
	case f.Value+u < least:
		f.Verdict, f.Next = Outside, row.NextLow
	case f.Value-u > most:
		f.Verdict, f.Next = Outside, row.NextHigh
	default:
		f.Verdict = TooClose
		f.Settle = fmt.Sprintf("Cannot tell: %.0f %% of the plate's charge, and what the line set takes is not known. Enter the liquid line's length, what of it the plate covers, and its outside diameter.", 100*f.Value)
		f.Next = f.Settle
	}
}

func decideBalance(c *context, f *Finding, row limit) {
	b := c.input(builtUp)
	if f.Band.High == nil {
		return
	}
	_, _, v, err := charge.Compare(f.Value, f.U, 0, 0, *f.Band.High)
	f.Band = Band{} // the comparison judges, not a band that a sheet could recalculate
	switch {
	case err == nil && v == charge.Agrees:
		f.Verdict, f.Next = Within, row.NextOK
	case err == nil && v == charge.Differs:
		f.Verdict, f.Next = Outside, row.side(f.Value < 0)
	default:
		f.Verdict = TooClose
		f.Settle = "Too coarse to tell: the build-up is known to ± " + amount(b.unit.Span(2*b.u), b.unit) + " only. Trim by subcooling or superheat."
		f.Next, f.Near = f.Settle, f.Settle // no reading would settle it: what is not known is inside the compressors
	}
}

// weighedScale is what left the cylinder, against what was entered.
var weighedScale = definition{key: "weighed_scale", label: "Left the cylinder by the scale, less weighed in", step: record.Charge, group: "Weighed", dim: units.Mass,
	limit: "weighed_scale", target: zero, applies: entered(record.CylinderStop),
	relation: relation{words: "(start - empty before) - (stop - empty after) - weighed in", from: []source{said("one scale's span acts on the difference alone")},
		inputs: []input{is(record.CylinderStart), is(record.ScaleZeroStart), is(record.CylinderStop), is(record.ScaleZeroStop), is(record.WeighedIn)},
		eval: func(x *values) (float64, error) {
			m, _, err := charge.Weighing{Start: x.of(record.CylinderStart), Stop: x.of(record.CylinderStop), ZeroStart: x.of(record.ScaleZeroStart), ZeroStop: x.of(record.ScaleZeroStop)}.Flowed()
			return m - x.of(record.WeighedIn), err
		},
		sheet: "({cylinder_start}-{scale_zero_start})-({cylinder_stop}-{scale_zero_stop})-{weighed_in}"}}
