package chart

import "testing"

// Between states of which one was not measured no line is drawn.
func TestNoLineThatWasNotMeasured(t *testing.T) {
	suction, discharge := Point{H: 126, P: 130}, Point{H: 143, P: 390}
	liquid, after := Point{H: 62, P: 380}, Point{H: 62, P: 130}
	apart := func(p Point) Point { p.Apart = true; return p }
	at := func(p Point) Pt { return Pt{X: p.H, Y: p.P} }
	for name, c := range map[string]struct {
		cycle    []Point
		lines    [][2]Point
		notLines [][2]Point
	}{
		"whole":        {[]Point{suction, discharge, liquid, after}, [][2]Point{{suction, discharge}, {discharge, liquid}, {liquid, after}, {after, suction}}, nil},
		"no discharge": {[]Point{suction, apart(liquid), after}, [][2]Point{{liquid, after}, {after, suction}}, [][2]Point{{suction, liquid}}},
		"liquid boils": {[]Point{apart(suction), discharge, liquid}, [][2]Point{{suction, discharge}, {discharge, liquid}}, [][2]Point{{liquid, suction}}},
		"both":         {[]Point{apart(suction), apart(liquid)}, nil, [][2]Point{{suction, liquid}}},
		"no pressure":  {[]Point{suction, {H: 143}, liquid, after}, [][2]Point{{liquid, after}, {after, suction}}, [][2]Point{{suction, liquid}}},
	} {
		drawn := map[[2]Pt]bool{}
		n := 0
		for _, run := range (PH{Cycle: c.cycle}).runs() {
			for i := 1; i < len(run); i++ {
				drawn[[2]Pt{run[i-1], run[i]}], drawn[[2]Pt{run[i], run[i-1]}] = true, true
				n++
			}
		}
		if n != len(c.lines) {
			t.Errorf("%s: %d lines, want %d", name, n, len(c.lines))
		}
		for _, l := range c.lines {
			if !drawn[[2]Pt{at(l[0]), at(l[1])}] {
				t.Errorf("%s: no line from %v to %v", name, l[0], l[1])
			}
		}
		for _, l := range c.notLines {
			if drawn[[2]Pt{at(l[0]), at(l[1])}] {
				t.Errorf("%s: a line from %v to %v", name, l[0], l[1])
			}
		}
	}
}
