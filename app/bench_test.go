package app

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/assess"
	"retrostage/reports/record"
	"retrostage/reports/store"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// bench opens a bench on a job kept in a folder of its own.
func bench(t *testing.T, j *record.Job) (*Bench, fyne.Window) {
	t.Helper()
	a := test.NewApp()
	t.Cleanup(a.Quit)
	t.Cleanup(letGo)
	a.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	dir := t.TempDir()
	l, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	b := newBench(jobStore{jobs: l, dir: dir}, j, true)
	w := test.NewWindow(b.window)
	t.Cleanup(w.Close)
	w.SetPadded(false)
	w.Resize(sizes[0])
	b.canvas = w.Canvas
	for _, g := range []string{"Dead checks", "Live checks"} {
		section.Acknowledge(b, g)
	}
	return b, w
}

// reader is the store in a folder as another window sees it.
func reader(t *testing.T, dir string) *store.Local {
	t.Helper()
	l, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// onDisk is the job on the bench as another window reads it.
func onDisk(t *testing.T, b *Bench) *record.Job {
	t.Helper()
	s, err := reader(t, b.keep.dir).State(b.job.ID)
	if err != nil {
		t.Fatal(err)
	}
	return s.Job
}

// reopened is a bench on what is in a folder.
func reopened(t *testing.T, dir string) *Bench {
	t.Helper()
	o, err := open("", dir, "T-17")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { o.keep.jobs.Close() })
	return benchOn(o, true)
}

func stepIndex(s record.Step) int {
	for i, x := range record.Steps {
		if x.Step == s {
			return i
		}
	}
	return -1
}

// typeIn types as a keyboard does, into the entry that has the focus.
func typeIn(t *testing.T, w fyne.Window, text string) {
	t.Helper()
	f := w.Canvas().Focused()
	if f == nil {
		t.Fatal("nothing has the focus")
	}
	test.Type(f, text)
}

func press(t *testing.T, w fyne.Window, key fyne.KeyName) {
	t.Helper()
	f := w.Canvas().Focused()
	if f == nil {
		t.Fatal("nothing has the focus")
	}
	f.TypedKey(&fyne.KeyEvent{Name: key})
}

func figureOf(t *testing.T, b *Bench, key string) string {
	t.Helper()
	s := strip(t, b, key)
	return s.Finding.Figure + " " + s.Finding.Unit
}

// firstStrip is a strip of the step that rests on the reading.
func dependsOn(t *testing.T, b *Bench, reading record.Key) string {
	t.Helper()
	for _, f := range b.report.Of(b.step().Step) {
		for _, i := range f.Inputs {
			if i.Key == reading.String() && f.Measured {
				return f.Key
			}
		}
	}
	t.Fatalf("no finding rests on %s", reading)
	return ""
}

func TestTypingMovesTheStripAndLeavingEntersIt(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	key := dependsOn(t, b, record.SuctionPressure)
	before := figureOf(t, b, key)
	entries := len(b.job.Entries)

	row := find(t, b, record.SuctionPressure)
	row.Focus()
	typeIn(t, w, "105")
	if row.Text() != "105" {
		t.Fatalf("the entry reads %q: typing should replace what stood there", row.Text())
	}
	during := figureOf(t, b, key)
	if during == before {
		t.Errorf("strip %s still shows %s while 105 is typed", key, during)
	}
	if len(b.job.Entries) != entries {
		t.Errorf("typing alone entered %d values", len(b.job.Entries)-entries)
	}
	press(t, w, fyne.KeyTab)
	e, _ := b.job.Entry(record.SuctionPressure)
	if e.Value != "105" || e.Unit != "psig" || len(b.job.Entries) != entries+1 {
		t.Errorf("the record holds %+v after Tab, %d new entries", e, len(b.job.Entries)-entries)
	}
	if after := figureOf(t, b, key); after != during {
		t.Errorf("the strip went from %s to %s on entering", during, after)
	}
	if b.active.Field.Key != record.SuctionTemp.String() {
		t.Errorf("Tab went to %s", b.active.Field.Key)
	}
	press(t, w, fyne.KeyReturn)
	if b.active.Field.Key != record.LiquidPressure.String() { // the next that is shown, as Tab does: none is leaped over
		t.Errorf("Enter went to %s", b.active.Field.Key)
	}
	// On disk, by its own reader.
	j := onDisk(t, b)
	if v := j.Text(record.SuctionPressure); v != "105" {
		t.Errorf("on disk: %q", v)
	}
}

