package app

import (
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"io"
	"log"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"fyne.io/fyne/v2"
	fyneapp "fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"

	"retrostage/app/bell"
	"retrostage/app/console"
	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/trouble"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/archive"
	"retrostage/reports/match"
	"retrostage/reports/record"
	"retrostage/reports/version"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// Opts says what to open.
type Opts struct {
	Job string // path of a job file; "" opens the job changed last
	Dir string // folder of jobs; "" is the user's data folder

	// Export writes the workbook of a job into a folder, in the units that are
	// shown, and returns its path.
	// nil leaves the hand-over without one.
	Export func(j *record.Job, photos []workbook.Photo, dir string, sys units.System) (string, error)
}

const id = "retrostage.workbench"

// Run opens the workbench and returns when its window is closed. A job that
// cannot be opened is said in a window and returned as the error.
func Run(o Opts) error {
	kept, report := keeper(o)
	defer kept.Close()
	log.SetFlags(0) // the log has its own times, and takes the slashes of these for a path
	log.SetOutput(kept.Writer(console.Watch(os.Stderr, console.Tell)))
	// The toolkit need not look at every touch of a widget whether it is on its thread: all
	// that comes from beside it goes through fyne.Do, and tests look.
	fyneapp.SetMetadata(fyne.AppMetadata{ID: id, Name: "Retrostage", Version: version.Number, Migrations: map[string]bool{"fyneDo": true}})
	hurt := mendToolkit()
	a := fyneapp.NewWithID(id)
	path, err := settingsPath()
	pref, said := openSettings(path, a.Preferences())
	if err != nil {
		pref.shut = err
	}
	if said != "" {
		hurt = said
	}
	mine := recall(pref)
	mine.size(true)
	if err := words.Use(mine.Language, mine.Mark); err != nil {
		kept.Say("words not read: " + err.Error())
	}
	w := a.NewWindow("Retrostage")
	w.SetPadded(false)
	palette := theme.Light
	if pref.Bool("dark") {
		palette = theme.Dark
	}
	a.Settings().SetTheme(theme.Theme{Palette: palette})
	// As large as it was left: a tablet's screen is filled once.
	w.Resize(fyne.NewSize(float32(pref.FloatWithFallback("width", 1280)), float32(pref.FloatWithFallback("height", 800))))
	// While the system makes the window, the job is opened and the letters are read beside
	// it; until both are there nothing is measured or shown on the toolkit's thread.
	type found struct {
		at  opening
		err error
	}
	came, lettered := make(chan found, 1), make(chan struct{})
	who := pref.String("person")
	go func() {
		at, err := open(o.Job, o.Dir, who)
		came <- found{at, err}
	}()
	go func() {
		defer close(lettered)
		for _, bold := range []bool{false, true} {
			fyne.MeasureText("0", theme.Text, fyne.TextStyle{Bold: bold})
		}
	}()
	var b *Bench
	var failed error
	var ended atomic.Bool
	closed := make(chan struct{})
	show := func(f found) {
		if failed = f.err; f.err != nil {
			kept.Say("jobs not opened: " + f.err.Error())
			w.SetContent(widget.NewColumn(10, 20, widget.NewNotice("outside", theme.Bad, []string{f.err.Error(), "Nothing was changed."}, nil)))
			return
		}
		b = benchOn(f.at, false)
		b.trouble, b.ended = kept, &ended
		if report != "" {
			b.note = "The program broke down at its last start. What happened stands in " + report
		}
		if hurt != "" {
			kept.Say("settings: " + hurt)
			b.note = strings.TrimSpace(b.note + " " + hurt)
		}
		b.furnish(w, pref, palette.Dark, o, closed)
	}
	a.Lifecycle().SetOnStarted(func() {
		keepInSight(w)
		<-lettered
		select {
		case f := <-came:
			show(f)
		default:
			w.SetContent(widget.NewColumn(10, 20, widget.NewWords("Opening the jobs", theme.Text, false, theme.Muted)))
			go func() {
				f := <-came
				fyne.Do(func() { show(f) })
			}()
		}
		// What the start needed and nothing needs any more goes back to the system; from then
		// on it is kept small, for a tablet has little memory and the program much time.
		time.AfterFunc(3*time.Second, func() {
			debug.SetGCPercent(60)
			debug.FreeOSMemory()
		})
	})
	w.SetOnClosed(func() { go lastly(kept, closed) })
	told := make(chan os.Signal, 1)
	signal.Notify(told, os.Interrupt, syscall.SIGTERM)
	go func() {
		<-told
		ended.Store(true)
		lastly(kept, closed)
	}()
	w.ShowAndRun()
	close(closed)
	if b != nil && b.keep.jobs != nil {
		failed = b.keep.jobs.Close()
	}
	return failed
}

// lastly ends the program where the toolkit does not: version 2.7.1 at times waits for ever
// for an event of its own that came as its queue was being shut (seen once, on a machine
// under heavy load), and a process without a window would hold the jobs. What was to be
// saved was waited for before the window closed.
func lastly(kept *trouble.Keeper, closed <-chan struct{}) {
	select {
	case <-closed:
	case <-time.After(3 * time.Second):
		kept.Say("ended without waiting for the toolkit")
		os.Exit(0)
	}
}

// furnish puts the bench into its window, as the person left it. Its clocks beat until
// the window is closed.
func (b *Bench) furnish(w fyne.Window, pref settings, dark bool, o Opts, closed <-chan struct{}) {
	b.export = o.Export
	file, _ := pref.(*settingsFile) // nil in tests that keep none
	if file != nil {
		file.told = b.tellSettings
	}
	b.counterKey = pref.String("counterkey")
	b.person, b.shared = aName(pref.String("person")), pref.String("shared")
	b.alone.off = pref.Bool("exchange by hand")
	b.dark = dark
	b.keys = pref.BoolWithFallback("keypad", true)
	if pref.String("units") == "SI" {
		b.tablet = units.SI
		b.follow()
	}
	b.sitting.Columns, b.sitting.Lists = remembered(pref.String("columns"), pref.String("lists"))
	b.browse, b.pickJob, b.pickBook = asking(w, ".csv", ".txt", ".tsv", ".log"), asking(w, ".json"), asking(w, ".xlsx")
	b.pickPhoto = asking(w, ".jpg", ".jpeg", ".png", ".JPG", ".JPEG", ".PNG")
	w.SetOnDropped(func(_ fyne.Position, files []fyne.URI) { b.dropped(files) })
	b.own = recall(pref)
	b.sitting.Mine = b.own.Tools
	if r, ok := w.(interface{ RescaleContext() }); ok {
		b.rescale = r.RescaleContext
	}
	b.remind = func() {
		if c, err := json.Marshal(b.sitting.Lists); err == nil {
			pref.SetString("lists", string(c))
		}
		if c, err := json.Marshal(b.sitting.Columns); err == nil {
			pref.SetString("columns", string(c))
		}
		pref.SetString("person", b.person)
		pref.SetString("shared", b.shared)
		pref.SetString("counterkey", b.counterKey)
		pref.SetBool("exchange by hand", b.alone.off)
		pref.SetString("units", b.tablet.String())
		pref.SetBool("dark", b.dark)
		pref.SetBool("keypad", b.keys)
		b.own.Tools = b.sitting.Mine
		b.own.keep(pref)
		if file != nil {
			file.Keep()
		}
	}
	b.canvas = w.Canvas
	w.SetContent(b.window)
	b.shortcuts(w.Canvas())
	w.SetCloseIntercept(func() {
		b.Leave()
		pref.SetFloat("width", float64(w.Canvas().Size().Width))
		pref.SetFloat("height", float64(w.Canvas().Size().Height))
		if file != nil {
			file.Keep()
		}
		// What is still on its way to the disk is waited for.
		go func() {
			for until := time.Now().Add(5 * time.Second); (b.saving.Busy() || file != nil && file.writing.Busy()) && time.Now().Before(until); {
				time.Sleep(10 * time.Millisecond)
			}
			fyne.Do(func() { b.closing(w) })
		}()
	})
	b.window.paintBar()
	b.ring = func(what, next string) {
		fyne.CurrentApp().SendNotification(fyne.NewNotification(words.Say(what+": the time is over"), words.Say(section.Sentence(next))))
		bell.Ring()
	}
	go b.beat(closed)
	go b.rest(closed)
	if b.none && !b.own.Begun && b.person == "" {
		b.Settings(true)
	}
}

// keeper begins the log beside the jobs. Without it the program does as well.
func keeper(o Opts) (*trouble.Keeper, string) {
	dir := o.Dir
	if dir == "" {
		var err error
		if dir, err = archive.Dir(); err != nil {
			return nil, ""
		}
	}
	k, report, err := trouble.Open(filepath.Join(dir, "log"))
	if err != nil {
		return nil, report
	}
	return k, report
}

// remembered is what was learned of columns in earlier sittings; what cannot be read, or
// is more than any sitting leaves, is nothing.
func remembered(columns, lists string) (c map[string]section.LogColumn, l match.Mapping) {
	const most = 1 << 20
	if len(columns) > most || json.Unmarshal([]byte(columns), &c) != nil || c == nil {
		c = map[string]section.LogColumn{}
	}
	if len(lists) > most || json.Unmarshal([]byte(lists), &l) != nil || l == nil {
		l = match.Mapping{}
	}
	return c, l
}

// asking is a question for a file whose name ends in one of these.
func asking(w fyne.Window, exts ...string) func(done func(path string)) {
	return func(done func(string)) {
		d := dialog.NewFileOpen(func(f fyne.URIReadCloser, err error) {
			if err != nil || f == nil {
				return
			}
			f.Close()
			done(f.URI().Path())
		}, w)
		d.SetFilter(storage.NewExtensionFileFilter(exts))
		d.Show()
	}
}

// closing shuts the window; where something is not on disk it asks first.
func (b *Bench) closing(w fyne.Window) {
	held := b.waiting.list()
	if b.turn != nil && len(b.turn.since) > 0 {
		held = append(held, unwritten{b.keep, b.job, b.person})
	}
	close := func() {
		b.ended.Store(true) // before the toolkit's thread ends
		w.Close()
	}
	if len(held) == 0 {
		close()
		return
	}
	said := fmt.Sprintf("Not saved: job %s.", held[0].job.ID)
	if len(held) > 1 {
		said = fmt.Sprintf("Not saved: job %s and %d more.", held[0].job.ID, len(held)-1)
	}
	if b.saveErr != nil {
		said += "\n" + b.saveErr.Error()
	}
	d := dialog.NewConfirm(words.Say("Close and lose what was typed?"), words.Say(said), func(lose bool) {
		if lose {
			close()
		}
	}, w)
	d.SetConfirmText(words.Say("Close and lose it"))
	d.SetDismissText(words.Say("Stay"))
	d.Show()
}

// shortcuts: Ctrl and Page Down or Page Up go through the steps, Ctrl and Z takes back
// what was done last, Ctrl and Y does it again.
func (b *Bench) shortcuts(c fyne.Canvas) {
	for name, by := range map[fyne.KeyName]int{fyne.KeyPageDown: 1, fyne.KeyPageUp: -1} {
		c.AddShortcut(&desktop.CustomShortcut{KeyName: name, Modifier: fyne.KeyModifierControl}, func(fyne.Shortcut) { b.Go(b.at + by) })
	}
	c.AddShortcut(&fyne.ShortcutUndo{}, func(fyne.Shortcut) { b.Back(false) })
	c.AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { b.Back(true) })
	c.SetOnTypedRune(func(r rune) { // nothing has the cursor
		if r > ' ' {
			b.loose += string(r)
			b.stray(nil, b.loose)
		}
	})
}

