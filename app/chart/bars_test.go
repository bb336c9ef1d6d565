package chart

import (
	"math"
	"testing"
)

// TestBars: every bar lies inside the picture with its name; one without numbers is
// left out, and none at all says so.
func TestBars(t *testing.T) {
	zero := 0.0
	p := Bars{Bars: []Bar{{Name: "a", From: -3, To: 5, Mid: math.NaN()}, {Name: "b", From: math.NaN(), To: 1}, {Name: "c", From: 2, To: 9, Mid: 4, Says: "9"}}, Zero: &zero}.Picture()
	areas, names, marks := 0, 0, 0
	for _, i := range p.Items {
		switch i := i.(type) {
		case Area:
			areas++
			for _, q := range i.Pts {
				if q.X < p.X.Min || q.X > p.X.Max || q.Y < p.Y.Min || q.Y > p.Y.Max {
					t.Errorf("corner %v lies outside", q)
				}
			}
		case Text:
			names++
		case Mark:
			marks++
		}
	}
	if areas != 2 || names != 3 || marks != 1 {
		t.Errorf("%d bars, %d words, %d marks", areas, names, marks)
	}
	if p := (Bars{}).Picture(); !p.Empty() || p.Note == "" {
		t.Error("no bars, and nothing said")
	}
}

// Four patches, each with its word and none drawn like another.
func TestOilPatches(t *testing.T) {
	p := Patches(OilPatches)
	words, rounds, marks := 0, 0, 0
	for _, it := range p.Items {
		switch it.(type) {
		case Text:
			words++
		case Round:
			rounds++
		case Mark:
			marks++
		}
	}
	if words != 4 || rounds != 4 || marks == 0 {
		t.Errorf("%d words, %d patches, %d marks", words, rounds, marks)
	}
	seen := map[Patch]bool{}
	for _, q := range OilPatches {
		q.Name = ""
		if seen[q] {
			t.Errorf("%+v twice", q)
		}
		seen[q] = true
	}
}