func TestReopeningBringsBackJobAndStep(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Electrical))
	find(t, b, record.SupplyVoltage).Focus()
	typeIn(t, w, "211")
	press(t, w, fyne.KeyTab)
	again := reopened(t, b.keep.dir)
	if again.step().Step != record.Electrical || again.job.ID != b.job.ID {
		t.Errorf("reopened at %s of %s", again.step().Step, again.job.ID)
	}
	if got := find(t, again, record.SupplyVoltage).Text(); got != "211" {
		t.Errorf("the entry reads %q", got)
	}
}

func TestWhatCannotBeEnteredStaysWithItsReason(t *testing.T) {
	for _, c := range []struct {
		key        record.Key
		text, want string
	}{
		{record.SuctionPressure, "12x", "not a number"},
		{record.SuctionPressure, "9999", "outside"},
		{record.LiquidPressure, "850", "critical"},
		{record.LiquidPressure, "100", "not above the suction pressure"},
	} {
		b, w := bench(t, filled(t))
		b.Go(stepIndex(record.Running))
		row := find(t, b, c.key)
		row.Focus()
		typeIn(t, w, c.text)
		press(t, w, fyne.KeyTab)
		if row.Text() != c.text {
			t.Errorf("%s: %q was typed, the entry reads %q", c.key, c.text, row.Text())
		}
		if !strings.Contains(strings.ToLower(row.Wrong()), c.want) {
			t.Errorf("%s %s: beside the entry stands %q, want %q", c.key, c.text, row.Wrong(), c.want)
		}
		// It survives a restart too.
		again := reopened(t, b.keep.dir)
		if r := find(t, again, c.key); r.Text() != c.text || r.Wrong() == "" {
			t.Errorf("%s after reopening: %q, %q", c.key, r.Text(), r.Wrong())
		}
	}
}

func TestKeypadTypesSignsRubsAndGoesOn(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	row := find(t, b, record.LiquidTemp)
	row.Focus()
	if b.window.pad.Target() != row || !b.window.padOn {
		t.Fatal("the keypad did not come up for a number")
	}
	tap := func(text string) { b.window.pad.Key(text).Tapped(nil) }
	for _, k := range []string{"9", "8", ".", "5", "5"} {
		tap(k)
	}
	tap("rub")
	if row.Text() != "98.5" {
		t.Fatalf("typed 98.55 and rubbed one: %q", row.Text())
	}
	tap("±")
	if row.Text() != "-98.5" {
		t.Fatalf("after the sign: %q", row.Text())
	}
	tap("±")
	tap("Next")
	if e, _ := b.job.Entry(record.LiquidTemp); e.Value != "98.5" {
		t.Errorf("entered %q", e.Value)
	}
	if b.window.pad.Target().Field.Key != record.OutdoorTemp.String() { // the next that is shown, filled in or not
		t.Errorf("Next went to %s", b.window.pad.Target().Field.Key)
	}
	row.Focus()
	tap("Back")
	if b.window.pad.Target() == row || b.window.pad.Target() == nil {
		t.Error("Back went nowhere")
	}
	// The unit is part of what was typed: the number stays, its meaning changes.
	b.Leave()
	row.SetUnit("°C")
	if e, _ := b.job.Entry(record.LiquidTemp); e.Value != "98.5" || e.Unit != "C" {
		t.Errorf("after choosing another unit: %+v", e)
	}
	// Text does not call for a keypad.
	b.Go(stepIndex(record.Intake))
	find(t, b, record.OwnerRef).Focus()
	if b.window.padOn {
		t.Error("the keypad came up for text")
	}
}

