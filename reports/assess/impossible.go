package assess

import (
	"fmt"
	"math"
	"strings"

	"retrostage/reports/record"
	"retrostage/reports/uncertainty"
)

// impossible are the readings of the running unit that cannot stand beside each other,
// whatever is wrong with the unit. No finding that takes one of them is within, and the
// causes are not ranked by them.
func (c *context) impossible() []Problem {
	ps, _ := remember(c, memoKey{kind: memoImpossible}, func() ([]Problem, error) { return c.impossibleOnce(), nil })
	return ps
}

func (c *context) impossibleOnce() []Problem {
	ps := []Problem{}
	say := func(key record.Key, err error) {
		if err != nil {
			ps = append(ps, Problem{key, err.Error()})
		}
	}
	for _, key := range []record.Key{record.SuctionPressure, record.LiquidPressure, record.DischargePressure} {
		p, _, ok := c.absolute(key)
		switch {
		case !ok:
		case p <= 0:
			say(key, fmt.Errorf("this is below a perfect vacuum at the site's air pressure of %s", c.barometric(c.site.si)))
		case c.fluid != nil && key == record.SuctionPressure:
			_, err := c.fluid.DewT(p)
			say(key, err)
		case c.fluid != nil:
			_, err := c.fluid.BubbleT(p)
			say(key, err)
		}
	}
	lo, _, low := c.absolute(record.SuctionPressure)
	hi, uhi, high := c.absolute(record.LiquidPressure)
	if low && high && hi <= lo {
		say(record.LiquidPressure, fmt.Errorf("not above the suction pressure: is the unit running, are the hoses swapped?"))
	}
	if p, u, ok := c.absolute(record.DischargePressure); ok && high && hi-p > 2*uncertainty.Combine(u, uhi) {
		say(record.DischargePressure, fmt.Errorf("below the liquid pressure, toward which it flows: read both again"))
	}
	if r, s := c.reading(record.ReturnDB), c.reading(record.ReturnWB); r != nil && s != nil && s.si > r.si {
		say(record.ReturnWB, fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	if r, s := c.reading(record.SupplyDB), c.reading(record.SupplyWB); r != nil && s != nil && s.si > r.si {
		say(record.SupplyWB, fmt.Errorf("a wet bulb cannot be above the dry bulb"))
	}
	say(record.Barometer, c.reducedBarometer())
	for _, p := range differ {
		say(p[0], c.copied(p[0], p[1]))
	}
	say(record.SuctionPressure, c.warmerThanItsAir())
	say(record.DischargeTemp, c.notCompressed())
	return ps
}

// absolute is a pressure as read, Pa, with its standard uncertainty.
func (c *context) absolute(key record.Key) (p, u float64, ok bool) {
	r := c.reading(key)
	switch {
	case r == nil:
		return 0, 0, false
	case r.gauge:
		return r.si + c.site.si, uncertainty.Combine(r.u, c.site.u), true
	}
	return r.si, r.u, true
}

// warmerThanItsAir asks about a low side whose refrigerant is warmer than the air that it
// is said to have cooled. The coldest of it is at its bubble temperature, at the lowest
// pressure, which is that of the suction.
func (c *context) warmerThanItsAir() error {
	p, u, ok := c.absolute(record.SuctionPressure)
	supply, back := c.reading(record.SupplyDB), c.reading(record.ReturnDB)
	if !ok || c.fluid == nil || supply == nil || back == nil || supply.si >= back.si {
		return nil
	}
	least, err := c.fluid.BubbleT(p - 2*u)
	if err != nil || least <= supply.si+2*supply.u {
		return nil
	}
	return fmt.Errorf("at this pressure the refrigerant boils warmer than the supply air that it cools: read both again")
}

// notCompressed asks about a discharge that is no hotter than the suction, or may be wet
// where the suction is surely dry: gas comes out of a compressor hotter than it went in,
// and farther from its dew line.
func (c *context) notCompressed() error {
	in, out := c.reading(record.SuctionTemp), c.reading(record.DischargeTemp)
	if in == nil || out == nil {
		return nil
	}
	if c.copied(record.DischargeTemp, record.SuctionTemp) == nil && out.si <= in.si {
		return fmt.Errorf("not hotter than the suction line: are the clamps exchanged? Read both again")
	}
	if c.input(is(record.SuctionPressure)) != nil && c.phase("suction") == nil && c.phase("discharge") != nil {
		return fmt.Errorf("at or near saturation, while dry gas goes in: read it again, on bare pipe and insulated from the air")
	}
	return nil
}

// stands tells why a finding of the running unit is not within, whatever its number: a
// reading of it cannot be.
func (c *context) stands(used []*reading) string {
	for _, p := range c.impossible() {
		for _, r := range used {
			if r.field == p.Key || r.gauge && p.Key == record.Barometer {
				return fmt.Sprintf("%s: %s", p.Key.Label(), p.Text)
			}
		}
	}
	if apart := c.spread(func(yield func(record.Key) bool) {
		for _, r := range used {
			if !yield(r.field) {
				return
			}
		}
	}); apart > oneState {
		return fmt.Sprintf("its readings were entered %.0f min apart, and the unit drifts meanwhile: read them again together, or say in the running check how they were entered", apart.Minutes())
	}
	return ""
}

// differ are readings of a running unit that cannot be the same: to the last digit
// the same, one was entered in the place of the other.
var differ = [][2]record.Key{{record.SuctionTemp, record.LiquidTemp}, {record.DischargeTemp, record.LiquidTemp}, {record.DischargeTemp, record.SuctionTemp},
	{record.ValveTemp, record.SuctionTemp}, {record.OutdoorTemp, record.LiquidTemp}, {record.SupplyDB, record.ReturnDB},
	{record.RestPressure, record.LiquidPressure}, {record.RestPressure, record.SuctionPressure}}

// copied asks about the first of two readings where it is the same as the second.
func (c *context) copied(a, b record.Key) error {
	x, y := c.reading(a), c.reading(b)
	if x == nil || y == nil || math.Abs(x.si-y.si) > 1e-9*math.Abs(y.si) {
		return nil
	}
	return fmt.Errorf("the same as %s, which cannot be while the unit runs: read both again", strings.ToLower(b.Label()[:1])+b.Label()[1:])
}
