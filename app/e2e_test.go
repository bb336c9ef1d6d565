package app

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/assets/soak"
	"retrostage/reports/archive"
	"retrostage/reports/record"
	"retrostage/reports/store"
)

// A person at the real window: a suction pressure is typed, the strip moves, the
// process is killed in the middle, and everything entered is there when it is
// opened again. The window is the built program's, on a display of its own; where
// its entries and strips are is asked of the same desk in memory.
func TestTypeKillReopenOnADisplay(t *testing.T) {
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

	// The job as it will be opened, and the desk in memory that says where
	// things are.
	jobs := filepath.Join(tmp, "jobs")
	if err := os.Mkdir(jobs, 0o700); err != nil {
		t.Fatal(err)
	}
	job := filled(t)
	if err := archive.WriteJob(filepath.Join(jobs, job.ID+".job.json"), job); err != nil { // of an earlier version: the first start takes it over
		t.Fatal(err)
	}
	kept := func() (*record.Job, error) {
		l, err := store.Open(jobs)
		if err != nil {
			return nil, err
		}
		defer l.Close()
		s, err := l.State(job.ID)
		return s.Job, err
	}
	b, _ := bench(t, job.Clone())
	where := func(o fyne.CanvasObject) image.Rectangle {
		p := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
		s := o.Size()
		return image.Rect(int(p.X), int(p.Y), int(p.X+s.Width), int(p.Y+s.Height))
	}
	step := where(b.window.route.Item(stepIndex(record.Running)))
	b.Go(stepIndex(record.Running))
	key := dependsOn(t, b, record.SuctionPressure)
	row := find(t, b, record.SuctionPressure)
	entry := where(row.Input())
	row.Focus()
	stripAt := where(strip(t, b, key))
	route := image.Rect(0, barH+2, 200, 400)

	win := x.open(t, bin, jobs)
	first := x.shot(t)
	x.click(t, centreOf(step))
	x.changed(t, stripAt, first) // a touch before the step is there goes elsewhere
	x.still(t, stripAt)
	x.click(t, centreOf(entry))
	x.xdo(t, "key", "ctrl+a")
	before := x.still(t, stripAt)
	x.xdo(t, "type", "--delay", "60", "108.5")
	after := x.changed(t, stripAt, before)
	if same(before, after, stripAt) {
		t.Errorf("strip %s at %v did not change on the screen", key, stripAt)
	}
	if !same(before, after, route) {
		t.Error("the route changed as well: the comparison means nothing")
	}
	if j, _ := kept(); j.Text(record.SuctionPressure) == "108.5" {
		t.Error("it was entered before the entry was left")
	}
	x.xdo(t, "key", "Tab")
	x.xdo(t, "type", "--delay", "60", "61.5")
	x.xdo(t, "key", "Tab")
	waitFor(t, "both readings on disk", func() bool {
		j, err := kept()
		return err == nil && j.Text(record.SuctionPressure) == "108.5" && j.Text(record.SuctionTemp) == "61.5"
	})
	// Something half typed, then the worst.
	x.xdo(t, "type", "--delay", "60", "39")
	if err := win.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	win.Wait()

	left, err := kept()
	if err != nil {
		t.Fatal(err)
	}
	if len(left.Entries) != len(job.Entries)+2 || left.Step != record.Running {
		t.Errorf("%d entries at step %s, want %d at running", len(left.Entries), left.Step, len(job.Entries)+2)
	}
	for i, e := range job.Entries {
		if !left.Entries[i].Time.Equal(e.Time) || left.Entries[i].Value != e.Value {
			t.Errorf("entry %d changed from %+v to %+v", i, e, left.Entries[i])
		}
	}

	// Reopened, it stands at the same step with the same readings.
	win = x.open(t, bin, jobs)
	again := x.still(t, entry)
	if same(again, before, entry.Inset(6)) {
		t.Error("the reopened window does not show the new reading")
	}
	if !same(again, before, step.Inset(4)) {
		t.Error("the reopened window is not at the step it was left at")
	}

	// Where things are now: what was entered may have brought keys under its reading.
	b, _ = bench(t, left.Clone())
	b.Go(stepIndex(record.Running))
	low, lowAt := lowest(b)

	// A field where the keypad would come up: the first touch has the cursor there,
	// and the next key of the keyboard is its own.
	was, _ := kept()
	x.click(t, centreOf(where(low.Input()).Sub(where(low.Input()).Min).Add(lowAt)))
	x.xdo(t, "key", "ctrl+a")
	x.xdo(t, "type", "--delay", "60", "58")
	x.xdo(t, "key", "Tab")
	waitFor(t, "the reading low on the page", func() bool {
		j, err := kept()
		return err == nil && len(j.Entries) == len(was.Entries)+1 && j.Text(mustKey(t, low.Field.Key)) == "58"
	})

	// The workbook is written at a touch, and the window says where.
	b.Go(stepIndex(record.HandOver))
	button := where(body(t, b, "export"))
	below := image.Rect(button.Min.X, button.Max.Y, button.Max.X, button.Max.Y+60)
	x.click(t, centreOf(where(b.window.route.Item(stepIndex(record.HandOver)))))
	quiet := x.still(t, below)
	x.click(t, centreOf(button))
	waitFor(t, "the workbook", func() bool {
		found, _ := filepath.Glob(filepath.Join(jobs, "*.xlsx"))
		return len(found) == 1
	})
	if same(x.changed(t, below, quiet), quiet, below) {
		t.Error("the window does not say where the workbook is")
	}

	// Told to end while it rests, it ends and does not break down.
	time.Sleep(awake + time.Second)
	win.Process.Signal(os.Interrupt)
	if err := win.Wait(); err != nil {
		t.Errorf("told to end: %v\n%s", err, win.Stderr)
	}
}

