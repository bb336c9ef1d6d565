package app

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/assets"
	"retrostage/reports/owner"
	"retrostage/reports/record"
)

// picture writes one of the window where RETROSTAGE_LOOK names a folder.
func picture(t *testing.T, w fyne.Window, name string) {
	t.Helper()
	if dir := os.Getenv("RETROSTAGE_LOOK"); dir != "" {
		if err := writePNG(filepath.Join(dir, name+".png"), w.Canvas().Capture()); err != nil {
			t.Error(err)
		}
	}
}

// Each step has a page with what to do, what the words mean and a caution, and no page is
// there that nothing leads to. None of them says that something is safe.
func TestHelpPages(t *testing.T) {
	want := map[string]bool{}
	for _, p := range helpPages {
		want[p.name] = true
	}
	for _, s := range record.Steps {
		want[string(s.Step)] = true
		text, err := helpText(string(s.Step))
		if err != nil {
			t.Error(err)
			continue
		}
		for _, h := range []string{"## What to do", "## What the verdicts mean", "## Caution"} {
			if !strings.Contains(text, h) {
				t.Errorf("%s has no %q", s.Step, h)
			}
		}
		if !strings.HasPrefix(text, "# "+s.Title+"\n") {
			t.Errorf("%s is headed otherwise than its step, %s", s.Step, s.Title)
		}
	}
	list, err := assets.FS.ReadDir("help")
	if err != nil {
		t.Fatal(err)
	}
	safe := regexp.MustCompile(`(?i)\bsafe\b`)
	for _, e := range list {
		name := strings.TrimSuffix(e.Name(), ".md")
		if !want[name] {
			t.Errorf("nothing leads to %s", e.Name())
		}
		text, err := helpText(name)
		if err != nil {
			t.Error(err)
		}
		for _, at := range safe.FindAllStringIndex(text, -1) {
			if s := text[max(0, at[0]-60):at[1]]; !strings.Contains(s, "No word of this program says") {
				t.Errorf("%s: %q", name, s)
			}
		}
	}
}

// The key in the bar opens the page of the step; from there every other page is a touch
// away, and the demo job comes to the bench as a job of its own.
func TestHelpInTheWindow(t *testing.T) {
	b, w := bench(t, record.New("job-2026-08-14-9"))
	for _, size := range sizes {
		w.Resize(size)
		test.Tap(b.window.help)
		top := w.Canvas().Overlays().Top()
		if top == nil {
			t.Fatal("no help")
		}
		picture(t, w, "help-"+shotName("intake", size, false))
		for _, s := range record.Steps {
			if tap(top, s.Title) == nil {
				t.Errorf("no key to %s", s.Title)
			}
		}
		test.Tap(tap(top, "Words"))
		if p := visible[*widget.Page](top); len(p) != 1 || p[0].Size().Height < 400 {
			t.Error("the glossary is not shown")
		}
		test.Tap(tap(top, "Back to the job"))
	}
	b.Help("demo")
	test.Tap(tap(w.Canvas().Overlays().Top(), "Open the demo job"))
	if !b.job.Demo || b.job.ID == "job-2026-08-14-9" {
		t.Errorf("the demo job is not there: %s, %s", b.job.ID, b.note)
	}
	// What was done to it is there when it is opened again.
	if err := b.Enter(record.OwnerRef, "R-7", "", ""); err != nil {
		t.Fatal(err)
	}
	b.demoJob(nil)
	if b.job.Text(record.OwnerRef) != "R-7" {
		t.Error("the demo job was put over what was done to it")
	}
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: theme.Light})
}

// The first start asks, by keys on the glass alone, and what was said is there for the
// next start.
func TestFirstRun(t *testing.T) {
	b, w := bench(t, record.New("job-2026-08-14-9"))
	pref := fyne.CurrentApp().Preferences()
	for _, k := range []string{"own", "person"} {
		pref.RemoveValue(k)
	}
	closed := make(chan struct{})
	b.none = true
	b.furnish(w, pref, false, Opts{}, closed)
	close(closed)
	top := w.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("nothing is asked at the first start")
	}
	picture(t, w, "first-run")
	keys := visible[*widget.Letters](top)[0]
	for _, c := range "t31" {
		if c == 't' {
			test.Tap(keys.Key("ABC"))
			c = 'T'
		}
		test.Tap(keys.Key(string(c)))
	}
	test.Tap(keys.Key("Next"))
	for _, c := range "office" {
		test.Tap(keys.Key(string(c)))
	}
	test.Tap(tap(top, "glove"))
	test.Tap(tap(top, "for numbers and words"))
	test.Tap(tap(top, "Begin with a job"))
	if call, err := owner.Calls(b.settingsDir()); b.person != "T31" || call != "office" || err != nil {
		t.Errorf("person %q, call %q, %v", b.person, call, err)
	}
	if o := recall(pref); !o.Begun || !o.Glove || !o.Letters || os.Getenv(scaleName) != gloved {
		t.Errorf("kept: %+v, scale %q", o, os.Getenv(scaleName))
	}
	b.own.Glove = false
	b.own.size(true)
	if os.Getenv(scaleName) != "" {
		t.Error("the glove's size stays")
	}
	if w.Canvas().Overlays().Top() != nil {
		t.Error("the sheet stays")
	}
	// A second start asks nothing.
	closed = make(chan struct{})
	b.furnish(w, pref, false, Opts{}, closed)
	close(closed)
	if w.Canvas().Overlays().Top() != nil {
		t.Error("asked a second time")
	}
	// Settings that cannot be read are as none.
	pref.SetString("own", "{")
	if o := recall(pref); o.Begun || o.Glove {
		t.Errorf("read from rubbish: %+v", o)
	}
}

// An instrument of the person's own comes into a job at a touch, and a calibration whose
// date is past is told.
func TestOwnInstruments(t *testing.T) {
	b, w := bench(t, record.New("job-2026-08-14-9"))
	b.now = func() time.Time { return noon }
	late := record.Instrument{ID: "G-1", Name: "Gauge set", Due: "2026-08-01", Accuracy: []record.Accuracy{{Dim: "pressure", Plus: 1, Unit: "psig"}}}
	b.sitting.Mine = []record.Instrument{late}
	b.Remake(nil)
	if shownWords(b.pane().Side) == "" {
		t.Fatal("no pane")
	}
	test.Tap(tap(b.pane().Side, "Take my own: Gauge set"))
	if len(b.job.Instruments) != 1 || b.job.Instruments[0].Due != "2026-08-01" {
		t.Errorf("the job lists %+v", b.job.Instruments)
	}
	warned := false
	for _, c := range visible[*widget.Card](b.pane().Side) {
		warned = warned || strings.Contains(c.Why, "was due 2026-08-01") && c.Tone == theme.Warning
	}
	if !warned {
		t.Error("the date that is past is not told")
	}
	if tap(b.pane().Side, "Take my own: Gauge set") != nil {
		t.Error("it can be taken twice")
	}
	picture(t, w, "own-instruments")
}