func TestUnwritableFolderLosesNothing(t *testing.T) {
	dir := t.TempDir()
	block := filepath.Join(dir, "block")
	if err := os.WriteFile(block, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	b, w := bench(t, filled(t))
	b.keep = jobStore{file: &fileKeeper{path: filepath.Join(block, "a.job.json")}}
	b.Go(stepIndex(record.Running))
	find(t, b, record.SuctionPressure).Focus()
	typeIn(t, w, "117")
	press(t, w, fyne.KeyTab)
	if text, bad := b.status(); !bad || !strings.HasPrefix(text, "NOT SAVED") {
		t.Fatalf("status %q", text)
	}
	if !b.window.retry.Visible() {
		t.Error("no way to try again is offered")
	}
	if b.job.Text(record.SuctionPressure) != "117" {
		t.Error("the entry was lost")
	}
	b.keep.file, b.waiting.jobs = &fileKeeper{path: filepath.Join(dir, "a.job.json")}, nil // kept elsewhere from here on
	b.window.retry.Tapped(nil)
	if text, bad := b.status(); bad {
		t.Fatalf("after trying again: %q", text)
	}
	j, err := archive.ReadJob(b.keep.file.path)
	if err != nil || j.Text(record.SuctionPressure) != "117" {
		t.Errorf("on disk %v, %v", j, err)
	}
}

func TestDamagedJobIsNamedAndLeftAlone(t *testing.T) {
	dir := t.TempDir()
	bad := filepath.Join(dir, "x.job.json")
	text := []byte(`{"kind": "retrostage job", "version": 1, "id": "x",`)
	if err := os.WriteFile(bad, text, 0o644); err != nil {
		t.Fatal(err)
	}
	o, err := open("", dir, "")
	if err != nil || o.job == nil || !strings.Contains(o.warn, "1 file cannot be read and left alone: x.job.json (") {
		t.Fatalf("job %v, %q, error %v", o.job, o.warn, err)
	}
	o.keep.jobs.Close()
	if _, err := open(bad, "", ""); err == nil || !strings.Contains(err.Error(), "line") {
		t.Errorf("opened by name: %v", err)
	}
	if _, err := open(filepath.Join(dir, "none.job.json"), "", ""); err == nil || !strings.Contains(err.Error(), "no job file") {
		t.Errorf("a file that is not there: %v", err)
	}
	if now, _ := os.ReadFile(bad); string(now) != string(text) {
		t.Error("the damaged file was changed")
	}
}

func TestUnitsShownChangeAndEntriesDoNot(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Enter(record.SettleTime, "20", "min", "") // or it is not judged, and folded away
	b.Enter(record.RunningNoted, record.NotedLater, "", "")
	b.Go(stepIndex(record.Running))
	key := dependsOn(t, b, record.SuctionTemp)
	ip := figureOf(t, b, key)
	b.SetSystem(units.SI)
	si := figureOf(t, b, key)
	if ip == si || !(strings.HasSuffix(si, "K") || strings.HasSuffix(si, "°C")) {
		t.Errorf("%s reads %s, then %s", key, ip, si)
	}
	r := find(t, b, record.SuctionTemp)
	if r.Text() != "57" || r.Field.Unit != "°F" {
		t.Errorf("the entry became %s %s", r.Text(), r.Field.Unit)
	}
	if r := find(t, b, record.SupplyWB); r.Field.Unit != "°C" {
		t.Errorf("an empty entry offers %s", r.Field.Unit)
	}
	// The job's limits follow, and the reading is said in the page's units beside itself.
	if got := b.job.Text(record.LimitUnits); got != record.Metric {
		t.Errorf("its limits are in %q", got)
	}
	if note := find(t, b, record.SuctionTemp).Note; !strings.HasPrefix(note, "= 13.89 °C") {
		t.Errorf("beside 57 °F stands %q", note)
	}
	b.SetSystem(units.IP)
	if got := assess.System(b.job); got != units.IP {
		t.Errorf("back in inch-pound units its limits are in %s", got)
	}
}

// A job that is begun on a metric tablet is a metric job; one that comes from elsewhere
// stays what it is, and so does one that is signed.
func TestAJobKeepsTheUnitsOfItsLimits(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetSystem(units.SI)
	b.SetJob(b.keep, record.New("metric"))
	if len(b.job.Entries) > 0 || b.System() != units.SI {
		t.Fatalf("a new job on a metric tablet: %s, %+v", b.System(), b.job.Entries)
	}
	if err := b.Enter(record.OwnerRef, "R-1", "", ""); err != nil {
		t.Fatal(err)
	}
	if assess.System(b.job) != units.SI {
		t.Error("a job begun on a metric tablet is none")
	}
	b.SetJob(b.keep, filled(t))
	if b.System() != units.IP || b.job.Text(record.LimitUnits) != "" {
		t.Errorf("another's job is shown in %s, its limits %q", b.System(), b.job.Text(record.LimitUnits))
	}
	if err := b.Enter(record.SignedBy, "T-07", "", ""); err != nil {
		t.Fatal(err)
	}
	b.SetSystem(units.SI)
	if s, _ := b.job.Signed(); !s.Stands {
		t.Errorf("looking at a signed job in metric units opens its signature: %v", s.Since)
	}
}

func TestSummarySiftsTheStrips(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.HandOver))
	p := b.pane()
	visible := func() int {
		return len(visible[*widget.Strip](p.Middle))
	}
	// What is not judged stands below a fold.
	below := b.report.Count()["not judged"]
	if got := visible(); got != len(b.report.Findings)-below || below == 0 {
		t.Fatalf("%d strips for %d findings, %d of them not judged", got, len(b.report.Findings), below)
	}
	fold := tap(p.Middle, fmt.Sprintf("%d not judged: show", below))
	if fold == nil {
		t.Fatal("no key unfolds what is not judged")
	}
	test.Tap(fold)
	all := visible()
	if all != len(b.report.Findings) {
		t.Fatalf("%d strips for %d findings", all, len(b.report.Findings))
	}
	want := b.report.Count()["within"]
	summary := body(t, b, "summary").(*widget.Choose)
	for _, o := range summary.Options {
		if strings.HasSuffix(o, " within") {
			summary.Do(o)
		}
	}
	if got := visible(); got != want || got == all {
		t.Errorf("%d strips shown, want the %d within", got, want)
	}
	summary.Do("")
	if got := visible(); got != all {
		t.Errorf("%d strips shown after turning it off, want %d", got, all)
	}
}

