package fluid

import (
	"math"
	"strings"
	"testing"
)

// Every fluid a person may pick says what it is, and every statement its source.
func TestInfo(t *testing.T) {
	for _, f := range all(t) {
		i := f.Info()
		if i.Class == "" || i.Family == "" || len(i.Oils) == 0 || len(i.Restrictions) < 2 || i.Citation == "" {
			t.Errorf("%s: incomplete: %+v", f.name, i)
		}
		for _, n := range append([]Note{i.ClassNote, i.Caution, i.OilNote}, i.Restrictions...) {
			if n.Text == "" || n.Source == "" || n.Mark == "" || !strings.Contains("S S2 M P", n.Mark) {
				t.Errorf("%s: statement without text, source or mark: %+v", f.name, n)
			}
		}
		if i.Flammable != strings.Contains(i.Class, "2") || i.Flammable != strings.Contains(i.Brief(), "flammable") {
			t.Errorf("%s: %s, flammable %t, %q", f.name, i.Class, i.Flammable, i.Brief())
		}
		vent := false
		for _, n := range i.Restrictions {
			vent = vent || strings.Contains(n.Source, "40 CFR 82.154")
		}
		if !vent {
			t.Errorf("%s: no word on venting", f.name)
		}
		if math.Abs(i.BoilingT+i.Glide-i.BoilingDewT) > 1e-9 || i.Glide < 0 || (f.kind == pure) != (i.Glide == 0) {
			t.Errorf("%s: boils at %g K, dew %g K, glide %g K", f.name, i.BoilingT, i.BoilingDewT, i.Glide)
		}
		var mass, mole float64
		for _, p := range i.Parts {
			mass, mole = mass+p.Mass, mole+p.Mole
		}
		if math.Abs(mass-1) > 1e-12 || math.Abs(mole-1) > 1e-12 {
			t.Errorf("%s: parts add up to %g and %g", f.name, mass, mole)
		}
	}
}

func TestNoteCited(t *testing.T) {
	for _, c := range []struct {
		note Note
		want string
	}{
		{Note{Source: "40 CFR 82.154", Mark: "M"}, "40 CFR 82.154; from memory"},
		{Note{Source: "common practice, no source", Mark: "P"}, "common practice, no source"},
		{Note{Source: "a page", Mark: "S2"}, "a page; read in a page that restates it"},
		{Note{Source: "unmarked"}, "unmarked"},
	} {
		if got := c.note.Cited(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.note, got, c.want)
		}
	}
}
