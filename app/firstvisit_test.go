package app

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/assets/soak"
	"retrostage/reports/assess"
	"retrostage/reports/cause"
	"retrostage/reports/record"
	"retrostage/reports/workbook"
)

// firstVisit is invented evidence of a first visit to a 2.5-ton R-22 unit whose start
// winding is open, as one would have it on a slip of paper, and the offers.
var firstVisit = []struct {
	step record.Step
	of   []any
}{
	{record.Intake, []any{record.OwnerRef, "R-3307", record.Warranty, "out of warranty",
		record.Refrigerant, "R-22", record.Metering, record.MeterFixed, record.NominalCapacity, "2.5", record.OldUnitSerial, "V-20117", record.UnitInstalled, "2008", record.Staging, record.StagingTwoSpeed,
		record.RatedVoltage, "230", record.Phases, record.PhaseSingle, record.OldRLA, "14.1", record.OldLRA, "82", record.OldCapRating, "40", record.FanFLA, "1.2", record.PlateMCA, "18.9", record.PlateMOCP, "30",
		record.Breaker, "30", record.WireGauge, "10 AWG", record.TagCharge, "104"}},
	{record.Cause, []any{record.CauseSupply, "233", record.CauseCall, record.Yes, record.CausePasses, record.Yes, record.OldCapFound, "31", record.OldCapState, "sound",
		record.WindingsReadAt, "the leads", record.OldRCS, "open", record.OldRCR, "0.9", record.OldRSR, "open", record.CauseShell, record.ShellCold, record.OldInsulation, ">500",
		record.CauseCoil, record.No, record.CauseAir, record.No, record.CauseHeat, record.No, record.CauseFlood, record.No, record.CauseHeater, record.No, record.CauseCycles, record.Yes, record.CauseNoise, record.No,
		record.OilState, "not seen"}},
	{record.Choice, []any{record.CostLike, "3400", record.CostConvert, "2300", record.CostReplace, "5600", record.CostSystem, "9200",
		record.WaitLike, "12", record.WaitConvert, "0", record.WaitReplace, "5", record.WaitSystem, "7"}},
}

// The pace of the newcomer of testdata/attempts/newcomer-a.md: 121 touches and 109 letters
// were reckoned to take 346 s.
const (
	secondsATouch  = 2.4
	secondsALetter = 0.5
)

// visited is the window at the end of the first visit: from an empty job, as a hand does it
// that goes from the top of each step to its foot.
func visited(t *testing.T) *hand { return visit(t, false) }

// visit does it by a keyboard, or by a finger alone.
func visit(t *testing.T, finger bool) *hand {
	t.Helper()
	b, w := bench(t, record.New("job-2026-08-14-8"))
	b.SetPerson("T-31")
	h := &hand{t: t, b: b, w: w}
	if finger {
		h.glass = &glass{t: t, w: w}
		b.own.Letters = true
	}
	b.now = func() time.Time { return noon.Add(time.Duration(h.touches+h.texts) * 3 * time.Second) }
	for i, s := range firstVisit {
		if b.step().Step != s.step {
			t.Fatalf("%s is open and %s is wanted", b.step().Step, s.step)
		}
		for k := 0; k < len(s.of); k += 2 {
			key := s.of[k].(record.Key)
			if !find(t, b, key).Visible() {
				t.Errorf("%s stands behind a key", key)
			}
			text := s.of[k+1].(string)
			if finger && text == ">500" {
				text = "500" // the keypad has no sign for more than
			}
			h.enter(key, text)
		}
		if s.step == record.Cause { // what the page offers to enter
			for _, head := range []string{"Enter as what failed: ", "Enter as root cause: "} {
				for _, k := range visible[*widget.Tap](b.pane().Middle) {
					if strings.HasPrefix(k.Text, head) {
						h.touch(k)
						break
					}
				}
			}
		}
		if i+1 < len(firstVisit) {
			h.next()
		}
	}
	h.enter(record.Decision, "convert to single stage")
	h.enter(record.DecisionReason, "Coils sound; owner stays 5 years.")
	return h
}

