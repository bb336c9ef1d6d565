package app

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
	"retrostage/thermo/units"
)

// The budget of a complete job: what it may ask of a person, and how often the person
// has to touch or type. A later change that needs more has to earn it.
const (
	mostRequired     = 40
	mostInteractions = 250
)

// hand does what a person does at the window, and counts: a touch is one, and a text
// typed into a field with the key that ends it is one.
type hand struct {
	t       *testing.T
	b       *Bench
	w       fyne.Window
	touches int
	texts   int
	letters int
	entered map[record.Key]bool // by the hand, not by the program
	reads   map[string]string   // what the check-out reads, where that is not what is planned
	waited  time.Duration       // for the machine
	glass   *glass              // everything is done by a finger; nil by what a test may
	read    int                 // readings that were not as planned
	did     []string            // every touch and text, for who reads them as a list
}

// note keeps what was done, beside the count.
func (h *hand) note(what string) {
	h.did = append(h.did, fmt.Sprintf("%3d %s: %s", h.touches+h.texts, h.b.step().Step, strings.ReplaceAll(what, "\n", " / ")))
}

// nameOf is what is read on what is touched.
func nameOf(o fyne.Tappable) string {
	if k, ok := o.(*widget.Tap); ok {
		return k.Text
	}
	return "the list, or a line of it"
}

func (h *hand) touch(o fyne.Tappable) {
	h.t.Helper()
	if o == nil {
		h.t.Fatal("there is nothing to touch")
	}
	h.touches++
	h.note("touch " + nameOf(o))
	if h.glass != nil {
		h.glass.touch(o.(fyne.CanvasObject))
		return
	}
	test.Tap(o)
}

// step opens a step in the route.
func (h *hand) step(i int) {
	h.t.Helper()
	h.touches++
	h.note("touch step " + record.Steps[i].Title)
	if h.glass != nil {
		h.glass.touch(h.b.window.route.Item(i))
		return
	}
	test.Tap(h.b.window.route.Item(i).(fyne.Tappable))
}

// onGlass types with the keys that lie on the glass.
func (h *hand) onGlass(r *widget.Row, text string) {
	h.t.Helper()
	if r.Field.Word != "" && r.Field.Word == text { // a key of its own
		h.touch(tap(r, text))
		return
	}
	if !r.Lit() {
		h.touches++
		h.note("touch field " + r.Field.Label)
		h.glass.touchIn(r.Input(), r)
	}
	if !r.Lit() {
		h.t.Fatalf("%s was touched and has not the cursor", r.Field.Key)
	}
	d := h.b.window
	if !d.padOn {
		h.t.Fatalf("%s has the cursor and there are no keys", r.Field.Key)
	}
	if r.Text() != "" && !d.lettersOn {
		h.glass.touch(d.pad.Key("Clear"))
	}
	for d.lettersOn && r.Text() != "" {
		h.glass.touch(d.letters.Key("rub"))
	}
	text = strings.ReplaceAll(text, ",", "")
	h.texts++
	h.note("type " + r.Field.Label + ": " + text)
	for i, c := range text {
		h.letters++
		switch {
		case !d.lettersOn && c == ' ':
			h.letters--
		case !d.lettersOn && (c == 'l' || c == 'o'):
			h.glass.touch(d.pad.Key("… " + text[i:i+2])) // lb, oz
		case !d.lettersOn && (c == 'b' || c == 'z'):
			h.letters--
		case !d.lettersOn:
			h.glass.touch(d.pad.Key(string(c)))
		case c == ' ':
			h.glass.touch(d.letters.Key("space"))
		case c == '\n':
			h.glass.touch(d.letters.Key("line"))
		default:
			if d.letters.Key(string(c)) == nil {
				h.glass.touch(d.letters.Key("ABC"))
			}
			k := d.letters.Key(string(c))
			if k == nil {
				h.t.Fatalf("no key for %q", c)
			}
			h.glass.touch(k)
			if strings.ContainsRune(":;%()+=?!&", c) {
				h.glass.touch(d.letters.Key("ABC"))
			}
		}
	}
	if d.lettersOn {
		h.glass.touch(d.letters.Key("Next"))
	} else {
		h.glass.touch(d.pad.Key("Next"))
	}
}

