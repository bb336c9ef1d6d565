package app

import (
	"bytes"
	"image/png"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// The lists of close-up and first start have a caution at every line and say of what
// was not entered that it was not; what is refused is outside.
func TestTheWorkListSaysWhatTheRecordHas(t *testing.T) {
	b, _ := bench(t, filled(t))
	rows := func() []widget.TableRow {
		ts := visible[*widget.Table](body(t, b, "work list"))
		if len(ts) != 1 {
			t.Fatalf("%d tables", len(ts))
		}
		return ts[0].Rows
	}
	line := func(title string) widget.TableRow {
		for _, r := range rows() {
			if strings.Contains(r.Cells[0], title) {
				return r
			}
		}
		t.Fatalf("no line %q", title)
		return widget.TableRow{}
	}
	for _, s := range []record.Step{record.CloseUp, record.Charge} {
		b.Go(stepIndex(s))
		for _, r := range rows() {
			if r.Small == "" || !strings.Contains(r.More, "Source: ") {
				t.Errorf("%s: %q has no caution or no source", s, r.Cells[0])
			}
			if r.Glyph == "within" || r.Glyph == "done" {
				t.Errorf("%s: %q is green, and nothing was shown of it", s, r.Cells[0])
			}
		}
	}
	b.Go(stepIndex(record.CloseUp))
	if got := line("ground").Cells[2]; got != "Not entered" {
		t.Errorf("ground: %s", got)
	}
	for answer, want := range map[string]string{record.Yes: "Entered", record.No: "Outside"} {
		if err := b.Enter(record.GroundBack, answer, "", ""); err != nil {
			t.Fatal(err)
		}
		if got := line("ground").Cells[2]; got != want {
			t.Errorf("ground landed: %s; the list says %s", answer, got)
		}
	}
	flame := func() bool {
		for _, r := range rows() {
			if strings.Contains(r.Cells[0], "No flame") {
				return true
			}
		}
		return false
	}
	if flame() {
		t.Error("R-410A is taken for flammable")
	}
	for _, name := range []string{"R-454B", ""} { // and where it is not known
		if err := b.Enter(record.Refrigerant, name, "", ""); err != nil {
			t.Fatal(err)
		}
		if !flame() {
			t.Errorf("refrigerant %q: no word of the flame", name)
		}
	}
}

// The trim's table has what was expected before each reading, and what to do next in
// the finding's own words.
func TestTheTrimIsATable(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Charge))
	if n := len(visible[*widget.Table](body(t, b, "trim steps"))); n != 0 {
		t.Errorf("%d tables before the first step", n)
	}
	if err := b.Enter(record.TrimSteps, "0 2\n4 5", "", ""); err != nil {
		t.Fatal(err)
	}
	ts := visible[*widget.Table](body(t, b, "trim steps"))
	if len(ts) != 1 || len(ts[0].Rows) != 2 || ts[0].Rows[0].Cells[2] != "" || !strings.Contains(ts[0].Rows[1].Cells[2], " to ") {
		t.Fatalf("%+v", ts[0].Rows)
	}
	said := false
	for _, w := range visible[*widget.Words](body(t, b, "trim steps")) {
		for _, f := range b.report.Of(record.Charge) {
			said = said || f.Key == "trim_next" && f.Next != "" && w.Text == f.Next
		}
	}
	if !said {
		t.Error("the next step is not said beside the table")
	}
}

// The build-up is drawn once it can be added up.
func TestTheBuildUpIsDrawn(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Charge))
	if body(t, b, "charge build-up").Visible() {
		t.Error("drawn without a line set")
	}
	for _, e := range []struct {
		key         record.Key
		value, unit string
	}{{record.LineLength, "40", "ft"}, {record.LineIncluded, "15", "ft"}, {record.LineOD, "0.375", "in"}, {record.LineWall, "0.032", "in"}} {
		if err := b.Enter(e.key, e.value, e.unit, ""); err != nil {
			t.Fatal(err)
		}
	}
	if !body(t, b, "charge build-up").Visible() {
		t.Error("not drawn")
	}
}

// The label is written from the pane, as a picture and as PDF, and the pane says where.
func TestTheLabelIsWrittenFromThePane(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Charge))
	test.Tap(tap(b.pane().Side, "Write the label, picture and PDF at true size"))
	var path string
	for _, w := range visible[*widget.Words](b.pane().Side) {
		if p, ok := strings.CutPrefix(w.Text, "Written: "); ok {
			path = p
		}
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%q: %v", path, err)
	}
	if _, err := png.Decode(bytes.NewReader(raw)); err != nil {
		t.Error(err)
	}
	if raw, err = os.ReadFile(strings.TrimSuffix(path, ".png") + ".pdf"); err != nil || !bytes.HasPrefix(raw, []byte("%PDF")) {
		t.Errorf("the PDF: %v", err)
	}
}

// What runs is kept as a trim step with its readings; the same readings again are not.
func TestTheTrimKeepsWhatRuns(t *testing.T) {
	j, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	b, _ := bench(t, j)
	for _, k := range []record.Key{record.TrimSteps, record.TrimSets, record.Trimmed} {
		if err := b.Enter(k, "", "", ""); err != nil {
			t.Fatal(err)
		}
	}
	b.Go(stepIndex(record.Charge))
	keep := func() (said string) {
		test.Tap(tap(b.pane().Side, "Keep the running check's readings as a trim step"))
		for _, w := range visible[*widget.Words](b.pane().Side) {
			if strings.HasPrefix(w.Text, "Kept") || strings.HasPrefix(w.Text, "Not kept") {
				said = w.Text
			}
		}
		return said
	}
	if s := keep(); !strings.HasPrefix(s, "Kept") {
		t.Fatalf("%q", s)
	}
	ts := visible[*widget.Table](body(t, b, "trim steps"))
	if len(ts) != 1 || len(ts[0].Rows) != 1 || !strings.Contains(ts[0].Rows[0].Small, "suction 1") {
		t.Fatalf("%+v", ts[0].Rows)
	}
	if s := keep(); !strings.Contains(s, "not read since") {
		t.Errorf("kept twice: %q", s)
	}
}

// The pull-down is drawn once it can be fitted, with what the finding says of the time.
func TestThePullDownIsDrawn(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.CloseUp))
	if body(t, b, "pull-down").Visible() {
		t.Error("an empty picture stands there")
	}
	if err := b.Enter(record.VacuumPull, "1 90000\n2 30000\n3 10000\n5 3000\n8 1500\n12 1100\n16 900\n20 800", "", ""); err != nil {
		t.Fatal(err)
	}
	if !body(t, b, "pull-down").Visible() {
		t.Error("not drawn")
	}
	if err := b.Enter(record.VacuumPull, "1 90000\n2 30000", "", ""); err != nil {
		t.Fatal(err)
	}
	if body(t, b, "pull-down").Visible() {
		t.Error("drawn from what cannot be fitted")
	}
}
