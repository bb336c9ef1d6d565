package app

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/record"
	"retrostage/thermo/units"
)

// bench opens a bench on a job kept in a folder of its own.
func bench(t *testing.T, j *record.Job) (*Bench, fyne.Window) {
	t.Helper()
	a := test.NewApp()
	t.Cleanup(a.Quit)
	a.Settings().SetTheme(theme.Theme{Palette: theme.Light})
	dir := t.TempDir()
	store, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(keeper{store: store, dir: dir}, j, true)
	w := test.NewWindow(b.desk)
	t.Cleanup(w.Close)
	w.SetPadded(false)
	w.Resize(sizes[0])
	b.canvas = w.Canvas
	for g := range gated {
		b.Acknowledge(g)
	}
	return b, w
}

func stepIndex(s record.Step) int {
	for i, x := range record.Steps {
		if x.Step == s {
			return i
		}
	}
	return -1
}

func (p *pane) find(t *testing.T, key record.Key) *widget.Row {
	t.Helper()
	for _, r := range p.rows {
		if r.Field.Key == key.String() {
			return r
		}
	}
	t.Fatalf("no row for %s", key)
	return nil
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
	s := b.pane().strips[key]
	if s == nil {
		t.Fatalf("no strip %s among %d", key, len(b.pane().strips))
	}
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

	row := b.pane().find(t, record.SuctionPressure)
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
	if b.active.Field.Key != record.LiquidPressure.String() {
		t.Errorf("Enter went to %s", b.active.Field.Key)
	}
	// On disk, by its own reader.
	j, err := b.keep.store.Load(b.job.ID)
	if err != nil {
		t.Fatal(err)
	}
	if v := j.Text(record.SuctionPressure); v != "105" {
		t.Errorf("on disk: %q", v)
	}
}

func TestReopeningBringsBackJobAndStep(t *testing.T) {
	b, w := bench(t, filled(t))
	b.Go(stepIndex(record.Electrical))
	b.pane().find(t, record.SupplyVoltage).Focus()
	typeIn(t, w, "211")
	press(t, w, fyne.KeyTab)
	_, j, _, err := open("", b.keep.dir)
	if err != nil {
		t.Fatal(err)
	}
	again := newBench(b.keep, j, true)
	if again.step().Step != record.Electrical || again.job.ID != b.job.ID {
		t.Errorf("reopened at %s of %s", again.step().Step, again.job.ID)
	}
	if got := again.pane().find(t, record.SupplyVoltage).Text(); got != "211" {
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
		row := b.pane().find(t, c.key)
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
		_, j, _, err := open("", b.keep.dir)
		if err != nil {
			t.Fatal(err)
		}
		again := newBench(b.keep, j, true)
		if r := again.pane().find(t, c.key); r.Text() != c.text || r.Wrong() == "" {
			t.Errorf("%s after reopening: %q, %q", c.key, r.Text(), r.Wrong())
		}
	}
}