// into types into a field; the field that the key before led to needs no touch.
func (h *hand) into(r *widget.Row, text string) {
	h.t.Helper()
	if !r.Visible() {
		h.t.Fatalf("%s is not to be seen", r.Field.Key)
	}
	if h.glass != nil {
		h.onGlass(r, text)
	} else {
		if !r.Lit() {
			h.touches++
			h.note("touch field " + r.Field.Label)
			r.Focus()
		}
		h.texts++
		h.note("type " + r.Field.Label + ": " + text)
		h.letters += len([]rune(text))
		typeIn(h.t, h.w, text)
		if r.Field.Kind == widget.NoteField { // Enter is a line in a note, and with Control its end
			h.w.Canvas().Focused().(fyne.Shortcutable).TypedShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyReturn, Modifier: fyne.KeyModifierControl})
		} else {
			press(h.t, h.w, fyne.KeyReturn)
		}
	}
	if r.Wrong() != "" && !strings.Contains(r.Wrong(), "Not as predicted") {
		h.t.Errorf("%s, typed %q: %s", r.Field.Key, text, r.Wrong())
	}
}

// enter fills a field, by typing or by touching what is to be chosen.
func (h *hand) enter(key record.Key, text string) {
	h.t.Helper()
	r := find(h.t, h.b, key)
	f := key.Field()
	if h.entered == nil {
		h.entered = map[record.Key]bool{}
	}
	h.entered[key] = true
	if f.Kind != record.Pick {
		h.into(r, text)
		return
	}
	if k := tap(r, text); k != nil {
		h.touch(k)
		return
	}
	h.touch(r.Input().(fyne.Tappable)) // the list opens
	var item fyne.Tappable
	walk(h.w.Canvas().Overlays().Top(), func(o fyne.CanvasObject) {
		if typeName(o) != "*widget.menuItem" {
			return
		}
		for _, c := range test.WidgetRenderer(o.(fyne.Widget)).Objects() {
			if l, ok := c.(*canvas.Text); ok && strings.HasPrefix(l.Text, text) {
				item = o.(fyne.Tappable)
			}
		}
	})
	if item == nil {
		h.t.Fatalf("%s: no %q in the list", key, text)
	}
	h.touch(item)
}

func (h *hand) next() {
	h.t.Helper()
	for _, k := range visible[*widget.Tap](h.b.pane().Side) {
		if strings.HasPrefix(k.Text, "Next step: ") {
			was := h.b.at
			h.touch(k)
			if h.b.at == was {
				picture(h.t, h.w, "no-way-on")
				h.t.Fatalf("%s was touched and the step is %s", k.Text, h.b.step().Step)
			}
			return
		}
	}
	h.t.Fatal("no way on")
}

// at tells that the program led there by itself.
func (h *hand) at(s record.Step) {
	h.t.Helper()
	if got := h.b.step().Step; got != s {
		picture(h.t, h.w, "not-led-on")
		h.t.Fatalf("led to %s, not to %s", got, s)
	}
}

// page opens a page of the wiring plan.
func (h *hand) page(name string) {
	h.t.Helper()
	for _, k := range visible[*widget.Tap](body(h.t, h.b, "wiring plan")) {
		if k.Text == name {
			h.touch(k)
			return
		}
	}
	h.t.Fatalf("the wiring plan has no page %s", name)
}

// readings enters those of a list of the check-out, as a sound circuit reads.
func (h *hand) readings(made *plan.Plan, list string) (asked int) {
	h.t.Helper()
	for _, q := range made.Checkout.Tests {
		if q.List != list || q.Role != "find" { // the others only narrow down what is out
			continue
		}
		row := readingRow(h.t, h.b, q.N)
		asked++
		if x, other := h.reads[q.A+"-"+q.B]; other && q.Meter == "ohms" {
			h.read++
			h.enterReading(row, x)
			continue
		}
		if q.Open { // no meter shows a figure for it
			h.enterReading(row, record.OpenLine)
			continue
		}
		h.into(row, strconv.FormatFloat(q.Expect, 'f', 1, 64))
	}
	return asked
}

// readingRow is the row of a reading of the check-out that is shown.
func readingRow(t *testing.T, b *Bench, n int) *widget.Row {
	t.Helper()
	for _, r := range visible[*widget.Row](body(t, b, "wiring plan")) {
		if strings.HasPrefix(r.Field.Label, strconv.Itoa(n)+"  ") {
			return r
		}
	}
	t.Fatalf("reading %d is not shown", n)
	return nil
}

