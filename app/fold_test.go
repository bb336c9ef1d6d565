package app

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/reports/record"
)

// What most jobs do without waits behind one key; what was entered there shows
// without it, and nothing waits that a step needs.
func TestSeldomFieldsWait(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Electrical))
	section.Acknowledge(b, "Dead checks")
	section.Acknowledge(b, "Live checks")
	row := func(key record.Key) bool {
		for _, r := range b.pane().Rows {
			if r.Field.Key == key.String() {
				return r.Visible()
			}
		}
		t.Fatalf("no row %s", key)
		return false
	}
	fold := func() *widget.Tap {
		for _, k := range visible[*widget.Tap](b.pane().Side) {
			if strings.Contains(k.Text, " more: ") {
				return k
			}
		}
		t.Fatal("no key to the seldom fields")
		return nil
	}
	if row(record.Pin12) || !row(record.RCS) || !row(record.CapMeter) {
		t.Errorf("pin_12 shows: %v, r_cs: %v, cap_meter: %v", row(record.Pin12), row(record.RCS), row(record.CapMeter))
	}
	more := fold()
	more.Do()
	if !row(record.Pin12) || row(record.SupplyV12) {
		t.Error("the key of one group does not show its own fields, or another's too")
	}
	more.Do()
	if row(record.Pin12) {
		t.Error("the key does not put them away again")
	}
	if err := b.Enter(record.Pin12, "2.3", "ohm", ""); err != nil {
		t.Fatal(err)
	}
	if !row(record.Pin12) || row(record.Pin23) {
		t.Error("an entry does not show, or an empty one does")
	}
}

// A key to what waits names it; the edition of the code waits behind none.
func TestFoldNamesWhatItHides(t *testing.T) {
	b, _ := bench(t, record.New("job-1"))
	if !find(t, b, record.CodeEdition).Visible() {
		t.Error("the edition of the code waits behind a key")
	}
	said := ""
	for _, k := range visible[*widget.Tap](b.pane().Side) {
		if strings.Contains(k.Text, " more: ") {
			said += k.Text + "\n"
		}
	}
	for _, w := range []string{"8 more: branch: wiring method; branch: metal", "4 more: disconnect: ampere rating"} {
		if !strings.Contains(said, w) {
			t.Errorf("no key says %q: %s", w, said)
		}
	}
}

// The names of what a key hides are to be read whole, at every size.
func TestFoldNamesAreWhole(t *testing.T) {
	for _, size := range sizes {
		b, w := bench(t, record.New("job-1"))
		w.Resize(size)
		for i, s := range record.Steps {
			b.Go(i)
			for _, k := range visible[*widget.Tap](b.pane().Side) {
				_, names, is := strings.Cut(k.Text, " more: ")
				if !is {
					continue
				}
				said := ""
				for _, o := range test.WidgetRenderer(k).Objects() {
					if c, ok := o.(*canvas.Text); ok && c.Text != "" {
						said += c.Text + " "
						if y := c.Position().Y; y < 0 || y+c.Size().Height > k.Size().Height+1 {
							t.Errorf("%v, %s: %q stands outside its key", size, s.Step, c.Text)
						}
					}
				}
				if !strings.Contains(said, strings.TrimSpace(names)) {
					t.Errorf("%v, %s: %q is shown of %q", size, s.Step, said, k.Text)
				}
			}
		}
	}
}