// From an empty job to a chosen option within five minutes, by count of what the hand does
// at a newcomer's pace, with all of the evidence in.
func TestFirstVisitWithinFiveMinutes(t *testing.T) {
	h := visited(t)
	j := h.b.job
	r, err := assess.Run(j)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range r.Steps[:3] {
		t.Logf("%s: %s. %s", s.Step, s.Word, s.Why)
	}
	x, err := assess.New(j).Failure()
	if err != nil || x.First().Kind != cause.OpenStart || j.Text(record.FailureKind) != "open winding" || j.Text(record.RootKind) != "run capacitor below its value" {
		t.Errorf("what failed: %v, entered %q, root %q, %v", x.First().Kind, j.Text(record.FailureKind), j.Text(record.RootKind), err)
	}
	if j.Text(record.TechnicianRef) != "T-31" {
		t.Errorf("technician %q", j.Text(record.TechnicianRef))
	}
	reckoned := secondsATouch*float64(h.touches) + secondsALetter*float64(h.letters)
	t.Logf("%d touches, %d texts of %d letters: %.0f s", h.touches, h.texts, h.letters, reckoned)
	if reckoned > 300 {
		t.Errorf("reckoned %.0f s; five minutes are wanted", reckoned)
	}
}

// The same by a finger alone, the way from field to field included: each key, each drag of
// the page.
func TestFirstVisitByTouchAlone(t *testing.T) {
	h := visit(t, true)
	presses := h.glass.presses - h.letters
	reckoned := secondsATouch*float64(presses+h.glass.drags) + secondsALetter*float64(h.letters)
	t.Logf("%d presses, %d letters and figures, %d drags: %.0f s", presses, h.letters, h.glass.drags, reckoned)
	if reckoned > 300 {
		t.Errorf("reckoned %.0f s; five minutes are wanted", reckoned)
	}
	if k := h.b.job.Text(record.Decision); k != "convert to single stage" {
		t.Errorf("chosen: %q", k)
	}
}

// What the ranking of failures uses, and what it lists as tests, never waits behind a key.
func TestEvidenceStandsInTheOpen(t *testing.T) {
	b, _ := bench(t, record.New("job-1"))
	b.Go(stepIndex(record.Cause))
	for _, f := range record.Of(record.Cause) {
		switch {
		case f.Key == record.CauseNoted || f.Key == record.CauseReservation || f.Program:
			continue
		case f.Key == record.RootSecond || f.Key == record.RootThird: // what it comes to, and most have one
			continue
		case f.Seldom || !find(t, b, f.Key).Visible():
			t.Errorf("%s waits behind a key", f.Label)
		}
	}
	b.Go(stepIndex(record.Choice))
	for _, k := range []record.Key{record.CostSystem, record.WaitLike, record.WarrantyConvert, record.Tariff, record.CoolingHours, record.ConsentSigned} {
		if !find(t, b, k).Visible() {
			t.Errorf("%s waits behind a key", k)
		}
	}
	b.Go(stepIndex(record.Match))
	if !find(t, b, record.NewPower).Visible() {
		t.Error("Match asks for power behind a key")
	}
}

// What a technician calls a thing leads to its field: the words stand in label, help or
// answers of a field in the open.
func TestFoundByTheWordsOfTheTrade(t *testing.T) {
	b, _ := bench(t, record.New("job-1"))
	for words, want := range map[string]record.Key{
		"staging": record.Staging, "shell cold": record.CauseShell, "contacts fine": record.CausePasses, "air flow normal": record.CauseAir,
		"capacitor": record.OldCapFound, "overload": record.OverloadWait, "crankcase": record.CauseHeater, "insulation": record.OldInsulation, "seer": record.OldSeasonal, "your own option": record.OwnOption} {
		f := want.Field()
		b.Go(stepIndex(f.Step))
		said := strings.ToLower(f.Label + " " + f.Help + " " + strings.Join(f.Options, " "))
		for _, w := range strings.Fields(words) {
			if !strings.Contains(said, w) {
				t.Errorf("%q is not said at %s: %s", w, want, said)
			}
		}
		if !find(t, b, want).Visible() && want != record.OldSeasonal && want != record.OwnOption {
			t.Errorf("%q is behind a key", words)
		}
	}
	for _, f := range record.Fields {
		for _, no := range []string{"Reservation", "Seasonal ratio", "Another way", "breaks even"} {
			if strings.Contains(f.Label+f.Help+f.Group, no) {
				t.Errorf("%s says %q", f.Key, no)
			}
		}
	}
}

// places are where the entries that are to be seen stand in the window.
func places(b *Bench) map[*widget.Row]fyne.Position {
	out := map[*widget.Row]fyne.Position{}
	d := fyne.CurrentApp().Driver()
	for _, r := range b.pane().Rows {
		if r.Visible() {
			out[r] = d.AbsolutePositionForObject(r.Input())
		}
	}
	return out
}