// allReadings shows those that only narrow down too.
func allReadings(t *testing.T, b *Bench) []*widget.Row {
	t.Helper()
	for _, k := range visible[*widget.Tap](body(t, b, "wiring plan")) {
		if strings.HasSuffix(k.Text, "readings that only narrow down") {
			test.Tap(k)
		}
	}
	return visible[*widget.Row](body(t, b, "wiring plan"))
}

// clock lets a wait run its time, and stops it.
func (h *hand) clock(name string, d time.Duration) {
	h.t.Helper()
	h.start(name, d)
	h.touch(tap(body(h.t, h.b, "clocks"), "Stop, and enter the time"))
}

// start lets a wait run its time, which the reading at its end ends.
func (h *hand) start(name string, d time.Duration) {
	h.t.Helper()
	key := "Start: " + name
	if name == "Isolated vacuum" {
		key = "Start: pump valved off and stopped"
	}
	h.touch(tap(body(h.t, h.b, "clocks"), key))
	h.waited += d
}

// enterReading types a reading, or touches the key of an open line.
func (h *hand) enterReading(r *widget.Row, text string) {
	h.t.Helper()
	if k := tap(r, text); k != nil {
		h.touch(k)
		return
	}
	h.into(r, text)
}

// gate acknowledges the cautions before a group.
func (h *hand) gate(words string) {
	h.t.Helper()
	h.touch(tap(h.b.pane().Side, words))
}

// variant is what may differ between the jobs of the script.
type variant struct {
	breaker, voltsNeeded, capVolts, weighed, suctionTemp string
	touch                                                bool              // by a finger alone, from the first start
	reads                                                map[string]string // of the check-out, by "A-B": what is read in place of what a sound circuit reads
}

var goodJob = variant{breaker: "20", voltsNeeded: "370", capVolts: "440", weighed: "104", suctionTemp: "49.5"}

