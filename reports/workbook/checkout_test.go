package workbook_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"retrostage/reports/assess"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/wiring/netlist"
	"retrostage/wiring/planner"

	"github.com/xuri/excelize/v2"
)

// A job whose unit was edited and whose conductor from the disconnect reads
// open: the sheet says how the unit differs, judges each reading, names the
// conductor, and the hand-over says to look.
func TestCheckOutOnPaper(t *testing.T) {
	t.Parallel()
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	j.Entries = slices.DeleteFunc(j.Entries, func(e record.Entry) bool { return record.IsMeter(e.Key) })
	data, err := j.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if j, err = record.Decode(data); err != nil {
		t.Fatal(err)
	}
	put := func(key record.Key, value string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: key, Value: value, Time: day, By: "T-01"}); err != nil {
			t.Fatal(err)
		}
	}
	u, err := plan.Drawn(j)
	if err != nil {
		t.Fatal(err)
	}
	was := u.Conductors[0].Colour
	u.Conductors[0].Colour = "turquoise"
	j.Unit = u.JSON()
	p, err := plan.For(j)
	if err != nil {
		t.Fatal(err)
	}
	c, err := netlist.Compile(p.New)
	if err != nil {
		t.Fatal(err)
	}
	rest := c.Words(c.Rest())
	var broken netlist.Conductor
	n := 0
	for _, w := range p.New.Conductors {
		if w.From == netlist.Capped || w.To == netlist.Capped || n == 6 {
			continue
		}
		v := "0.2"
		if w.From == "SUP.L1" || w.To == "SUP.L1" {
			broken, v = w, record.OpenLine
		}
		put(record.MeterKey("ohms", w.From, w.To, rest), v)
		n++
	}
	if broken.ID == "" {
		t.Fatal("no conductor at SUP.L1 among the first")
	}
	put(record.MeterKey("volts", "SUP.L1", "SUP.L2", rest), j.Text(record.RatedVoltage))
	put(record.MeterKey("volts", "NO.1", "NO.2", rest), "3")
	var b bytes.Buffer
	if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := func(sheet string) string {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		var s strings.Builder
		for _, r := range rows {
			fmt.Fprintln(&s, strings.Join(r, "|"))
		}
		return s.String()
	}
	wiring := lines("Wiring plan") + lines("Wiring check")
	for _, want := range []string{
		"changed: turquoise", "; in the catalogue " + was,
		fmt.Sprintf("▲|Ohms: %s|open|", planner.Between(p.New, broken.From, broken.To)),
		fmt.Sprintf("●|Volts: %s|", planner.Between(p.New, "SUP.L1", "SUP.L2")), "–|Volts: NO.1 to NO.2|3.0|||V||not judged",
		fmt.Sprintf("1 of %d readings outside. Single faults that fit every reading:", n+1),
		broken.ID + "|conductor " + broken.ID,
	} {
		if !strings.Contains(wiring, want) {
			t.Errorf("no %q in\n%s", want, wiring)
		}
	}
	if got := strings.Count(wiring, "||within\n"); got != n {
		t.Errorf("%d readings within, want %d", got, n)
	}
	if hand := lines("Hand-over"); !strings.Contains(hand, fmt.Sprintf("Of %d readings of the check-out 1 outside", n+2)) || !strings.Contains(hand, "differs in 1 point from the drawing that the plan began with;") {
		t.Errorf("the hand-over does not say so:\n%s", hand)
	}
	// The verdict hangs on the reading as typed, which the seal watches.
	sheet, cell := at(t, f, "meter_1")
	if sheet != "Readings" {
		t.Errorf("meter_1 is %s!%s", sheet, cell)
	}
	altered := edit(t, b.Bytes(), func(f *excelize.File) error { return f.SetCellValue(sheet, "C"+cell[1:], 55) })
	r, err := workbook.ReadBytes(altered)
	if err != nil || r.State != workbook.Altered || len(r.Changes) == 0 || r.Changes[0].New != "55" {
		t.Errorf("%v %v %v", r.State, r.Changes, err)
	}
}

// A reading that no single fault changes is counted apart from those that are all within.
func TestMuteReadingsOnPaper(t *testing.T) {
	t.Parallel()
	for mute, want := range map[string]string{"": "readings entered, all within what the circuit as planned reads. Faults", "SUP.L1": "1 of them tell nothing apart"} {
		j, err := record.Demo()
		if err != nil {
			t.Fatal(err)
		}
		if mute != "" {
			if err := j.Set(record.Entry{Key: record.MeterKey("ohms", mute, "HP.1", "no call"), Value: record.OpenLine, Time: day, By: "T-01"}); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := workbook.Write(&b, assess.New(j), workbook.Options{}); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		var s strings.Builder
		for _, sheet := range []string{"Wiring plan", "Wiring check"} {
			rows, err := f.GetRows(sheet)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range rows {
				fmt.Fprintln(&s, strings.Join(r, "|"))
			}
		}
		f.Close()
		if !strings.Contains(s.String(), want) || (mute != "") != strings.Contains(s.String(), "Tells nothing apart: Ohms: ") {
			t.Errorf("%q: no %q in\n%s", mute, want, s.String())
		}
	}
}