// nextInView tells whether the row that follows one is to be seen whole.
func nextInView(b *Bench, i int) bool {
	d, side := fyne.CurrentApp().Driver(), b.pane().Side
	top := d.AbsolutePositionForObject(side).Y
	for _, q := range b.pane().Rows[i+1:] {
		if q.Visible() {
			y := d.AbsolutePositionForObject(q).Y
			return y >= top+8 && y+q.Size().Height <= top+side.Size().Height-8
		}
	}
	return true
}

// A note that appears moves no entry below it between two touches, at every size: a choice
// is touched, a number typed and ended, one taken back.
func TestNothingMovesUnderTheFinger(t *testing.T) {
	const missed = 24 // half a key: a finger on its middle still hits it
	for at, size := range sizes {
		for n, step := range []record.Step{record.Intake, record.Cause, record.Choice, record.Match} {
			if !soak.On() && (at+n)%2 != 0 { // the usual run: every size and every step
				continue
			}
			b, w := bench(t, record.New("job-1"))
			b.SetPerson("T-31")
			w.Resize(size)
			b.Go(stepIndex(step))
			b.Enter(record.OwnerRef, "R-1", "", "") // the first entry of all
			for i, r := range b.pane().Rows {
				f, err := record.ByName(r.Field.Key)
				if err != nil || !r.Visible() || f.Step == record.Intake && f.Key == record.OwnerRef || f.Kind == record.Note || f.Seldom {
					continue
				}
				var does []func()
				switch {
				case f.Kind == record.Pick:
					o := f.Options[min(1, len(f.Options)-1)]
					touch := func() {
						if k := tap(r, o); k != nil {
							test.Tap(k)
							return
						}
						b.Enter(f.Key, o, "", "")
					}
					does = []func(){touch, touch}
				case f.Kind == record.Number:
					does = []func(){func() {
						r.Focus()
						typeIn(t, w, fmt.Sprintf("%g", (f.Min+f.Max)/2))
						r.Commit()
					}}
				}
				for n, do := range does {
					b.pane().Side.Reveal(r)
					if f.Kind == record.Number {
						r.Focus()
					}
					before := places(b)
					if !nextInView(b, i) {
						continue // the cursor goes on there, and the page follows it
					}
					do()
					after := places(b)
					for k, q := range b.pane().Rows {
						p, had := before[q]
						// What the finger goes to next: the rows below in the same column.
						if now, still := after[q]; k > i && had && still && p.X == before[r].X && (now.Y-p.Y > missed || p.Y-now.Y > missed) {
							t.Errorf("%v, %s: touch %d on %s moved %s by %.0f", size, step, n+1, r.Field.Label, q.Field.Label, now.Y-p.Y)
							break
						}
					}
				}
			}
		}
	}
}

// The keypad lies beside the column of the field that is typed into, at every size, and has
// pounds and ounces where a mass is asked.
func TestKeypadLeavesTheColumnOfItsField(t *testing.T) {
	d := func() fyne.Driver { return fyne.CurrentApp().Driver() }
	for _, size := range sizes {
		for _, info := range record.Steps {
			b, w := bench(t, record.New("job-1"))
			w.Resize(size)
			b.Go(stepIndex(info.Step))
			for _, r := range b.pane().Rows {
				if !r.Visible() || r.Field.Kind != widget.NumberField {
					continue
				}
				r.Focus()
				pad := b.window.pad
				if !b.window.padOn {
					t.Fatalf("%v, %s: no keypad", size, r.Field.Key)
				}
				at, z := d().AbsolutePositionForObject(pad), pad.Size()
				if at.X < 0 || at.Y < 0 || at.X+z.Width > size.Width+1 || at.Y+z.Height > size.Height+1 {
					t.Errorf("%v, %s: the keypad at %v of %v leaves the window", size, r.Field.Key, at, z)
				}
				col := d().AbsolutePositionForObject(r)
				over := at.X < col.X+r.Size().Width && col.X < at.X+z.Width
				if m := b.pane().Middle; upright(size) && m != nil { // the middle lies above
					over = at.Y+z.Height > d().AbsolutePositionForObject(b.pane().Side).Y+1
				}
				if over {
					t.Errorf("%v, %s: the keypad at %v of %v covers the column of %s at %v, %.0f wide", size, info.Step, at, z, r.Field.Key, col, r.Size().Width)
					break
				}
			}
		}
	}
	b, w := bench(t, record.New("job-1"))
	r, g := find(t, b, record.TagCharge), &glass{t: t, w: w}
	b.pane().Side.Reveal(r)
	g.touchIn(r.Input(), r)
	for _, k := range []string{"6", "… lb", "8", "… oz", "Next"} {
		g.touch(b.window.pad.Key(k))
	}
	if e, _ := b.job.Entry(record.TagCharge); e.Value != "104" || e.Unit != "oz" {
		t.Errorf("6 lb 8 oz by the keypad: %q %s", e.Value, e.Unit)
	}
}

