package cycle

import (
	"math"

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
	Choke         float64 // fixed: pressure at the throat over saturation pressure of the liquid, about 0.85
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

// cpa is the specific heat of moist air per kg of dry air (ASHRAE Fundamentals).
func cpa(w float64) float64 { return 1006 + 1860*w }

// airH is the enthalpy of moist air, J per kg of dry air (ASHRAE Fundamentals).
func airH(t, w float64) float64 { return 1006*(t-273.15) + w*(2501e3+1860*(t-273.15)) }

// satP is the saturation pressure of water, Pa, in Magnus' form with the
// coefficients of Alduchov and Eskridge 1996 (from memory), which suffices for a
// coil and is quick.
func satP(t float64) float64 {
	c := t - 273.15
	return 610.94 * math.Exp(17.625*c/(c+243.04))
}

// satH is the enthalpy of saturated air.
func satH(t, p float64) float64 {
	e := satP(t)
	return airH(t, 0.621945*e/(p-e))
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

// Humidity is the humidity ratio of air at t with wet bulb wb, K, and pressure p,
// Pa: the psychrometric equation of ASHRAE Fundamentals above freezing, with the
// package's own saturation pressure.
func Humidity(t, wb, p float64) float64 {
	e := satP(wb)
	ws := 0.621945 * e / (p - e)
	tc, wc := t-273.15, wb-273.15
	return max(0, ((2501-2.326*wc)*ws-1.006*(tc-wc))/(2501+1.86*tc-4.186*wc))
}