// wholeJob goes from an empty job to the end of the running check, by a finger alone or
// not; asked is how many readings of the check-out were entered.
func wholeJob(t *testing.T, v variant) (h *hand, asked int) {
	t.Helper()
	b, w := bench(t, record.New("job-2026-08-14-7"))
	b.export = func(j *record.Job, _ []workbook.Photo, dir string, sys units.System) (string, error) {
		path := filepath.Join(dir, workbook.FileName(j))
		f, err := os.Create(path)
		if err != nil {
			return "", err
		}
		defer f.Close()
		return path, workbook.Write(f, assess.New(j), workbook.Options{System: sys})
	}
	h = &hand{t: t, b: b, w: w}
	if v.touch {
		h.glass = &glass{t: t, w: w}
		h.firstStart()
	} else {
		b.SetPerson("T-31")
	}
	b.now = func() time.Time { return noon.Add(time.Duration(h.touches+h.texts)*40*time.Second + h.waited) }
	enter := func(pairs ...any) {
		t.Helper()
		for i := 0; i < len(pairs); i += 2 {
			h.enter(pairs[i].(record.Key), pairs[i+1].(string))
		}
	}

	enter(record.OwnerRef, "R-3307", record.Refrigerant, "R-22", record.Metering, record.MeterFixed, record.NominalCapacity, "2.5",
		record.OldUnitSerial, "V-20117", record.RatedVoltage, "230", record.Breaker, v.breaker,
		record.TagCharge, "6 lb 8 oz", record.UnitInstalled, "2008", record.Phases, record.PhaseSingle, record.OldRLA, "14.1", record.OldCapRating, "40",
		record.PlateMCA, "18.4", record.WireGauge, "10 AWG")
	h.next()
	enter(record.FailureKind, "open winding", record.OldRCS, "open", record.OldRCR, "0.9", record.OldRSR, "open",
		record.OilState, "clear", record.RootKind, "run capacitor below its value")
	h.next()
	enter(record.CostConvert, "2300", record.Decision, "convert to single stage", record.DecisionReason, "The coils are sound.")
	h.touch(tap(b.pane().Side, "Write the consent page for the owner to sign"))
	enter(record.ConsentSigned, record.Yes)
	h.next()
	enter(record.NewCompressorSerial, "K-90412", record.NewCapacity, "29,500", record.NewRLA, "13.5", record.CapRating, "40", record.CapVoltageNeeded, v.voltsNeeded,
		record.CapFitted, "40", record.CapVoltage, v.capVolts)
	h.next()

	// Wiring: the unit, what only a person can answer, the dead readings.
	enter(record.IndoorControl, record.ControlConventional)
	middle := func() fyne.CanvasObject { return body(t, b, "wiring plan") }
	page := h.page
	for _, k := range visible[*widget.Tap](middle()) {
		if k.Text == "Two-speed reciprocating compressor, two contactors, conventional indoor control" {
			h.touch(k)
			break
		}
	}
	if b.job.Text(record.OldControls) == "" {
		var names []string
		for _, k := range visible[*widget.Tap](middle()) {
			names = append(names, k.Text)
		}
		t.Fatalf("no unit was chosen of %q", names)
	}
	compare := func() { h.touch(tap(middle(), "I compared it: the unit is as drawn")) }
	compare()
	h.entered[record.UnitCompared] = true
	page("Decisions")
	for range 15 {
		raised, err := plan.Raised(b.job)
		if err != nil {
			t.Fatal(err)
		}
		open := 0
		for _, k := range raised {
			if b.job.Text(record.PlanKey(k)) == "" {
				open++
			}
		}
		if open == 0 {
			break
		}
		done := false
		for _, c := range visible[*widget.Choose](middle()) {
			if c.Chosen == "" && len(c.Options) > 0 {
				h.touch(visible[*widget.Tap](c)[0])
				done = true
				break
			}
		}
		if !done {
			t.Fatalf("%d decisions are open and there is no key for them", open)
		}
	}
	page("Check-out")
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	h.reads = v.reads
	readings := func(list string) { asked += h.readings(made, list) }
	readings("dead")
	h.next()
	gate := h.gate // not acknowledged on this day yet
	gate("Locked out, proved dead, discharged")
	enter(record.CapMeter, "39.6", record.SafeStart, record.Yes)
	h.next()
	enter(record.DesignLow, "250", record.TestP1, "235", record.TestT1, "80")
	h.waited += time.Hour // its clock runs from these readings
	h.touch(tap(body(t, b, "clocks"), "Stop, and enter the time"))
	enter(record.TestP2, "235.5", record.TestT2, "81")
	h.clock("Isolated vacuum", 20*time.Minute)
	enter(record.VacuumRise, "0 280\n2 295\n4 303\n6 309\n8 314\n10 318\n12 322\n14 325\n16 328\n18 331\n20 333")
	h.at(record.Charge) // the rise was the last that Close-up lacked
	enter(record.ChargedWith, "R-22", record.WeighedIn, v.weighed, record.LabelCharge, v.weighed)
	if electrical := stepIndex(record.Electrical); b.at != electrical { // not led on: something stands against the charge
		h.step(electrical)
	}
	enter(record.Insulation, "420")
	gate("Allowed here; rated meter, leads, gloves")
	enter(record.SupplyVoltage, "233", record.RunCurrent, "11.9")
	h.step(stepIndex(record.Wiring))
	if tabs := tap(middle(), "Check-out"); tabs != nil && !tabs.On {
		h.touch(tabs)
	}
	readings("live")
	h.step(stepIndex(record.Running))
	h.waited += 20 * time.Minute
	enter(record.SuctionPressure, "70", record.SuctionTemp, v.suctionTemp, record.LiquidPressure, "226", record.LiquidTemp, "99",
		record.OutdoorTemp, "90", record.ReturnDB, "76", record.ReturnWB, "63", record.SupplyDB, "57", record.SettleTime, "20")
	// Too close to call on the first reading: read once more when it has settled.
	h.waited += 20 * time.Minute
	enter(record.ReturnWB, "63.2")
	return h, asked
}

// From an empty job to the sheet: an invented unit of 2.5 tons with R-22 and a fixed
// orifice, every required entry and the readings that its check needs.
func TestJobFromEmptyToSheet(t *testing.T) { emptyToSheet(t, goodJob) }

