package diagnose

import (
	"fmt"
	"math"

	"retrostage/thermo/cycle"
)

// Quantity names a reading.
type Quantity int

// The readings, in SI: Pa absolute, K, kg/s of dry air, W. Those up to WetBulb are
// needed, the others help.
const (
	SuctionP Quantity = iota
	SuctionT
	LiquidP
	LiquidT
	OutdoorT // entering the condenser
	ReturnT
	WetBulb // of the return air
	DischargeT
	SupplyT
	CondAirT  // leaving the condenser
	ValveT    // liquid line at the metering device
	IndoorAir // kg/s of dry air
	Power     // W, of the compressor
	RestP     // standing pressure, unit off and at rest
	RestT     // temperature of the coil then
	Quantities
	needed = DischargeT
)

var quantityNames = [...]string{"suction pressure", "suction line temperature", "liquid pressure", "liquid line temperature", "outdoor air temperature",
	"return air temperature", "return wet bulb", "discharge temperature", "supply air temperature", "condenser leaving air", "liquid temperature at the metering device",
	"indoor airflow", "compressor power", "standing pressure", "standing temperature"}

// Keys are the short names by which assets name a doubted reading.
var quantityKeys = [...]string{"suction_pressure", "suction_temp", "liquid_pressure", "liquid_temp", "outdoor_temp", "return_db", "return_wb", "discharge_temp",
	"supply_db", "condenser_air_out", "valve_temp", "airflow", "power", "rest_pressure", "rest_temp"}

// String gives the reading in the trade's words.
func (q Quantity) String() string {
	if q < 0 || q >= Quantities {
		return "unknown reading"
	}
	return quantityNames[q]
}

// Key is the reading's short name.
func (q Quantity) Key() string {
	if q < 0 || q >= Quantities {
		return ""
	}
	return quantityKeys[q]
}

// Reading is a value with its standard uncertainty; Have is false if it was not
// taken.
type Reading struct {
	Value, U float64
	Have     bool
	Tool     string // readings of one name are of one instrument; "" is of its own
}

// Readings are all readings of one check.
type Readings [Quantities]Reading

func (r *Readings) check() error {
	for q, x := range r {
		if !x.Have {
			if Quantity(q) < needed {
				return fmt.Errorf("diagnose: %s is needed", Quantity(q))
			}
			continue
		}
		if !(x.Value > 0) || math.IsInf(x.Value, 0) || !(x.U > 0) || math.IsInf(x.U, 0) {
			return fmt.Errorf("diagnose: %s %v +- %v; value and doubt must be above 0", Quantity(q), x.Value, x.U)
		}
	}
	if r[RestP].Have != r[RestT].Have {
		return fmt.Errorf("diagnose: %s and %s go together", RestP, RestT)
	}
	return nil
}

// Feature is a number reckoned from readings that tells of faults.
type Feature int

// The features. Temperatures and differences in K, AirRatio and PowerRatio as
// natural logarithms.
const (
	Evaporating Feature = iota
	Superheat
	OverAmbient
	Subcooling
	DischargeRise // discharge gas over condensing temperature
	CondenserRise
	AirDrop
	LineDrop // liquid line temperature from outdoor unit to metering device
	AirRatio // of the design
	PowerRatio
	RestExcess // saturation temperature of the standing pressure over the coil's
	Features
)

var featureNames = [...]string{"evaporating temperature", "superheat", "condensing over ambient", "subcooling", "discharge over condensing",
	"condenser air rise", "indoor air drop", "liquid line drop", "indoor airflow", "compressor power", "standing pressure excess"}

// String gives the feature in the trade's words.
func (f Feature) String() string {
	if f < 0 || f >= Features {
		return "unknown feature"
	}
	return featureNames[f]
}

// vector is one value per feature.
type vector [Features]float64

// features reckons all features from readings x; those whose readings are absent
// are meaningless and masked by present.
func features(p *cycle.Props, x *[Quantities]float64, designAir float64) vector {
	dew := p.DewT(x[LiquidP])
	v := vector{
		Evaporating:   p.DewT(x[SuctionP]),
		OverAmbient:   dew - x[OutdoorT],
		Subcooling:    p.BubbleT(x[LiquidP]) - x[LiquidT],
		DischargeRise: x[DischargeT] - dew,
		CondenserRise: x[CondAirT] - x[OutdoorT],
		AirDrop:       x[ReturnT] - x[SupplyT],
		LineDrop:      x[LiquidT] - x[ValveT],
	}
	v[Superheat] = x[SuctionT] - v[Evaporating]
	if x[IndoorAir] > 0 {
		v[AirRatio] = math.Log(x[IndoorAir] / designAir)
	}
	if x[Power] > 0 {
		v[PowerRatio] = math.Log(x[Power])
	}
	if x[RestP] > 0 {
		v[RestExcess] = p.DewT(x[RestP]) - x[RestT]
	}
	return v
}

// present tells which features the readings allow.
func (r *Readings) present(designAir bool) (on [Features]bool) {
	on[Evaporating], on[Superheat], on[OverAmbient], on[Subcooling] = true, true, true, true
	on[DischargeRise] = r[DischargeT].Have
	on[CondenserRise] = r[CondAirT].Have
	on[AirDrop] = r[SupplyT].Have
	on[LineDrop] = r[ValveT].Have
	on[AirRatio] = r[IndoorAir].Have && designAir
	on[PowerRatio] = r[Power].Have
	on[RestExcess] = r[RestP].Have
	return on
}

// atRest is the standing pressure at a coil temperature, Pa. About three tenths of
// the charge stands as gas then (density of the charge in the volumes of a usual
// machine), so a blend's pressure lies that far from its bubble to its dew point.
// Gas that does not condense is in the condenser while the machine runs, and
// spreads over all of it at rest.
func atRest(m *cycle.Machine, t float64) float64 {
	bub, dew := m.Props.LnBubbleP(t), m.Props.LnDewP(t)
	all := m.Cond.Volume + m.Evap.Volume + m.SuctionVolume + m.Accumulator.Volume
	return math.Exp(bub+0.3*(dew-bub)) + m.Gas*m.Cond.Volume/all
}

// Show is what faultless instruments would read on a machine in a state; rest
// readings are those of a coil at outdoor temperature.
func Show(m *cycle.Machine, s *cycle.State, c cycle.Conditions) [Quantities]float64 {
	return [Quantities]float64{
		SuctionP: s.SuctionP, SuctionT: s.SuctionT, LiquidP: s.DischargeP, LiquidT: s.LiquidT, OutdoorT: c.Outdoor, ReturnT: c.Return,
		WetBulb: c.WetBulb, DischargeT: s.DischargeT, SupplyT: s.SupplyT, CondAirT: s.CondAirOut, ValveT: s.ValveT, IndoorAir: m.Evap.Air,
		Power: s.Power, RestP: atRest(m, c.Outdoor), RestT: c.Outdoor,
	}
}
