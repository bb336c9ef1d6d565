package choice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Swing is what one quantity, moved from one end of its doubt to the other with all
// others at their middle, does to the lead of the first option over the second, in
// money a year. Below zero the second leads.
type Swing struct {
	Name      string
	From, To  float64 // of the quantity
	Low, High float64 // lead at From and at To
	Recalled  bool    // its numbers are from memory
}

// Width is how far the lead moves.
func (s Swing) Width() float64 { return math.Abs(s.High - s.Low) }

// Turns tells whether the lead changes hands within it.
func (s Swing) Turns() bool { return (s.Low < 0) != (s.High < 0) }

// knob is a quantity that can be moved in a copy of the options.
type knob struct {
	name     string
	from, to float64
	recalled bool
	turn     func(os []Option, t *Terms, v float64)
}

// tornado moves every quantity in doubt by itself, and lists them by what they do
// to the lead of the option first over the option second. Neither may lack anything.
func tornado(options []Option, t Terms, first, second int, known map[Life][]float64) ([]Swing, error) {
	if first == second || len(options[first].Missing)+len(options[second].Missing) > 0 {
		return nil, fmt.Errorf("choice: a lead needs two options that can be compared")
	}
	lead := func(k knob, v float64) (float64, error) {
		os := []Option{clone(options[first]), clone(options[second])}
		u := t
		k.turn(os, &u, v)
		n, err := compare(os, u, known)
		if err != nil {
			return 0, fmt.Errorf("%s at %g: %w", k.name, v, err)
		}
		l := n.Costs[1].PerYear - n.Costs[0].PerYear
		if n.Costs[0].Option == 1 {
			l = -l
		}
		return l, nil
	}
	var out []Swing
	for _, k := range knobs(options[first], options[second], t) {
		lo, err := lead(k, k.from)
		if err != nil {
			return nil, err
		}
		hi, err := lead(k, k.to)
		if err != nil {
			return nil, err
		}
		out = append(out, Swing{k.name, k.from, k.to, lo, hi, k.recalled})
	}
	slices.SortStableFunc(out, func(a, b Swing) int { return cmp.Compare(b.Width(), a.Width()) })
	return out, nil
}

func clone(o Option) Option { o.Lives = slices.Clone(o.Lives); return o }

func knobs(a, b Option, t Terms) []knob {
	var ks []knob
	if t.Tariff.wide() {
		ks = append(ks, knob{"tariff", t.Tariff.Low, t.Tariff.High, false, func(_ []Option, t *Terms, v float64) { t.Tariff = Sure(v) }})
	}
	if t.Hours.wide() {
		ks = append(ks, knob{"cooling hours, over those set", t.Hours.Low, t.Hours.High, false, func(_ []Option, t *Terms, v float64) { t.Hours = Sure(v) }})
	}
	for i, o := range []Option{a, b} {
		for j, s := range o.spreads() {
			if s.s.wide() {
				ks = append(ks, knob{o.Name + ": " + s.name, s.s.Low, s.s.High, false, func(os []Option, _ *Terms, v float64) { *os[i].spreads()[j].s = Sure(v) }})
			}
		}
	}
	return append(ks, lifeKnobs(a, b)...)
}

// lifeKnobs move the scale within its doubt, and the shape by a quarter, of each
// part's life, in every option that has the part.
func lifeKnobs(a, b Option) []knob {
	var ks []knob
	seen := map[string]bool{}
	for _, l := range slices.Concat(a.Lives, b.Lives) {
		if seen[l.Part] {
			continue
		}
		seen[l.Part] = true
		each := func(os []Option, f func(*Life)) {
			for i := range os {
				for j := range os[i].Lives {
					if os[i].Lives[j].Part == l.Part {
						f(&os[i].Lives[j])
					}
				}
			}
		}
		if l.Doubt > 0 {
			// By its share: the part may be listed with another scale in the other option.
			scale := l.Scale
			ks = append(ks, knob{"life of " + l.Part + ": scale", scale * (1 - l.Doubt), scale * (1 + l.Doubt), l.Recalled,
				func(os []Option, _ *Terms, v float64) {
					each(os, func(l *Life) { l.Scale, l.Doubt = min(max(l.Scale*v/scale, 0.5), 100), 0 })
				}})
		}
		if l.Recalled {
			ks = append(ks, knob{"life of " + l.Part + ": shape", max(l.Shape*0.75, 0.5), min(l.Shape*1.25, 10), true,
				func(os []Option, _ *Terms, v float64) { each(os, func(l *Life) { l.Shape = v }) }})
		}
	}
	return ks
}
