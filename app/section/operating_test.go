package section

import (
	"slices"
	"strings"
	"testing"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// The map has both old stages and the new one; that the new one runs where it may is
// said only with a region, of all that was drawn, and what lies outside is ringed.
func TestTheOperatingMapSaysNoMoreThanItShows(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	m, err := assess.New(j).Matches()
	if err != nil || m.Plane == nil {
		t.Fatalf("%v, %v", m, err)
	}
	const lies = "lie in it"
	count := func(p *chart.Picture) (rings, words int) {
		for _, it := range p.Items {
			switch x := it.(type) {
			case chart.Mark:
				if x.Shape == chart.Ring && x.Tone == theme.Bad {
					rings++
				}
			case chart.Text:
				words++
			}
		}
		return rings, words
	}
	full := *m.Plane
	p, says := operatingPicture(m, units.IP)
	if rings, words := count(p); rings != 0 || words != 3 || !strings.Contains(says, lies) {
		t.Errorf("%d rings, %d names; %s", rings, words, says)
	}
	// No region stated.
	m.Plane.Envelope = nil
	if p, says = operatingPicture(m, units.SI); p == nil || strings.Contains(says, lies) || strings.Contains(says, "Shaded") {
		t.Errorf("without a region: %s", says)
	}
	// One weather outside.
	*m.Plane = full
	m.Plane.New = slices.Clone(full.New)
	m.Plane.New[0].Outside = "condensing below its range"
	p, says = operatingPicture(m, units.IP)
	if rings, _ := count(p); rings != 1 || strings.Contains(says, lies) || !strings.Contains(says, "outside it, 1 of") {
		t.Errorf("one outside: %d rings; %s", rings, says)
	}
	// Weather without a state of the model.
	*m.Plane = full
	m.Plane.New = full.New[:len(full.New)-1]
	if _, says = operatingPicture(m, units.IP); !strings.Contains(says, "In 1 more the model finds no state") {
		t.Errorf("one without a state: %s", says)
	}
	m.Plane = nil
	if p, says = operatingPicture(m, units.IP); p != nil || says != "" {
		t.Errorf("nothing known: %s", says)
	}
}
