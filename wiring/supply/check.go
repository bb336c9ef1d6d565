package supply

import (
	"fmt"
	"math"
)

// Confidence tells how far a source can be trusted, in words shown as they stand.
type Confidence string

// The grades of a source.
const (
	ReadSource  Confidence = "read in a published text"
	SecondHand  Confidence = "read in a page that restates the standard"
	FromMemory  Confidence = "from memory, not verified"
	Practice    Confidence = "common practice, no source"
	FromPlate   Confidence = "as stated for this unit"
	LawOfNature Confidence = "law of nature"
)

// Outcome is what a comparison came to.
type Outcome string

// The outcomes. Unknown is for what was not measured or not stated, or where
// the doubt of the reading spans the limit; Check.Why says which.
const (
	Fits    Outcome = "fits"
	Misfit  Outcome = "does not fit"
	Unknown Outcome = "not known"
)

// Rule is one rule with its number, its source and its cautions.
type Rule struct {
	Key        string     `json:"key"`
	Value      float64    `json:"value"`
	Unit       string     `json:"unit"`
	Text       string     `json:"text"`
	Source     string     `json:"source"`
	Edition    string     `json:"edition"`
	Confidence Confidence `json:"confidence"`
	Read       string     `json:"read"`
	Caution    string     `json:"caution,omitempty"`
	Next       string     `json:"next,omitempty"`
}

// Check is one quantity held against its limits, SI. Low or High nil: no limit
// on that side. Value means nothing when Measured is false.
type Check struct {
	Key      string
	What     string
	Measured bool
	Value    float64
	Unit     string
	Low      *float64
	High     *float64
	Outcome  Outcome
	Why      string
	Rule     Rule
}

// between judges x against lo and hi; a NaN limit is no limit. A limit reached
// is a limit kept: 187.2 V is not below 0.9 x 208 V by the rounding of either.
func between(rule Rule, what, unit string, x, lo, hi float64) Check {
	c := Check{Key: rule.Key, What: what, Measured: true, Value: x, Unit: unit, Outcome: Fits, Rule: rule}
	if !math.IsNaN(lo) {
		c.Low = &lo
	}
	if !math.IsNaN(hi) {
		c.High = &hi
	}
	slack := 1e-12 * math.Abs(x)
	switch {
	case x < lo-slack:
		c.Outcome, c.Why = Misfit, fmt.Sprintf("%s is %s, below %s", what, show(x, unit), show(lo, unit))
	case x > hi+slack:
		c.Outcome, c.Why = Misfit, fmt.Sprintf("%s is %s, above %s", what, show(x, unit), show(hi, unit))
	case !math.IsNaN(lo) && !math.IsNaN(hi):
		c.Why = fmt.Sprintf("%s is %s, within %s to %s", what, show(x, unit), show(lo, unit), show(hi, unit))
	case !math.IsNaN(lo):
		c.Why = fmt.Sprintf("%s is %s, at least %s", what, show(x, unit), show(lo, unit))
	case !math.IsNaN(hi):
		c.Why = fmt.Sprintf("%s is %s, at most %s", what, show(x, unit), show(hi, unit))
	}
	return c
}

func atLeast(rule Rule, what, unit string, x, lo float64) Check {
	return between(rule, what, unit, x, lo, math.NaN())
}

func atMost(rule Rule, what, unit string, x, hi float64) Check {
	return between(rule, what, unit, x, math.NaN(), hi)
}

// unknown is a check that could not be made.
func unknown(rule Rule, what, unit, why string) Check {
	return Check{Key: rule.Key, What: what, Unit: unit, Outcome: Unknown, Why: why, Rule: rule}
}

// show writes x with its unit in the prefix that people read.
func show(x float64, unit string) string {
	switch {
	case unit == "1":
		return fmt.Sprintf("%.3g %%", 100*x)
	case unit == "F":
		return fmt.Sprintf("%.4g uF", 1e6*x)
	case unit == "ohm" && math.Abs(x) >= 1e6:
		return fmt.Sprintf("%.4g Mohm", x/1e6)
	}
	return fmt.Sprintf("%.4g %s", x, unit)
}

// RangeError is an input outside what the quantity can be.
type RangeError struct {
	What     string
	Value    float64
	Unit     string
	Min, Max float64 // Min the smallest float64: anything above zero
}

func (e *RangeError) Error() string {
	from, unit := fmt.Sprintf("from %.6g", e.Min), ""
	if e.Min == math.SmallestNonzeroFloat64 {
		from = "above 0"
	}
	if e.Unit != "1" && e.Unit != "" {
		unit = " " + e.Unit
	}
	return fmt.Sprintf("%s is %.6g%s: allowed %s to %.6g%s", e.What, e.Value, unit, from, e.Max, unit)
}

// in refuses what is not a number in [min, max].
func in(what string, x float64, unit string, min, max float64) error {
	if math.IsNaN(x) || math.IsInf(x, 0) || x < min || x > max {
		return &RangeError{what, x, unit, min, max}
	}
	return nil
}

// huge is beyond any reading in SI; it keeps sums and products finite.
const huge = 1e15

// positive refuses what is not a number above zero.
func positive(what string, x float64, unit string) error {
	return in(what, x, unit, math.SmallestNonzeroFloat64, huge)
}

// natural refuses what is not a number from zero up.
func natural(what string, x float64, unit string) error {
	return in(what, x, unit, 0, huge)
}

// finite refuses a result that left the range of float64.
func finite(what string, x float64) (float64, error) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fmt.Errorf("%s: the inputs are too far apart to compute with", what)
	}
	return x, nil
}