func TestKeypadTypesSignsRubsAndGoesOn(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	row := b.pane().find(t, record.LiquidTemp)
	row.Focus()
	if b.desk.pad.Target() != row || !b.desk.padOn {
		t.Fatal("the keypad did not come up for a number")
	}
	tap := func(text string) { b.desk.pad.Key(text).Tapped(nil) }
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
	if b.desk.pad.Target().Field.Key != record.DischargePressure.String() {
		t.Errorf("Next went to %s", b.desk.pad.Target().Field.Key)
	}
	tap("Back")
	if b.desk.pad.Target() != row {
		t.Errorf("Back went to %s", b.desk.pad.Target().Field.Key)
	}
	// The unit is part of what was typed: the number stays, its meaning changes.
	b.leave()
	row.SetUnit("°C")
	if e, _ := b.job.Entry(record.LiquidTemp); e.Value != "98.5" || e.Unit != "C" {
		t.Errorf("after choosing another unit: %+v", e)
	}
	// Text does not call for a keypad.
	b.Go(stepIndex(record.Intake))
	b.pane().find(t, record.OwnerRef).Focus()
	if b.desk.padOn {
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
	b.keep = keeper{path: filepath.Join(block, "a.job.json")}
	b.Go(stepIndex(record.Running))
	b.pane().find(t, record.SuctionPressure).Focus()
	typeIn(t, w, "117")
	press(t, w, fyne.KeyTab)
	if text, bad := b.status(); !bad || !strings.HasPrefix(text, "NOT SAVED") {
		t.Fatalf("status %q", text)
	}
	if !b.desk.retry.Visible() {
		t.Error("no way to try again is offered")
	}
	if b.job.Text(record.SuctionPressure) != "117" {
		t.Error("the entry was lost")
	}
	b.keep.path = filepath.Join(dir, "a.job.json")
	b.desk.retry.Tapped(nil)
	if text, bad := b.status(); bad {
		t.Fatalf("after trying again: %q", text)
	}
	j, err := archive.ReadJob(b.keep.path)
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
	_, j, note, err := open("", dir)
	if err != nil || j == nil || !strings.Contains(note, "job x cannot be read") {
		t.Errorf("job %v, note %q, error %v", j, note, err)
	}
	if _, _, _, err := open(bad, ""); err == nil || !strings.Contains(err.Error(), "line") {
		t.Errorf("opened by name: %v", err)
	}
	if _, _, _, err := open(filepath.Join(dir, "none.job.json"), ""); err == nil || !strings.Contains(err.Error(), "no job file") {
		t.Errorf("a file that is not there: %v", err)
	}
	if now, _ := os.ReadFile(bad); string(now) != string(text) {
		t.Error("the damaged file was changed")
	}
}

func TestUnitsShownChangeAndEntriesDoNot(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.Running))
	key := dependsOn(t, b, record.SuctionTemp)
	ip := figureOf(t, b, key)
	b.SetSystem(units.SI)
	si := figureOf(t, b, key)
	if ip == si || !(strings.HasSuffix(si, "K") || strings.HasSuffix(si, "°C")) {
		t.Errorf("%s reads %s, then %s", key, ip, si)
	}
	r := b.pane().find(t, record.SuctionTemp)
	if r.Text() != "57" || r.Field.Unit != "°F" {
		t.Errorf("the entry became %s %s", r.Text(), r.Field.Unit)
	}
	if r := b.pane().find(t, record.SupplyWB); r.Field.Unit != "°C" {
		t.Errorf("an empty entry offers %s", r.Field.Unit)
	}
}

func TestSummarySiftsTheStrips(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.HandOver))
	p := b.pane()
	visible := func() (n int) {
		for _, s := range p.strips {
			if s.Visible() {
				n++
			}
		}
		return n
	}
	all := visible()
	if all != len(b.report.Findings) || all == 0 {
		t.Fatalf("%d strips for %d findings", all, len(b.report.Findings))
	}
	want := b.report.Count()["within"]
	p.filter = ""
	for _, o := range p.summary.Options {
		if strings.HasSuffix(o, " within") {
			p.summary.Do(o)
		}
	}
	if got := visible(); got != want || got == all {
		t.Errorf("%d strips shown, want the %d within", got, want)
	}
	p.summary.Do("")
	if got := visible(); got != all {
		t.Errorf("%d strips shown after turning it off, want %d", got, all)
	}
}

