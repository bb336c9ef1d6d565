package app

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"retrostage/app/section"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/record"
)

// heard is every text that the panes of a few jobs show, and whether the catalogue has it:
// painted at every step with all that opens open, and the words of all fields.
func heard(t *testing.T) map[string]bool {
	t.Helper()
	said := map[string]bool{}
	if err := words.Use(words.Spanish, words.Comma); err != nil {
		t.Fatal(err)
	}
	words.Hear(func(text string, known bool) { said[text] = known })
	t.Cleanup(func() {
		words.Hear(nil)
		if err := words.Use(words.English, words.Point); err != nil {
			t.Error(err)
		}
	})
	demo, err := record.Demo()
	if err != nil {
		t.Fatal(err)
	}
	open := demo.Clone()
	if err := section.AcknowledgeAll(open, "T-17", noon); err != nil {
		t.Fatal(err)
	}
	for _, j := range []*record.Job{demo, open, filled(t), record.New("new")} {
		b, w := bench(t, j)
		for i := range record.Steps {
			b.Go(i)
			for _, s := range visible[*widget.Strip](b.window) {
				s.Tapped(nil)
			}
			for _, n := range visible[*widget.Notice](b.window) {
				n.Tapped(nil)
			}
			for _, r := range b.pane().Rows {
				b.window.aim(r)
			}
			b.window.aim(nil)
			for _, c := range visible[*widget.Choose](b.window) {
				if slices.Contains(c.Options, "Work list") {
					for _, o := range c.Options {
						c.Do(o)
						w.Canvas().Capture()
					}
				}
			}
			w.Canvas().Capture()
		}
		for _, sheet := range []func(){func() { b.Settings(false) }, func() { b.Settings(true) }, b.About, func() { b.Help("") }, b.chooseJob, b.askPerson,
			b.openQueue, b.openRegister, b.openCountersign, func() { b.Past(record.SuctionPressure) },
			func() { section.AskInstrument(b, nil) }} {
			sheet()
			w.Canvas().Capture()
			for _, o := range w.Canvas().Overlays().List() {
				w.Canvas().Overlays().Remove(o)
			}
		}
	}
	for _, f := range record.Fields {
		words.Say(f.Label)
		words.Say(f.Help)
		for _, o := range f.Options {
			words.Say(o)
		}
	}
	return said
}

// The share of what the panes show that the catalogue has. README gives it.
func TestShareInSpanish(t *testing.T) {
	said := heard(t)
	var lacks []string
	for text, known := range said {
		if !known {
			lacks = append(lacks, text)
		}
	}
	slices.Sort(lacks)
	t.Logf("%d texts shown, %d in Spanish: %.1f %%", len(said), len(said)-len(lacks), 100*float64(len(said)-len(lacks))/float64(len(said)))
	if dir := os.Getenv("RETROSTAGE_LOOK"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "lacks.txt"), []byte(fmt.Sprintf("%s\n", strings.Join(lacks, "\n\x01\n"))), 0o644); err != nil {
			t.Error(err)
		}
	}
}