// HasDisplay tells whether a window can be opened here.
func HasDisplay() bool {
	if runtime.GOOS != "linux" {
		return true
	}
	if os.Getenv("WAYLAND_DISPLAY") != "" {
		return true
	}
	d := os.Getenv("DISPLAY")
	if d == "" {
		return false
	}
	host, num, ok := strings.Cut(d, ":")
	if !ok {
		return false
	}
	num, _, _ = strings.Cut(num, ".")
	network, at := "unix", "/tmp/.X11-unix/X"+num
	if host != "" && host != "unix" {
		n, err := strconv.Atoi(num)
		if err != nil {
			return false
		}
		network, at = "tcp", net.JoinHostPort(host, strconv.Itoa(6000+n)) // X11's port of a display
	}
	asked, err := net.DialTimeout(network, at, time.Second)
	if err != nil {
		return false
	}
	found = append(found, asked)
	return true
}

// found are the connections by which a display was found. They stay: a server whose
// only client goes begins anew, and would refuse the toolkit meanwhile.
var found []net.Conn

// sizes are those at which every pane is looked at.
var sizes = []fyne.Size{{Width: 1280, Height: 800}, {Width: 1024, Height: 768}, {Width: 800, Height: 1280}}

// Shots draws every pane of a job to PNG files in dir, at three sizes, light and
// dark, without a display: running-1280x800-light.png and so on. It returns the
// paths written.
func Shots(dir string, j *record.Job) ([]string, error) {
	return someShots(dir, j, func(fyne.Size, theme.Palette) bool { return true })
}

