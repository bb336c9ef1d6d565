package app

import (
	"fmt"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"retrostage/app/widget"
	"retrostage/assets/soak"
	"retrostage/reports/record"
)

// A number that was typed is in the record, entered or as a draft, whatever is done next
// without ending it; by a keyboard and by the keys on the glass, at every size.
func TestNothingTypedIsLost(t *testing.T) {
	type act struct {
		name string
		do   func(b *Bench, w fyne.Window, r *widget.Row)
	}
	bar := func(of func(d *window) *widget.Tap) func(*Bench, fyne.Window, *widget.Row) {
		return func(b *Bench, _ fyne.Window, _ *widget.Row) { test.Tap(of(b.window)) }
	}
	acts := []act{
		{"another field", func(b *Bench, _ fyne.Window, _ *widget.Row) { find(t, b, record.CostReplace).Focus() }},
		{"a touch on another field", func(b *Bench, w fyne.Window, _ *widget.Row) {
			r := find(t, b, record.CostReplace)
			(&glass{t: t, w: w}).touchIn(r.Input(), r)
		}},
		{"a choice", func(b *Bench, _ fyne.Window, _ *widget.Row) { test.Tap(tap(find(t, b, record.HeatPump), record.Yes)) }},
		{"the next step", func(b *Bench, _ fyne.Window, _ *widget.Row) { b.Go(b.at + 1) }},
		{"the rail", func(b *Bench, _ fyne.Window, _ *widget.Row) {
			if b.window.Size().Width < 960 {
				test.Tap(b.window.here)
			}
			test.Tap(b.window.route.Item(1).(fyne.Tappable))
		}},
		{"the wheel", func(b *Bench, _ fyne.Window, _ *widget.Row) {
			b.pane().Side.Wheel(&fyne.ScrollEvent{Scrolled: fyne.Delta{DY: -2000}})
			b.Leave() // an entry with the cursor keeps it where no keys lie on the glass
		}},
		{"the cursor gone", func(_ *Bench, w fyne.Window, _ *widget.Row) { w.Canvas().Unfocus() }},
		{"another window", func(b *Bench, w fyne.Window, _ *widget.Row) {
			w.Resize(fyne.NewSize(1000, 700))
			w.Canvas().Unfocus()
		}},
		{"help, shut at once", func(b *Bench, w fyne.Window, r *widget.Row) { b.Help(""); w.Canvas().Overlays().Top().Hide() }},
		{"help", bar(func(d *window) *widget.Tap { return d.help })},
		{"jobs", bar(func(d *window) *widget.Tap { return d.jobs })},
		{"units", bar(func(d *window) *widget.Tap { return d.system })},
		{"palette", bar(func(d *window) *widget.Tap { return d.sun })},
		{"keys", func(b *Bench, w fyne.Window, _ *widget.Row) { test.Tap(b.window.keys); b.Leave() }},
		{"who", bar(func(d *window) *widget.Tap { return d.who })},
		{"language", func(b *Bench, _ fyne.Window, _ *widget.Row) { b.SetLanguage("en", ".") }},
		{"the pane made anew", func(b *Bench, _ fyne.Window, _ *widget.Row) { b.Remake(nil) }},
		{"an entry elsewhere", func(b *Bench, _ fyne.Window, _ *widget.Row) {
			b.Enter(record.WaitConvert, "3", "d", "")
			b.Leave()
		}},
		{"a finding", func(b *Bench, _ fyne.Window, _ *widget.Row) { b.LeadAway(record.Cause, record.OldRCS.String()) }},
	}
	turn := 0
	for _, size := range sizes {
		for _, glass := range []bool{false, true} {
			for _, a := range acts {
				if turn++; !soak.On() && turn%3 != 0 && a.name != "the rail" { // each by keyboard and by glass, and each size, in the usual run
					continue
				}
				t.Run(fmt.Sprintf("%v, glass %v, %s", size, glass, a.name), func(t *testing.T) { // its window is gone before the next one opens
					b, w := bench(t, record.New("j"))
					b.SetPerson("T-31")
					b.shortcuts(w.Canvas())
					w.Resize(size)
					b.Go(stepIndex(record.Choice))
					r := find(t, b, record.CostSystem)
					r.Focus()
					if glass {
						for _, k := range "7600" {
							test.Tap(b.window.pad.Key(string(k)))
						}
					} else {
						typeIn(t, w, "7600")
					}
					a.do(b, w, r)
					_, draft := b.job.Draft(record.CostSystem)
					if got := b.job.Text(record.CostSystem); got != "7600" && !draft {
						t.Errorf("%v, glass %v: 7600 typed, then %s: %q in the record", size, glass, a.name, got)
					}
				})
			}
		}
	}
}

// What is typed while a choice has the cursor, or nothing has, goes nowhere, and that is said
// in the bar and at the choice.
func TestWhatGoesNowhereIsSaid(t *testing.T) {
	b, w := bench(t, record.New("j"))
	b.SetPerson("T-31")
	b.shortcuts(w.Canvas())
	for _, k := range []record.Key{record.Metering, record.Warranty, record.Refrigerant} { // keys, and a list
		b.Go(stepIndex(record.Intake))
		r := find(t, b, k)
		r.Focus()
		typeIn(t, w, "7600")
		if said, _ := b.status(); !strings.Contains(said, "Not entered: 7600") || !strings.Contains(said, r.Field.Label) {
			t.Errorf("typed at %s, the bar says %q", k, said)
		}
		if !strings.Contains(r.Note, "typed 7600: not entered") {
			t.Errorf("%s says %q", k, r.Note)
		}
		if b.job.Text(k) != "" {
			t.Errorf("%s was answered: %q", k, b.job.Text(k))
		}
	}
	b.Leave()
	for _, c := range "7600" {
		w.Canvas().OnTypedRune()(c)
	}
	if said, _ := b.status(); !strings.Contains(said, "Not entered: 7600. No field has the cursor") {
		t.Errorf("typed at nothing, the bar says %q", said)
	}
}
