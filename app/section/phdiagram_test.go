package section

import (
	"testing"
	"time"

	"retrostage/app/chart"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

func demoReport(t testing.TB) (*record.Job, *assess.Report) {
	t.Helper()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	r, err := assess.New(j).Report()
	if err != nil {
		t.Fatal(err)
	}
	return j, r
}

func TestPHDiagramSaysWhatItLacks(t *testing.T) {
	_, r := demoReport(t)
	if p := phPicture(r, presenter{site: r.Site}); !p.Empty() || p.Note == "" {
		t.Errorf("without a refrigerant: %d items, note %q", len(p.Items), p.Note)
	}
	if p := phPicture(r, presenter{site: r.Site, fluid: "R-0"}); !p.Empty() || p.Note == "" {
		t.Errorf("of one nobody knows: %d items, note %q", len(p.Items), p.Note)
	}
	for _, sys := range []units.System{units.IP, units.SI} {
		p := phPicture(r, presenter{system: sys, site: r.Site, fluid: r.Cycle.Fluid})
		marks := 0
		for _, it := range p.Items {
			if _, ok := it.(chart.Mark); ok {
				marks++
			}
		}
		if marks != len(r.Cycle.Points) {
			t.Errorf("%s: %d marks for %d states of the cycle", sys, marks, len(r.Cycle.Points))
		}
	}
}

// A liquid line warmer than its saturation is drawn beside the bubble line, not as
// the vapour that one phase at that pressure and temperature would be; and on its
// strip where it is, below zero.
func TestSubcoolingBelowZeroIsDrawnWhereItIs(t *testing.T) {
	j, r := demoReport(t)
	sound := r.Cycle.Points[2].H
	for _, f := range []string{"113", "116"} {
		if err := j.Set(record.Entry{Key: record.LiquidTemp, Value: f, Unit: "F", Time: time.Now()}); err != nil {
			t.Fatal(err)
		}
		r, err := assess.New(j).Report()
		if err != nil {
			t.Fatal(err)
		}
		last := r.Cycle.Points[len(r.Cycle.Points)-1]
		if len(r.Cycle.Points) != 3 || last.Name != assess.AboveSaturation {
			t.Fatalf("%s F: the cycle is %+v", f, r.Cycle.Points)
		}
		// Liquid of 113 to 116 F is some 13 to 16 kJ/kg above that of 101.2 F, vapour 160.
		if d := last.H - sound; d < 10e3 || d > 20e3 {
			t.Errorf("%s F: drawn %.0f J/kg from the liquid of 101.2 F", f, d)
		}
		q, _ := r.Find("subcooling")
		s := presenter{system: units.IP, site: r.Site}.finding(q)
		if g := chart.Lay(s.Scale); !(s.Scale.Value < 0) || g.OffLow || g.Min > s.Scale.Value {
			t.Errorf("%s F: subcooling %s lies on a scale from %g", f, s.Figure, g.Min)
		}
	}
}

// What has no quantity has no axis, and no figure.
func TestYesOrNoHasNoAxis(t *testing.T) {
	_, r := demoReport(t)
	f, ok := r.Find("winding_state")
	if !ok || !f.Measured {
		t.Fatalf("the demo job has no state of its windings: %+v", f)
	}
	s := presenter{system: units.IP, site: r.Site}.finding(f)
	if s.Figure != "" || s.Scale.Has || s.Verdict == widget.NotMeasured {
		t.Errorf("it is shown as %q, %+v", s.Figure, s.Scale)
	}
}

func TestNotJudgedStandsBelow(t *testing.T) {
	f := func(key string, v widget.Verdict) found { return found{"g", widget.Finding{Key: key, Verdict: v}} }
	got := judgedFirst([]found{f("a", widget.NotJudged), f("b", widget.Within), f("c", widget.NotJudged), f("d", widget.NotMeasured), f("e", widget.Outside)})
	order := ""
	for _, g := range got {
		order += g.strip.Key
	}
	if order != "bdeac" {
		t.Errorf("the order is %s", order)
	}
}

// What lies between a reading that is entered and its strips filled in, besides
// the toolkit's own: the assessment, and the strips of the step in words.
func BenchmarkEnteredToStrips(b *testing.B) {
	j, _ := demoReport(b)
	for b.Loop() {
		in := Input{Job: j, Shown: assess.New(j)}
		r, err := in.Shown.Report()
		if err != nil {
			b.Fatal(err)
		}
		s := in.present(r)
		for _, f := range r.Of(record.Running) {
			s.finding(f)
		}
	}
}

// One repaint of the pressure-enthalpy diagram, at the size it has on a tablet
// and as large as the window. It is rendered beside the toolkit's thread.
func BenchmarkPHDiagramRepaint(b *testing.B) {
	_, r := demoReport(b)
	p := phPicture(r, presenter{site: r.Site, fluid: r.Cycle.Fluid})
	for _, c := range []struct {
		name string
		w, h int
	}{{"600x290", 600, 290}, {"1280x800", 1280, 800}} {
		b.Run(c.name, func(b *testing.B) {
			s := chart.Style{W: c.w, H: c.h, Scale: 1, Palette: theme.Light}
			for b.Loop() {
				chart.Render(p, p.Whole(), s)
			}
		})
	}
}
