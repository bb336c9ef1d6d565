package section

import (
	"testing"

	"retrostage/app/chart"
	"retrostage/app/theme"
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