// What is taken back by a second touch is said, where and what it was, and undone by a touch.
func TestTakenBackIsSaid(t *testing.T) {
	b, _ := bench(t, record.New("job-1"))
	b.Go(stepIndex(record.Cause))
	r := find(t, b, record.OilState)
	test.Tap(tap(r, "dark"))
	test.Tap(tap(r, "dark"))
	if b.job.Text(record.OilState) != "" {
		t.Fatal("not taken back")
	}
	if said, _ := b.status(); !strings.Contains(said, "Taken back: Oil, was dark") {
		t.Errorf("the bar says %q", said)
	}
	if !strings.Contains(r.Note, "was dark") {
		t.Errorf("the entry says %q", r.Note)
	}
	b.Back(false)
	if b.job.Text(record.OilState) != "dark" {
		t.Errorf("undone: %q", b.job.Text(record.OilState))
	}
}

// A weak capacitor is seen at first, and a touch on a count leads to its findings.
func TestWeakCapacitorIsSeen(t *testing.T) {
	for _, size := range sizes {
		weakCapacitor(t, size)
	}
}

func weakCapacitor(t *testing.T, size fyne.Size) {
	b, w := bench(t, record.New("job-1"))
	w.Resize(size)
	for _, e := range [][3]string{{"old_cap_rating", "40", "uF"}, {"old_cap_found", "31", "uF"}, {"rated_voltage", "230", "V"}, {"cause_supply", "233", "V"}} {
		f, err := record.ByName(e[0])
		if err != nil {
			t.Fatal(err)
		}
		if err := b.Enter(f.Key, e[1], e[2], ""); err != nil {
			t.Fatal(err)
		}
	}
	b.Go(stepIndex(record.Cause))
	m := b.pane().Middle
	if said := shownWords(m); !strings.Contains(said, "Cannot tell yet") {
		t.Errorf("%v: %s", size, said)
	}
	if !strings.Contains(tableWords(m), "Run capacitor below its value") {
		t.Errorf("%v: the weak capacitor is no root cause: %s", size, tableWords(m))
	}
	s := strip(t, b, "old_cap")
	if s.Finding.Verdict != widget.Outside {
		t.Errorf("31 of 40 µF: %s", s.Finding.Verdict.Word())
	}
	test.Tap(tap(m, "1 outside"))
	d := fyne.CurrentApp().Driver()
	y, top := d.AbsolutePositionForObject(s).Y, d.AbsolutePositionForObject(m).Y
	if !s.Visible() || y < top-1 || y+s.Size().Height > top+m.Size().Height+1 {
		t.Errorf("%v: a touch on the count leaves its finding at %.0f of %.0f to %.0f", size, y, top, top+m.Size().Height)
	}
}

// 0 is printed as 0, and a house that nobody entered is an assumption.
func TestChoiceSaysWhatWasEntered(t *testing.T) {
	h := visited(t)
	said := func() string {
		return shownWords(h.b.pane().Middle) + tableWords(h.b.pane().Middle)
	}
	if !strings.Contains(said(), "0 days") {
		t.Errorf("0 days of waiting: %s", said())
	}
	if !strings.Contains(said(), "Assumed: a house that asks for") {
		t.Errorf("the house: %s", said())
	}
	h.b.pane().LeadTo(record.HouseLoad.String())
	h.enter(record.HouseLoad, "28,000")
	if !strings.Contains(said(), "R-22, 6.5 lb (2.95 kg) in it by the plate") {
		t.Errorf("the refrigerant's amount: %s", said())
	}
	if strings.Contains(said(), "Assumed: a house") {
		t.Error("the house was entered")
	}
	for _, no := range []string{"breaks even", "Seasonal ratio", "Another way"} {
		if strings.Contains(said(), no) {
			t.Errorf("the page says %q", no)
		}
	}
}

