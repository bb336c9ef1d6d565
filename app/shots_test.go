package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/reports/archive"
	"retrostage/reports/record"
)

func TestShotsDrawEveryPane(t *testing.T) {
	paths, err := Shots(t.TempDir(), filled(t))
	if err != nil {
		t.Fatal(err)
	}
	if want := 10 * len(sizes) * 2; len(paths) != want {
		t.Errorf("%d pictures, want %d", len(paths), want)
	}
}

// With RETROSTAGE_LOOK set to a folder, parts of steps are drawn
// there at every size, light and dark, to be looked at.
func TestLookAtParts(t *testing.T) {
	dir := os.Getenv("RETROSTAGE_LOOK")
	if dir == "" {
		t.Skip("RETROSTAGE_LOOK names no folder")
	}
	b, w := bench(t, filled(t))
	m := b.newImporter(func() {})
	m.path.SetText(loggerFile(t))
	m.load()
	m.keep()
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			b.Go(stepIndex(record.Running))
			b.pane().centre.Lead(b.pane().logs.body)
			look(t, w, dir, "logs", size, dark)
			b.sheet(760, 720, func(shut func()) fyne.CanvasObject {
				m := b.newImporter(shut)
				m.path.SetText(loggerFile(t))
				m.load()
				return m.scroll
			})
			look(t, w, dir, "import", size, dark)
		}
	}
	wired := b.job
	b.SetJob(b.keep, demoJob(t))
	b.Go(stepIndex(record.Running))
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			b.pane().centre.Lead(b.pane().mapped.body)
			look(t, w, dir, "map", size, dark)
		}
	}
	b.SetJob(b.keep, wired)
	b.Go(stepIndex(record.Wiring))
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			for _, tab := range tabs {
				p := b.pane().plan
				p.tab = tab
				p.show()
				if tab == "Check-out" {
					p.meter.rows[3].OnCommit(p.meter.rows[3], "OL", "ohm")
					p.meter.rows[4].OnCommit(p.meter.rows[4], "OL", "ohm")
					p.meter.rows[1].OnCommit(p.meter.rows[1], "2,2,2", "ohm")
				}
				if tab == "Unit" {
					p.unit.conductor(p.plan.old.Conductors[2].ID)
					look(t, w, dir, "wiring-conductor", size, dark)
					p.unit.device("COMP")
					look(t, w, dir, "wiring-device", size, dark)
				}
				if tab != "Controls" {
					p.p.centre.Lead(p.bar)
				}
				b.desk.Refresh()
				if err := writePNG(filepath.Join(dir, shotName("wiring-"+strings.ToLower(strings.ReplaceAll(tab, " ", "-")), size, dark)), w.Canvas().Capture()); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

func look(t *testing.T, w fyne.Window, dir, name string, size fyne.Size, dark bool) {
	t.Helper()
	if err := writePNG(filepath.Join(dir, shotName(name, size, dark)), w.Canvas().Capture()); err != nil {
		t.Fatal(err)
	}
	if top := w.Canvas().Overlays().Top(); top != nil {
		top.Hide()
	}
}

// With RETROSTAGE_TALL set to a folder, every pane is drawn there so tall that
// nothing of it is scrolled away, to be looked at; RETROSTAGE_JOB names the job.
func TestTallShots(t *testing.T) {
	dir := os.Getenv("RETROSTAGE_TALL")
	if dir == "" {
		t.Skip("RETROSTAGE_TALL names no folder")
	}
	j := filled(t)
	if p := os.Getenv("RETROSTAGE_JOB"); p != "" {
		var err error
		if j, err = archive.ReadJob(p); err != nil {
			t.Fatal(err)
		}
	}
	b, w := bench(t, j)
	for _, size := range []fyne.Size{{Width: 1280, Height: 3800}} {
		w.Resize(size)
		for i, s := range record.Steps {
			b.open(i)
			b.desk.Refresh()
			if err := writePNG(filepath.Join(dir, shotName(string(s.Step), size, false)), w.Canvas().Capture()); err != nil {
				t.Fatal(err)
			}
		}
	}
}
