package cause

import (
	"cmp"
	"math"
	"slices"
)

// Test is something to do next: how much it is expected to tell, bit, and how long it
// takes.
type Test struct {
	Observation Observation
	Bits        float64
	Caution     string
}

// PerMinute is what it tells for its time.
func (t Test) PerMinute() float64 { return t.Bits / math.Max(t.Observation.Minutes, 1) }

// Doubt is how much is not known of what failed, bit: 0 where one kind is certain.
func (x Examination) Doubt() float64 {
	sum := 0.0
	for _, r := range x.Ranking {
		if r.P > 0 {
			sum -= r.P * math.Log2(r.P)
		}
	}
	return sum
}

// Costs is the share of the doubt that is expected to stay where a test is left out and
// would go if it were done, 0 to 1.
func (x Examination) Costs(t Test) float64 {
	if d := x.Doubt(); d > 0 {
		return math.Min(1, t.Bits/d)
	}
	return 0
}

// next lists the tests that can be done now, those that tell most per minute first.
// Nothing that switches the compressor on is offered before its insulation is known
// to be good and its windings whole.
func (e Evidence) next(p [kinds]float64, x Examination) (out []Test) {
	paths, ins := x.key("paths"), x.key("insulation")
	mayTry := (paths == "whole" || paths == "common closed") && slices.Contains([]string{"below 20", "below 100", "above"}, ins)
	for _, o := range x.NotDone {
		switch {
		case o.Key == "reason": // it follows from three others
			continue
		case o.Key == "terminals" && !slices.Contains([]string{"start", "run", "none", "common waited"}, paths):
			continue
		case o.Key == "again" && ins != "below 0.1" && ins != "below 0.5":
			continue
		}
		t := Test{Observation: o, Bits: told(p, o)}
		switch o.When {
		case "try":
			if !mayTry {
				continue
			}
			t.Caution = "Switch it on only with its terminal cover and panels on, from a distance; not in a vacuum."
		case "data":
			if paths != "whole" {
				continue
			}
		case "open":
			t.Caution = "Recover first: oil and refrigerant of a burnt compressor are acid."
		case "live":
			t.Caution = "Live parts: licensed practice and protection. Not where the breaker trips at once."
		case "dead":
			t.Caution = "Locked out, proved dead, capacitor discharged."
		}
		out = append(out, t)
	}
	// A test half done is worth finishing.
	if paths == "common" || x.key("try") == "hums" {
		for _, f := range x.Found {
			if f.Observation.Key == "paths" && paths == "common" || f.Observation.Key == "try" && x.key("try") == "hums" && mayTry {
				out = append(out, Test{Observation: f.Observation, Bits: told(p, f.Observation)})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Test) int { return cmp.Compare(b.PerMinute(), a.PerMinute()) })
	return out
}

// told is the information that an observation is expected to bring, bit.
func told(p [kinds]float64, o Observation) float64 {
	sum := 0.0
	for _, c := range o.Categories {
		if c.Part {
			continue
		}
		q := 0.0
		for k := range kinds {
			q += p[k] * c.P[k]
		}
		for k := range kinds {
			if p[k] > 0 {
				sum += p[k] * c.P[k] * math.Log2(c.P[k]/q)
			}
		}
	}
	return math.Max(sum, 0)
}