// The parameters of the lives are shown, lead to where they are changed, and change what
// is computed.
func TestLifeParametersAreShownAndChanged(t *testing.T) {
	h := visited(t)
	b := h.b
	before, err := assess.New(b.job).Choices()
	if err != nil || len(before.Parts) != 3 {
		t.Fatalf("%d parts, %v", len(before.Parts), err)
	}
	if w := tableWords(b.pane().Middle); !strings.Contains(w, "from memory") || !strings.Contains(w, "Outdoor unit") {
		t.Errorf("not shown: %s", w)
	}
	k := tap(b.pane().Middle, "shape of compressor")
	if k == nil {
		t.Fatal("no key leads to the shape")
	}
	test.Tap(k)
	if r := find(t, b, record.CompressorShape); !r.Visible() || !r.Lit() {
		t.Fatal("the key leads nowhere")
	}
	h.enter(record.CompressorShape, "1.2")
	after, err := assess.New(b.job).Choices()
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range after.Parts {
		if l.Key == record.CompressorLife && (l.Life.Shape != 1.2 || !strings.Contains(l.Life.Source, "entered")) {
			t.Errorf("%+v", after.Parts[i].Life)
		}
	}
	if after.Ranking.Costs[0].Years == before.Ranking.Costs[0].Years {
		t.Error("the shape changes nothing")
	}
}

// The owner's consent page is written from the step.
func TestConsentPageIsWritten(t *testing.T) {
	h := visited(t)
	test.Tap(tap(h.b.pane().Side, "Write the consent page for the owner to sign"))
	_, path, ok := strings.Cut(shownWords(h.b.pane().Side), "Written: ")
	path, _, _ = strings.Cut(path, "\n")
	if i, err := os.Stat(path); !ok || err != nil || i.Size() < 1000 || !strings.HasSuffix(path, strings.TrimSuffix(workbook.FileName(h.b.job), ".xlsx")+"-consent.pdf") {
		t.Errorf("%q: %v", path, err)
	}
}

// A mark of the keyboard is told from a choice: a finger leaves none, and it is no ring.
func TestMarkIsNoChoice(t *testing.T) {
	b, _ := bench(t, record.New("job-1"))
	r := find(t, b, record.Phases)
	test.Tap(tap(r, record.PhaseSingle))
	for _, k := range visible[*widget.Tap](r) {
		if k.Mark {
			t.Errorf("%s is marked after a touch", k.Text)
		}
	}
	test.Tap(tap(r, record.PhaseSingle))
	r.Focus()
	for _, k := range visible[*widget.Tap](r) {
		if k.On {
			t.Errorf("%s looks chosen", k.Text)
		}
	}
}

// With RETROSTAGE_LOOK set to a folder, the panes of the first visit are drawn there, empty
// and filled, at every size, light and dark.
func TestLookAtTheFirstVisit(t *testing.T) {
	dir := os.Getenv("RETROSTAGE_LOOK")
	if dir == "" {
		t.Skip("RETROSTAGE_LOOK names no folder")
	}
	h := visited(t)
	empty, w := bench(t, record.New("job-2"))
	for _, c := range []struct {
		b    *Bench
		w    fyne.Window
		name string
	}{{h.b, h.w, "visit"}, {empty, w, "empty"}} {
		for _, dark := range []bool{false, true} {
			c.b.SetDark(dark)
			for _, size := range sizes {
				c.w.Resize(size)
				for _, s := range []record.Step{record.Intake, record.Cause, record.Choice, record.Match, record.Wiring} {
					c.b.Go(stepIndex(s))
					look(t, c.w, dir, c.name+"-"+string(s), size, dark)
				}
				c.b.Go(0)
				find(t, c.b, record.TagCharge).Focus()
				look(t, c.w, dir, c.name+"-pad-intake", size, dark)
				c.b.Go(stepIndex(record.Cause))
				find(t, c.b, record.OldCapFound).Focus()
				look(t, c.w, dir, c.name+"-pad-cause", size, dark)
			}
		}
	}
}

// tableWords are the words of the tables of a page.
func tableWords(o fyne.CanvasObject) string {
	var out []string
	for _, t := range visible[*widget.Table](o) {
		for _, r := range t.Rows {
			out = append(append(out, r.Cells...), r.Small)
		}
	}
	return strings.Join(out, "\n")
}
