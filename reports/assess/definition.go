package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/supply"
)

// A definition is one finding, whole: the question, what it is computed from and
// how, where that comes from, what it is held against, and how a sheet computes
// it again. A new finding is one of these in the file of its step, and a row of
// assets/limits if it is judged by one.
type definition struct {
	key, label string
	step       record.Step
	group      string // the question it helps to answer
	dim        units.Dimension

	// applies tells whether the finding belongs to this job at all; nil means
	// always. A finding that can be known in several ways has one definition for
	// each, of which one applies.
	applies func(*context) bool

	relation

	// limit is the key of a row of assets/limits, rule that of a row of
	// assets/electrical; with neither there is nothing to hold it against. ok is
	// what to do when a rule's limit is kept, where the rule does not say.
	limit, rule, ok string

	// target supplies what the band lies around, SI, or why there is none; nil
	// means that the row has its own numbers.
	target func(*context) (float64, string)

	// bounds supplies the band itself, SI, or why there is none, where it hangs
	// on other fields through a table; the row then has the words alone. nil
	// means that the row has the band.
	bounds func(*context) (Band, string)

	// valid returns why the value cannot be judged under these conditions,
	// "" if it can; nil means that it always can.
	valid func(*context) string

	// decide, if not nil, judges instead of the guard band, where a core package
	// has its own judgement: it sets verdict, next step and what would settle it.
	decide func(*context, *Finding, limit)

	// only, if not nil, returns why agreement may not be said all the same, "" if it
	// may: what stands outside stays outside.
	only func(*context) string

	// advice, if not nil and not empty, says what the outcome means for this job
	// and what to do, instead of the row.
	advice func(*context, Finding) string
}

// A relation is how a value comes from its inputs.
type relation struct {
	words  string   // as people read it
	from   []source // where it and its constants come from
	inputs []input

	// eval computes the value, SI. It reads its inputs by name, and only those
	// that are declared.
	eval func(x *values) (float64, error)

	// sheet is the same for a spreadsheet, "" where arithmetic does not reach. It
	// holds, in the units that the sheet shows,
	//
	//	{a}    the input called a; {?a} the same, 0 where it is not there
	//	{abs:a} the pressure reading a, absolute
	//	{si:a}  the input a in SI
	//	{f:a}   the finding a
	//	{c:a}   the constant a
	//	{sat:a} the saturation temperature that the sheet finds by table
	//	{site}  the air pressure of the site
	//
	// and begins with InSI where its result is in SI.
	sheet string

	// constants are the numbers of tables that sheet takes as they stand.
	constants func(x *values) ([]Constant, error)
}

// InSI opens the template of a formula whose result is in SI.
const InSI = "si="

// An input is a number that a relation takes, by its name in that relation.
type input struct {
	name     string
	fields   []record.Key              // the first of these that was entered
	take     func(c *context) *reading // or what nobody reads
	optional bool                      // NaN where there is none
	missing  string                    // what to ask for where it is not there; "" is the first field's label
}

// is takes a field, by its own name; maybe does so where it was entered.
func is(k record.Key) input { return input{name: k.String(), fields: []record.Key{k}} }
func maybe(k record.Key) input {
	return input{name: k.String(), fields: []record.Key{k}, optional: true}
}

// either takes the first of several fields that was entered.
func either(name string, ks ...record.Key) input { return input{name: name, fields: ks} }

// assumed takes a number of the limits' table that nobody reads.
func assumed(name string) input {
	return input{name: "assumed/" + name, take: func(c *context) *reading { return c.assume(name) }}
}

// site takes the air pressure of the site, which every gauge reading shares.
var site = input{name: siteKey, take: func(c *context) *reading { return &c.site }}

// all joins lists of inputs; one that stands twice is taken once.
func all(lists ...[]input) []input {
	var out []input
	for _, l := range lists {
		for _, i := range l {
			if !slices.ContainsFunc(out, func(o input) bool { return o.name == i.name }) {
				out = append(out, i)
			}
		}
	}
	return out
}

// label is what to ask for where the input is not there.
func (i input) label() string {
	if i.missing != "" {
		return i.missing
	}
	if len(i.fields) == 0 {
		return i.name
	}
	return i.fields[0].Label()
}

// input finds what i takes in this job, nil if there is none.
func (c *context) input(i input) *reading {
	if i.take != nil {
		return c.once(i.name, func() *reading { return i.take(c) })
	}
	for _, k := range i.fields {
		if r := c.reading(k); r != nil {
			return r
		}
	}
	return nil
}

// values are the inputs of one evaluation, SI, gauge readings absolute; NaN where
// an optional one is not there.
type values struct {
	c       *context
	names   []string
	x       []float64
	strange string // an input that was asked for and is not declared
}

