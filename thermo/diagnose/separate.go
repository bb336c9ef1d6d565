package diagnose

import (
	"math"
	"slices"
	"strings"
)

// Two causes count as not separated while the first is less than apart times as
// likely as the second; less than far times, where a reading that was not taken
// would tell them apart, since asking is cheaper than being wrong.
const (
	apart = 5
	far   = 10
	both  = 3   // and one cause as long as it is less than so many times as likely alone as with the second
	tells = 1.5 // deviations by which a reading must tell two causes apart to be asked for
)

// extras are the readings beyond the needed ones, with the feature that each
// brings, the other reading that it needs, and the feature's usual deviation among
// healthy machines where it is not known (common practice, no source).
var extras = []struct {
	q, with Quantity
	f       Feature
	sigma   float64
}{
	{RestP, RestT, RestExcess, 0.75}, {ValveT, ValveT, LineDrop, 1.0}, {DischargeT, DischargeT, DischargeRise, 5}, {CondAirT, CondAirT, CondenserRise, 1.6},
	{SupplyT, SupplyT, AirDrop, 1.3}, {IndoorAir, IndoorAir, AirRatio, 0.11}, {Power, Power, PowerRatio, 0.1},
}

// separate says how many of the first causes the readings leave together, and which
// reading would separate them. Two faults that go together are no such set.
func (d *model) separate(rep *Report, all []hypothesis) {
	rep.First = 1
	for i := 1; i < min(3, len(all)); i++ {
		ask := d.asked(&all[0], &all[i])
		odds := all[0].c.P / max(all[i].c.P, 1e-300)
		if len(ask) > 0 { // what was weighed, on one scale before the start, does not stand in for that reading
			odds /= max(1, math.Exp(d.weighed(chargeOff(all[0].c.Fault, all[0].c.Severity))-d.weighed(chargeOff(all[i].c.Fault, all[i].c.Severity))))
		}
		withIt := i == 1 && !all[1].c.IsProbe && all[0].pair > 0 && all[0].partner == all[1].c.Fault && all[0].c.P-all[0].share < both*all[0].pair
		if !(odds < apart || odds < far && len(ask) > 0 || withIt) || i == 2 && len(ask) == 0 {
			break
		}
		if rep.Together {
			break
		}
		rep.First = i + 1
		for _, q := range ask {
			if !slices.Contains(rep.Ask, q) {
				rep.Ask = append(rep.Ask, q)
			}
		}
	}
	if rep.Outcome == Unsure && rep.First < 2 {
		rep.Ask = d.asked(&hypothesis{}, &all[0])
	}
}

// asked is the readings not taken that would tell two causes apart, best first.
func (d *model) asked(a, b *hypothesis) []Quantity {
	type gain struct {
		q Quantity
		z float64
	}
	var g []gain
	for _, x := range extras {
		if d.on[x.f] || x.f == AirRatio && d.k.DesignAir == 0 {
			continue
		}
		if z := math.Abs(a.pattern[x.f]-b.pattern[x.f]) / x.sigma; z >= tells {
			g = append(g, gain{x.q, z})
		}
	}
	slices.SortStableFunc(g, func(x, y gain) int {
		if x.z > y.z {
			return -1
		} else if x.z < y.z {
			return 1
		}
		return 0
	})
	var out []Quantity
	for _, x := range g {
		out = append(out, x.q)
	}
	return out
}

// Words is the outcome in words, after which the first cause's label can follow; where
// more than one cause is meant it names them all and none alone, and nothing follows
// ([Report.Single]).
func (r *Report) Words() string {
	take := func(why string) string {
		if len(r.Ask) == 0 {
			return ""
		}
		return ". The " + r.Ask[0].String() + " would tell" + why + ": take it"
	}
	switch {
	case r.Outcome == Unsure:
		return r.Outcome.String() + "; if so, likeliest: " + r.names(r.named()) + take(map[bool]string{true: " them apart"}[r.First > 1])
	case r.Outcome != Found:
		return r.Outcome.String()
	case r.Together:
		return "two faults at once explain the readings better than one: " + r.names(2)
	case r.First < 2:
		return r.Outcome.String()
	}
	return "these readings do not tell apart: " + r.names(r.First) + take(" them apart")
}

// named is how many of the first causes are meant.
func (r *Report) named() int {
	if r.Together {
		return 2
	}
	return r.First
}

// names are those of the first n causes, in the order of likelihood.
func (r *Report) names(n int) string {
	var s []string
	for _, c := range r.Causes[:min(n, len(r.Causes))] {
		s = append(s, strings.ToLower(c.Label[:1])+c.Label[1:])
	}
	if r.Together {
		return strings.Join(s, " and ")
	}
	return strings.Join(s, "; or ")
}

// Single tells whether the first cause may be named alone.
func (r *Report) Single() bool { return r.Outcome == Found && !r.Together && r.First < 2 }