// The window is killed again and again while a reading is being entered: what was on
// disk before stays, the reading under way is there or not, nothing is damaged and
// nothing lies about.
func TestWindowKilledAgain(t *testing.T) {
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
	jobs := filepath.Join(tmp, "jobs")
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
	b, _ := bench(t, job.Clone())
	row := find(t, b, record.SuctionPressure)
	entry := fyne.CurrentApp().Driver().AbsolutePositionForObject(row.Input())
	at := image.Pt(int(entry.X)+40, int(entry.Y)+24)
	reading := func() (got string, n int) {
		l, err := store.Open(jobs)
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		s, err := l.State(job.ID)
		if err != nil || l.Note != "" || len(s.Aside) > 0 {
			t.Fatal(err, l.Note, s.Aside)
		}
		return s.Job.Text(record.SuctionPressure), len(s.Job.Entries)
	}
	was, n := reading()
	for round := range soak.Count(2, 10) {
		kept, next := strconv.Itoa(100+2*round), strconv.Itoa(101+2*round)
		win := x.open(t, bin, jobs)
		x.click(t, at)
		x.xdo(t, "key", "ctrl+a")
		x.xdo(t, "type", kept)
		x.xdo(t, "key", "Tab")
		waitFor(t, "the reading on disk", func() bool { was, _ = reading(); return was == kept })
		x.click(t, at)
		x.xdo(t, "key", "ctrl+a")
		x.xdo(t, "type", next)
		time.AfterFunc(time.Duration(round*17%160)*time.Millisecond, func() { win.Process.Kill() })
		x.xdo(t, "key", "Tab")
		win.Wait()
		got, m := reading()
		if got != kept && got != next || m < n+1 || m > n+2 {
			t.Fatalf("round %d: %q stands after %q was on disk, %d entries after %d", round, got, kept, m, n)
		}
		n = m
		left, _ := os.ReadDir(jobs)
		for _, f := range left {
			if !slices.Contains([]string{store.File, "writer", "copies", "log"}, f.Name()) {
				t.Errorf("round %d: %s lies about", round, f.Name())
			}
		}
	}
}

var buildFlags []string

// program is the built program; it is linked once for all tests.
func program(t *testing.T) string {
	t.Helper()
	bin := filepath.Join(built, "retrostage")
	if _, err := os.Stat(bin); err == nil {
		return bin
	}
	if out, err := exec.Command("go", slices.Concat([]string{"build", "-o", bin}, buildFlags, []string{"retrostage"})...).CombinedOutput(); err != nil {
		t.Fatalf("the program does not build: %v\n%s", err, out)
	}
	return bin
}

// lowest is the last field of numbers that is seen whole, and where it is typed into.
func lowest(b *Bench) (low *widget.Row, at image.Point) {
	d := fyne.CurrentApp().Driver()
	side := b.pane().Side
	foot := d.AbsolutePositionForObject(side).Y + side.Size().Height
	for _, r := range b.pane().Rows {
		p := d.AbsolutePositionForObject(r.Input())
		if r.Field.Kind == widget.NumberField && r.Visible() && p.Y > 0 && p.Y+r.Size().Height < foot {
			low, at = r, image.Pt(int(p.X), int(p.Y))
		}
	}
	return low, at
}

type xserver struct {
	display string
	env     []string
	tmp     string
}

func startX(t *testing.T, tmp string) *xserver {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "1280x800x24", "-dpi", "96", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{w}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	w.Close()
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	r.SetReadDeadline(time.Now().Add(20 * time.Second))
	num, err := io.ReadAll(io.LimitReader(r, 8))
	n := strings.TrimSpace(string(num))
	if _, bad := strconv.Atoi(n); bad != nil {
		t.Skipf("Xvfb does not start here (%v): the window is not tried", err)
	}
	x := &xserver{display: ":" + n, tmp: tmp}
	x.env = append(os.Environ(), "DISPLAY="+x.display, "WAYLAND_DISPLAY=", "HOME="+tmp, "XDG_CONFIG_HOME="+tmp, "XDG_DATA_HOME="+tmp, "FYNE_SCALE=1", "LIBGL_ALWAYS_SOFTWARE=1")
	return x
}

