package supply

import (
	"fmt"
	"math"
)

// Basis is the current that sizes a motor-compressor's circuit: the greater of
// RLA and BCSC, A (NEC 440.6(A)). bcsc 0: none marked.
func Basis(rla, bcsc float64) (float64, error) {
	if err := positive("rated-load current", rla, "A"); err != nil {
		return 0, err
	}
	if err := natural("branch-circuit selection current", bcsc, "A"); err != nil {
		return 0, err
	}
	return math.Max(rla, bcsc), nil
}

// loads validates the currents of a circuit and returns the sum of the others.
func loads(compressor float64, others []float64) (sum float64, err error) {
	if err := in("compressor current", compressor, "A", math.SmallestNonzeroFloat64, 1000); err != nil {
		return 0, err
	}
	for i, a := range others {
		if err := in(fmt.Sprintf("other load %d", i+1), a, "A", 0, 1000); err != nil {
			return 0, err
		}
		sum += a
	}
	return sum, nil
}

// MCA is the minimum circuit ampacity, A: 1.25 times the largest current plus
// all others (NEC 440.33). compressor is the basis current; others run with it.
func (t *Tables) MCA(compressor float64, others ...float64) (float64, error) {
	sum, err := loads(compressor, others)
	if err != nil {
		return 0, err
	}
	largest := compressor
	for _, a := range others {
		largest = math.Max(largest, a)
	}
	return compressor + sum + (t.rule("mca").Value-1)*largest, nil
}

// Overcurrent is the largest overcurrent device of a circuit and how it came.
type Overcurrent struct {
	Limit      float64 // A, 1.75 compressor + others, before rounding
	Size       float64 // A, the standard size at or below it
	StartLimit float64 // A, 2.25 compressor + others
	StartSize  float64 // A, the standard size at or below that; only if it will not start on Size
	Floor      bool    // Size is the smallest standard device, above Limit
	Why        string
	Rule       Rule
	StartRule  Rule
}

// MOCP is the maximum overcurrent protection for a compressor of basis current
// compressor, A, with other loads (NEC 440.22): taken down to a standard size,
// with a floor at 15 A. The compressor has to be the largest load.
func (t *Tables) MOCP(compressor float64, others ...float64) (Overcurrent, error) {
	sum, err := loads(compressor, others)
	if err != nil {
		return Overcurrent{}, err
	}
	for i, a := range others {
		if a > compressor {
			return Overcurrent{}, fmt.Errorf("other load %d is %g A, above the compressor's %g A: the rule is for a circuit whose largest load is the compressor", i+1, a, compressor)
		}
	}
	rule, start, floor := t.rule("mocp"), t.rule("mocp-start"), t.rule("mocp-floor").Value
	o := Overcurrent{Rule: rule, StartRule: start,
		Limit: rule.Value*compressor + sum, StartLimit: start.Value*compressor + sum}
	var ok, okStart bool
	o.Size, ok = t.StandardSize(o.Limit)
	o.StartSize, okStart = t.StandardSize(o.StartLimit)
	if !ok {
		o.Size, o.Floor = floor, true
	}
	if !okStart {
		o.StartSize = floor
	}
	if top := t.Overcurrent.Sizes[len(t.Overcurrent.Sizes)-1]; o.StartLimit > top {
		return Overcurrent{}, &RangeError{"overcurrent limit", o.StartLimit, "A", 0, top}
	}
	o.Why = fmt.Sprintf("%g x %.4g A + %.4g A = %.4g A, taken down to %g A", rule.Value, compressor, sum, o.Limit, o.Size)
	if o.Floor {
		o.Why = fmt.Sprintf("%g x %.4g A + %.4g A = %.4g A; no device need be smaller than %g A", rule.Value, compressor, sum, o.Limit, o.Size)
	}
	return o, nil
}

// StandardSize is the largest standard device not above amps, A; false if amps
// is below the smallest.
func (t *Tables) StandardSize(amps float64) (float64, bool) {
	size, ok := 0.0, false
	for _, s := range t.Overcurrent.Sizes {
		if s <= amps {
			size, ok = s, true
		}
	}
	return size, ok
}

// Disconnect is the smallest ampere rating of the disconnect, A: 1.15 times all
// loads (NEC 440.12).
func (t *Tables) Disconnect(compressor float64, others ...float64) (float64, error) {
	sum, err := loads(compressor, others)
	if err != nil {
		return 0, err
	}
	return t.rule("disconnect").Value * (compressor + sum), nil
}

// EquipmentGround is the smallest copper equipment grounding conductor for an
// overcurrent device of amps, AWG (NEC Table 250.122).
func (t *Tables) EquipmentGround(amps float64) (string, error) {
	rows := t.Grounding.Rows
	if err := in("overcurrent device", amps, "A", 1, rows[len(rows)-1].To); err != nil {
		return "", err
	}
	for _, r := range rows {
		if amps <= r.To {
			return r.Gauge, nil
		}
	}
	return rows[len(rows)-1].Gauge, nil
}