// of is the input that takes the field k by its own name.
func (x *values) of(k record.Key) float64 { return x.named(k.String()) }

// at is the input i.
func (x *values) at(i input) float64 { return x.named(i.name) }

// or is the optional field k, v where it is not there.
func (x *values) or(k record.Key, v float64) float64 {
	if y := x.of(k); !math.IsNaN(y) {
		return y
	}
	return v
}

func (x *values) named(name string) float64 {
	for i, n := range x.names {
		if n == name {
			return x.x[i]
		}
	}
	x.strange = name
	return math.NaN()
}

// A source says where a relation, or a constant in it, comes from.
type source func(c *context) string

func said(words string) source { return func(*context) string { return words } }

// The sources of the relations. The packages that compute cite the same beside
// their code.
var (
	arithmetic    = said("the formula is a definition, or arithmetic on the readings; it takes no table and no constant")
	copper        = said("copper's resistance over temperature: 234.5 °C of IEC 60228")
	halving       = said("halved for each 10 °C: IEEE 43-2013, approximate factor, from memory")
	atAltitude    = said("standard atmosphere: ASHRAE Handbook Fundamentals 2017, chapter 1, as restated by a reference psychrometric library")
	moistAir      = said("moist air: ASHRAE Handbook Fundamentals 2017, chapter 1, as implemented in a reference psychrometric library; saturation by Hyland and Wexler 1983")
	compressorMap = said(byMapForm)
	petukhov      = said("friction by Petukhov, from memory")
	realNitrogen  = said("nitrogen's equation of state, Span and others 2000, as an open reference library carries it; the paper was not read")
	rivalShapes   = said("competing shapes (tight, leak, moisture, both, refrigerant out of oil) weighed by how well and how simply they explain the rise readings")
	windings      = said("two windings in series between start and run")
	parallel      = said("capacitors in parallel add up")
)

const byMapForm = "map: ten coefficients in the form of AHRI 540; at another superheat by Dabiri and Rice 1981, as restated elsewhere, the paper was not read"

// properties cites the equation of state of the job's refrigerant.
func properties(c *context) string {
	if c.fluid == nil {
		return ""
	}
	return "properties of " + c.fluid.Name() + ": " + strings.TrimSuffix(strings.TrimSpace(c.fluid.Citation()), ".")
}

// byRule cites a rule of package supply for a number that the relation takes.
func byRule(key string) source {
	return func(*context) string {
		t, err := supply.Load()
		if err != nil {
			return err.Error()
		}
		r, _ := t.Rule(key)
		return r.Text + " " + r.Cite() + " (" + string(r.Confidence) + ")"
	}
}

// steadiness cites what keeps still enough.
func steadiness(c *context) string {
	return "spans within which a reading counts as steady: " + c.lim.Steady.Source
}

// asInput cites what the uncertainty of an input comes from: a target's table.
func asInput(i input) source {
	return func(c *context) string {
		if r := c.input(i); r != nil && r.doubt != "" {
			return strings.ToLower(i.label()[:1]) + i.label()[1:] + ": " + r.doubt
		}
		return ""
	}
}

// method is where the relation comes from, in words.
func (r relation) method(c *context) string {
	var out []string
	for _, s := range r.from {
		if t := s(c); t != "" {
			out = append(out, t)
		}
	}
	return sentenceStart(strings.Join(out, "; "))
}

func sentenceStart(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// asRead takes a reading as it is.
func asRead(k record.Key, words string) relation {
	return relation{words: words, from: []source{arithmetic}, inputs: []input{is(k)},
		eval: func(x *values) (float64, error) { return x.of(k), nil }, sheet: "{" + k.String() + "}"}
}

// less is the difference of two readings.
func less(words string, a, b record.Key) relation {
	return relation{words: words, from: []source{arithmetic}, inputs: []input{is(a), is(b)},
		eval: func(x *values) (float64, error) { return x.of(a) - x.of(b), nil }, sheet: "{" + a.String() + "}-{" + b.String() + "}"}
}

// errNoFluid is why what needs the refrigerant cannot be computed.
var errNoFluid = fmt.Errorf("pick the refrigerant in Intake first")

// tables are the electrical tables of an evaluation.
func withTables(f func(x *values, t *supply.Tables) (float64, error)) func(*values) (float64, error) {
	return func(x *values) (float64, error) {
		t, err := supply.Load()
		if err != nil {
			return 0, err
		}
		return f(x, t)
	}
}

// definitions is every finding in the order in which it is shown.
var definitions = slices.Concat(failure, deadChecks, circuitChecks, liveChecks, closeUp, chargeBuildUp, running, ducts, delivering)
