package diagnose

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"retrostage/thermo/cycle"
)

// strange is the tail probability below which commissioning readings are not those of a
// sound machine of this kind, and are not taken.
const strange = 1e-3

// leftAt is the standard doubt of the subcooling or superheat that a machine was left
// at, K: field gauges and a clamp.
const leftAt = 1.2

// sights are the readings that a machine is fitted to. The second number is how far the
// model may lie off by itself: a share of a pressure, of air or power, else K. It
// follows Spread.Model; a kelvin of saturation is about 3 % of pressure.
var sights = []struct {
	q     Quantity
	model float64
	with  Quantity // air whose doubt this reading follows one to one; itself: none
}{
	{SuctionP, 0.02, SuctionP}, {SuctionT, 0.9, SuctionT}, {LiquidP, 0.018, LiquidP}, {LiquidT, 0.7, OutdoorT}, {DischargeT, 1.6, DischargeT},
	{SupplyT, 0.5, ReturnT}, {CondAirT, 0.6, OutdoorT}, {Power, 0.03, Power}, {IndoorAir, 0.02, IndoorAir},
}

// commissioned fits the typical machine to its commissioning readings; why says what
// stands against it, where it is nil.
func commissioned(k Machine, sp Spread) (fit *cycle.Fitted, why string) {
	then, r := k, *k.Commissioned
	then.Commissioned, then.UWeighed = nil, 0
	if err := r.check(); err != nil {
		return nil, err.Error()
	}
	// It was left at what was read, as well as that was read.
	then.Target, then.UTarget = k.Props.BubbleT(r[LiquidP].Value)-r[LiquidT].Value, leftAt
	if k.Fixed {
		then.Target = r[SuctionT].Value - k.Props.DewT(r[SuctionP].Value)
	}
	d, err := newModel(then, &r, sp)
	if err != nil {
		return nil, err.Error()
	}
	free := d.free()
	for _, q := range []Quantity{OutdoorT, WetBulb} { // the weather of then is known as well as it was read
		u := r[q].U
		free = append(free, func(s *cycle.Setup, z float64) {
			x := d.x
			x[OutdoorT], x[ReturnT], x[WetBulb] = s.Conditions.Outdoor, s.Conditions.Return, s.Conditions.WetBulb
			x[q] += u * z
			x[WetBulb] = math.Min(x[WetBulb], x[ReturnT])
			if c, err := d.weather(&x); err == nil {
				s.Conditions = c
			}
		})
	}
	var seen []cycle.Sight
	for _, x := range sights {
		v := r[x.q]
		if !v.Have {
			continue
		}
		share := isPressure(x.q) || x.q == Power || x.q == IndoorAir
		u, read := math.Hypot(v.U, x.model), v.Value
		if share {
			u, read = math.Hypot(v.U/v.Value, x.model), math.Log(v.Value)
		}
		if x.with != x.q {
			u = math.Hypot(u, r[x.with].U)
		}
		seen = append(seen, cycle.Sight{Read: read, U: u, Of: func(m *cycle.Machine, s *cycle.State, c *cycle.Conditions) float64 {
			y := Show(m, s, *c)[x.q]
			if share {
				return math.Log(y)
			}
			return y
		}})
	}
	f, err := cycle.Fit(cycle.Setup{Machine: *d.m, Conditions: d.c, Target: then.Target}, then.mode(), free, seen)
	if err != nil {
		return nil, err.Error()
	}
	if p := (distuv.ChiSquared{K: float64(f.N)}).Survival(f.Chi2); p < strange {
		return nil, fmt.Sprintf("the commissioning readings are not those of a sound machine of this kind (chi-squared %.0f of %d readings)", f.Chi2, f.N)
	}
	return f, ""
}
