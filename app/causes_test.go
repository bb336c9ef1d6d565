package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// words are all the words standing in a box.
func wordsIn(c fyne.CanvasObject) string {
	var out []string
	for _, o := range c.(*fyne.Container).Objects {
		switch x := o.(type) {
		case *widget.Words:
			out = append(out, x.Text)
		case *widget.Heading:
			out = append(out, x.Text)
		case *widget.Notice:
			out = append(out, x.Lines...)
		case *widget.Card:
			out = append(out, x.Title, x.Word, x.Why)
		case *widget.Table:
			for _, r := range x.Rows {
				out = append(out, strings.Join(r.Cells, "|"))
			}
		}
	}
	return strings.Join(out, "\n")
}

// The list of causes follows what is entered and says what it lacks.
func TestCausesFollowTheReadings(t *testing.T) {
	b, _ := bench(t, record.New("empty"))
	b.Go(stepIndex(record.Running))
	if got := wordsIn(body(t, b, "causes")); !strings.Contains(got, "No ranking without") {
		t.Errorf("with nothing entered: %s", got)
	}
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	before := wordsIn(body(t, b, "causes"))
	if !strings.Contains(before, "Nothing wrong: ") {
		t.Fatalf("with all entered: %s", before)
	}
	// A unit short of charge: low pressures, much superheat, little subcooling.
	for key, v := range map[record.Key]string{record.SuctionPressure: "96", record.SuctionTemp: "64", record.LiquidPressure: "310", record.LiquidTemp: "99.5", record.DischargeTemp: "196", record.SupplyDB: "62"} {
		find(t, b, key).Focus()
		typeIn(t, w, v)
		press(t, w, fyne.KeyTab)
	}
	after := wordsIn(body(t, b, "causes"))
	if !strings.Contains(after, "oo little refrigerant") || !strings.Contains(after, "|For") || after == before {
		t.Errorf("short of charge: %s", after)
	}
}