// someShots are those of the sizes and palettes that want takes.
func someShots(dir string, j *record.Job, want func(fyne.Size, theme.Palette) bool) ([]string, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	var paths []string
	var err error
	// The toolkit's in-memory driver takes any goroutine for its own but the
	// main one.
	done := make(chan struct{})
	go func() {
		defer close(done)
		paths, err = shots(dir, j, want)
	}()
	<-done
	return paths, err
}

func shots(dir string, j *record.Job, want func(fyne.Size, theme.Palette) bool) ([]string, error) {
	a := test.NewApp()
	defer a.Quit()
	var paths []string
	for _, p := range []theme.Palette{theme.Light, theme.Dark} {
		a.Settings().SetTheme(theme.Theme{Palette: p})
		at := lastEntry(j)
		open := j.Clone() // the job with its groups of fields open
		if err := section.AcknowledgeAll(open, "T-17", at); err != nil {
			return paths, err
		}
		b := newBench(jobStore{}, open, true)
		b.person, b.dark, b.savedAt = "T-17", p.Dark, at
		b.now = func() time.Time { return at }
		b.panes = map[int]*section.Pane{}
		w := test.NewWindow(b.window)
		w.SetPadded(false)
		b.canvas = w.Canvas
		for _, size := range sizes {
			if !want(size, p) {
				continue
			}
			w.Resize(size)
			for i, s := range record.Steps {
				b.open(i)
				b.window.paintBar()
				b.window.Refresh()
				path := filepath.Join(dir, shotName(string(s.Step), size, p.Dark))
				if err := writePNG(path, w.Canvas().Capture()); err != nil {
					w.Close()
					return paths, err
				}
				paths = append(paths, path)
			}
		}
		w.Close()
	}
	return paths, nil
}

func shotName(step string, s fyne.Size, dark bool) string {
	v := "light"
	if dark {
		v = "dark"
	}
	return fmt.Sprintf("%s-%.0fx%.0f-%s.png", step, s.Width, s.Height, v)
}

func lastEntry(j *record.Job) time.Time {
	if n := len(j.Entries); n > 0 {
		return j.Entries[n-1].Time
	}
	return time.Date(2026, 1, 1, 12, 0, 0, 0, time.UTC)
}

func writePNG(path string, img image.Image) error {
	return archive.Replace(path, func(w io.Writer) error { return png.Encode(w, img) })
}
