package app

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// A gauge's log becomes pull-down and rise, told apart at the lowest reading; nothing is
// entered before it is confirmed, nor where no column is the gauge.
func TestAVacuumLogIsEntered(t *testing.T) {
	var lines strings.Builder
	lines.WriteString("time s;room F;gauge mbar\n")
	for s := 0; s <= 2400; s += 10 {
		pa := 40 + 20000*math.Exp(-float64(s)/70)
		if s > 1200 {
			pa = 40 + 0.25*float64(s-1200)/60
		}
		fmt.Fprintln(&lines, strings.ReplaceAll(fmt.Sprintf("%d;%.1f;%.5f", s, 75.0, pa/100), ".", ","))
	}
	path := filepath.Join(t.TempDir(), "gauge.csv")
	if err := os.WriteFile(path, []byte(lines.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.CloseUp))
	before := len(b.job.Entries)
	test.Tap(tap(b.pane().Side, "Import a vacuum gauge's log"))
	m := importing{t, w}
	m.read(path)
	if len(b.job.Entries) != before {
		t.Error("entered before it was confirmed")
	}
	for _, r := range m.columns() { // no column is the gauge
		if err := r.OnCommit(r, "not used", ""); err != nil {
			t.Fatal(err)
		}
	}
	test.Tap(tap(m.sheet(), "Enter these readings"))
	if !m.open() || len(b.job.Entries) != before || !strings.Contains(m.said(), "when the pump was valved off") {
		t.Fatalf("not refused: %q", m.said())
	}
	for _, c := range visible[*widget.Choose](m.sheet()) {
		if len(c.Options) == 3 && strings.Contains(c.Options[0], "lowest") {
			if c.Chosen != "" {
				t.Error("when the pump was valved off is taken for granted")
			}
			c.Do(c.Options[0])
		}
	}
	test.Tap(tap(m.sheet(), "Enter these readings"))
	if !m.open() || len(b.job.Entries) != before || !strings.Contains(m.said(), "it is the vacuum gauge") {
		t.Fatalf("not refused: %q", m.said())
	}
	last := m.columns()[len(m.columns())-1]
	if err := last.OnCommit(last, record.VacuumFinal.String(), ""); err != nil {
		t.Fatal(err)
	}
	for _, c := range visible[*widget.Choose](m.sheet()) {
		if slices.Contains(c.Options, "mbar") {
			c.Do("mbar")
		}
	}
	test.Tap(tap(m.sheet(), "Enter these readings"))
	if m.open() {
		t.Fatalf("not entered: %s", m.said())
	}
	for key, want := range map[record.Key]string{record.VacuumFinal: "300", record.PumpedFor: "20", record.VacuumTime: "20"} {
		if got := b.job.Text(key); !strings.HasPrefix(got, want) {
			t.Errorf("%s is %q, want %s", key, got, want)
		}
	}
	if n := strings.Count(b.job.Text(record.VacuumRise), "\n"); n < 100 {
		t.Errorf("%d lines of rise", n)
	}
	if b.report.Rise == nil {
		t.Fatal("no picture of it")
	}
	for _, f := range b.report.Of(record.CloseUp) {
		if f.Key == "pull_down" && (!f.Measured || f.Value != 0) {
			t.Errorf("pulled below the vacuum that starts the hold, and still %g s (%s)", f.Value, f.Reason)
		}
	}
}
