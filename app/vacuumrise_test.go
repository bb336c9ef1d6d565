package app

import (
	"strings"
	"testing"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

func TestTheRiseIsDrawnOnceThereAreReadings(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.CloseUp))
	if body(t, b, "vacuum rise").Visible() {
		t.Error("an empty picture stands there")
	}
	if err := b.Enter(record.VacuumRise, "0, 290\n2, 335\n5, 368\n10, 396\n15, 410\n20, 420", "", ""); err != nil {
		t.Fatal(err)
	}
	if !body(t, b, "vacuum rise").Visible() {
		t.Error("no picture of the rise")
	}
	if err := b.Enter(record.VacuumRise, "", "", ""); err != nil {
		t.Fatal(err)
	}
	if body(t, b, "vacuum rise").Visible() {
		t.Error("the picture of readings that were taken out stays")
	}
}

// The list of refrigerants says class and oil; what is entered is the name alone.
func TestRefrigerantIsPickedByItsNameAndSaysItsClass(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Intake))
	r := find(t, b, record.Refrigerant)
	if len(r.Field.Says) != len(r.Field.Options) {
		t.Fatalf("%d words for %d refrigerants", len(r.Field.Says), len(r.Field.Options))
	}
	for i, o := range r.Field.Options {
		if !strings.HasPrefix(r.Field.Says[i], o+", A") {
			t.Errorf("%s is offered as %q", o, r.Field.Says[i])
		}
	}
	if r.Text() != "R-410A" {
		t.Errorf("the row holds %q", r.Text())
	}
	r.SetValue("R-32", "", "", "")
	if r.Text() != "R-32" {
		t.Errorf("the row holds %q", r.Text())
	}
	fluidNotice := func() *widget.Notice {
		for _, n := range visible[*widget.Notice](b.pane().Side) {
			if strings.Contains(n.Lines[0], " oil") {
				return n
			}
		}
		t.Fatal("nothing is said of the refrigerant")
		return nil
	}
	for _, c := range []struct {
		name      string
		flammable bool
	}{{"R-454B", true}, {"R-407C", false}, {"R-32", true}} {
		if err := b.Enter(record.Refrigerant, c.name, "", ""); err != nil {
			t.Fatal(err)
		}
		n := fluidNotice()
		if !n.Visible() || !strings.HasPrefix(n.Lines[0], c.name+": A") || (n.Tone == theme.Warning) != c.flammable || (len(n.Lines) > 1) != c.flammable {
			t.Errorf("%s: %q", c.name, n.Lines)
		}
	}
}