func TestExportSaysWhere(t *testing.T) {
	b, _ := bench(t, filled(t))
	b.Go(stepIndex(record.HandOver))
	b.export = func(j *record.Job, dir string, _ units.System) (string, error) {
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
	b.export = func(*record.Job, string, units.System) (string, error) { return "", errors.New("the folder is full") }
	var got error
	b.Export(func(_ string, err error) { got = err })
	if got == nil {
		t.Error("the error was swallowed")
	}
}

func TestInstrumentIsKeptAndUsed(t *testing.T) {
	b, _ := bench(t, filled(t))
	err := b.AddInstrument(record.Instrument{ID: "G7", Name: "Gauge", Accuracy: []record.Accuracy{{Dim: units.Pressure, Plus: 1, Unit: "psig"}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.AddInstrument(record.Instrument{ID: "G8", Accuracy: []record.Accuracy{{Dim: units.Pressure, Plus: -1, Unit: "psig"}}}); err == nil {
		t.Error("a negative accuracy was accepted")
	}
	b.Go(stepIndex(record.Running))
	r := b.pane().find(t, record.SuctionPressure)
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
	b.SetJob(b.keep, filled(t))
	today := time.Now()
	b.now = func() time.Time { return today }
	b.Go(stepIndex(record.Electrical))
	open := func() (dead, live int) {
		for _, r := range b.pane().rows {
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
	for _, g := range b.pane().gates {
		if !g.notice.Visible() || len(g.notice.Lines) == 0 {
			t.Errorf("%s: no caution stands before it", g.group)
		}
	}
	b.move(b.pane().find(t, record.RCS), 1)
	if b.active != nil && b.active.Field.Key != record.ElectricalNote.String() {
		t.Errorf("the next key reached %s", b.active.Field.Key)
	}
	b.pane().gates[0].tap.Tapped(nil)
	if d, l := open(); d == 0 || l != 0 {
		t.Fatalf("after the first: %d dead and %d live fields stand open", d, l)
	}
	b.pane().gates[1].tap.Tapped(nil)
	if _, l := open(); l == 0 {
		t.Fatal("the live fields stay shut")
	}
	if b.pane().gates[1].tap.Visible() {
		t.Error("the key stays")
	}

	j, err := b.keep.store.Load(b.job.ID)
	if err != nil {
		t.Fatal(err)
	}
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
	if said := b.pane().gates[0].said; !said.Visible() || !strings.Contains(said.Text, "T-31") {
		t.Errorf("of the earlier day it says %q", said.Text)
	}
}

func TestLeadCurrentsAndOldAgainstNew(t *testing.T) {
	j := filled(t)
	if e := makeElectric(j, shown{site: 101325}); e.leads != nil || e.err != nil {
		t.Fatalf("a picture without the run lead's current: %+v", e)
	}
	set := func(key record.Key, v string) {
		if err := j.Set(record.Entry{Key: key, Value: v, Unit: "A", Time: noon}); err != nil {
			t.Fatal(err)
		}
	}
	set(record.RunLeadCurrent, "16.1")
	e := makeElectric(j, shown{site: 101325})
	if e.leads == nil || e.tone == theme.Bad || !strings.Contains(e.closes, "close:") {
		t.Errorf("17.9, 16.1 and 5.2 A: %q", e.closes)
	}
	set(record.RunLeadCurrent, "30")
	if e := makeElectric(j, shown{site: 101325}); e.tone != theme.Bad || !strings.Contains(e.closes, "do not close") {
		t.Errorf("17.9, 30 and 5.2 A: %q", e.closes)
	}
	set(record.Breaker, "60")
	e = makeElectric(j, shown{site: 101325})
	for _, r := range e.rows {
		if strings.HasPrefix(r.Cells[0], "Breaker") && (r.Cells[4] != "Does not fit" || r.Cells[3] != "60 A") {
			t.Errorf("a 60 A breaker for 21.8 A: %v", r.Cells)
		}
	}
	if len(e.rows) < 4 {
		t.Errorf("%d rows", len(e.rows))
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
			walk(b.desk, func(o fyne.CanvasObject) {
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
			if p := b.pane(); p.centre != nil {
				parts = append(parts, p.centre)
			}
			parts = append(parts, b.pane().side)
			if b.desk.padOn {
				parts = append(parts, b.desk.pad)
			}
			if !upright(size) {
				parts = append(parts, b.desk.drawer)
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
					if overlap(o, q) {
						t.Errorf("%s: %s lies over %s", where, typeName(o), typeName(q))
					}
				}
			}
		}
	}
}

func firstNumber(p *pane) *widget.Row {
	for _, r := range p.rows {
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
	row := b.pane().find(t, record.SuctionPressure)
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
	mocp, mca := b.pane().find(t, record.PlateMOCP), b.pane().find(t, record.PlateMCA)
	mocp.Focus()
	w.Canvas().Unfocus()
	for _, k := range []string{"4", "5"} {
		test.Tap(b.desk.pad.Key(k))
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