func TestExportSaysWhere(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.HandOver))
	b.export = func(j *record.Job, _ []workbook.Photo, dir string, _ units.System) (string, error) {
		if j == b.job {
			t.Error("the export was handed the job being edited")
		}
		return filepath.Join(dir, "x.xlsx"), nil
	}
	var at string
	b.Export(func(path string, err error) { at = path })
	if at != filepath.Join(b.keep.dir, "x.xlsx") {
		t.Errorf("written to %q", at)
	}
	b.export = func(*record.Job, []workbook.Photo, string, units.System) (string, error) {
		return "", errors.New("the folder is full")
	}
	var got error
	b.Export(func(_ string, err error) { got = err })
	if got == nil {
		t.Error("the error was swallowed")
	}
}

func TestInstrumentIsKeptAndUsed(t *testing.T) {
	b, _ := bench(t, filled(t))
	err := section.AddInstrument(b.pane(), record.Instrument{ID: "G7", Name: "Gauge", Accuracy: []record.Accuracy{{Dim: units.Pressure, Plus: 1, Unit: "psig"}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := section.AddInstrument(b.pane(), record.Instrument{ID: "G8", Accuracy: []record.Accuracy{{Dim: units.Pressure, Plus: -1, Unit: "psig"}}}); err == nil {
		t.Error("a negative accuracy was accepted")
	}
	b.Go(stepIndex(record.Running))
	r := find(t, b, record.SuctionPressure)
	if got := strings.Join(r.Field.Tools, ","); got != "not named,G7" {
		t.Fatalf("offered: %s", got)
	}
	r.SetTool("G7")
	if e, _ := b.job.Entry(record.SuctionPressure); e.Instrument != "G7" || e.Value != "121" {
		t.Errorf("entered %+v", e)
	}
}

// The fields of the electrical step are shut until its cautions were read, each
// group for itself; the record keeps by whom and when, and another day asks anew.
func TestElectricalFieldsOpenAfterTheirCautions(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.SetPerson("T-31")
	fresh := filled(t)
	fresh.ID = "job-2"
	b.SetJob(b.keep, fresh)
	today := time.Now()
	b.now = func() time.Time { return today }
	b.Go(stepIndex(record.Electrical))
	open := func() (dead, live int) {
		for _, r := range b.pane().Rows {
			f, _ := record.ByName(r.Field.Key)
			switch {
			case !r.Visible():
			case f.Group == "Dead checks":
				dead++
			case f.Group == "Live checks":
				live++
			}
		}
		return dead, live
	}
	if d, l := open(); d != 0 || l != 0 {
		t.Fatalf("%d dead and %d live fields stand open", d, l)
	}
	for _, g := range []string{"Locked out, proved dead, discharged", "Allowed here; rated meter, leads, gloves"} {
		if tap(b.pane().Side, g) == nil {
			t.Errorf("no key %q", g)
		}
	}
	if n := visible[*widget.Notice](b.pane().Side); len(n) != 2 || len(n[0].Lines) == 0 || len(n[1].Lines) == 0 {
		t.Errorf("%d cautions stand before the groups", len(n))
	}
	find(t, b, record.RCS).OnMove(find(t, b, record.RCS), 1)
	if k := record.SafeStart.String(); b.active != nil && b.active.Field.Key != k { // the first that no caution shuts
		t.Errorf("the next key reached %s", b.active.Field.Key)
	}
	tap(b.pane().Side, "Locked out, proved dead, discharged").Tapped(nil)
	if d, l := open(); d == 0 || l != 0 {
		t.Fatalf("after the first: %d dead and %d live fields stand open", d, l)
	}
	tap(b.pane().Side, "Allowed here; rated meter, leads, gloves").Tapped(nil)
	if _, l := open(); l == 0 {
		t.Fatal("the live fields stay shut")
	}
	if tap(b.pane().Side, "Allowed here; rated meter, leads, gloves") != nil {
		t.Error("the key stays")
	}

	j := onDisk(t, b)
	if e, ok := j.Entry(record.AckLive); !ok || e.By != "T-31" || !strings.Contains(e.Value, "T-31") || !strings.Contains(e.Value, today.Format("2006-01-02 15:04")) {
		t.Fatalf("on disk: %+v", e)
	}
	b.SetJob(b.keep, j)
	if d, l := open(); d == 0 || l == 0 {
		t.Errorf("reopened on the same day: %d dead and %d live fields stand open", d, l)
	}
	today = today.AddDate(0, 0, 1)
	b.open(b.at)
	if d, l := open(); d != 0 || l != 0 {
		t.Errorf("on another day: %d dead and %d live fields stand open", d, l)
	}
	if said := shownWords(b.pane().Side); !strings.Contains(said, "Acknowledged by T-31") || !strings.Contains(said, "That was another day") {
		t.Errorf("of the earlier day it says %q", said)
	}
}

// Every thing that can be touched is at least 48 across and high, nothing runs
// out of the window, and the parts of the desk do not overlap.
func TestTargetsFitTheThumbAtEverySize(t *testing.T) {
	b, w := bench(t, filled(t))
	for _, size := range sizes {
		w.Resize(size)
		for i, s := range record.Steps {
			b.open(i)
			if r := firstNumber(b.pane()); r != nil {
				r.Focus()
			}
			where := string(s.Step) + " " + shotName("", size, false)
			count := 0
			walk(b.window, func(o fyne.CanvasObject) {
				if _, ok := o.(fyne.Tappable); !ok || !o.Visible() {
					return
				}
				switch typeName(o) { // inner parts of the toolkit; scrolling is done by dragging the sheet itself
				case "*widget.selectable", "*widget.entryContent", "*container.Scroll", "*widget.scrollBarArea":
					return
				}
				count++
				if z := o.Size(); z.Height < theme.Touch-0.6 || z.Width < theme.Touch-0.6 {
					t.Errorf("%s: %s is %gx%g", where, typeName(o), z.Width, z.Height)
				}
			})
			if count < 10 {
				t.Errorf("%s: only %d targets found", where, count)
			}
			var parts []fyne.CanvasObject
			if p := b.pane(); p.Middle != nil {
				parts = append(parts, p.Middle)
			}
			parts = append(parts, b.pane().Side)
			if b.window.padOn {
				parts = append(parts, b.window.pad)
			}
			if !upright(size) {
				parts = append(parts, b.window.drawer)
			}
			for k, o := range parts {
				pos, z := o.Position(), o.Size()
				if pos.X < -0.1 || pos.Y < barH-0.1 || pos.X+z.Width > size.Width+0.1 || pos.Y+z.Height > size.Height+0.1 {
					t.Errorf("%s: %s at %v, %v leaves the window", where, typeName(o), pos, z)
				}
				if z.Width < 180 || z.Height < 180 {
					t.Errorf("%s: %s is squeezed to %v", where, typeName(o), z)
				}
				for _, q := range parts[:k] {
					if o != fyne.CanvasObject(b.window.pad) && overlap(o, q) { // it lies over what is there
						t.Errorf("%s: %s lies over %s", where, typeName(o), typeName(q))
					}
				}
			}
		}
	}
}

func firstNumber(p *section.Pane) *widget.Row {
	for _, r := range p.Rows {
		if r.Field.Kind == widget.NumberField {
			return r
		}
	}
	return nil
}

func overlap(a, b fyne.CanvasObject) bool {
	ap, az, bp, bz := a.Position(), a.Size(), b.Position(), b.Size()
	const s = 0.5
	return ap.X+s < bp.X+bz.Width && bp.X+s < ap.X+az.Width && ap.Y+s < bp.Y+bz.Height && bp.Y+s < ap.Y+az.Height
}

// An entry that is touched is marked whole; clearing it or turning its sign must
// not leave a mark that swallows what is typed next.
func TestKeypadKeysLoseNoDigit(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	row := find(t, b, record.SuctionPressure)
	for name, do := range map[string]func(){"cleared": row.Wipe, "turned": row.Sign} {
		row.Focus()
		do()
		want := row.Text() + "231"
		typeIn(t, w, "231")
		if row.Text() != want {
			t.Errorf("%s: the entry reads %q, want %q", name, row.Text(), want)
		}
		press(t, w, fyne.KeyTab)
	}
}

// A key of the keypad touched after the cursor was lost to a touch beside the
// entry types into it, and what it typed is entered.
func TestKeypadAfterTouchBeside(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.Go(stepIndex(record.Intake))
	mocp, mca := find(t, b, record.PlateMOCP), find(t, b, record.PlateMCA)
	mocp.Focus()
	w.Canvas().Unfocus()
	for _, k := range []string{"4", "5"} {
		test.Tap(b.window.pad.Key(k))
	}
	mca.Focus()
	if got := b.job.Text(record.PlateMOCP); got != "45" {
		t.Fatalf("the record has %q of the 45 typed", got)
	}
	mca.Tapped(nil)
	if w.Canvas().Focused() != fyne.Focusable(mca.Input().(fyne.Focusable)) {
		t.Error("a touch on the label takes the cursor away")
	}
}
