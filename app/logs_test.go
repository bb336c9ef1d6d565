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
	toolkit "fyne.io/fyne/v2/widget"

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

// importing is the sheet on which a log is taken in.
type importing struct {
	t *testing.T
	w fyne.Window
}

// openImport opens the sheet as a person does.
func openImport(t *testing.T, b *Bench, w fyne.Window) importing {
	t.Helper()
	test.Tap(tap(b.pane().Side, "Import a log"))
	return importing{t, w}
}

func (m importing) open() bool { return m.w.Canvas().Overlays().Top() != nil }

func (m importing) sheet() fyne.CanvasObject {
	m.t.Helper()
	if !m.open() {
		m.t.Fatal("the sheet is shut")
	}
	return m.w.Canvas().Overlays().Top().(*toolkit.PopUp).Content
}

func (m importing) read(path string) {
	m.t.Helper()
	for _, e := range visible[*toolkit.Entry](m.sheet()) {
		if e.PlaceHolder == "path of the logger's file" {
			e.SetText(path)
		}
	}
	test.Tap(tap(m.sheet(), "Read it"))
}

func (m importing) keep() { test.Tap(tap(m.sheet(), "Keep these readings with the job")) }

func (m importing) said() string { return shownWords(m.sheet()) }

// columns are the rows that ask what a column reads.
func (m importing) columns() []*widget.Row { return visible[*widget.Row](m.sheet()) }

// units is the choice of the last column's unit.
func (m importing) units() *widget.Choose {
	cs := visible[*widget.Choose](m.sheet())
	return cs[len(cs)-1]
}

func TestALogIsConfirmedKeptAndDrawn(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	if text := shownWords(body(t, b, "logs")); !strings.Contains(text, "None.") {
		t.Fatalf("no log yet: %s", text)
	}
	m := openImport(t, b, w)
	m.read("/no/such/file.csv")
	if !strings.Contains(m.said(), "Not read") {
		t.Errorf("a file that is not there: %q", m.said())
	}
	path := loggerFile(t)
	m.read(path)
	cols := m.columns()
	if chosen := visible[*widget.Choose](m.sheet()); len(cols) != 4 || chosen[0].Chosen != "semicolon" || !strings.HasPrefix(chosen[1].Chosen, "comma") {
		t.Fatalf("%d columns to map, divided by %q, decimals %q: %s", len(cols), chosen[0].Chosen, chosen[1].Chosen, m.said())
	}
	for k, want := range []string{record.SuctionPressure.String(), record.SuctionTemp.String(), record.LiquidPressure.String(), "not used"} {
		if got := cols[k].Text(); got != want {
			t.Errorf("column %d is proposed to be %q, want %q", k, got, want)
		}
	}
	// What the person says of a column whose unit nobody knows.
	last := cols[3]
	last.OnCommit(last, record.OutdoorTemp.String(), "")
	m.keep()
	if !m.open() || !strings.Contains(last.Wrong(), "unit") || len(b.job.Series) != 0 {
		t.Fatalf("no unit: beside the column %q", last.Wrong())
	}
	m.units().Do("K")
	m.keep()
	if !m.open() || last.Wrong() == "" {
		t.Errorf("92 K outdoors was taken: %q", last.Wrong())
	}
	m.units().Do("°F")
	m.keep()
	if m.open() || len(b.job.Series) != 1 {
		t.Fatalf("not kept: %q", last.Wrong())
	}
	s := b.job.Series[0]
	if len(s.Columns) != 4 || s.Columns[0].Values[0] != 221 || s.Name != "start up" {
		t.Errorf("kept %s: %+v", s.Name, s.Columns)
	}
	if kept := onDisk(t, b); len(kept.Series) != 1 || len(kept.Series[0].Seconds) != 101 {
		t.Fatalf("on disk: %d logs", len(kept.Series))
	}

	// The pane shows it with the stretch that keeps still.
	if len(b.report.Logs) != 1 || !b.report.Logs[0].Steady {
		t.Fatalf("logs %+v", b.report.Logs)
	}
	if text := shownWords(body(t, b, "logs")); !strings.Contains(text, "Steady from") {
		t.Errorf("the pane says %s", text)
	}
	views := 0
	walk(body(t, b, "logs"), func(o fyne.CanvasObject) {
		if _, ok := o.(*widget.View); ok {
			views++
		}
	})
	if views != 2 {
		t.Errorf("%d pictures for pressures and temperatures", views)
	}

	// The next file of the same logger is mapped as this one was.
	again := openImport(t, b, w)
	again.read(path)
	if got := again.columns()[3].Text(); got != record.OutdoorTemp.String() || again.units().Chosen != "°F" {
		t.Errorf("remembered as %s, %s", got, again.units().Chosen)
	}
	again.keep()
	if len(b.job.Series) != 1 {
		t.Errorf("the same log stands %d times", len(b.job.Series))
	}
	var out *widget.Tap
	walk(body(t, b, "logs"), func(o fyne.CanvasObject) {
		if k, ok := o.(*widget.Tap); ok && k.Text == "Take this log out" {
			out = k
		}
	})
	test.Tap(out)
	if len(b.job.Series) != 0 {
		t.Error("the log is still there")
	}
}