// The same by a finger alone, from the first start: pressed, dragged, released at places
// where the thing is to be seen. No wheel, no keyboard.
func TestJobByTouchAlone(t *testing.T) {
	v := goodJob
	v.touch = true
	emptyToSheet(t, v)
}

// reserved are the steps that a job of the fewest entries ends with what it lacks named:
// windings read at the leads alone do not tell a winding from a broken lead; a plate's few
// numbers leave questions of the match unanswered; recovery level, what was put back and
// how it was first started are not said.
var reserved = []record.Step{record.Cause, record.Match, record.CloseUp, record.Charge, record.HandOver}

func emptyToSheet(t *testing.T, v variant) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	h, asked := wholeJob(t, v)
	b := h.b
	h.next()
	h.enter(record.WorkDone, "Single-stage compressor, capacitor and drier fitted; second stage taken out.")
	h.enter(record.LabelDone, record.Yes)
	h.enter(record.SignedBy, "T-31")
	h.touch(tap(b.pane().Side, "Export the workbook for the supervisor"))

	said := shownWords(b.pane().Side)
	_, path, ok := strings.Cut(said, "Written: ")
	path, _, _ = strings.Cut(path, "\n")
	if !ok {
		t.Fatalf("no sheet: %s", said)
	}
	if i, err := os.Stat(path); err != nil || i.Size() < 10_000 {
		t.Errorf("the sheet: %v %v", i, err)
	}
	r, err := assess.Run(b.job)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Steps {
		t.Logf("%s: %s. %s", s.Step, s.Word, s.Why)
		if s.Word != assess.Done && !(s.Word == assess.DoneReserved && slices.Contains(reserved, s.Step)) {
			t.Errorf("%s is %s: %s", s.Step, s.Word, s.Why)
		}
	}
	for _, f := range r.Findings {
		if f.Verdict == assess.Outside || f.Verdict == assess.TooClose {
			t.Logf("%s: %s, %.4g; %s", f.Verdict, f.Label, f.Value, f.Next)
		}
	}
	// Required is what the job is not done without, whatever its fields say of themselves,
	// and the signature; the readings of the check-out follow the unit.
	h.entered[record.OldControls] = true // by choosing the unit
	needed, marked := withoutIt(t, b.job), 0
	for _, k := range needed {
		if !h.entered[k] {
			t.Logf("%s is needed, and the program enters it", k)
		}
	}
	needed = slices.DeleteFunc(needed, func(k record.Key) bool { return !h.entered[k] })
	required := len(needed) + 1
	for _, f := range record.Fields {
		if f.Need {
			marked++
		}
	}
	n := h.touches + h.texts
	t.Logf("required entries %d, fields marked as needed %d, readings of the check-out %d, interactions %d (touches %d, texts typed %d of %d letters)", required, marked, asked, n, h.touches, h.texts, h.letters)
	if required > mostRequired || marked > mostRequired {
		t.Errorf("%d required entries, %d marked so; at most %d are wanted: %v", required, marked, mostRequired, needed)
	}
	if v.touch {
		t.Logf("by touch: %d presses, of them letters and figures %d, and %d drags", h.glass.presses, h.letters, h.glass.drags)
		return
	}
	if n > mostInteractions {
		t.Errorf("%d interactions, at most %d are wanted", n, mostInteractions)
	}
}

// mostAgain is the budget of a second job of the same kind, the readings of its check-out
// among them: they are never taken from another job.
const mostAgain = 90

// handTime is what the touches and texts take a hand, without what is read, walked and
// waited for between them: by the keystroke-level model of Card, Moran and Newell, its
// constants from memory. A thought before each touch or text 1.35 s, a point to be hit
// 1.1 s and touched 0.2 s, a letter or figure, or the key that ends a text, 0.28 s.
func (h *hand) handTime() time.Duration {
	s := float64(h.touches)*(1.35+1.1+0.2) + float64(h.texts)*(1.35+0.28) + float64(h.letters)*0.28
	return time.Duration(s * float64(time.Second))
}

