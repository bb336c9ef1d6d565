package supply

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
)

// Leads are the currents in a running single-phase compressor's three leads,
// A, each with the half-width of its doubt.
type Leads struct {
	Run, Start, Common                float64
	RunDoubt, StartDoubt, CommonDoubt float64
}

// Closure is the triangle that the three lead currents make.
type Closure struct {
	Angle float64 // rad, from run to start current; 0 or pi where they do not close
	Low   float64 // A, |run - start|: the least that common can be
	High  float64 // A, run + start: the most
	Gap   float64 // A by which common lies outside, 0 where the triangle closes
}

// LeadClosure closes the triangle: common is the phasor sum of run and start,
// so that common^2 = run^2 + start^2 + 2 run start cos(angle).
func LeadClosure(run, start, common float64) (Closure, error) {
	for _, v := range []struct {
		what string
		x    float64
	}{{"run lead current", run}, {"start lead current", start}, {"common lead current", common}} {
		if err := in(v.what, v.x, "A", 1e-3, 5000); err != nil {
			return Closure{}, err
		}
	}
	c := Closure{Low: math.Abs(run - start), High: run + start}
	c.Gap = math.Max(0, math.Max(c.Low-common, common-c.High))
	cos := (common*common - run*run - start*start) / (2 * run * start)
	c.Angle = math.Acos(math.Max(-1, math.Min(1, cos)))
	return c, nil
}

// Phasors are the three lead currents, RMS A. With a power factor known the
// reference is the line voltage, lagging currents below the axis; without one
// it is the common-lead current.
type Phasors struct{ Run, Start, Common complex128 }

// LeadPhasors turns the three readings and the power factor of the compressor
// (0 where not known) into phasors: start leads run, as the capacitor makes it.
// Common is the sum of the two even where the reading of it does not close.
func LeadPhasors(run, start, common, powerFactor float64) (Phasors, error) {
	c, err := LeadClosure(run, start, common)
	if err != nil {
		return Phasors{}, err
	}
	if err := in("power factor", powerFactor, "1", 0, 1); err != nil {
		return Phasors{}, err
	}
	r, s := complex(run, 0), cmplx.Rect(start, c.Angle)
	turn := -cmplx.Phase(r + s)
	if powerFactor > 0 {
		turn -= math.Acos(powerFactor)
	}
	p := Phasors{Run: r * cmplx.Rect(1, turn), Start: s * cmplx.Rect(1, turn)}
	p.Common = p.Run + p.Start
	return p, nil
}

// PowerFactor is W / (V A), from a power meter; single-phase. A quotient above
// one is an error: one of the three readings is wrong.
func PowerFactor(watts, volts, amps float64) (float64, error) {
	if err := natural("power", watts, "W"); err != nil {
		return 0, err
	}
	if err := positive("line voltage", volts, "V"); err != nil {
		return 0, err
	}
	if err := positive("common lead current", amps, "A"); err != nil {
		return 0, err
	}
	pf := watts / (volts * amps)
	return pf, in("power factor", pf, "1", 0, 1)
}

// PowerFactorByVolts estimates the power factor without a power meter, from
// the three lead currents and three voltages: line, across the capacitor, and
// across the start winding. The voltages close a triangle that gives the angle
// by which the capacitor's voltage lags the line; the start current leads the
// capacitor's voltage by a right angle; the currents' triangle gives the rest.
func PowerFactorByVolts(l Leads, line, capacitor, winding float64) (float64, error) {
	for _, v := range []struct {
		what string
		x    float64
	}{{"line voltage", line}, {"voltage across the capacitor", capacitor}, {"voltage across the start winding", winding}} {
		if err := in(v.what, v.x, "V", 1, 2000); err != nil {
			return 0, err
		}
	}
	c, err := LeadClosure(l.Run, l.Start, l.Common)
	if err != nil {
		return 0, err
	}
	if c.Gap > 0 {
		return 0, fmt.Errorf("the three currents miss a triangle by %.3g A: common lead is %g A, allowed from %g to %g A", c.Gap, l.Common, c.Low, c.High)
	}
	cos := (line*line + capacitor*capacitor - winding*winding) / (2 * line * capacitor)
	if cos < -1 || cos > 1 {
		return 0, fmt.Errorf("%g, %g and %g V close no triangle: the voltage across the start winding is allowed from %g to %g V",
			line, capacitor, winding, math.Abs(line-capacitor), line+capacitor)
	}
	start := cmplx.Rect(l.Start, math.Pi/2-math.Acos(cos))
	run := cmplx.Rect(l.Run, cmplx.Phase(start)-c.Angle)
	pf := math.Cos(cmplx.Phase(run + start))
	return pf, in("power factor", pf, "1", 0, 1)
}

// AssumedLRA is what stands for a locked-rotor current that is not marked, A
// (NEC 440.12(C)): six times the rated-load current.
func (t *Tables) AssumedLRA(rla float64) (float64, error) {
	if err := in("rated-load current", rla, "A", math.SmallestNonzeroFloat64, 1000); err != nil {
		return 0, err
	}
	return t.rule("disconnect-lra").Value * rla, nil
}

// nominal matches a supply's nominal voltage with the plate's own range. The tolerance
// of running voltages is none of it: 230 V equipment has no business on 208 V.
func (t *Tables) nominal(supply float64, plate []float64) Check {
	lo, hi := slices.Min(plate), slices.Max(plate)
	c := between(t.rule("plate-volts"), "supply voltage", "V", supply, lo, hi)
	for _, n := range t.Voltage.Nominals {
		if !slices.Contains(n.Supply, supply) {
			continue
		}
		c.Outcome, c.Why = Misfit, fmt.Sprintf("a supply of %g V is for equipment marked %s V, not %s", supply, listed(n.Plates), listed(plate))
		for _, p := range n.Plates {
			if p >= lo && p <= hi {
				c.Outcome, c.Why = Fits, fmt.Sprintf("a supply of %g V is one for equipment marked %s V", supply, listed(plate))
			}
		}
	}
	return c
}

func listed(vs []float64) string {
	var s []string
	for _, v := range vs {
		s = append(s, fmt.Sprintf("%g", v))
	}
	return strings.Join(s, ", ")
}

// CheckSupplyMatch holds the supply's nominal voltage, phases and frequency
// against the compressor's plate. volts are the plate's ratings, one or two.
func (t *Tables) CheckSupplyMatch(supplyVolts float64, supplyPhases int, supplyHertz float64, phases int, hertz float64, volts ...float64) (Check, error) {
	if err := in("supply voltage", supplyVolts, "V", 1, 1000); err != nil {
		return Check{}, err
	}
	if _, err := t.PlateRange(volts...); err != nil {
		return Check{}, err
	}
	c := t.nominal(supplyVolts, volts)
	switch {
	case supplyPhases != 0 && phases != 0 && supplyPhases != phases:
		c.Outcome, c.Why = Misfit, fmt.Sprintf("the supply has %d phase(s), the compressor asks for %d", supplyPhases, phases)
	case supplyHertz != 0 && hertz != 0 && supplyHertz != hertz:
		c.Outcome, c.Why = Misfit, fmt.Sprintf("the supply has %g Hz, the compressor asks for %g", supplyHertz, hertz)
	}
	return c, nil
}
