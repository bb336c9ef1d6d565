package workbook_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"retrostage/reports/assess"
	"retrostage/reports/demo"
	"retrostage/reports/workbook"
)

// What may be wrong stands on the running check's page, and where a cause stands
// out, among what to look at first.
func TestCauses(t *testing.T) {
	t.Parallel()
	done := map[demo.Flaw]bool{}
	for i := 0; len(done) < 2; i++ {
		j, flaw, err := demo.Job(11, i)
		if err != nil {
			t.Fatal(err)
		}
		if flaw != demo.Undercharge && flaw != demo.None || done[flaw] {
			continue
		}
		d, err := assess.New(j).Causes()
		if err != nil {
			t.Fatal(err)
		}
		if d.Found != (flaw == demo.Undercharge) {
			continue
		}
		done[flaw] = true
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		text := func(sheet string) string {
			rows, err := f.GetRows(sheet)
			if err != nil {
				t.Fatal(err)
			}
			var all []string
			for _, r := range rows {
				all = append(all, r...)
			}
			return strings.Join(all, "\n")
		}
		want := d.Said() + ". That nothing is wrong: "
		run, hand := text("Running check"), text("Hand-over")
		if !strings.Contains(run, want) || !strings.Contains(run, d.Causes[0].Next) {
			t.Errorf("%q: the page has not %q", flaw, want)
		}
		if strings.Contains(hand, want) != d.Found {
			t.Errorf("%q: hand-over has %q: %v", flaw, want, !d.Found)
		}
		f.Close()
	}
}
