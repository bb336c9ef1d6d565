package choice

import (
	"errors"
	"fmt"
)

// Refrigerant is what of it an option needs.
type Refrigerant struct {
	Name         string
	Kg           Spread  // bought at once
	PerKg        Spread  // money
	Leak         Spread  // kg a year, made up
	Rise         float64 // of its price, a year, above inflation
	Availability string  // rule and date read, or "from memory"
}

// Option is one thing that can be done. Money is in the job's own currency.
type Option struct {
	Key, Name string

	Part, Labour, Other, Disposal Spread // money, once
	Refrigerant                   Refrigerant
	Upkeep                        Spread // money a year
	Energy                        Spread // kWh a season at the hours of Terms
	Lives                         []Life

	Warranty Warranty
	Wait     Spread // days until it cools again
	Waited   bool   // Wait was stated, if as none
	Lost     []string
	Unmet    float64 // share of the season's load that it does not meet

	// Missing is what was not entered without which it cannot be compared. An option
	// that does not cool (to leave it) says so here.
	Missing []string
}

// Warranty is years left on parts and on labour; shown, not priced.
type Warranty struct {
	Parts, Labour float64
	Known         bool // stated, if as none
}

// Terms are what all options share.
type Terms struct {
	Discount   float64 // a year, above inflation
	Tariff     Spread  // money per kWh
	TariffRise float64 // a year, above inflation
	Hours      Spread  // cooling hours a season, over those that Energy was found for: about 1
	Horizon    float64 // years over which running costs are levelled
	HeatPump   bool
}

// ErrHeatPump is why a heat pump is not compared.
var ErrHeatPump = errors.New("choice: a heat pump is not compared here: it heats too, and neither its heating season nor what its controls do then is known to this program")

func (t Terms) check() error {
	if t.HeatPump {
		return ErrHeatPump
	}
	for _, v := range []struct {
		what      string
		x, lo, hi float64
	}{{"discount rate", t.Discount, 0, 0.3}, {"rise of the tariff", t.TariffRise, -0.1, 0.3}, {"years", t.Horizon, 1, Longest}} {
		if !(v.x >= v.lo && v.x <= v.hi) {
			return fmt.Errorf("choice: %s %g; allowed %g to %g", v.what, v.x, v.lo, v.hi)
		}
	}
	return errors.Join(t.Tariff.check("tariff"), t.Hours.check("hours"))
}

func (o Option) check() error {
	for _, p := range o.spreads() {
		if err := p.s.check(o.Name + ": " + p.name); err != nil {
			return err
		}
	}
	if r := o.Refrigerant.Rise; !(r >= -0.1 && r <= 0.5) {
		return fmt.Errorf("choice: %s: rise of the refrigerant's price %g; allowed -0.1 to 0.5", o.Name, r)
	}
	if len(o.Lives) == 0 {
		return fmt.Errorf("choice: %s: no part's life is known", o.Name)
	}
	for _, l := range o.Lives {
		if err := l.check(); err != nil {
			return err
		}
	}
	return nil
}

// named is a spread by its name, to be read and to be moved.
type named struct {
	name string
	s    *Spread
}

func (o *Option) spreads() []named {
	return []named{
		{"part", &o.Part}, {"labour", &o.Labour}, {"other", &o.Other}, {"disposal", &o.Disposal},
		{"refrigerant, kg", &o.Refrigerant.Kg}, {"refrigerant, price", &o.Refrigerant.PerKg}, {"refrigerant, leak", &o.Refrigerant.Leak},
		{"upkeep", &o.Upkeep}, {"energy", &o.Energy},
	}
}

// capital is the expected sum paid at once. Its factors are independent, so that
// the mean of a product is the product of means.
func (o Option) capital() float64 {
	return o.Part.Mean() + o.Labour.Mean() + o.Other.Mean() + o.Disposal.Mean() + o.Refrigerant.Kg.Mean()*o.Refrigerant.PerKg.Mean()
}

// energy and refill are the expected running costs beside upkeep, a year.
func (o Option) energy(t Terms) float64 {
	return o.Energy.Mean() * t.Hours.Mean() * t.Tariff.Mean() * level(t.TariffRise, t.Discount, t.Horizon)
}

func (o Option) refill(t Terms) float64 {
	return o.Refrigerant.Leak.Mean() * o.Refrigerant.PerKg.Mean() * level(o.Refrigerant.Rise, t.Discount, t.Horizon)
}
