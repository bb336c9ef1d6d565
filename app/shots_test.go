package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/assets/soak"
	"retrostage/reports/archive"
	"retrostage/reports/record"
)

func TestShotsDrawEveryPane(t *testing.T) {
	looks := 0 // every other in the usual run, so that each size and each palette is drawn
	paths, err := someShots(t.TempDir(), filled(t), func(fyne.Size, theme.Palette) bool {
		looks++
		return soak.On() || looks%2 == 1
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := 10 * soak.Count(len(sizes), 2*len(sizes)); len(paths) != want {
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
	b.Go(stepIndex(record.Running))
	m := openImport(t, b, w)
	m.read(loggerFile(t))
	m.keep()
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			b.Go(stepIndex(record.Running))
			b.pane().Middle.Lead(body(t, b, "logs"))
			look(t, w, dir, "logs", size, dark)
			openImport(t, b, w).read(loggerFile(t))
			look(t, w, dir, "import", size, dark)
		}
	}
	b.SetPerson("T-31")
	b.Enter(record.SuctionTemp, "61", "F", "clamp A")
	b.Enter(record.SuctionTemp, "66", "F", "clamp A")
	b.Back(false)
	for _, size := range sizes {
		w.Resize(size)
		look(t, w, dir, "bar", size, true)
		b.Past(record.SuctionTemp)
		look(t, w, dir, "past", size, true)
		b.chooseJob()
		look(t, w, dir, "jobs", size, true)
	}
	wired := b.job
	b.SetJob(b.keep, demoJob(t))
	b.Go(stepIndex(record.Running))
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			b.pane().Middle.Lead(body(t, b, "compressor map"))
			look(t, w, dir, "map", size, dark)
		}
	}
	b.SetJob(b.keep, wired)
	b.Go(stepIndex(record.Wiring))
	for _, dark := range []bool{false, true} {
		b.SetDark(dark)
		for _, size := range sizes {
			w.Resize(size)
			for _, tab := range []string{"Unit", "Controls", "Decisions", "Work list", "Proof", "Check-out", "Drawing"} {
				bar := turnTo(t, b, tab)
				wiring := body(t, b, "wiring plan")
				if tab == "Check-out" {
					rows := visible[*widget.Row](wiring)
					rows[3].OnCommit(rows[3], "OL", "ohm")
					rows[4].OnCommit(rows[4], "OL", "ohm")
					rows[1].OnCommit(rows[1], "2,2,2", "ohm")
				}
				if tab == "Unit" {
					for _, c := range visible[*widget.Card](wiring) {
						switch c.Word {
						case "w03":
							c.Do()
							look(t, w, dir, "wiring-conductor", size, dark)
						case "COMP":
							c.Do()
							look(t, w, dir, "wiring-device", size, dark)
						}
					}
				}
				if tab != "Controls" {
					b.pane().Middle.Lead(bar)
				}
				b.window.Refresh()
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
			b.window.Refresh()
			if err := writePNG(filepath.Join(dir, shotName(string(s.Step), size, false)), w.Canvas().Capture()); err != nil {
				t.Fatal(err)
			}
		}
	}
}
