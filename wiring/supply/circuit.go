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

// MOCPUp is MOCP as the 2023 edition has it: where the limit falls between two standard
// sizes, the next one up (440.22(A), exception 1).
func (t *Tables) MOCPUp(compressor float64, others ...float64) (Overcurrent, error) {
	o, err := t.MOCP(compressor, others...)
	if err != nil || o.Floor {
		return o, err
	}
	for _, s := range t.Overcurrent.Sizes {
		if s >= o.Limit*(1-1e-12) {
			o.Size = s
			break
		}
	}
	o.StartSize = math.Max(o.StartSize, o.Size)
	o.Why = fmt.Sprintf("%.4g A by the rule, next standard size %g A", o.Limit, o.Size)
	return o, nil
}

// DisconnectHP is the least horsepower of a disconnect for a compressor of basis
// current and locked-rotor current, A (0 not known), on a single-phase supply, V: the
// larger of the horsepowers that the two stand for, each by the next line of Tables
// 430.248 and 430.251(A) (NEC 440.12(A)(2)).
func (t *Tables) DisconnectHP(volts, basis, lra float64) (hp float64, err error) {
	if err := in("rated voltage", volts, "V", 200, 250); err != nil {
		return 0, err
	}
	if err := positive("rated-load current", basis, "A"); err != nil {
		return 0, err
	}
	if err := natural("locked-rotor current", lra, "A"); err != nil {
		return 0, err
	}
	col := 0
	for i, v := range t.Motors.Volts {
		if math.Abs(v-volts) < math.Abs(t.Motors.Volts[col]-volts) {
			col = i
		}
	}
	rows := t.Motors.Rows
	top := rows[len(rows)-1]
	if basis > top.FullLoad[col] || lra > top.LockedRotor[col] {
		return 0, fmt.Errorf("%g A and %g A locked: beyond %g hp, the end of the table", basis, lra, top.HP)
	}
	for _, r := range rows {
		if r.FullLoad[col] >= basis && (lra == 0 || r.LockedRotor != nil && r.LockedRotor[col] >= lra) {
			return r.HP, nil
		}
	}
	return top.HP, nil
}

// MOCP is the maximum overcurrent protection for a compressor of basis current
// compressor, A, with other loads (NEC 440.22 before 2023): taken down to a standard
// size, with a floor at 15 A. The compressor has to be the largest load.
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
		// 1.75 x 19.2 + 1.4 is 35 and not a rounding error below it.
		if s <= amps*(1+1e-12) {
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

// CheckBreaker holds an installed overcurrent device, A, against the circuit:
// not above the maximum of its compressor, not below its minimum circuit
// ampacity, A.
func (t *Tables) CheckBreaker(device, mca float64, most Overcurrent) (Check, error) {
	if err := in("overcurrent device", device, "A", 1, 1000); err != nil {
		return Check{}, err
	}
	if err := positive("minimum circuit ampacity", mca, "A"); err != nil {
		return Check{}, err
	}
	if err := positive("maximum overcurrent protection", most.Size, "A"); err != nil {
		return Check{}, err
	}
	c := between(t.rule("breaker"), "overcurrent device fitted", "A", device, mca, most.Size)
	if device > most.Size && device <= most.StartSize {
		c.Why += fmt.Sprintf("; up to %g A is for a unit that does not start on %g A, and for that alone", most.StartSize, most.Size)
		c.Rule.Next = most.StartRule.Next
	}
	if most.Size < mca {
		c.Why += "; the standard size below the limit carries less than the circuit needs: ask the authority having jurisdiction"
	}
	return c, nil
}

// CheckDisconnect holds the ampere rating of a disconnect against the loads.
func (t *Tables) CheckDisconnect(rating, compressor float64, others ...float64) (Check, error) {
	if err := positive("rating of the disconnect", rating, "A"); err != nil {
		return Check{}, err
	}
	need, err := t.Disconnect(compressor, others...)
	if err != nil {
		return Check{}, err
	}
	return atLeast(t.rule("disconnect"), "rating of the disconnect", "A", rating, need), nil
}

// CheckGround holds an equipment grounding conductor, AWG copper, against the
// overcurrent device, A. Where the supply conductors are thicker than the
// circuit needs, it grows in proportion of circular mils (NEC 250.122(B));
// wire and needed are the gauge fitted and the gauge needed, both "" where
// that does not arise. It need never be thicker than the supply conductors.
func (t *Tables) CheckGround(gauge string, device float64, wire, needed string) (Check, error) {
	for _, g := range []string{gauge, wire, needed} {
		if g != "" && t.gaugeIndex(g) < 0 {
			return Check{}, fmt.Errorf("gauge %q AWG: known are %q", g, t.Gauges())
		}
	}
	if gauge == "" || (wire == "") != (needed == "") {
		return Check{}, fmt.Errorf("grounding conductor %q, supply conductors %q fitted and %q needed: give the first, and both or none of the others", gauge, wire, needed)
	}
	base, err := t.EquipmentGround(device)
	if err != nil {
		return Check{}, err
	}
	need := t.mils(base)
	if wire != "" && t.mils(wire) > t.mils(needed) {
		need *= t.mils(wire) / t.mils(needed)
	}
	if wire != "" {
		need = math.Min(need, t.mils(wire)) // never required thicker than the circuit conductors
	}
	c := atLeast(t.rule("ground"), "grounding conductor", "circular mils", t.mils(gauge), need)
	c.Why = fmt.Sprintf("%s AWG, %.0f circular mils, for a device of %g A (table: %s AWG) and %.0f circular mils needed", gauge, t.mils(gauge), device, base, need)
	return c, nil
}

// Contactor is a contactor as marked for the line voltage. Zero fields are not
// known.
type Contactor struct {
	FLA, LRA float64 // A per pole
	Poles    int
	OldPoles int // of the contactor it replaces
}

// CheckContactor holds each pole against what it switches: running is the sum
// of the currents that run through it, lra the compressor's locked-rotor
// current, A; zero is not known.
func (t *Tables) CheckContactor(c Contactor, running, lra float64) ([]Check, error) {
	for _, v := range []struct {
		what string
		x    float64
	}{{"contactor's full-load rating", c.FLA}, {"contactor's locked-rotor rating", c.LRA},
		{"current switched", running}, {"locked-rotor current", lra}, {"poles", float64(c.Poles)}, {"old poles", float64(c.OldPoles)}} {
		if err := in(v.what, v.x, "A", 0, 5000); err != nil {
			return nil, err
		}
	}
	pole := func(key, what string, rating, need float64) Check {
		if rating == 0 || need == 0 {
			return unknown(t.rule(key), what, "A", "needs the contactor's marking and the compressor's plate")
		}
		return atLeast(t.rule(key), what, "A", rating, t.rule(key).Value*need)
	}
	checks := []Check{
		pole("contactor-fla", "contactor's full-load rating", c.FLA, running),
		pole("contactor-lra", "contactor's locked-rotor rating", c.LRA, lra),
	}
	if c.Poles > 0 && c.OldPoles > 0 {
		k := atLeast(t.rule("contactor-poles"), "poles of the contactor", "", float64(c.Poles), float64(c.OldPoles))
		checks = append(checks, k)
	}
	return checks, nil
}