// A second job of the kind of the first, from the list of jobs to the signature.
func TestSecondJobLikeTheFirst(t *testing.T) {
	if testing.Short() {
		t.Skip("short: a whole job is long")
	}
	b, w := bench(t, firstJob(t))
	b.SetPerson("T-31")
	b.Go(stepIndex(record.HandOver)) // where the first was left
	h := &hand{t: t, b: b, w: w}
	b.now = func() time.Time { return noon.Add(time.Duration(h.touches+h.texts)*40*time.Second + h.waited) }
	enter := func(pairs ...any) {
		t.Helper()
		for i := 0; i < len(pairs); i += 2 {
			h.enter(pairs[i].(record.Key), pairs[i+1].(string))
		}
	}
	confirm := func() {
		t.Helper()
		for keys := compared(b.pane().Side); len(keys) > 0; keys = compared(b.pane().Side) {
			h.touch(keys[0])
		}
	}
	h.touch(tap(b.pane().Side, "Begin a new job like this one")) // at the foot of the first, which is signed

	enter(record.OwnerRef, "R-3318", record.OldUnitSerial, "V-20204", record.UnitInstalled, "2007", record.Breaker, "20", record.WireGauge, "10 AWG")
	confirm()
	h.at(record.Cause) // led on: the plate was all that Intake lacked
	enter(record.OldRCS, "open", record.OldRCR, "0.9", record.OldRSR, "open", record.FailureKind, "open winding",
		record.OilState, "clear", record.RootKind, "run capacitor below its value")
	h.next()
	confirm() // the price
	enter(record.Decision, "convert to single stage", record.DecisionReason, "The coils are sound.")
	h.touch(tap(b.pane().Side, "Write the consent page for the owner to sign"))
	enter(record.ConsentSigned, record.Yes)
	h.next()
	confirm()
	enter(record.NewCompressorSerial, "K-90499")
	h.at(record.Wiring)
	confirm()
	h.touch(tap(body(t, b, "wiring plan"), "I compared it: the unit is as drawn"))
	made, err := plan.Proved(t.Context(), b.job, nil)
	if err != nil {
		t.Fatal(err)
	}
	h.page("Check-out")
	asked := h.readings(made, "dead")
	h.next()
	h.gate("Locked out, proved dead, discharged")
	enter(record.Insulation, "420", record.CapMeter, "39.6", record.SafeStart, record.Yes) // nothing is evacuated yet
	h.next()
	enter(record.TestP1, "235", record.TestT1, "80")
	h.waited += time.Hour                              // from these readings
	enter(record.TestP2, "235.5", record.TestT2, "81") // ends the wait
	h.start("Isolated vacuum", 20*time.Minute)
	enter(record.VacuumRise, "0 280\n2 295\n4 303\n6 309\n8 314\n10 318\n12 322\n14 325\n16 328\n18 331\n20 333")
	h.at(record.Charge)
	enter(record.ChargedWith, "R-22", record.WeighedIn, "104", record.LabelCharge, "104")
	h.at(record.Electrical) // its live half
	h.gate("Allowed here; rated meter, leads, gloves")
	enter(record.SupplyVoltage, "233", record.RunCurrent, "11.9")
	h.next()
	h.at(record.Wiring)
	asked += h.readings(made, "live")
	h.at(record.Running)
	h.waited += 20 * time.Minute
	enter(record.SuctionPressure, "70", record.SuctionTemp, "49.5", record.LiquidPressure, "226", record.LiquidTemp, "99",
		record.OutdoorTemp, "90", record.ReturnDB, "76", record.ReturnWB, "63", record.SupplyDB, "57", record.SettleTime, "20")
	h.waited += 20 * time.Minute
	enter(record.ReturnWB, "63.2")
	h.next()
	enter(record.WorkDone, "Single-stage compressor, capacitor and drier fitted; second stage taken out.", record.LabelDone, record.Yes)
	h.touch(tap(find(t, b, record.SignedBy), "sign as T-31"))

	r, err := assess.Run(b.job)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Steps {
		if s.Word != assess.Done && !(s.Word == assess.DoneReserved && slices.Contains(reserved, s.Step)) {
			t.Errorf("%s is %s: %s", s.Step, s.Word, s.Why)
		}
	}
	if b.job.Text(record.SignedBy) == "" || b.job.Unconfirmed() > 0 {
		t.Errorf("signed %q with %d unconfirmed", b.job.Text(record.SignedBy), b.job.Unconfirmed())
	}
	n := h.touches + h.texts
	t.Logf("readings of the check-out %d, interactions %d (touches %d, texts typed %d of %d letters)", asked, n, h.touches, h.texts, h.letters)
	if st, err := b.keep.jobs.State(b.job.ID); err == nil {
		t.Logf("%d entries, %d events", len(st.Job.Entries), st.Events)
	}
	t.Log("what the hand did:\n" + strings.Join(h.did, "\n"))
	took := h.handTime()
	t.Logf("by the constants of handTime %.1f minutes at the glass", took.Minutes())
	if n > mostAgain || took > 6*time.Minute {
		t.Errorf("%d interactions and %v, at most %d and 6 minutes are wanted", n, took, mostAgain)
	}
}

