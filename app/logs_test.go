package app

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// loggerFile is a start-up as a logger writes it, with semicolons and decimal
// commas: it settles, and keeps still for the second half.
func loggerFile(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("elapsed s;Suction press (psig);Suction temp (degF);Liquid press (psig);probe 4\n")
	for i := 0; i <= 1500; i += 15 {
		w := math.Exp(-float64(i) / 90)
		wobble := 0.2 * math.Sin(float64(i))
		line := fmt.Sprintf("%d;%.1f;%.1f;%.1f;%.1f\n", i, 121+100*w+wobble, 57+14*w+wobble/4, 342-120*w-wobble, 92+wobble)
		b.WriteString(strings.ReplaceAll(line, ".", ","))
	}
	path := filepath.Join(t.TempDir(), "start up.csv")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestALogIsConfirmedKeptAndDrawn(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	if text := shownWords(b.pane().logs.body); !strings.Contains(text, "None.") {
		t.Fatalf("no log yet: %s", text)
	}
	shut := false
	m := b.newImporter(func() { shut = true })
	m.path.SetText("/no/such/file.csv")
	m.load()
	if !strings.Contains(m.said.Text, "Not read") {
		t.Errorf("a file that is not there: %q", m.said.Text)
	}
	m.path.SetText(loggerFile(t))
	m.load()
	if !m.layout.DecimalComma || m.layout.Delimiter != ';' || len(m.rows) != 4 {
		t.Fatalf("layout %+v, %d columns to map: %s", m.layout, len(m.rows), m.said.Text)
	}
	for k, want := range map[int]string{1: record.SuctionPressure.String(), 2: record.SuctionTemp.String(), 3: record.LiquidPressure.String(), 4: unused} {
		if got := m.rows[k].Text(); got != want {
			t.Errorf("column %d is proposed to be %q, want %q", k, got, want)
		}
	}
	// What the person says of a column whose unit nobody knows.
	m.rows[4].OnCommit(m.rows[4], record.OutdoorTemp.String(), "")
	m.keep()
	if shut || !strings.Contains(m.rows[4].Wrong(), "unit") || len(b.job.Series) != 0 {
		t.Fatalf("no unit: shut %v, beside the column %q", shut, m.rows[4].Wrong())
	}
	var units *widget.Choose
	walk(m.ask, func(o fyne.CanvasObject) {
		if c, ok := o.(*widget.Choose); ok && len(c.Options) > 0 {
			units = c // the last is the last column's
		}
	})
	units.Do("K")
	m.keep()
	if shut || m.rows[4].Wrong() == "" {
		t.Errorf("92 K outdoors was taken: %q", m.rows[4].Wrong())
	}
	units.Do("°F")
	m.keep()
	if !shut || len(b.job.Series) != 1 {
		t.Fatalf("not kept: %s; %q", m.said.Text, m.rows[4].Wrong())
	}
	s := b.job.Series[0]
	if len(s.Columns) != 4 || s.Columns[0].Values[0] != 221 || s.Name != "start up" {
		t.Errorf("kept %s: %+v", s.Name, s.Columns)
	}
	kept, err := b.keep.store.Load(b.job.ID)
	if err != nil || len(kept.Series) != 1 || len(kept.Series[0].Seconds) != 101 {
		t.Fatalf("on disk: %v", err)
	}

	// The pane shows it with the stretch that keeps still.
	if len(b.report.Logs) != 1 || !b.report.Logs[0].Steady {
		t.Fatalf("logs %+v", b.report.Logs)
	}
	if text := shownWords(b.pane().logs.body); !strings.Contains(text, "Steady from") {
		t.Errorf("the pane says %s", text)
	}
	views := 0
	walk(b.pane().logs.body, func(o fyne.CanvasObject) {
		if _, ok := o.(*widget.View); ok {
			views++
		}
	})
	if views != 2 {
		t.Errorf("%d pictures for pressures and temperatures", views)
	}

	// The next file of the same logger is mapped as this one was.
	again := b.newImporter(func() {})
	again.path.SetText(m.path.Text)
	again.load()
	if u := again.uses[4]; u.Key != record.OutdoorTemp || u.Unit != "F" {
		t.Errorf("remembered as %+v", u)
	}
	again.keep()
	if len(b.job.Series) != 1 {
		t.Errorf("the same log stands %d times", len(b.job.Series))
	}
	var out *widget.Tap
	walk(b.pane().logs.body, func(o fyne.CanvasObject) {
		if k, ok := o.(*widget.Tap); ok && k.Text == "Take this log out" {
			out = k
		}
	})
	test.Tap(out)
	if len(b.job.Series) != 0 {
		t.Error("the log is still there")
	}
}
