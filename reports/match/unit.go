package match

import (
	"fmt"
	"math"

	"retrostage/thermo/cycle"
	"retrostage/thermo/fluid"
	"retrostage/wiring/supply"
)

// Answer is of a question that can be left open.
type Answer int

// The answers.
const (
	Unknown Answer = iota
	Yes
	No
)

// Unit is what stays. Zero is not known.
type Unit struct {
	Fluid     *fluid.Fluid
	Oil       string  // family in the circuit now
	High, Low float64 // W, the old stages at 95 °F; Low 0 takes the usual share of High
	Fixed     bool    // metering by a fixed bore
	Bore      float64 // m, its bore
	Bleeds    Answer  // the pressures even out through the metering device at rest

	Superheat, Subcooling float64 // K, wanted: of a fixed bore, of a valve

	Volts  float64 // V, nominal
	Phases int
	Hertz  float64

	DesignHigh, DesignLow float64 // Pa gauge, plate
	Design, Hottest       float64 // K, outdoors; 0 takes 95 °F, and 15 °F above the design day
	Pressure              float64 // Pa, of the site; 0 takes sea level
	Load                  float64 // W at Design

	SuctionBore   float64 // m, inside, of the suction line
	Riser         Answer  // it rises to the compressor
	Suction       float64 // m, stub of the old compressor
	Discharge     float64 // m
	Space         float64 // m, height inside the cabinet
	Recovered     float64 // kg of charge to recover
	Conversion    supply.Conversion
	FansTakeTap   Answer // the indoor fan has taps to choose from
	WithoutCutOut Answer // the unit has a high-pressure switch: No means it has one
}

// LowShare is the share of capacity and flow that a two-stage compressor's low stage
// usually has; from memory.
const LowShare = 0.67

func (u Unit) design() float64  { return or(u.Design, (95+459.67)/1.8) }
func (u Unit) hottest() float64 { return math.Max(or(u.Hottest, u.design()+15/1.8), u.design()) }
func (u Unit) site() float64    { return or(u.Pressure, 101325) }
func (u Unit) low() float64     { return or(u.Low, LowShare*u.High) }

func or(x, otherwise float64) float64 {
	if x == 0 {
		return otherwise
	}
	return x
}

func (u Unit) check() error {
	if u.Fluid == nil {
		return fmt.Errorf("match: pick the unit's refrigerant first")
	}
	if !(u.High > 1e3 && u.High < 1e5) {
		return fmt.Errorf("match: capacity of the old unit's high stage %g W; allowed 1 to 100 kW", u.High)
	}
	if u.Low < 0 || u.Low >= u.High {
		return fmt.Errorf("match: low stage of %g W beside a high one of %g W", u.Low, u.High)
	}
	for _, t := range []float64{u.design(), u.hottest()} {
		if !(t > 290 && t < 330) {
			return fmt.Errorf("match: weather of %g K; allowed 290 to 330 K (62 to 134 °F)", t)
		}
	}
	return nil
}

// machine is the old unit as a usual one of its capacity.
func (u Unit) machine() (*cycle.Machine, error) {
	p, err := cycle.PropsOf(u.Fluid)
	if err != nil {
		return nil, err
	}
	return cycle.Typical(p, u.High, u.Fixed, nil)
}

// weather is the house at its usual 80 °F and 67 °F wet bulb.
func (u Unit) weather(outdoor float64) (cycle.Conditions, error) {
	return cycle.Weather(outdoor, (80+459.67)/1.8, (67+459.67)/1.8, u.site())
}