// firstJob is an earlier job of that kind, as far as another can be like it, with a
// reading and a signature of its own.
func firstJob(t *testing.T) *record.Job {
	t.Helper()
	j := record.New("job-2026-08-01-1")
	set := func(key record.Key, value, unit string) {
		t.Helper()
		if err := j.Set(record.Entry{Key: key, Value: value, Unit: unit, Time: noon.AddDate(0, 0, -13), By: "T-17"}); err != nil {
			t.Fatal(err)
		}
	}
	for _, e := range []struct {
		key         record.Key
		value, unit string
	}{
		{record.OwnerRef, "R-3307", ""}, {record.Refrigerant, "R-22", ""}, {record.Metering, record.MeterFixed, ""}, {record.NominalCapacity, "2.5", "ton"},
		{record.OldUnitSerial, "V-20117", ""}, {record.OldCompressorSerial, "K-88301", ""}, {record.RatedVoltage, "230", "V"}, {record.Breaker, "20", "A"},
		{record.TagCharge, "104", "oz"}, {record.UnitInstalled, "2008", ""}, {record.Phases, record.PhaseSingle, ""}, {record.OldRLA, "14.1", "A"}, {record.OldCapRating, "40", "uF"},
		{record.PlateMCA, "18.4", "A"}, {record.WireGauge, "10 AWG", ""}, {record.NewCapacity, "29500", "Btu/h"}, {record.NewRLA, "13.5", "A"}, {record.CapRating, "40", "uF"},
		{record.CostConvert, "2300", "money"}, {record.CapVoltageNeeded, "370", "V"}, {record.CapFitted, "40", "uF"}, {record.CapTolerance, "6 %", ""}, {record.CapVoltage, "440", "V"}, {record.DesignLow, "250", "psig"},
		{record.IndoorControl, record.ControlConventional, ""}, {record.OldControls, "two-contactor-conventional", ""}, {record.SuctionPressure, "71", "psig"},
	} {
		set(e.key, e.value, e.unit)
	}
	for range 15 {
		made, err := plan.Proved(t.Context(), j, nil)
		if err != nil {
			t.Fatal(err)
		}
		open := false
		for _, d := range made.Decisions {
			if !d.Answered && len(d.Options) > 0 {
				set(record.PlanKey(d.Key), d.Options[0].Value, "")
				open = true
			}
		}
		if !open {
			break
		}
	}
	set(record.SignedBy, "T-17", "")
	return j
}

// withoutIt lists the entries without any one of which the job is not done.
func withoutIt(t *testing.T, j *record.Job) (needed []record.Key) {
	t.Helper()
	for _, f := range record.Fields {
		if _, ok := j.Entry(f.Key); !ok || f.Program || f.Key == record.SignedBy {
			continue
		}
		c := j.Clone()
		if err := c.Set(record.Entry{Key: f.Key, Time: noon}); err != nil {
			t.Fatal(err)
		}
		if slices.Contains(plan.Reads(), f.Key) && f.Key != record.OldControls {
			p, err := plan.Proved(t.Context(), c, nil) // another plan, whose list the window makes by itself
			if err != nil {
				t.Fatal(err)
			}
			if err := c.Set(record.Entry{Key: record.CheckoutList, Value: plan.Asks(c, p.Checkout), Time: noon}); err != nil {
				t.Fatal(err)
			}
		}
		if err := c.Set(record.Entry{Key: record.SignedBy, Value: "T-31", By: "T-31", Time: noon}); err != nil {
			t.Fatal(err)
		}
		r, err := assess.Run(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Steps {
			if s.Word != assess.Done && s.Word != assess.DoneReserved {
				needed = append(needed, f.Key)
				break
			}
		}
	}
	return needed
}
