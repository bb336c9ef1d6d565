package cycle

import (
	"fmt"
	"math"

	"retrostage/thermo/air"
	"retrostage/thermo/compressor"
)

// Machine is the parts of an air conditioner.
type Machine struct {
	Props *Props

	// Comp is the compressor. Its envelope is not asked while iterating; Solve
	// reports leaving it.
	Comp       *compressor.Map
	Flow, Draw float64 // factors on the map's mass flow and power; 0 counts as 1
	ShellLoss  float64 // share of its power that the shell gives to the air

	Evap, Cond Exchanger
	CoilInside float64 // evaporator: air-side over refrigerant-side conductance, about 0.3

	Valve Valve

	Accumulator Accumulator
	Oil         float64 // kg, in the compressor
	Dissolves   float64 // kg of refrigerant in a kg of mixture with oil, per share of the saturation pressure at the sump

	LiquidVolume  float64 // m3
	LiquidR       float64 // Pa s2/kg2, pressure drop of the liquid line over the square of flow
	SuctionVolume float64 // m3
	SuctionR      float64 // Pa s2/kg2
	SuctionUA     float64 // W/K, gain of the suction line from outdoor air
	FanPower      float64 // W, indoor, heats the supply air
	OutdoorFan    float64 // W
	Slip          float64 // exponent of the slip ratio, about 1/3

	Charge float64 // kg
	Gas    float64 // Pa, partial pressure of non-condensable gas in the condenser
}

func (m *Machine) flow() float64 { return one(m.Flow) }
func (m *Machine) draw() float64 { return one(m.Draw) }

func one(x float64) float64 {
	if x == 0 {
		return 1
	}
	return x
}

// Exchanger is a coil.
type Exchanger struct {
	UA       float64 // W/K, overall, dry, with two-phase refrigerant, at the Rated air flow
	Volume   float64 // m3, refrigerant side
	Air      float64 // kg/s of dry air
	Rated    float64 // kg/s at which UA holds
	Exponent float64 // UA goes with (Air/Rated)^Exponent, about 0.5
	Gas      float64 // conductance with gas over that with two-phase refrigerant, about 0.5
	Liquid   float64 // the same with liquid, about 0.7
}

// ua is the conductance at the present air flow.
func (e *Exchanger) ua() float64 { return e.UA * math.Pow(e.Air/e.Rated, e.Exponent) }

// Valve is the metering device.
type Valve struct {
	Fixed bool
	Area  float64 // m2, effective area, discharge coefficient included; of a thermostatic valve fully open

	Static, Range float64 // K, thermostatic: superheat at which it begins to open, and further to full bore
	Bleed         float64 // thermostatic: share of the full bore that is open always
	Stuck         float64 // thermostatic: above 0, it stands at this share of full bore whatever the superheat
	Choke         float64 // pressure at the throat, where it chokes, over saturation pressure of the liquid
}

// Accumulator is a vessel in the suction line. Liquid that arrives stands in it
// until the bleed hole carries as much on as comes.
type Accumulator struct {
	Volume float64 // m3; 0: none
	Bleed  float64 // share of liquid in the suction flow that the hole carries when the vessel stands full
}

// Conditions are the weather and the house.
type Conditions struct {
	Outdoor    float64 // K, dry bulb
	Return     float64 // K, dry bulb
	WetBulb    float64 // K, of the return air
	W          float64 // kg/kg, humidity ratio of the return air
	Pressure   float64 // Pa, site
	Recirculat float64 // K, by which air enters the condenser warmer than Outdoor
}

// Weather makes conditions of temperatures, K, and the site's pressure, Pa; air
// enters the condenser at outdoor. Errors: return air that cannot be (package
// air).
func Weather(outdoor, ret, wetBulb, pressure float64) (Conditions, error) {
	in, err := air.FromWetBulb(ret, wetBulb, pressure)
	if err != nil {
		return Conditions{}, fmt.Errorf("cycle: return air: %w", err)
	}
	return Conditions{Outdoor: outdoor, Return: ret, WetBulb: wetBulb, W: in.W, Pressure: pressure}, nil
}

// cpa is the specific heat of moist air per kg of dry air.
func cpa(w float64) float64 { return air.State{W: w}.Cp() }

// airH is the enthalpy of moist air, J per kg of dry air.
func airH(t, w float64) float64 { return air.State{T: t, W: w}.H() }

// satH is the enthalpy of saturated air. An iteration that strays beyond any
// coil's temperatures gets the nearest one; Solve refuses to end there.
func satH(t, p float64) float64 {
	s, err := air.FromRH(min(max(t, 200), 345), 1, p)
	if err != nil {
		return math.NaN() // balance counts it as far from solved
	}
	return s.H()
}

// State is what the machine does.
type State struct {
	EvapP, CondP, SuctionP, DischargeP float64 // Pa; CondP is of the refrigerant alone, DischargeP with any other gas
	Evaporating, Condensing            float64 // K, dew, as instruments at SuctionP and DischargeP tell
	Superheat                          float64 // K, at the compressor, by those instruments; 0 when wet
	CoilSuperheat                      float64 // K, at the evaporator; negative when wet
	Subcooling                         float64 // K, at the condenser by DischargeP; negative when liquid flashes
	SuctionT, DischargeT, LiquidT      float64 // K
	ValveT                             float64 // K, before the metering device; below LiquidT where the liquid flashed on the way
	MassFlow                           float64 // kg/s
	Power                              float64 // W, compressor
	Cooling                            float64 // W, refrigerant side of the evaporator
	Rejected                           float64 // W, refrigerant side of the condenser
	AirCooling, AirRejected            float64 // W, the same, by the air side of the surfaces
	LineGain, ShellLoss                float64 // W
	SupplyT                            float64 // K, fan heat included
	CondAirOut                         float64 // K
	Charge                             float64 // kg
	H1, H2, H3                         float64 // J/kg, compressor in and out, condenser out
	Residual                           float64 // largest of the four balances, relative

	x   [4]float64
	dry bool // the coil's surface is above the dew point
}
