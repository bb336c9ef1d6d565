package app

import (
	"encoding/json"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/reports/record"
	"retrostage/reports/store"
)

// At the real window: what was typed is taken back and done again by the keys in the bar over
// two kills; a label that is held shows what stood there; a photo that comes into the camera's
// folder is offered, and kept by a touch only; settings that are damaged are set aside, and
// the window opens all the same.
func TestAcrossKillsOnADisplay(t *testing.T) {
	if testing.Short() {
		t.Skip("short: no window is opened")
	}
	for _, tool := range []string{"Xvfb", "xdotool", "import"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("%s is not installed (packages xvfb, xdotool, imagemagick): the window is not tried", tool)
		}
	}
	tmp := t.TempDir()
	bin := program(t)
	x := startX(t, tmp)
	jobs, camera := filepath.Join(tmp, "jobs"), filepath.Join(tmp, "camera")
	if err := os.Mkdir(camera, 0o700); err != nil {
		t.Fatal(err)
	}
	l, err := store.Open(jobs)
	if err != nil {
		t.Fatal(err)
	}
	job := filled(t)
	job.Step = record.Running
	if err := l.Save(job, ""); err != nil {
		t.Fatal(err)
	}
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	kept := func() store.State {
		l, err := store.Open(jobs)
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		s, err := l.State(job.ID)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	settings := filepath.Join(tmp, "retrostage", "settings.json")
	if err := os.MkdirAll(filepath.Dir(settings), 0o700); err != nil {
		t.Fatal(err)
	}
	mine, _ := json.Marshal(own{Begun: true, Camera: camera})
	set, _ := json.Marshal(map[string]any{"person": "T-31", "own": string(mine)})
	if err := os.WriteFile(settings, set, 0o600); err != nil {
		t.Fatal(err)
	}

	b, _ := bench(t, job.Clone())
	where := func(o fyne.CanvasObject) image.Rectangle {
		p := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
		return image.Rect(int(p.X), int(p.Y), int(p.X+o.Size().Width), int(p.Y+o.Size().Height))
	}
	row := find(t, b, record.SuctionPressure)
	entry, undo, redo := where(row.Input()), where(b.window.undo), where(b.window.redo)
	label := image.Pt(where(row).Min.X+40, where(row).Min.Y+8)
	was := job.Text(record.SuctionPressure)

	win := x.open(t, bin, jobs)
	kill := func() {
		win.Process.Kill()
		win.Wait()
	}
	stands := func(what, want string) {
		t.Helper()
		waitFor(t, what, func() bool { s := kept(); return s.Job.Text(record.SuctionPressure) == want })
	}
	x.click(t, centreOf(entry))
	x.xdo(t, "key", "ctrl+a")
	x.xdo(t, "type", "--delay", "60", "109")
	x.xdo(t, "key", "Tab")
	stands("the reading", "109")
	kill()
	win = x.open(t, bin, jobs)
	x.click(t, centreOf(undo))
	stands("the reading taken back after a kill", was)
	kill()
	win = x.open(t, bin, jobs)
	x.click(t, centreOf(redo))
	stands("the reading again after another", "109")

	// What stood there, by a finger that holds the label.
	before := x.still(t, image.Rect(0, 0, 1280, 800))
	middle := image.Rect(300, 200, 1000, 600)
	x.xdo(t, "mousemove", strconv.Itoa(label.X), strconv.Itoa(label.Y))
	x.xdo(t, "mousedown", "1")
	held := x.changed(t, middle, before)
	x.xdo(t, "mouseup", "1")
	if same(before, held, middle) {
		t.Error("holding the label shows nothing")
	}
	kill()

	// A photo comes into the camera's folder while the window stands open.
	raw, err := os.ReadFile(photoFile(t, "x.jpg", 300, 200))
	if err != nil {
		t.Fatal(err)
	}
	win = x.open(t, bin, jobs)
	time.Sleep(2 * cameraEvery) // it has seen what lies there
	if err := os.WriteFile(filepath.Join(camera, "plate.jpg"), raw, 0o600); err != nil {
		t.Fatal(err)
	}
	time.Sleep(4 * cameraEvery)
	if n := len(kept().Attachments); n != 0 {
		t.Errorf("%d photos were kept without a touch", n)
	}
	kill()

	// Half of the settings.
	if err := os.WriteFile(settings, set[:len(set)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	win = x.open(t, bin, jobs)
	if b, err := os.ReadFile(settings + ".damaged-1"); err != nil || string(b) != string(set[:len(set)/2]) {
		t.Errorf("the damaged settings were not set aside: %q %v", b, err)
	}
	if s := kept(); s.Job.Text(record.SuctionPressure) != "109" {
		t.Error("the job is another")
	}
	kill()
}