func (x *xserver) open(t *testing.T, bin, jobs string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(bin, "open", "--dir", jobs)
	cmd.Env = x.env
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait() // what it said is whole, whoever waited first
		if strings.Contains(out.String(), "DATA RACE") {
			t.Errorf("the program races:\n%.8000s", &out)
		}
	})
	waitFor(t, "the window", func() bool {
		c := exec.Command("xdotool", "search", "--onlyvisible", "--name", "^Retrostage$")
		c.Env = x.env
		b, err := c.Output()
		return err == nil && len(bytes.TrimSpace(b)) > 0
	})
	x.still(t, image.Rect(0, 0, 1280, 800))
	return cmd
}

func (x *xserver) xdo(t *testing.T, args ...string) {
	t.Helper()
	c := exec.Command("xdotool", args...)
	c.Env = x.env
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("xdotool %v: %v %s", args, err, out)
	}
	time.Sleep(150 * time.Millisecond)
}

func (x *xserver) click(t *testing.T, p image.Point) {
	t.Helper()
	x.xdo(t, "mousemove", strconv.Itoa(p.X), strconv.Itoa(p.Y))
	x.xdo(t, "click", "1")
}

func (x *xserver) shot(t *testing.T) *image.NRGBA {
	t.Helper()
	c := exec.Command("import", "-window", "root", "-depth", "8", "rgba:-") // not packed, for that takes longer than the rest
	c.Env = x.env
	out, err := c.Output()
	if err != nil {
		t.Fatalf("import: %v", err)
	}
	img := image.NewNRGBA(image.Rect(0, 0, 1280, 800))
	if copy(img.Pix, out) != len(img.Pix) || len(out) != len(img.Pix) {
		t.Fatalf("import: %d bytes, want %d", len(out), len(img.Pix))
	}
	return img
}

// still waits until an area has stopped changing and is not blank.
func (x *xserver) still(t *testing.T, area image.Rectangle) (img *image.NRGBA) {
	t.Helper()
	old := x.shot(t)
	calm := 0
	waitFor(t, fmt.Sprintf("the screen to settle at %v", area), func() bool {
		time.Sleep(200 * time.Millisecond)
		img = x.shot(t)
		if same(old, img, area) && !blank(img, area) {
			calm++
		} else {
			calm = 0
		}
		old = img
		return calm >= 2
	})
	return img
}

// changed waits until an area differs from a picture, or gives up and returns
// what there is.
func (x *xserver) changed(t *testing.T, area image.Rectangle, from *image.NRGBA) (img *image.NRGBA) {
	t.Helper()
	for until := time.Now().Add(patient); time.Now().Before(until); time.Sleep(200 * time.Millisecond) {
		if img = x.shot(t); !same(img, from, area) {
			return img
		}
	}
	t.Logf("nothing changed at %v in %v", area, patient)
	return img
}

func same(a, b *image.NRGBA, r image.Rectangle) bool {
	off := 0
	r = r.Intersect(a.Bounds()).Intersect(b.Bounds())
	for y := r.Min.Y; y < r.Max.Y && !r.Empty(); y++ {
		if from, to := a.PixOffset(r.Min.X, y), a.PixOffset(r.Max.X, y); bytes.Equal(a.Pix[from:to], b.Pix[from:to]) {
			continue // most lines
		}
		for x := r.Min.X; x < r.Max.X; x++ {
			if a.NRGBAAt(x, y) != b.NRGBAAt(x, y) {
				off++
			}
		}
	}
	// A blinking cursor is a few pixels.
	return off < 60
}

func blank(a *image.NRGBA, r image.Rectangle) bool {
	first := a.NRGBAAt(r.Min.X, r.Min.Y)
	for y := r.Min.Y; y < r.Max.Y; y += 2 {
		for x := r.Min.X; x < r.Max.X; x += 2 {
			if a.NRGBAAt(x, y) != first {
				return false
			}
		}
	}
	return true
}

func centreOf(r image.Rectangle) image.Point { return r.Min.Add(r.Max).Div(2) }

// patient is how long something is waited for that has to come: long, for the machine may
// be busy with other things.
const patient = 2 * time.Minute

func waitFor(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for until := time.Now().Add(patient); time.Now().Before(until); time.Sleep(100 * time.Millisecond) {
		if ok() {
			return
		}
	}
	t.Fatalf("waited in vain for %s", what)
}
